"""The overlay burned into the footage: decode, draw and blend, encode, each in its thread."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Sequence
from fractions import Fraction
from pathlib import Path

import av
from av.video.reformatter import VideoReformatter

from pacerail.compose.audio import check_audio_fits
from pacerail.compose.blend import Blender
from pacerail.compose.colour import Signal, signal_from_tags
from pacerail.compose.encode import (
    DEFAULT_ENCODER,
    EncoderChoice,
    add_video_stream,
    check_container,
    encoder_setup,
)
from pacerail.compose.layout import PixelLayout, layout_of
from pacerail.compose.planes import PlaneCache
from pacerail.compose.segment import AudioPacket, Segment, Shot, read_segment
from pacerail.compose.stage import Stage
from pacerail.compose.tags import add_audio_copies, copy_colour_tags, copy_metadata, copy_shape
from pacerail.patch import Patch

PatchesOf = Callable[[int], Sequence[Patch]]


def burn_in(
    container: av.container.InputContainer,
    video: av.VideoStream,
    part: Path,
    patches_of: PatchesOf,
    refresh_of: Callable[[int], int],
    *,
    container_format: str,
    encoder: EncoderChoice = DEFAULT_ENCODER,
    first_refresh: int = 0,
    end_refresh: int | None = None,
    progress: Callable[[int], None] = lambda pictures: None,
) -> int:
    """Write the footage with patches blended in; return the number of pictures written.

    container, video : opened for reading, nothing decoded yet.
    part : file to write; on an exception it may be left half written, the caller removes it.
    patches_of : patches of a refresh, in painting order; called in a thread of its own.
    refresh_of : refresh of a presentation time stamp.
    first_refresh, end_refresh : half-open; the whole capture by default. A whole capture
    keeps every time stamp; a segment starts at 0 with its audio in step.
    progress : called with the number of pictures written so far.

    Raises UsageError for a container that does not take the codec or the audio, InputError
    for footage that cannot be blended into or a segment without pictures.
    """
    check_container(encoder, container_format)
    audio = list(container.streams.audio)
    check_audio_fits(audio, container_format)
    source_format = video.codec_context.pix_fmt or "none"
    setup = encoder_setup(encoder, source_format)
    layout = layout_of(setup.pixel_format)
    blender = Blender(PlaneCache(layout, footage_signal(video, layout)))
    segment = Segment(refresh_of, first_refresh, end_refresh)
    time_base = Fraction(video.time_base or 0)
    video.thread_type = "AUTO"

    def drawn(
        read: Stage[Shot | AudioPacket],
    ) -> Generator[Shot | AudioPacket, None, None]:
        with read:
            yield from draw_shots(read, blender, patches_of, layout)

    output = av.open(
        str(part), "w", format=container_format, container_options=muxer_options(time_base)
    )
    with output:
        stream = add_video_stream(
            output,
            setup,
            width=video.width,
            height=video.height,
            rate=Fraction(video.guessed_rate or video.average_rate or 0),
            time_base=time_base,
        )
        copy_colour_tags(video, stream)
        copy_shape(video, stream)
        copy_metadata(container, output)
        copies = add_audio_copies(output, audio)
        read = Stage(read_segment(container, video, audio, segment, container_format))
        with Stage(drawn(read)) as ready:
            return write_shots(output, stream, copies, ready, progress)


def footage_signal(video: av.VideoStream, layout: PixelLayout) -> Signal:
    """The meaning of a stream's code values, blended in a given layout."""
    context = video.codec_context
    source_is_full = (context.pix_fmt or "").startswith("yuvj")
    return signal_from_tags(
        matrix=context.colorspace,
        colour_range=2 if source_is_full else context.color_range,
        transfer=context.color_trc,
        primaries=context.color_primaries,
        is_rgb=layout.is_rgb,
        bit_depth=layout.bit_depth,
        height=video.height,
    )


def draw_shots(
    shots: Iterable[Shot | AudioPacket],
    blender: Blender,
    patches_of: PatchesOf,
    layout: PixelLayout,
) -> Generator[Shot | AudioPacket, None, None]:
    """The same items, each picture with the patches of its refresh blended in."""
    reformatter = VideoReformatter()
    for item in shots:
        if isinstance(item, Shot):
            frame = item.frame
            if frame.format.name != layout.name:
                frame = reformatter.reformat(frame, format=layout.name)
            frame.make_writable()
            blender.blend(frame, patches_of(item.refresh))
            yield Shot(frame, item.refresh, item.pts)
        else:
            yield item


def write_shots(
    output: av.container.OutputContainer,
    stream: av.VideoStream,
    copies: Sequence[av.AudioStream],
    items: Iterable[Shot | AudioPacket],
    progress: Callable[[int], None],
) -> int:
    """Encode pictures and copy audio packets until the items end; the count of pictures."""
    pictures = 0
    for item in items:
        if isinstance(item, AudioPacket):
            item.packet.stream = copies[item.stream]
            output.mux(item.packet)
            continue
        frame = item.frame
        frame.pict_type = 0  # the decoder's choice of type must not bind the encoder
        for pts in item.pts:
            frame.pts = pts
            output.mux(stream.encode(frame))
            pictures += 1
        progress(pictures)
    output.mux(stream.encode(None))
    return pictures


def muxer_options(time_base: Fraction) -> dict[str, str]:
    """Options that keep time exact: edit lists are counted in the movie's own time scale."""
    return {"movflags": "+faststart", "movie_timescale": str(time_base.denominator)}
