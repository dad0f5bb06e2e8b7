"""What a folder of builds holds already, and who may write to it just now."""

from __future__ import annotations

import fcntl
import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any

from pacerail.errors import OutputError
from pacerail.extent import Prospect
from pacerail.files import atomic_output, clear_parts
from pacerail.pipeline.job import DRAFTS, RECORDS

FOLDER = ".build"
"""Inside the folder of builds; what lies in it may be deleted between builds."""


class Manifest:
    """The keys of outputs that were made, and what captures promise, kept in one file.

    An output is current while its files are those that were made under its key: of the
    same size and time of change. Several processes may use one folder at once.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._path = folder / FOLDER / "manifest.json"
        self._known = self._read()

    def is_current(self, outputs: tuple[str, ...], key: str) -> bool:
        """True when nothing has to be made; the first output stands for all."""
        entry = self._known["outputs"].get(outputs[0])
        return entry is not None and entry == self._entry(outputs, key)

    def refresh(self) -> None:
        """Read again what other processes may have written."""
        self._known = self._read()

    def note(self, outputs: tuple[str, ...], key: str) -> None:
        """Keep that these files have been made under that key."""
        entry = self._entry(outputs, key)
        self._change(lambda known: known["outputs"].update({outputs[0]: entry}))

    def stale(self, planned: set[str], *, draft: bool) -> list[str]:
        """Outputs of earlier builds, or of earlier drafts, that nothing asks for now.

        Records do not count: they are kept for when they are asked for again.
        """
        return sorted(
            output
            for output in self._known["outputs"].keys() - planned
            if not output.startswith(RECORDS)
            and output.startswith(DRAFTS) == draft
            and (self.folder / output).exists()
        )

    def prospect(self, key: str) -> Prospect | None:
        """What a capture promises, if it was looked at before."""
        kept = self._known["captures"].get(key)
        return kept and Prospect(kept[0], Fraction(kept[1]), *kept[2:])

    def note_prospects(self, prospects: dict[str, Prospect]) -> None:
        """Keep what captures promise."""
        if prospects:
            kept = {
                key: [each.name, str(each.refresh_hz), each.refreshes, each.start_timecode]
                for key, each in prospects.items()
            }
            self._change(lambda known: known["captures"].update(kept))

    @contextmanager
    def writing(self, *outputs: str) -> Iterator[None]:
        """Wait until no other process writes the first output, then keep all others from it.

        What a killed process left half written is cleared away. The lock ends with the
        process that holds it.
        """
        digest = hashlib.blake2b(outputs[0].encode(), digest_size=8).hexdigest()
        path = self.folder / FOLDER / "locks" / digest
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            for output in outputs:
                clear_parts(self.folder / output)
            yield

    def _entry(self, outputs: tuple[str, ...], key: str) -> dict[str, Any]:
        return {"key": key, "files": {output: self._stamp(output) for output in outputs}}

    def _stamp(self, output: str) -> list[int] | None:
        try:
            status = (self.folder / output).stat()
        except FileNotFoundError:
            return None
        return [status.st_size, status.st_mtime_ns]

    def _change(self, change: Callable[[dict[str, Any]], object]) -> None:
        with self.writing(f"{FOLDER}/{self._path.name}"):
            self._known = self._read()
            change(self._known)
            with atomic_output(self._path, overwrite=True) as part:
                part.write_text(json.dumps(self._known, indent=1), encoding="utf-8")

    def _read(self) -> dict[str, Any]:
        try:
            known = json.loads(self._path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return {"outputs": {}, "captures": {}}
        except ValueError as error:
            known = error
        if not (isinstance(known, dict) and known.keys() == {"outputs", "captures"}):
            raise OutputError(
                f"manifest must be as a build left it, got {self._path}; delete it and build again"
            )
        return known
