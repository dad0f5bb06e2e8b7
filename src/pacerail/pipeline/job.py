"""Jobs: pieces of work that know their inputs, their outputs, and when they need no doing."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from pacerail import __version__
from pacerail.pipeline.watcher import Watcher

RECORDS = "records/"
"""Where what is measured lies in the folder of a build."""
DRAFTS = "draft/"
"""Where drafts lie, so that they never replace anything."""

WORK_VERSION = 4
"""Part of every key; raised when the same work makes other files than before."""

# Of a key, in the name of a file: enough to tell a handful of records apart.
_DIGITS = 12


class Work(Protocol):
    """What a job does: a frozen dataclass, so that a worker elsewhere can be given it.

    Its `repr` tells all that its outputs depend on, and nothing else: a path is left out of
    it, and the fingerprint of the file is in.
    """

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write `output` and what goes with it, replacing what is there.

        folder : in which files lie that other jobs made.
        """


@dataclass(frozen=True)
class Job:
    """One output of a build, and perhaps a file beside it."""

    output: str
    """File that is made, relative to the folder of the build."""
    work: Work
    about: str
    """What it is, for people."""
    duration_s: float
    """Footage that it covers."""
    pictures: int
    """About how many pictures are decoded or drawn: how long it takes."""
    needs: tuple[str, ...] = ()
    """Outputs of other jobs that must be there first."""
    beside: tuple[str, ...] = ()
    """Further files that it writes."""

    @property
    def outputs(self) -> tuple[str, ...]:
        """Every file that it writes, relative to the folder of the build."""
        return (self.output, *self.beside)

    @property
    def key(self) -> str:
        """Same key, same output."""
        return key_of(self.work)


def key_of(work: object) -> str:
    """Hash over everything that a piece of work depends on, 32 hexadecimal digits."""
    told = f"{__version__} {WORK_VERSION} {type(work).__name__} {work!r}"
    return hashlib.blake2b(told.encode(), digest_size=16).hexdigest()


def kept_name(name: str, key: str, suffix: str) -> str:
    """Where something that is measured lies, under the name of its source."""
    return f"{RECORDS}{Path(name).stem}-{key[:_DIGITS]}{suffix}"
