"""Events as markers in open formats that players and editing programs read."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import ceil
from types import ModuleType
from typing import Any, TextIO

from pacerail.errors import UsageError
from pacerail.figure import Event, EventKind
from pacerail.plural import plural

# Colour names of OpenTimelineIO's MarkerColor; what hurts is warm, what only explains is cool.
_COLOURS = {
    EventKind.STALL: "RED",
    EventKind.TEAR: "ORANGE",
    EventKind.STILL_SPAN: "CYAN",
    EventKind.CUT: "GREEN",
    EventKind.NEW_PART: "BLUE",
    EventKind.CAPTURE_FAULT: "PURPLE",
}


def event_text(event: Event) -> str:
    """An event in a few words, as ``stall, 117 ms, 6 missed refreshes``."""
    length_ms = (event.end_s - event.start_s) * 1000.0
    match event.kind:
        case EventKind.STALL:
            missed = plural(round(event.size), "missed refresh", "missed refreshes")
            return f"stall, {length_ms:.0f} ms, {missed}"
        case EventKind.TEAR:
            return f"tear at row {event.size:.0f}"
        case EventKind.STILL_SPAN:
            return f"still span, {length_ms / 1000.0:.2f} s"
        case EventKind.CUT:
            return f"cut at row {event.size:.0f}" if event.size else "cut"
        case EventKind.NEW_PART:
            return "new part of the capture"
        case EventKind.CAPTURE_FAULT:
            lost = plural(round(event.size), "lost refresh", "lost refreshes")
            return f"capture fault, {lost}"


def write_webvtt(events: Iterable[Event], stream: TextIO) -> None:
    """Write events as cues of a WebVTT file (W3C WebVTT, UTF-8).

    A cue must end after it starts, so an event without length gets one millisecond.
    """
    stream.write("WEBVTT\n")
    for event in events:
        start_ms = round(event.start_s * 1000.0)
        end_ms = max(round(event.end_s * 1000.0), start_ms + 1)
        stream.write(f"\n{_cue_time(start_ms)} --> {_cue_time(end_ms)}\n{event_text(event)}\n")


def otio_text(
    events: Iterable[Event],
    *,
    media: str,
    refresh_hz: Fraction,
    refreshes: int,
    start_refresh: int = 0,
) -> str:
    """An OpenTimelineIO timeline, as JSON, of one clip of the capture with a marker per event.

    media : file name of the capture, the clip's external reference.
    start_refresh : refreshes from label 0 to the capture's start timecode; the clip and
    its markers are counted from there, as editing programs count media with a timecode.
    Markers cover whole refreshes: from the one an event starts in to the one it ends in.
    Raises UsageError when the package opentimelineio is missing.
    """
    otio = _opentimelineio()
    rate = float(refresh_hz)

    def time_range(first: int, count: int) -> Any:
        return otio.opentime.TimeRange(
            otio.opentime.RationalTime(start_refresh + first, rate),
            otio.opentime.RationalTime(count, rate),
        )

    whole = time_range(0, refreshes)
    clip = otio.schema.Clip(
        name=media,
        media_reference=otio.schema.ExternalReference(target_url=media, available_range=whole),
        source_range=whole,
    )
    for event in events:
        end = min(ceil(event.end_s * rate - 1e-6), refreshes)
        clip.markers.append(
            otio.schema.Marker(
                name=event_text(event),
                color=_COLOURS[event.kind],
                marked_range=time_range(event.refresh, max(end - event.refresh, 1)),
            )
        )
    track = otio.schema.Track(name="capture", kind=otio.schema.TrackKind.Video, children=[clip])
    timeline = otio.schema.Timeline(name=media, tracks=[track])
    return str(timeline.to_json_string())


def _cue_time(milliseconds: int) -> str:
    seconds, milliseconds = divmod(milliseconds, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}.{milliseconds:03}"


def _opentimelineio() -> ModuleType:
    try:
        import opentimelineio
    except ImportError as error:
        raise UsageError(
            "timeline markers must have the package opentimelineio, got none; "
            "install it with pip install 'pacerail[timeline]' or write WebVTT instead"
        ) from error
    module: ModuleType = opentimelineio
    return module
