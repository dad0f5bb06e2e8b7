"""A display that scans out frames row by row, and a recorder that catches every refresh.

The program hands over frame k at its flip time. With sync on, the display takes it up at
the next refresh. With sync off, it takes it up at once: rows scanned from then on come
from the new frame, which leaves a tear unless the flip falls into blanking. What no row
ever showed cannot be seen, and the truth leaves it out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from demo.truth import Flip, Truth
from pacerail.record import Verdict
from pacerail.scanout import ScanOut, scan_out_of_height

Rgb = NDArray[np.uint8]
"""uint8, shape (rows, columns, 3 or 4): R'G'B', with or without a fourth sample."""

PictureSource = Callable[[Fraction], Rgb]
"""Draws the program's picture at a program time in seconds."""

Stripe = tuple[int, int]
"""A frame on part of one refresh: (first row, frame); it reaches to the next stripe."""

# Rows on each side of a tear that are looked at for whether it can be seen: the height
# of the smallest blocks that coding works with.
SEAM_ROWS = 4


@dataclass(frozen=True)
class Display:
    """How frames reach the screen."""

    refresh_hz: Fraction
    sync: bool
    """True where a flip waits for the next refresh."""


@dataclass(frozen=True)
class CapturedPicture:
    """What the recorder wrote for one refresh."""

    refresh: int
    rgb: Rgb
    """The very same array as before where nothing changed."""


def scan(
    flip_s: Sequence[Fraction], display: Display, rows: int, refreshes: int, scan_out: ScanOut
) -> list[tuple[Stripe, ...]]:
    """The stripes of every refresh, from pure timing.

    flip_s : moments in ascending order, the first at or before 0. Refresh 0 shows the last
        frame that comes in during it, whole: nobody could time a flip there.
    """
    arrivals = [_arrival(flip, display, rows, scan_out) for flip in flip_s]
    stripes: list[tuple[Stripe, ...]] = []
    upcoming = sum(arrival < (1, 0) for arrival in arrivals)
    on_screen = upcoming - 1
    for refresh in range(refreshes):
        starts = {0: on_screen}
        while upcoming < len(arrivals) and arrivals[upcoming][0] == refresh:
            starts[arrivals[upcoming][1]] = upcoming
            upcoming += 1
        stripes.append(tuple(starts.items()))
        on_screen = stripes[-1][-1][1]
    return stripes


def _arrival(flip: Fraction, display: Display, rows: int, scan_out: ScanOut) -> tuple[int, int]:
    """Refresh and row at which a frame starts to be shown."""
    periods = flip * display.refresh_hz
    if display.sync:
        return math.ceil(periods), 0
    refresh = math.floor(periods)
    phase = periods - refresh
    row = math.ceil(phase * scan_out.total_lines / scan_out.active_lines * rows)
    return (refresh, row) if row < rows else (refresh + 1, 0)


@dataclass(eq=False)
class Simulation:
    """One run of a program on a display, caught by a recorder.

    Iterate over `pictures` once; `truth` is complete when that has ended.
    """

    source: PictureSource
    """Draws a frame from its program time; must hand out a fresh array each time."""
    flip_s: Sequence[Fraction]
    """Moments of the flips, see `scan`."""
    display: Display
    refreshes: int
    """Length of the capture."""
    program_s: Sequence[Fraction] | None = None
    """Program time of each frame; its flip time where not given."""
    scan_out: ScanOut | None = None
    """Line counts of the display mode; the usual ones for the picture height if None."""
    dropped: Collection[int] = ()
    """Refreshes that the recorder leaves out of the file."""
    repeated: Collection[int] = ()
    """Refreshes for which the recorder writes the picture before once more."""
    _truth: Truth | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        """Raises ValueError when no frame is on screen at the start or the order is broken."""
        flips = self.flip_s
        if not flips or flips[0] > 0 or any(a >= b for a, b in pairwise(flips)):
            raise ValueError("flips must ascend and start at or before 0")

    @property
    def truth(self) -> Truth:
        """Raises RuntimeError before `pictures` has been iterated to its end."""
        if self._truth is None:
            raise RuntimeError("the truth is known only once all pictures have been taken")
        return self._truth

    def pictures(self) -> Iterator[CapturedPicture]:
        """Every picture that the recorder writes, in order."""
        frames = _Frames(self.source, self.program_s or self.flip_s)
        rows = frames[0].shape[0]
        scan_out = self.scan_out or scan_out_of_height(rows)
        verdicts: list[Verdict] = []
        flips: list[Flip] = []
        before: list[Stripe] = []
        shown: list[Stripe] = []
        for refresh, stripes in enumerate(
            scan(self.flip_s, self.display, rows, self.refreshes, scan_out)
        ):
            wanted = [(row, frames.look_of(frame)) for row, frame in stripes]
            if refresh in self.dropped:
                verdicts.append(Verdict.FAULT)
                before = []
                continue
            is_repeat = bool(before) and refresh in self.repeated
            if not is_repeat:
                if wanted != shown:
                    rgb = _compose([(row, frames[frame]) for row, frame in wanted])
                shown = wanted
            arrivals = [] if is_repeat else _arrivals(before, shown)
            verdicts.append(
                Verdict.FIRST if not before else Verdict.NEW if arrivals else Verdict.HELD
            )
            for row, old, new in arrivals:
                within = Fraction(row * scan_out.active_lines, rows * scan_out.total_lines)
                flips.append(
                    Flip(
                        frame=new,
                        refresh=refresh,
                        tear_row=row,
                        time_s=(refresh + within) / self.display.refresh_hz,
                        block_difference=frames.block_difference(old, new),
                        shown_difference=frames.block_difference(old, new, row),
                        seam_difference=frames.seam_difference(old, new, row),
                    )
                )
            yield CapturedPicture(refresh, rgb)
            before = shown
            frames.keep_only({shown[-1][1], wanted[-1][1]})
        self._truth = Truth(self.display.refresh_hz, rows, tuple(verdicts), tuple(flips))


