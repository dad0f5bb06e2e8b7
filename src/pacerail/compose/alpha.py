"""The overlay alone as a clip with an alpha channel, made from patches without a capture."""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from av.codec.context import Flags

from pacerail.compose.alpha_frames import AlphaLayout, AlphaPainter
from pacerail.compose.colour import NARROW_RANGE
from pacerail.compose.footage import BT709
from pacerail.compose.stage import Stage
from pacerail.compose.tags import tag_frame
from pacerail.errors import UsageError
from pacerail.patch import Patch

PatchesOf = Callable[[int], Sequence[Patch]]
Rectangle = tuple[int, int, int, int]
"""x, y, width, height on the canvas, in pixels."""


@dataclass(frozen=True)
class AlphaCodec:
    """How one codec with alpha is set up."""

    encoder: str
    layout: AlphaLayout
    container_format: str
    suffix: str
    options: dict[str, str] = field(default_factory=dict)
    quantiser: int | None = None


# ProRes: a fixed quantiser is as good as the default search and four times as fast; 2 keeps
# the mean colour error at 0.02 of 255. VP9: lossy rates smear alpha by up to 24 codes.
ALPHA_CODECS = {
    "prores": AlphaCodec(
        "prores_ks",
        AlphaLayout("yuva444p10le", bit_depth=10),
        "mov",
        ".mov",
        {"profile": "4444"},
        quantiser=2,
    ),
    "animation": AlphaCodec("qtrle", AlphaLayout("argb", "argb"), "mov", ".mov"),
    "png": AlphaCodec(
        "png", AlphaLayout("rgba", "rgba"), "mov", ".mov", {"compression_level": "4"}
    ),
    "vp9": AlphaCodec(
        "libvpx-vp9",
        AlphaLayout("yuva420p", chroma_step=2),
        "webm",
        ".webm",
        {"lossless": "1", "deadline": "realtime", "cpu-used": "8", "row-mt": "1"},
    ),
}


def alpha_codec(name: str, path: Path) -> AlphaCodec:
    """The codec of that name for an output path.

    Raises UsageError for an unknown name or a path with another container's suffix.
    """
    if name not in ALPHA_CODECS:
        raise UsageError(
            f"alpha codec must be one of {', '.join(ALPHA_CODECS)}, got {name}; choose one of these"
        )
    codec = ALPHA_CODECS[name]
    if path.suffix.lower() != codec.suffix:
        raise UsageError(
            f"output name must end in {codec.suffix} for {name} with alpha, got {path.name}; "
            "change the name or the codec"
        )
    return codec


def write_alpha_clip(
    part: Path,
    patches_of: PatchesOf,
    refreshes: Iterable[int],
    *,
    codec: AlphaCodec,
    width: int,
    height: int,
    rate: Fraction,
    rectangle: Rectangle | None = None,
    premultiplied: bool = False,
    start_timecode: str | None = None,
    progress: Callable[[int], None] = lambda pictures: None,
) -> int:
    """Write one picture per refresh at a constant rate; return how many.

    part : file to write; on an exception it may be left half written, the caller removes it.
    patches_of : patches of a refresh, in painting order; called in a thread of its own.
    refreshes : the refresh that each picture shows, in order.
    width, height : of the canvas, in pixels.
    rectangle : cut the pictures to this part of the canvas: x, y, width, height, all even.
    premultiplied : leave colour multiplied by its alpha, for editors set to expect that.
    start_timecode : label of the first picture.
    """
    shown = rectangle or (0, 0, width, height)
    painter = AlphaPainter(codec.layout, shown, premultiplied=premultiplied)
    pictures = 0
    time_base = 1 / rate
    with (
        av.open(str(part), "w", format=codec.container_format) as output,
        Stage(_painted(painter, patches_of, refreshes)) as frames,
    ):
        stream = output.add_stream(
            codec.encoder, rate=rate, time_base=time_base, options=codec.options
        )
        assert isinstance(stream, av.VideoStream)
        _set_up(stream.codec_context, codec, shown)
        if start_timecode:
            stream.metadata["timecode"] = start_timecode
        for frame in frames:
            frame.pts, frame.time_base, frame.duration = pictures, time_base, 1
            tag_frame(frame, stream.codec_context)
            output.mux(stream.encode(frame))
            pictures += 1
            progress(pictures)
        output.mux(stream.encode(None))
    return pictures


def write_png_sequence(
    folder: Path,
    patches_of: PatchesOf,
    refreshes: Iterable[int],
    *,
    width: int,
    height: int,
    rectangle: Rectangle | None = None,
    progress: Callable[[int], None] = lambda pictures: None,
) -> int:
    """Write ``000000.png`` and so on, one per refresh, into a new folder; return how many.

    As `write_alpha_clip`; the files are straight, as PNG has it by its specification.
    """
    shown = rectangle or (0, 0, width, height)
    codec = ALPHA_CODECS["png"]
    context = av.CodecContext.create(codec.encoder, "w")
    assert isinstance(context, av.VideoCodecContext)
    _set_up(context, codec, shown)
    context.options, context.time_base = codec.options, Fraction(1)
    folder.mkdir()
    written = 0
    painter = AlphaPainter(codec.layout, shown)
    with Stage(_painted(painter, patches_of, refreshes)) as frames:
        for packet in _encoded(context, frames):
            (folder / f"{written:06}.png").write_bytes(bytes(packet))
            written += 1
            progress(written)
    return written


def placement_text(rectangle: Rectangle, width: int, height: int) -> str:
    """JSON that says where on the canvas the pictures of a cropped clip lie, in pixels.

    Editing programs place a clip by its centre, so that is given beside the corner.
    """
    x, y, shown_width, shown_height = rectangle
    placement = {
        "canvas_width": width,
        "canvas_height": height,
        "x": x,
        "y": y,
        "width": shown_width,
        "height": shown_height,
        "centre_x": x + shown_width / 2,
        "centre_y": y + shown_height / 2,
    }
    return json.dumps(placement, indent=2) + "\n"


def _painted(
    painter: AlphaPainter, patches_of: PatchesOf, refreshes: Iterable[int]
) -> Generator[av.VideoFrame, None, None]:
    for refresh in refreshes:
        yield painter.frame(patches_of(refresh))


def _encoded(
    context: av.VideoCodecContext, frames: Iterable[av.VideoFrame]
) -> Generator[av.Packet[Any], None, None]:
    for number, frame in enumerate(frames):
        frame.pts, frame.time_base = number, context.time_base
        yield from context.encode(frame)
    yield from context.encode(None)


def _set_up(context: av.VideoCodecContext, codec: AlphaCodec, shown: Rectangle) -> None:
    context.width, context.height = shown[2:]
    context.pix_fmt = codec.layout.pixel_format
    context.thread_type = "AUTO"
    context.flags |= Flags.frame_duration
    if codec.quantiser is not None:
        context.flags |= Flags.qscale
        context.global_quality = codec.quantiser
    if not codec.layout.packed:
        context.colorspace = context.color_primaries = context.color_trc = BT709
        context.color_range = NARROW_RANGE
