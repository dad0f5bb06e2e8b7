"""The overlay alone as a clip with an alpha channel, made from patches without a capture."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
from av.codec.context import Flags

from pacerail.compose.stage import Stage
from pacerail.compose.straight import AlphaLayout, StraightPainter
from pacerail.errors import UsageError
from pacerail.patch import Patch


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
    patches_of: Callable[[int], Sequence[Patch]],
    refreshes: Iterable[int],
    *,
    codec: AlphaCodec,
    width: int,
    height: int,
    rate: Fraction,
    progress: Callable[[int], None] = lambda pictures: None,
) -> int:
    """Write one picture per refresh at a constant rate; return how many.

    part : file to write; on an exception it may be left half written, the caller removes it.
    patches_of : patches of a refresh, in painting order; called in a thread of its own.
    refreshes : the refresh that each picture shows, in order.
    width, height : of the canvas, in pixels.
    """
    painter = StraightPainter(codec.layout, width, height)

    def painted() -> Generator[av.VideoFrame, None, None]:
        for refresh in refreshes:
            yield painter.frame(patches_of(refresh))

    pictures = 0
    time_base = 1 / rate
    with (
        av.open(str(part), "w", format=codec.container_format) as output,
        Stage(painted()) as frames,
    ):
        stream = _add_stream(output, codec, width, height, rate, time_base)
        for frame in frames:
            frame.pts, frame.time_base, frame.duration = pictures, time_base, 1
            output.mux(stream.encode(frame))
            pictures += 1
            progress(pictures)
        output.mux(stream.encode(None))
    return pictures


def _add_stream(
    output: av.container.OutputContainer,
    codec: AlphaCodec,
    width: int,
    height: int,
    rate: Fraction,
    time_base: Fraction,
) -> av.VideoStream:
    stream = output.add_stream(codec.encoder, rate=rate, time_base=time_base, options=codec.options)
    assert isinstance(stream, av.VideoStream)
    stream.width, stream.height, stream.pix_fmt = width, height, codec.layout.pixel_format
    context = stream.codec_context
    context.thread_type = "AUTO"
    context.flags |= Flags.frame_duration
    if codec.quantiser is not None:
        context.flags |= Flags.qscale
        context.global_quality = codec.quantiser
    if not codec.layout.packed:
        context.colorspace = context.color_primaries = context.color_trc = 1
        context.color_range = 1
    return stream
