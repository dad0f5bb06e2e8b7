"""The overlay burned into the footage: decode, draw and blend, encode, each in its thread."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from pathlib import Path

import av

from pacerail.compose.audio import HAS_EDIT_LIST, check_audio_fits
from pacerail.compose.blend import Blender
from pacerail.compose.conform import Conformer
from pacerail.compose.encode import (
    DEFAULT_ENCODER,
    EncoderChoice,
    add_video_stream,
    check_container,
    encoder_setup,
    losses,
)
from pacerail.compose.footage import footage_of, seen_canvas
from pacerail.compose.layout import layout_of
from pacerail.compose.planes import PlaneCache, cache_bytes
from pacerail.compose.rate import RateChange, change_rate
from pacerail.compose.reader import read_segment
from pacerail.compose.segment import AudioPacket, Item, Segment, Shot
from pacerail.compose.squeeze import squeezed
from pacerail.compose.stage import Stage
from pacerail.compose.tags import (
    add_audio_copies,
    copy_chapters,
    copy_metadata,
    tag_frame,
    tag_video,
)
from pacerail.patch import Patch

USUAL_RATE = 60  # Hz, where a container states none

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
    rate_change: RateChange | None = None,
    halved: bool = False,
    start_timecode: str | None = None,
    progress: Callable[[int], None] = lambda pictures: None,
    notice: Callable[[str], None] = lambda sentence: None,
) -> int:
    """Write the footage with patches blended in; return the number of pictures written.

    container, video : opened for reading, at the start.
    part : file to write; on an exception it may be left half written, the caller removes it.
    patches_of : patches of a refresh, in painting order, on the footage's canvas of square
    pixels; called in a thread of its own.
    refresh_of : refresh of a presentation time stamp.
    first_refresh, end_refresh : half-open; the whole capture by default. A whole capture
    keeps every time stamp; a segment starts at 0 with its audio in step.
    rate_change : write at another, constant rate, counted from 0.
    halved : scale pictures to half of each side, as `Footage.halved` does.
    start_timecode : label of the first picture written.
    progress : called with the number of pictures written so far.
    notice : told what was assumed of the footage, and what of it the clip cannot carry.

    Raises UsageError for a container that does not take the codec or the audio, InputError
    for footage that cannot be blended into or a segment without pictures.
    """
    check_container(encoder, container_format)
    audio = list(container.streams.audio)
    check_audio_fits(audio, container_format)
    segment = Segment(
        refresh_of, first_refresh, end_refresh, from_zero=first_refresh > 0 or bool(rate_change)
    )
    video.thread_type = "AUTO"
    reading = read_segment(
        container, video, audio, segment, has_edit_list=container_format in HAS_EDIT_LIST
    )
    with Stage(reading) as read:
        shot, items = _until_first_shot(iter(read))
        source = footage_of(shot.frame)
        start_s = ((shot.frame.pts or 0) - shot.pts[0]) * Fraction(video.time_base or 0)
        setup = encoder_setup(encoder, source)
        target = source.encoded_as(setup.pixel_format, even=setup.needs_even_size)
        if halved:
            target = target.halved()
        layout = layout_of(setup.pixel_format)
        signal = target.signal(layout)
        for sentence in (
            *signal.assumptions,
            *losses(encoder, source.hdr, video.sample_aspect_ratio),
        ):
            notice(sentence)
        cache = PlaneCache(
            layout,
            signal,
            quarter_turns=source.quarter_turns,
            capacity_bytes=cache_bytes(source.canvas),
        )
        drawn = draw_shots(
            items if rate_change is None else change_rate(items, rate_change, end_refresh),
            Conformer(source, target),
            Blender(cache),
            squeezed(patches_of, seen_canvas(source, video), source.canvas),
        )
        time_base = Fraction(video.time_base or 0)
        # Time stamps carry the time; the rate only guides the encoder's rate control.
        rate = Fraction(video.guessed_rate or video.average_rate or USUAL_RATE)
        if rate_change is not None:
            time_base, rate = 1 / rate_change.rate, rate_change.rate
        # Edit lists are counted in the movie's own time scale: the video's makes them exact.
        scale = {"movie_timescale": str(time_base.denominator)}
        output = av.open(str(part), "w", format=container_format, container_options=scale)
        with output, Stage(drawn) as ready:
            stream = add_video_stream(output, setup, target, rate=rate, time_base=time_base)
            tag_video(stream, target, video.sample_aspect_ratio, start_timecode)
            copies = add_audio_copies(output, audio)
            copy_metadata(container, output)
            copy_chapters(container, output, start_s, segment.end_s(video))
            return write_shots(output, stream, copies, ready, progress)


def draw_shots(
    items: Iterable[Item],
    conformer: Conformer,
    blender: Blender,
    patches_of: PatchesOf,
) -> Generator[Item, None, None]:
    """The same items, each picture with the patches of its refresh blended in.

    A picture that is not to be written is left out.
    """
    for item in items:
        if isinstance(item, AudioPacket):
            yield item
        elif item.pts:
            frame = conformer.conform(item.frame)
            blender.blend(frame, patches_of(item.refresh))
            yield replace(item, frame=frame)


def write_shots(
    output: av.container.OutputContainer,
    stream: av.VideoStream,
    copies: Sequence[av.AudioStream],
    items: Iterable[Item],
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
        tag_frame(frame, stream.codec_context)
        frame.time_base, frame.duration = stream.codec_context.time_base, item.duration
        for pts in item.pts:
            frame.pts = pts
            output.mux(stream.encode(frame))
            pictures += 1
        progress(pictures)
    output.mux(stream.encode(None))
    return pictures


def _until_first_shot(items: Iterator[Item]) -> tuple[Shot, Iterator[Item]]:
    """The first picture, and an iterator that gives everything from the start again."""
    seen = []
    for item in items:
        seen.append(item)
        if isinstance(item, Shot):
            return item, chain(seen, items)
    raise AssertionError("reading a segment gives a picture or raises")
