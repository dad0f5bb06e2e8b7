"""Carrying over what a container says about its contents."""

from __future__ import annotations

from collections.abc import Sequence

import av

# Written anew by every muxer; copies would be wrong.
_OWN_KEYS = {"major_brand", "minor_version", "compatible_brands", "encoder", "timecode"}
_COLOUR_TAGS = ("colorspace", "color_range", "color_primaries", "color_trc")


def copy_colour_tags(source: av.VideoStream, target: av.VideoStream) -> None:
    """Matrix, range, primaries and transfer, as the source has them."""
    for tag in _COLOUR_TAGS:
        setattr(target.codec_context, tag, getattr(source.codec_context, tag))


def copy_shape(source: av.VideoStream, target: av.VideoStream) -> None:
    """Pixel aspect of the source."""
    if source.sample_aspect_ratio:
        target.codec_context.sample_aspect_ratio = source.sample_aspect_ratio


def copy_metadata(
    source: av.container.InputContainer, target: av.container.OutputContainer
) -> None:
    """Title, dates and the like of the whole file."""
    kept = {key: value for key, value in source.metadata.items() if key.lower() not in _OWN_KEYS}
    target.metadata.update(kept)


def add_audio_copies(
    target: av.container.OutputContainer, sources: Sequence[av.AudioStream]
) -> list[av.AudioStream]:
    """A stream for the packets of each source stream, with its language and title."""
    copies = []
    for source in sources:
        copy = target.add_stream_from_template(source)
        copy.metadata.update(source.metadata)
        copies.append(copy)
    return copies
