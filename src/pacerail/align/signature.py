"""What is kept of a capture for comparing it: what it showed, as thumbnails, and since when."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.align.cadence import display_delay_s
from pacerail.align.thumbnail import COLUMNS, ROWS, ActiveArea, Reducer
from pacerail.picture import Picture
from pacerail.scanout import scan_out_of_height

# Thumbnails are kept in 16 bits: 1 / 256 of a code value of 8 bits.
_STEPS = 65535
# Pictures that the list of thumbnails grows by.
_BLOCK = 1024
# Share of the lesser change beside it below which a flip is none. (Swept over 0.1 to 0.4.)
_FAINT = 0.25
# Held for longer than this, pictures are looked at anew: slow motion can stay below what
# counts as a new frame, yet shows in thumbnails. (Twice the frame time of 20 fps.)
_LONG_HOLD_S = 0.1


@dataclass(frozen=True, eq=False)
class Signature:
    """What a capture showed, frame by frame, and picture by picture where it stood still."""

    time_s: NDArray[np.float64]
    """Shape (m,), ascending: moment of the content of each, seconds from the first picture.

    For a frame that is its flip, since what a program draws is meant for that moment.
    """
    kept: NDArray[np.uint16]
    """Shape (m, ROWS, COLUMNS): thumbnail of each, full code is 65535."""
    duration_s: float
    refresh_hz: Fraction

    def frames_at(self, moments_s: NDArray[np.float64]) -> NDArray[np.float32]:
        """Thumbnails at moments, shape (n, ROWS, COLUMNS), luma from 0 to 1.

        Between two frames the content is taken to move evenly; before the first and after
        the last it stands still.
        """
        last = len(self.time_s) - 1
        before = np.clip(np.searchsorted(self.time_s, moments_s, side="right") - 1, 0, last)
        after = np.minimum(before + 1, last)
        gap = self.time_s[after] - self.time_s[before]
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(gap > 0, (moments_s - self.time_s[before]) / gap, 0.0)
        part = np.clip(share, 0, 1).astype(np.float32)[:, None, None] / _STEPS
        frames = self.kept[before] * (np.float32(1 / _STEPS) - part)
        frames += self.kept[after] * part
        return frames.astype(np.float32, copy=False)


@dataclass
class Thumbnails:
    """Thumbnails of every picture of a capture, collected while something else reads it.

    Memory is 1.2 kB per picture.
    """

    area: ActiveArea
    time_base: Fraction
    _reducer: Reducer | None = None
    _kept: list[NDArray[np.uint16]] = field(default_factory=list)
    _refresh: list[int] = field(default_factory=list)
    _pts: list[int] = field(default_factory=list)

    def watching(
        self, pictures: Iterable[Picture], advance: Callable[[int], None]
    ) -> Iterator[Picture]:
        """The same pictures, each looked at on its way; `advance` is told how many so far."""
        for picture in pictures:
            self._take(picture)
            yield picture
            advance(picture.refresh + 1)

    def _take(self, picture: Picture) -> None:
        rows, columns = picture.luma.shape
        reducer = self._reducer
        if reducer is None or (reducer.rows, reducer.columns) != (rows, columns):
            reducer = self._reducer = Reducer(rows, columns, picture.bit_depth, self.area)
        place = len(self._refresh) % _BLOCK
        if place == 0:
            self._kept.append(np.empty((_BLOCK, ROWS, COLUMNS), np.uint16))
        self._kept[-1][place] = np.rint(np.clip(reducer.thumbnail(picture.luma), 0, 1) * _STEPS)
        self._refresh.append(picture.refresh)
        self._pts.append(picture.pts)

    def signature(
        self,
        flip_refresh: NDArray[np.int64],
        flip_row: NDArray[np.float64],
        picture_height: int,
        refresh_hz: Fraction,
    ) -> Signature:
        """What was shown, given the flips as `pacerail.record.TimingRecord` has them.

        A frame that a tear cut in two is put together from the two refreshes that show it.
        What is on screen first counts as a frame that comes with the first picture.
        """
        refresh = np.array(self._refresh, np.int64)
        ticks = np.array(self._pts, np.float64) - self._pts[0]
        picture_s = ticks * float(self.time_base)
        period_s = float(1 / refresh_hz)
        duration_s = float(picture_s[-1]) + period_s
        pictures = np.concatenate(self._kept)[: len(refresh)]

        share = np.concatenate([np.zeros(1), flip_row / picture_height])
        first = np.concatenate([refresh[:1], flip_refresh])
        place = np.minimum(np.searchsorted(refresh, first), len(refresh) - 1)
        after = np.minimum(place + 1, len(refresh) - 1)
        completed_later = (np.arange(ROWS) / ROWS < share[:, None])[:, :, None]
        frames = np.where(completed_later, pictures[after], pictures[place])
        change = _changes(frames)
        told = ~_is_faint(change)
        share, place, frames, change = share[told], place[told], frames[told], change[told]
        active = scan_out_of_height(picture_height).active_fraction
        flip_s: NDArray[np.float64] = picture_s[place] + share * active * period_s

        held = _long_held(picture_s, flip_s, duration_s, 1.5 * period_s)
        time_s = np.concatenate([flip_s, picture_s[held]])
        order = np.argsort(time_s, kind="stable")
        return Signature(
            time_s=time_s[order] - display_delay_s(flip_s, change, share, refresh_hz),
            kept=np.concatenate([frames, pictures[held]])[order],
            duration_s=duration_s,
            refresh_hz=refresh_hz,
        )


def _changes(frames: NDArray[np.uint16]) -> NDArray[np.float64]:
    """Root mean square change of each frame from the one before, shape (m,); 0 for the first."""
    change = np.zeros(len(frames))
    for first in range(1, len(frames), _BLOCK):
        block = frames[first - 1 : first + _BLOCK].astype(np.float32)
        difference = np.diff(block, axis=0)
        change[first : first + _BLOCK] = np.sqrt((difference**2).mean(axis=(1, 2)))
    return change


def _is_faint(change: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Flips that change next to nothing between two that change much.

    They are the codec's second thoughts on a frame. Taken for frames they would make the
    content stand still for a moment and so come late.
    """
    faint = np.zeros(len(change), np.bool_)
    beside = np.minimum(change[:-2], change[2:])
    faint[1:-1] = change[1:-1] < _FAINT * beside
    return faint


def _long_held(
    picture_s: NDArray[np.float64],
    flip_s: NDArray[np.float64],
    duration_s: float,
    completion_s: float,
) -> NDArray[np.intp]:
    """Places of the pictures of long holds, without those that still complete the frame."""
    hold_s = np.diff(flip_s, append=duration_s)
    frame = np.maximum(np.searchsorted(flip_s, picture_s, side="right") - 1, 0)
    is_complete = picture_s > flip_s[frame] + completion_s
    return np.flatnonzero(is_complete & (hold_s[frame] > _LONG_HOLD_S))
