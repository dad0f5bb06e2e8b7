"""The timing record: everything measured from a capture, and nothing derived from it."""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass, fields
from enum import IntEnum
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import InputError
from pacerail.files import atomic_output
from pacerail.scanout import ScanOut, flip_refreshes

FORMAT = "pacerail timing record"
VERSION = 1


GUESS_SHARE = 0.2
"""Share of uncertain verdicts from which figures are a guess: a fifth of 60 sets one steady
rate apart from the next, 60 from 48. Our choice."""


class Verdict(IntEnum):
    """What one refresh brought."""

    FIRST = 0
    """No predecessor to compare with: the first picture, or the first after a fault."""
    NEW = 1
    """At least one flip falls in it."""
    HELD = 2
    """No flip falls in it; it may complete a frame that came in through an earlier tear."""
    FAULT = 3
    """Lost by the recording."""


@dataclass(frozen=True)
class Source:
    """Where a record came from."""

    name: str
    """File name without folders."""
    size_bytes: int
    fingerprint: str
    """Hash over head, tail and size of the file."""
    codec: str
    picture_width: int
    picture_height: int


@dataclass(frozen=True, eq=False)
class TimingRecord:
    """Columns over refreshes, n of them, and over flips, m of them; arrays are read-only.

    Raises ValueError from its constructor when the columns contradict each other.
    """

    source: Source
    refresh_hz: Fraction
    time_base: Fraction
    """Seconds per tick of `pts`."""
    scan_out: ScanOut
    pts: NDArray[np.int64]
    """(n,) time stamps; a lost refresh has the one it would have had."""
    verdict: NDArray[np.uint8]
    """(n,) Verdict of each refresh."""
    score: NDArray[np.float32]
    """(n,) evidence for a flip, in multiples of what decides; the decision falls at 1."""
    margin: NDArray[np.float32]
    """(n,) distance from the decision, in octaves of the score: abs(log2(score))."""
    margin_limit: float
    """A verdict with a smaller margin is uncertain."""
    flip_refresh: NDArray[np.int64]
    """(m,) refresh in which each flip falls, or first shows, in order."""
    tear_row: NDArray[np.float64]
    """(m,) picture row at which the new frame starts; 0 where no tear shows."""
    unseen_row: NDArray[np.float64]
    """(m,) row at which it most likely starts where its tear cannot be seen; else 0. Below 0 it
    came so many scan lines before the refresh that first shows it."""
    target_fps: Fraction | None
    """Frame rate the user says the program aims at; None where it is to be inferred."""
    settings: dict[str, Any]
    """Detector version and settings, as JSON values."""
    notes: tuple[str, ...]
    """What measuring met and assumed, one sentence each."""
    start_timecode: str | None = None
    """Timecode of the first picture as the capture carries it, ``hh:mm:ss:ff``."""
    cut_refresh: NDArray[np.int64] | None = None
    """(k,) refreshes that are the first to show another scene, in order; None in records of
    a time when measuring did not look for cuts."""

    def __post_init__(self) -> None:
        n, m = len(self.pts), len(self.flip_refresh)
        columns: dict[str, tuple[type, int]] = {
            "pts": (np.int64, n),
            "verdict": (np.uint8, n),
            "score": (np.float32, n),
            "margin": (np.float32, n),
            "flip_refresh": (np.int64, m),
            "tear_row": (np.float64, m),
            "unseen_row": (np.float64, m),
        }
        for name, (dtype, length) in columns.items():
            column = getattr(self, name)
            if column.shape != (length,) or column.dtype != dtype:
                raise ValueError(f"column {name} must be {dtype.__name__} of length {length}")
            column.flags.writeable = False
        if n == 0 or self.refresh_hz <= 0 or self.time_base <= 0:
            raise ValueError("a record must hold at least one refresh and positive rates")
        if self.verdict.max() > Verdict.FAULT:
            raise ValueError("verdict holds an unknown value")
        rows = self.source.picture_height
        if self.unseen_row[self.tear_row > 0].any():
            raise ValueError("unseen rows must be 0 where a tear shows")
        if m and not (self.tear_row.min() >= 0 and self.flip_row.max() < rows):
            raise ValueError(f"tear rows must lie in [0, {rows})")
        if m and not self.unseen_row.min() > -rows:
            raise ValueError(f"unseen rows must lie in (-{rows}, {rows})")
        moment = flip_refreshes(self.flip_refresh, self.flip_row, rows, self.scan_out)
        if m and not (np.diff(moment) > 0).all():
            raise ValueError("flips must be in order of time")
        if self.cut_refresh is not None:
            self._check_cuts(self.cut_refresh)
        is_new = np.zeros(n, bool)
        if m and not (self.flip_refresh[0] >= 0 and self.flip_refresh[-1] < n):
            raise ValueError(f"flips must lie in refreshes [0, {n})")
        is_new[self.flip_refresh] = True
        if not np.array_equal(is_new, self.verdict == Verdict.NEW):
            raise ValueError("a refresh must be new exactly where a flip falls in it")

    def _check_cuts(self, cuts: NDArray[np.int64]) -> None:
        if cuts.ndim != 1 or cuts.dtype != np.int64:
            raise ValueError("column cut_refresh must be int64 of one dimension")
        if len(cuts) and not (cuts[0] >= 0 and cuts[-1] < len(self.pts)):
            raise ValueError(f"cuts must lie in refreshes [0, {len(self.pts)})")
        if not (np.diff(cuts) > 0).all():
            raise ValueError("cuts must be in order of time")
        cuts.flags.writeable = False

    @property
    def name(self) -> str:
        """File name of the capture."""
        return self.source.name

    @property
    def refreshes(self) -> int:
        """Number of refreshes, lost ones included."""
        return len(self.pts)

    @property
    def flip_row(self) -> NDArray[np.float64]:
        """(m,) row at which each new frame starts: where it tears, or most likely does unseen."""
        return self.tear_row + self.unseen_row

    @property
    def unknown(self) -> tuple[str, ...]:
        """What measuring did not look for when the record was made, one sentence each."""
        if self.cut_refresh is not None:
            return ()
        return (
            f"cuts were not looked for when the record of {self.source.name} was made; "
            "measure the capture again to have them",
        )

    @property
    def uncertain(self) -> NDArray[np.bool_]:
        """(n,) True where a verdict of new or held lies within the margin limit."""
        judged = (self.verdict == Verdict.NEW) | (self.verdict == Verdict.HELD)
        result: NDArray[np.bool_] = judged & (self.margin < self.margin_limit)
        return result

    def is_guesswork(self, first_refresh: int = 0, end_refresh: int | None = None) -> bool:
        """Whether too many verdicts of a segment are uncertain for figures to mean anything."""
        uncertain = self.uncertain[first_refresh:end_refresh]
        return bool(uncertain.mean() >= GUESS_SHARE)

    def save(self, path: Path, *, overwrite: bool) -> None:
        """Write the record as ``.npz`` with a JSON header.

        Raises OutputError or UsageError as `files.atomic_output` does.
        """
        header = {
            "format": FORMAT,
            "version": VERSION,
            "source": {field.name: getattr(self.source, field.name) for field in fields(Source)},
            "refresh_hz": str(self.refresh_hz),
            "time_base": str(self.time_base),
            "scan_out": [self.scan_out.active_lines, self.scan_out.total_lines],
            "margin_limit": self.margin_limit,
            "target_fps": None if self.target_fps is None else str(self.target_fps),
            "settings": self.settings,
            "notes": list(self.notes),
            "start_timecode": self.start_timecode,
        }
        text = np.frombuffer(json.dumps(header).encode(), np.uint8)
        cuts = {} if self.cut_refresh is None else {"cut_refresh": self.cut_refresh}
        with atomic_output(path, overwrite=overwrite) as part, part.open("wb") as stream:
            np.savez(
                stream,
                allow_pickle=False,
                header=text,
                pts=self.pts,
                verdict=self.verdict,
                score=self.score,
                margin=self.margin,
                flip_refresh=self.flip_refresh,
                tear_row=self.tear_row,
                unseen_row=self.unseen_row,
                **cuts,
            )


