"""Two platforms on one canvas: each decoded and scaled, painted, encoded, all in step."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from pathlib import Path

import av
import numpy as np

from pacerail.compose.arrangement import Arrangement, Placement
from pacerail.compose.blend import Blender
from pacerail.compose.colour import code_matrix
from pacerail.compose.encode import (
    DEFAULT_ENCODER,
    EncoderChoice,
    EncoderSetup,
    add_video_stream,
    check_container,
    encoder_setup,
    losses,
)
from pacerail.compose.footage import Footage
from pacerail.compose.layout import PixelLayout, component_views, layout_of
from pacerail.compose.planes import PlaneCache, cache_bytes
from pacerail.compose.rectangle import PictureShape
from pacerail.compose.side import Ready, Scaler, Side, ready_pictures, stated
from pacerail.compose.sound import SAMPLE_RATE, SideSound, SoundTrack, mixed
from pacerail.compose.stage import Stage
from pacerail.compose.tags import tag_frame, tag_video
from pacerail.errors import InputError
from pacerail.patch import Patch

# Pictures waiting between a side and the canvas: both sides wait at once.
SIDE_DEPTH = 4


@dataclass(frozen=True)
class Clip:
    """What is written: so many pictures at a constant rate."""

    pictures: int
    rate: Fraction
    """Pictures a second."""

    def moment_s(self, picture: int) -> Fraction:
        """When a picture starts, from the start of the clip."""
        return picture / self.rate


@dataclass(frozen=True)
class Moment:
    """What the graphics of one picture depend on."""

    picture: int
    has_ended: tuple[bool, bool]
    """For each platform, whether its picture is held because the capture has ended."""


def shape_of(footage: Footage, pixel_aspect: Fraction | None) -> PictureShape:
    """Shape of pictures as they are seen, after any turn."""
    aspect = pixel_aspect or Fraction(1)
    if footage.quarter_turns % 2:
        return PictureShape(footage.height, footage.width, 1 / aspect)
    return PictureShape(footage.width, footage.height, aspect)


def write_joint(
    sides: Sequence[Side],
    sounds: Sequence[SideSound | None],
    arrangement: Arrangement,
    patches_of: Callable[[Moment], Sequence[Patch]],
    clip: Clip,
    part: Path,
    *,
    container_format: str,
    encoder: EncoderChoice = DEFAULT_ENCODER,
    progress: Callable[[int], None] = lambda pictures: None,
    notice: Callable[[str], None] = lambda sentence: None,
) -> None:
    """Write a clip of two platforms in an arrangement, with graphics on it.

    sides : both. The first gives the canvas its pixel format, matrix and range.
    sounds : of none, one (as it is) or both (first left, second right; None is silent).
    patches_of : graphics of a moment, in painting order; called in a thread of its own.
    part : file to write; on an exception it may be left half written, the caller removes it.
    progress : called with the number of pictures written so far.
    notice : told what of the first capture the clip cannot carry.
    Raises UsageError for a container that does not take the codec, InputError for captures
    that cannot share a canvas.
    """
    check_container(encoder, container_format)
    setup, target = canvas_of(sides, arrangement, encoder)
    for sentence in losses(encoder, target.hdr, None):
        notice(sentence)
    with ExitStack() as open_until_end:
        readers = {
            number: open_until_end.enter_context(
                Stage(
                    ready_pictures(
                        side, Scaler(stated(side.footage), _scaled(side.footage, target, placement))
                    ),
                    depth=SIDE_DEPTH,
                )
            )
            for number, (side, placement) in enumerate(
                zip(sides, arrangement.placements, strict=True)
            )
            if placement is not None
        }
        painter = Painter(arrangement, target, [side.footage.quarter_turns for side in sides])
        painted = painter.pictures(
            {number: iter(reader) for number, reader in readers.items()}, patches_of, clip
        )
        time_base = 1 / clip.rate
        # Edit lists are counted in the movie's own time scale: the video's makes them exact.
        scale = {"movie_timescale": str(time_base.denominator)}
        output = open_until_end.enter_context(
            av.open(str(part), "w", format=container_format, container_options=scale)
        )
        ready = open_until_end.enter_context(Stage(painted))
        stream = add_video_stream(output, setup, target, rate=clip.rate, time_base=time_base)
        tag_video(stream, target, None, None)
        blocks = mixed(sounds, ceil(clip.moment_s(clip.pictures) * SAMPLE_RATE))
        track = SoundTrack(output, blocks) if sounds else None
        for picture, frame in enumerate(ready):
            if track:
                track.write_until(clip.moment_s(picture))
            frame.pts, frame.time_base, frame.duration = picture, time_base, 1
            tag_frame(frame, stream.codec_context)
            output.mux(stream.encode(frame))
            progress(picture + 1)
        output.mux(stream.encode(None))
        if track:
            track.finish()


def canvas_of(
    sides: Sequence[Side], arrangement: Arrangement, encoder: EncoderChoice
) -> tuple[EncoderSetup, Footage]:
    """How the canvas is encoded: in the first capture's pixel format and colour, if it can be.

    Raises InputError when the captures are of different dynamic range or colour gamut, which
    cannot be shown together without changing one of them for good.
    """
    first, second = (stated(side.footage) for side in sides)
    signals = [
        footage.signal(layout_of("gbrp" if footage.matrix == 0 else "yuv420p"))
        for footage in (first, second)
    ]
    for what, one, other in (
        ("dynamic range", signals[0].transfer.value, signals[1].transfer.value),
        ("primaries", str(signals[0].primaries), str(signals[1].primaries)),
    ):
        if one != other:
            raise InputError(
                f"captures on one canvas must have the same {what}, got {one} and {other}; "
                "convert one of them first"
            )
    setup = encoder_setup(encoder, first)
    width, height = arrangement.canvas
    canvas = replace(
        first.encoded_as(setup.pixel_format),
        width=width,
        height=height,
        display_matrix=None,
        quarter_turns=0,
    )
    layout = layout_of(setup.pixel_format)
    if layout.chroma_columns != layout.chroma_rows and any(
        side.footage.quarter_turns % 2 for side in sides
    ):
        raise InputError(
            f"captures that players turn must not go onto a {setup.pixel_format} canvas, whose "
            "chroma has another shape once turned; choose another codec"
        )
    return setup, canvas


class Painter:
    """Puts pictures and patches onto fresh canvases.

    quarter_turns : for each platform, clockwise turns from the stored to the seen picture.
    """

    def __init__(
        self, arrangement: Arrangement, canvas: Footage, quarter_turns: Sequence[int]
    ) -> None:
        self._arrangement = arrangement
        self._canvas = canvas
        self._turns = quarter_turns
        self._layout = layout_of(canvas.pixel_format)
        signal = canvas.signal(self._layout)
        size = canvas.width, canvas.height
        cache = PlaneCache(self._layout, signal, capacity_bytes=cache_bytes(size))
        self._blender = Blender(cache)
        self._ground = _black(canvas, self._layout)

    def pictures(
        self,
        readers: dict[int, Iterator[Ready]],
        patches_of: Callable[[Moment], Sequence[Patch]],
        clip: Clip,
    ) -> Generator[av.VideoFrame, None, None]:
        """Every picture of a clip; `readers` give the pictures of each platform shown."""
        shown = {number: next(reader) for number, reader in readers.items()}
        for picture in range(clip.pictures):
            for number, ready in shown.items():
                while ready.end_picture is not None and ready.end_picture <= picture:
                    ready = next(readers[number])
                shown[number] = ready
            has_ended = tuple(
                number in shown and shown[number].end_picture is None for number in (0, 1)
            )
            frame = self.paint(
                {number: ready.frame for number, ready in shown.items()}, clip.moment_s(picture)
            )
            self._blender.blend(frame, patches_of(Moment(picture, (has_ended[0], has_ended[1]))))
            yield frame

    def paint(self, frames: dict[int, av.VideoFrame], moment_s: Fraction) -> av.VideoFrame:
        """A new canvas with pictures in their places, every sample as it is in them."""
        canvas = av.VideoFrame(self._canvas.width, self._canvas.height, self._canvas.pixel_format)
        views = component_views(canvas, self._layout)
        for view, ground in zip(views, component_views(self._ground, self._layout), strict=True):
            view[...] = ground
        for number, placement in self._arrangement.shown(moment_s):
            pictures = component_views(frames[number], self._layout)
            for component, (view, picture) in enumerate(zip(views, pictures, strict=True)):
                rows, columns = self._layout.steps(component)
                seen = np.rot90(picture, -self._turns[number])
                target = placement.target
                y, x = target.y // rows, target.x // columns
                height, width = target.height // rows, target.width // columns
                source_y, source_x = placement.source_y // rows, placement.source_x // columns
                view[y : y + height, x : x + width] = seen[
                    source_y : source_y + height, source_x : source_x + width
                ]
        return canvas


def _scaled(footage: Footage, canvas: Footage, placement: Placement) -> Footage:
    """What a picture of the footage must become, in its stored orientation."""
    width, height = placement.size
    if footage.quarter_turns % 2:
        width, height = height, width
    return replace(canvas, width=width, height=height)


def _black(canvas: Footage, layout: PixelLayout) -> av.VideoFrame:
    """A canvas of black, in its own code values."""
    frame = av.VideoFrame(canvas.width, canvas.height, canvas.pixel_format)
    codes = code_matrix(canvas.signal(layout))[3]
    for view, code in zip(component_views(frame, layout), codes, strict=True):
        view[...] = int(code) << layout.shift
    return frame
