from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.figure import EventKind
from pacerail.record import TimingRecord
from pacerail.stats.events import EVENT_DEFINITIONS, segment_events
from pacerail.stats.frames import frame_series
from pacerail.stats.segment import Segment
from tests.timing_records import record_of_flips, record_of_holds, records


def segment_of(record: TimingRecord, first: int = 0, end: int | None = None) -> Segment:
    return Segment(record, frame_series(record), first, end or record.refreshes)


@pytest.mark.parametrize(("held", "is_stall"), [(5, False), (6, True), (24, True)])
def test_a_stall_is_a_late_frame_of_a_tenth_of_a_second(held: int, is_stall: bool) -> None:
    events = segment_events(segment_of(record_of_holds([1] * 30 + [held] + [1] * 30)))
    assert [event.kind for event in events] == [EventKind.STALL] * is_stall
    for stall in events:
        assert stall.size == held - 1
        assert stall.start_s == pytest.approx(31 / 60)
        assert stall.end_s - stall.start_s == pytest.approx(held / 60)


def test_slow_on_purpose_is_no_stall() -> None:
    record = record_of_holds([8] * 20)
    series = frame_series(record, target_fps=Fraction(60, 8))
    assert segment_events(Segment(record, series, 0, record.refreshes)) == ()


def test_a_tear_lasts_until_its_refresh_ends() -> None:
    (tear,) = segment_events(segment_of(record_of_flips([1, 2, 3], 5, [0, 540, 0])))
    assert (tear.kind, tear.refresh, tear.size, tear.unit) == (EventKind.TEAR, 2, 540.0, "row")
    # CTA-861 1080p60: line 540 of 1125 is 8.000 ms into the refresh.
    assert tear.start_s == pytest.approx(2 / 60 + 0.008)
    assert tear.end_s == pytest.approx(3 / 60)


def test_still_spans_faults_and_new_parts() -> None:
    record = record_of_flips([1, 2, 50, 51], 70, faults=[54, 55, 56], firsts=[57, 60])
    events = segment_events(segment_of(record))
    assert [(event.kind, event.refresh, event.size) for event in events] == [
        (EventKind.STILL_SPAN, 2, 48.0),
        (EventKind.CAPTURE_FAULT, 54, 3.0),
        (EventKind.NEW_PART, 60, 0.0),
    ]


def test_a_cut_is_at_its_flip() -> None:
    cuts = np.array([2, 3, 4, 8])
    record = record_of_flips([1, 2, 3, 3], 10, [0, 540, 300, 900], faults=[8], cut_refresh=cuts)
    found = [event for event in segment_events(segment_of(record)) if event.kind == EventKind.CUT]
    # Torn, torn twice, without a flip, at a fault. CTA-861 1080p60: 1125 lines a refresh.
    assert [(event.refresh, event.size) for event in found] == [(2, 540), (3, 300), (4, 0), (8, 0)]
    starts_s = [(2 + 540 / 1125) / 60, (3 + 300 / 1125) / 60, 4 / 60, 8 / 60]
    assert [event.start_s for event in found] == pytest.approx(starts_s)
    assert [event.end_s for event in found] == [event.start_s for event in found]
    assert {event.unit for event in found} == {"row"}


def test_a_record_that_does_not_know_cuts_lists_none() -> None:
    assert segment_events(segment_of(record_of_flips([1, 2, 3], 5, cut_refresh=None))) == ()


def test_every_kind_is_defined_with_the_unit_of_its_size() -> None:
    assert sorted(kind for kind, _, _ in EVENT_DEFINITIONS) == sorted(EventKind)
    record = record_of_flips(
        [1, 2, 3, 13, 14, 60, 70, 71],
        76,
        [0, 540, 0, 0, 0, 0, 0, 0],
        faults=[64, 65],
        firsts=[66, 73],
        cut_refresh=np.array([60]),
    )
    units = {kind: unit for kind, unit, _ in EVENT_DEFINITIONS}
    events = segment_events(segment_of(record))
    assert {event.kind for event in events} == set(EventKind)
    assert all(event.unit == units[event.kind] for event in events)


@given(records(), st.data())
def test_events_of_adjoining_segments_are_those_of_the_whole(
    record: TimingRecord, data: st.DataObject
) -> None:
    if record.refreshes < 2:
        return
    middle = data.draw(st.integers(1, record.refreshes - 1))
    whole = segment_events(segment_of(record))
    parts = segment_events(segment_of(record, 0, middle)) + segment_events(
        segment_of(record, middle)
    )
    assert sorted(parts, key=lambda event: (event.start_s, event.kind)) == list(whole)
    assert list(whole) == sorted(whole, key=lambda event: event.start_s)
