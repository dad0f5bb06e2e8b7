"""Carrying over what a container says about its contents."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING

import av

from pacerail.compose.footage import Footage

if TYPE_CHECKING:
    from av.container.core import Chapter  # exists for type checkers only

# Written anew by every muxer; copies would be wrong.
_OWN_KEYS = {"major_brand", "minor_version", "compatible_brands", "encoder", "timecode"}

# By number of channels; common practice, no published source.
USUAL_LAYOUTS = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}


def tag_video(
    stream: av.VideoStream,
    footage: Footage,
    pixel_aspect: Fraction | None,
    start_timecode: str | None,
) -> None:
    """Colour, turn, pixel aspect and start timecode of an encoder's stream."""
    context = stream.codec_context
    context.colorspace = footage.matrix
    context.color_range = footage.colour_range
    context.color_primaries = footage.primaries
    context.color_trc = footage.transfer
    if pixel_aspect:
        context.sample_aspect_ratio = pixel_aspect
    if footage.display_matrix:
        stream.set_display_matrix(footage.display_matrix)
    if start_timecode:
        stream.metadata["timecode"] = start_timecode


def tag_frame(frame: av.VideoFrame, context: av.VideoCodecContext) -> None:
    """Colour of a frame that goes to an encoder: ProRes writes the frame's, not the stream's."""
    frame.colorspace, frame.color_range = context.colorspace, context.color_range
    frame.color_primaries, frame.color_trc = context.color_primaries, context.color_trc


def copy_metadata(
    source: av.container.InputContainer, target: av.container.OutputContainer
) -> None:
    """Title, dates and the like of the whole file."""
    kept = {key: value for key, value in source.metadata.items() if key.lower() not in _OWN_KEYS}
    target.metadata.update(kept)


def copy_chapters(
    source: av.container.InputContainer,
    target: av.container.OutputContainer,
    start_s: Fraction = Fraction(0),
    end_s: Fraction | None = None,
) -> None:
    """Chapters that reach into [start_s, end_s), cut to it and counted from its start."""
    kept: list[Chapter] = []
    for chapter in source.chapters():
        base = Fraction(chapter["time_base"] or 1)
        start, end = chapter["start"] * base, chapter["end"] * base
        if end <= start_s or (end_s is not None and start >= end_s):
            continue
        start = max(start, start_s) - start_s
        end = (end if end_s is None else min(end, end_s)) - start_s
        kept.append({**chapter, "start": floor(start / base), "end": ceil(end / base)})
    if kept:
        target.set_chapters(kept)


def add_audio_copies(
    target: av.container.OutputContainer, sources: Sequence[av.AudioStream]
) -> list[av.AudioStream]:
    """A stream for the packets of each source stream, with its language and title."""
    copies = []
    for source in sources:
        copy = target.add_stream_from_template(source)
        copy.metadata.update(source.metadata)
        copy.disposition = source.disposition
        if copy.codec_context.layout.name == f"{source.channels} channels":
            # Matroska does not say where the speakers stand, and MP4 insists on knowing.
            copy.codec_context.layout = USUAL_LAYOUTS.get(source.channels, "stereo")
        copies.append(copy)
    return copies
