"""What happened in a segment, each with its time: stalls, tears, still spans, cuts, faults."""

from __future__ import annotations

import numpy as np

from pacerail.figure import Event, EventKind
from pacerail.record import Verdict
from pacerail.series import SpanKind
from pacerail.stats.pace import missed_refreshes
from pacerail.stats.segment import Segment

# A late frame of this length or more is a stall. A tenth of a second is about the limit
# for an answer to feel immediate (Miller, "Response time in man-computer conversational
# transactions", 1968; Nielsen, "Usability Engineering", 1993, chapter 5).
STALL_MS = 100.0


def segment_events(segment: Segment) -> tuple[Event, ...]:
    """All events that start in the segment, in order of time.

    A stall and a still span last as long as their frame, a tear until its refresh ends,
    a capture fault as long as its run of lost refreshes; a new part has no length.
    """
    events = [
        *_stalls(segment),
        *_tears(segment),
        *_spans(segment, SpanKind.STILL, EventKind.STILL_SPAN),
        *_spans(segment, SpanKind.FAULT, EventKind.CAPTURE_FAULT),
        *_new_parts(segment),
    ]
    return tuple(sorted(events, key=lambda event: (event.start_s, event.kind)))


def _stalls(segment: Segment) -> list[Event]:
    series = segment.series
    missed = missed_refreshes(series)
    stalled = np.flatnonzero(segment.late & (series.frame_time_ms >= STALL_MS - 1e-6))
    return [
        Event(
            EventKind.STALL,
            float(series.start_s[span]),
            float(series.end_s[span]),
            int(series.refresh[span]),
            float(missed[span]),
            "refreshes",
        )
        for span in stalled
    ]


def _tears(segment: Segment) -> list[Event]:
    series, hz = segment.series, float(segment.series.refresh_hz)
    torn = segment.torn
    columns = (series.start_s[torn], series.refresh[torn], series.tear_row[torn])
    return [
        Event(EventKind.TEAR, start_s, (refresh + 1) / hz, refresh, row, "row")
        for start_s, refresh, row in zip(*(column.tolist() for column in columns), strict=True)
    ]


def _spans(segment: Segment, span_kind: SpanKind, kind: EventKind) -> list[Event]:
    series, hz = segment.series, float(segment.series.refresh_hz)
    return [
        Event(
            kind,
            float(series.start_s[span]),
            float(series.end_s[span]),
            int(series.refresh[span]),
            round(float(series.end_s[span] - series.start_s[span]) * hz, 6),
            "refreshes",
        )
        for span in np.flatnonzero(segment.starts_inside & (series.kind == span_kind))
    ]


def _new_parts(segment: Segment) -> list[Event]:
    """Pictures without a predecessor that no fault explains."""
    verdict = segment.record.verdict
    is_new_part = (verdict[1:] == Verdict.FIRST) & (verdict[:-1] != Verdict.FAULT)
    hz = float(segment.series.refresh_hz)
    return [
        Event(EventKind.NEW_PART, refresh / hz, refresh / hz, refresh, 0.0, "refreshes")
        for refresh in (np.flatnonzero(is_new_part) + 1).tolist()
        if segment.first_refresh <= refresh < segment.end_refresh
    ]
