"""From flips and verdicts to the frames of a capture as spans of screen time."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import UsageError
from pacerail.record import TimingRecord, Verdict
from pacerail.scanout import flip_refreshes
from pacerail.series import FrameSeries, SpanKind
from pacerail.stats.target import infer_target_refreshes

# A still span is a run of held refreshes longer than this; common practice, no published
# source. It lies clear above the single freeze of 0.36 s that viewers still found
# acceptable in the study of van Kester et al. (Delft University of Technology).
STILL_LIMIT_S = 0.5

# Lengths that differ by less than this are equal: 1e-6 refreshes are 17 ns at 60 Hz, far
# below one row and far above the rounding of float seconds after a day of capture.
TIE_REFRESHES = 1e-6

# What starts a span; of two starts at one moment the greater wins.
_AFTER_A_CUT, _FAULT, _FLIP = 0, 1, 2


def frame_series(
    record: TimingRecord,
    *,
    still_limit_s: float = STILL_LIMIT_S,
    target_fps: Fraction | None = None,
) -> FrameSeries:
    """The capture as spans without gap or overlap, from 0 s to its end.

    A frame lasts from its flip to the next. Where its length cannot be known (before the
    first flip, up to and after a capture fault or a new part, at the end) the span is
    open; a frame or open span longer than `still_limit_s` is a still span.
    `target_fps` overrides the record's own target; without either it is inferred.
    Raises UsageError when a limit or target is not positive.
    """
    if not still_limit_s > 0:
        raise UsageError(
            f"still limit must be longer than 0 s, got {still_limit_s:g}; give for example 0.5"
        )
    if target_fps is not None and target_fps <= 0:
        raise UsageError(
            f"target frame rate must be positive, got {target_fps}; give for example 60"
        )
    hz = float(record.refresh_hz)
    moment, refresh, start_kind, row = _span_starts(record)
    length = np.diff(moment, append=float(record.refreshes))
    flipped = start_kind == _FLIP
    ends_with_flip = np.append(flipped[1:], False)

    kind = np.full(len(moment), SpanKind.OPEN, np.uint8)
    kind[flipped & ends_with_flip] = SpanKind.FRAME
    kind[start_kind == _FAULT] = SpanKind.FAULT
    too_long = length > still_limit_s * hz + TIE_REFRESHES
    kind[too_long & (kind != SpanKind.FAULT)] = SpanKind.STILL

    target = target_fps or record.target_fps
    target_refreshes = (
        hz / float(target)
        if target
        else infer_target_refreshes(length[kind == SpanKind.FRAME], record.refresh_hz)
    )
    start_s = moment / hz
    return FrameSeries(
        refresh_hz=record.refresh_hz,
        refreshes=record.refreshes,
        picture_height=record.source.picture_height,
        start_s=start_s,
        end_s=np.append(start_s[1:], record.refreshes / hz),
        kind=kind,
        refresh=refresh,
        tear_row=row,
        flipped=flipped,
        target_ms=target_refreshes / hz * 1000.0,
        target_is_inferred=target is None,
    )


def _span_starts(
    record: TimingRecord,
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Moment in refreshes, the refresh that first shows it, kind of start and tear row of every
    span, in order of time."""
    verdict = record.verdict
    is_fault = verdict == Verdict.FAULT
    change = np.diff(is_fault.astype(np.int8), prepend=0)
    fault = np.flatnonzero(change == 1)
    is_after_a_cut = (verdict == Verdict.FIRST) | (change == -1)
    is_after_a_cut[:1] = True
    after_a_cut = np.flatnonzero(is_after_a_cut)
    flip = flip_refreshes(
        record.flip_refresh, record.flip_row, record.source.picture_height, record.scan_out
    )
    moment = np.concatenate([after_a_cut, fault, flip]).astype(np.float64)
    kind = np.repeat([_AFTER_A_CUT, _FAULT, _FLIP], [len(after_a_cut), len(fault), len(flip)])
    row = np.concatenate([np.zeros(len(after_a_cut) + len(fault)), record.tear_row])
    refresh = np.concatenate([after_a_cut, fault, record.flip_refresh])
    order = np.lexsort((kind, moment))
    last_at_its_moment = order[np.append(np.diff(moment[order]) > 0, True)]
    moment, refresh, kind, row = (
        column[last_at_its_moment] for column in (moment, refresh, kind, row)
    )
    return moment, refresh, kind, row
