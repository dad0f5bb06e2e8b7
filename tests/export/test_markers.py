from __future__ import annotations

import io
import re
import sys
from dataclasses import replace
from fractions import Fraction

import numpy as np
import opentimelineio as otio
import pytest
from hypothesis import given

from pacerail.errors import UsageError
from pacerail.export.markers import event_text, otio_text, write_webvtt
from pacerail.figure import Event, EventKind
from pacerail.record import TimingRecord
from pacerail.stats.events import segment_events
from pacerail.stats.frames import frame_series
from pacerail.stats.segment import Segment
from tests.timing_records import record_of_flips, record_of_holds, records

# W3C WebVTT: [hours:]minutes:seconds.thousandths, hours of two digits or more, minutes
# and seconds 00 to 59, exactly three digits after a full stop.
CUE = re.compile(r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3}) --> (\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})")


def events_of(record: TimingRecord) -> tuple[Event, ...]:
    return segment_events(Segment(record, frame_series(record), 0, record.refreshes))


def webvtt_of(events: tuple[Event, ...]) -> str:
    stream = io.StringIO()
    write_webvtt(events, stream)
    return stream.getvalue()


RECORD = record_of_flips(
    [1, 2, 3, 13, 14, 60, 70, 71],
    74,
    [0, 540, 0, 0, 0, 0, 0, 0],
    faults=[64, 65],
    firsts=[66],
    cut_refresh=np.array([2, 60]),
)


def test_cues_of_one_of_each_kind() -> None:
    assert webvtt_of(events_of(RECORD)) == (
        "WEBVTT\n"
        "\n00:00:00.041 --> 00:00:00.042\ncut at row 540\n"
        "\n00:00:00.041 --> 00:00:00.050\ntear at row 540\n"
        "\n00:00:00.050 --> 00:00:00.217\nstall, 167 ms, 9 missed refreshes\n"
        "\n00:00:00.233 --> 00:00:01.000\nstill span, 0.77 s\n"
        "\n00:00:01.000 --> 00:00:01.001\ncut\n"
        "\n00:00:01.067 --> 00:00:01.100\ncapture fault, 2 lost refreshes\n"
    )


def test_one_missed_refresh_is_one() -> None:
    record = replace(record_of_holds([6] * 5 + [7] + [6] * 5), target_fps=Fraction(10))
    assert "stall, 117 ms, 1 missed refresh\n" in webvtt_of(events_of(record))


def test_an_event_without_length_gets_a_cue_all_the_same() -> None:
    event = Event(EventKind.NEW_PART, 3725.5, 3725.5, 223530, 0.0, "refreshes")
    assert "01:02:05.500 --> 01:02:05.501\nnew part of the capture" in webvtt_of((event,))


def test_no_event_is_a_valid_file() -> None:
    assert webvtt_of(()) == "WEBVTT\n"


@given(records())
def test_every_cue_is_well_formed_and_ends_after_it_starts(record: TimingRecord) -> None:
    header, *cues = webvtt_of(events_of(record)).split("\n\n")
    assert header.strip() == "WEBVTT"
    for cue in cues:
        times, text = cue.strip().split("\n")
        match = CUE.fullmatch(times)
        assert match, times
        start, end = match.groups()[:4], match.groups()[4:]
        assert start < end
        assert "-->" not in text
        assert "<" not in text


def test_one_lost_refresh_is_singular() -> None:
    event = Event(EventKind.CAPTURE_FAULT, 1.0, 1.1, 60, 1.0, "refreshes")
    assert event_text(event) == "capture fault, 1 lost refresh"


def test_opentimelineio_reads_its_own_timeline_back() -> None:
    text = otio_text(
        events_of(RECORD),
        media="harbour.mkv",
        refresh_hz=Fraction(60),
        refreshes=RECORD.refreshes,
        start_refresh=3600,
    )
    timeline = otio.adapters.read_from_string(text, "otio_json")
    (clip,) = timeline.find_clips()
    assert clip.media_reference.target_url == "harbour.mkv"
    assert clip.source_range == otio.opentime.TimeRange(
        otio.opentime.RationalTime(3600, 60), otio.opentime.RationalTime(74, 60)
    )
    markers = [
        (
            marker.name,
            marker.color,
            marker.marked_range.start_time.value,
            marker.marked_range.duration.value,
        )
        for marker in clip.markers
    ]
    assert markers == [
        ("cut at row 540", "GREEN", 3602, 1),
        ("tear at row 540", "ORANGE", 3602, 1),
        ("stall, 167 ms, 9 missed refreshes", "RED", 3603, 10),
        ("still span, 0.77 s", "CYAN", 3614, 46),
        ("cut", "GREEN", 3660, 1),
        ("capture fault, 2 lost refreshes", "PURPLE", 3664, 2),
    ]
    start = clip.markers[0].marked_range.start_time
    assert start.to_timecode(60, drop_frame=False) == "00:01:00:02"


@given(records(max_refreshes=60))
def test_markers_stay_inside_the_clip(record: TimingRecord) -> None:
    text = otio_text(
        events_of(record),
        media="a.mp4",
        refresh_hz=record.refresh_hz,
        refreshes=record.refreshes,
    )
    (clip,) = otio.adapters.read_from_string(text, "otio_json").find_clips()
    for marker in clip.markers:
        start, length = marker.marked_range.start_time.value, marker.marked_range.duration.value
        assert start >= 0
        assert length >= 1
        assert start + length <= record.refreshes


def test_without_the_package_the_error_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "opentimelineio", None)
    with pytest.raises(UsageError, match=r"pip install 'pacerail\[timeline\]'"):
        otio_text((), media="a.mp4", refresh_hz=Fraction(60), refreshes=10)
