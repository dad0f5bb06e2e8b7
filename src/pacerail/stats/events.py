"""What happened in a segment, each with its time: stalls, tears, still spans, cuts, faults."""

from __future__ import annotations

import numpy as np

from pacerail.figure import Event, EventKind
from pacerail.record import Verdict
from pacerail.series import SpanKind
from pacerail.stats.frames import STILL_LIMIT_S
from pacerail.stats.pace import missed_refreshes
from pacerail.stats.segment import Segment

# A late frame of this length or more is a stall. A tenth of a second is about the limit
# for an answer to feel immediate (Miller, "Response time in man-computer conversational
# transactions", 1968; Nielsen, "Usability Engineering", 1993, chapter 5).
STALL_MS = 100.0


EVENT_DEFINITIONS = (
    (
        EventKind.STALL,
        "refreshes",
        f"late frame of {STALL_MS:g} ms or more, from its flip to the next; size: the refreshes "
        "that it missed",
    ),
    (
        EventKind.TEAR,
        "row",
        "flip in the middle of a refresh, from the flip to the end of the refresh; size: the row "
        "at which the new frame starts",
    ),
    (
        EventKind.STILL_SPAN,
        "refreshes",
        f"one picture held for longer than {STILL_LIMIT_S * 1000:g} ms, from its flip to the next; "
        "size: its length",
    ),
    (
        EventKind.CUT,
        "row",
        "flip from which on another scene is shown; start and end are the same; size: the row at "
        "which it starts, 0 at the top",
    ),
    (
        EventKind.CAPTURE_FAULT,
        "refreshes",
        "run of refreshes that the recording lost; size: how many",
    ),
    (
        EventKind.NEW_PART,
        "refreshes",
        "picture that nothing before it can be compared with, as its size is another; size: 0",
    ),
)
"""Every kind of event with the unit of its size and its definition in words."""


def segment_events(segment: Segment) -> tuple[Event, ...]:
    """All events that start in the segment, in order of time.

    A stall and a still span last as long as their frame, a tear until its refresh ends,
    a capture fault as long as its run of lost refreshes; a cut and a new part have no length.
    Cuts are missing where the record does not know them.
    """
    events = [
        *_stalls(segment),
        *_tears(segment),
        *_spans(segment, SpanKind.STILL, EventKind.STILL_SPAN),
        *_spans(segment, SpanKind.FAULT, EventKind.CAPTURE_FAULT),
        *_cuts(segment),
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


def _cuts(segment: Segment) -> list[Event]:
    """Each at the first flip of its refresh; at the start of one in which no flip was found."""
    cuts = segment.record.cut_refresh
    if cuts is None:
        return []
    cuts = cuts[(cuts >= segment.first_refresh) & (cuts < segment.end_refresh)]
    series, hz = segment.series, float(segment.series.refresh_hz)
    flips = np.flatnonzero(series.flipped)
    places = np.searchsorted(series.refresh[flips], cuts)
    events = []
    for refresh, place in zip(cuts.tolist(), places.tolist(), strict=True):
        start_s, row = refresh / hz, 0.0
        if place < len(flips) and series.refresh[flips[place]] == refresh:
            start_s = float(series.start_s[flips[place]])
            row = float(series.tear_row[flips[place]])
        events.append(Event(EventKind.CUT, start_s, start_s, refresh, row, "row"))
    return events


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