def _arrivals(before: Sequence[Stripe], shown: Sequence[Stripe]) -> list[tuple[int, int, int]]:
    """(row, old frame, new frame) of every frame that starts in this refresh."""
    if not before:
        return []
    frames = [before[-1][1]] + [frame for _, frame in shown]
    return [(row, old, new) for (row, new), old in zip(shown, frames, strict=False) if new != old]


def _compose(pieces: Sequence[tuple[int, Rgb]]) -> Rgb:
    """One picture from frames, each from its row on to the next one's."""
    if len(pieces) == 1:
        return pieces[0][1]
    ends = [row for row, _ in pieces[1:]] + [len(pieces[0][1])]
    return np.concatenate([rgb[row:end] for (row, rgb), end in zip(pieces, ends, strict=True)])


class _Frames:
    """Draws frames when they are first asked for and forgets them when told to.

    Differences are taken from the green samples, which carry 72 % of BT.709 luma.
    """

    def __init__(self, source: PictureSource, program_s: Sequence[Fraction]) -> None:
        self._source = source
        self._program_s = program_s
        self._rgb: dict[int, Rgb] = {}
        self._green: dict[int, NDArray[np.uint8]] = {}
        self._look: dict[int, int] = {}
        self._latest: int | None = None

    def __getitem__(self, frame: int) -> Rgb:
        if frame not in self._rgb:
            self._rgb[frame] = self._source(self._program_s[frame])
            self._green[frame] = np.ascontiguousarray(self._rgb[frame][..., 1])
        return self._rgb[frame]

    def look_of(self, frame: int) -> int:
        """The frame itself, or the one on screen before it if both are the same picture."""
        if frame not in self._look:
            before, rgb = self._latest, self[frame]
            same = (
                before is not None
                and np.array_equal(self._green[before], self._green[frame])
                and np.array_equal(self[before], rgb)
            )
            self._look[frame] = before if before is not None and same else frame
            self._latest = self._look[frame]
        return self._look[frame]

    def block_difference(self, old: int, new: int, first_row: int = 0) -> float:
        """Largest mean difference within any whole 8x8 block from a row on, in code values.

        Fewer than eight rows, at the foot of the picture, show nothing that could be asked for.
        """
        difference = _difference(self._green[old][first_row:], self._green[new][first_row:])
        rows, columns = (length // 8 for length in difference.shape)
        if rows == 0:
            return 0.0
        cut = difference[: rows * 8, : columns * 8]
        by_row = cut.reshape(rows, 8, columns * 8).sum(axis=1, dtype=np.uint16)
        return float(by_row.reshape(rows, columns, 8).sum(axis=2).max()) / 64

    def seam_difference(self, old: int, new: int, row: int) -> float:
        """Mean difference on the side of the tear where it is smaller, in code values."""
        if row == 0:
            return 0.0
        sides = slice(max(row - SEAM_ROWS, 0), row), slice(row, row + SEAM_ROWS)
        return min(
            float(_difference(self._green[old][side], self._green[new][side]).mean())
            for side in sides
        )

    def keep_only(self, frames: set[int]) -> None:
        """Forget all other pictures."""
        for frame in set(self._rgb) - frames:
            del self._rgb[frame], self._green[frame]


def _difference(a: NDArray[np.uint8], b: NDArray[np.uint8]) -> NDArray[np.uint8]:
    difference: NDArray[np.uint8] = np.maximum(a, b) - np.minimum(a, b)
    return difference