def load_record(path: Path) -> TimingRecord:
    """Read a record that `TimingRecord.save` wrote.

    Raises InputError when the file is missing, is something else, or was damaged.
    """
    advice = "measure the capture again"
    try:
        with path.open("rb") as stream:
            if not zipfile.is_zipfile(stream):
                if path.suffix != ".npz":
                    advice = "name the .timing.npz file that measure wrote for it"
                raise InputError(
                    f"record must be a whole .timing.npz file, got {path}, which is something "
                    f"else or cut off; {advice}"
                )
            with np.load(path, allow_pickle=False) as archive:
                columns = {name: archive[name] for name in archive.files}
        header = json.loads(columns.pop("header").tobytes())
        # Older records do not tell.
        columns.setdefault("unseen_row", np.zeros_like(columns["tear_row"]))
        if header["format"] != FORMAT or header["version"] != VERSION:
            raise InputError(
                f"record must be of version {VERSION}, got {header['format']} "
                f"{header['version']} in {path}; {advice}"
            )
        target = header["target_fps"]
        return TimingRecord(
            source=Source(**header["source"]),
            refresh_hz=Fraction(header["refresh_hz"]),
            time_base=Fraction(header["time_base"]),
            scan_out=ScanOut(*header["scan_out"]),
            margin_limit=float(header["margin_limit"]),
            target_fps=None if target is None else Fraction(target),
            settings=header["settings"],
            notes=tuple(header["notes"]),
            start_timecode=header.get("start_timecode"),
            **columns,
        )
    except OSError as error:
        raise InputError(
            f"record must be a readable file, got {path}: {error.strerror or error}; "
            "name a .timing.npz file that measure wrote"
        ) from error
    except InputError:
        raise
    except (ValueError, KeyError, TypeError, AttributeError, EOFError, zipfile.BadZipFile) as error:
        raise InputError(
            f"record must be a whole .timing.npz file, got {path} ({error}); {advice}"
        ) from error
