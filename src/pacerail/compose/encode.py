"""Choosing an encoder in plain words, and opening its stream with the footage's tags."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
from av.codec.context import Flags

from pacerail.choices import CODECS, QUALITIES
from pacerail.compose.footage import Footage, HdrMetadata
from pacerail.compose.layout import LAYOUTS, is_rgb, nearest_format
from pacerail.errors import UsageError

CONTAINER_OF_SUFFIX = {".mp4": "mp4", ".m4v": "mp4", ".mov": "mov", ".mkv": "matroska"}
CONTAINERS_OF_CODEC = {
    "h264": ("mp4", "mov", "matroska"),
    "hevc": ("mp4", "mov", "matroska"),
    "prores": ("mov", "matroska"),
    "ffv1": ("matroska",),
}

# Presets and rate factors: common practice, no published source. crf 18 is where most
# people stop seeing a difference on H.264; HEVC reaches the same two steps higher.
_X264 = {
    "draft": {"preset": "ultrafast", "crf": "26"},
    "standard": {"preset": "veryfast", "crf": "18"},
    "high": {"preset": "medium", "crf": "14"},
    "lossless": {"preset": "veryfast", "qp": "0"},
}
_X265 = {
    "draft": {"preset": "ultrafast", "crf": "28"},
    "standard": {"preset": "veryfast", "crf": "20"},
    "high": {"preset": "medium", "crf": "16"},
    "lossless": {"preset": "veryfast", "x265-params": "lossless=1"},
}
# Fixed quantisers: the search that the encoder does by default takes four times as long
# for the same quality.
_PRORES_QUANTISER = {"draft": 8, "standard": 4, "high": 2}


@dataclass(frozen=True)
class EncoderChoice:
    """What to encode with, in the words of the command line.

    Raises UsageError for a word that is not known or a quality that the codec lacks.
    """

    codec: str = "h264"
    quality: str = "standard"

    def __post_init__(self) -> None:
        if self.codec not in CODECS:
            raise UsageError(
                f"codec must be one of {', '.join(CODECS)}, got {self.codec}; choose one of these"
            )
        if self.quality not in QUALITIES:
            raise UsageError(
                f"quality must be one of {', '.join(QUALITIES)}, got {self.quality}; "
                "choose one of these"
            )
        if self.codec == "prores" and self.quality == "lossless":
            raise UsageError(
                "quality must be draft, standard or high for prores, got lossless; "
                "use ffv1 for a lossless file"
            )


DEFAULT_ENCODER = EncoderChoice()


@dataclass(frozen=True)
class EncoderSetup:
    """The library's name of an encoder and how to set it for one choice."""

    name: str
    pixel_format: str
    options: dict[str, str] = field(default_factory=dict)
    quantiser: int | None = None

    @property
    def needs_even_size(self) -> bool:
        """True where the encoder takes no odd size, because chroma is halved."""
        layout = LAYOUTS[self.pixel_format]
        is_halved = layout.chroma_columns * layout.chroma_rows > 1
        return is_halved and self.name in ("libx264", "libx265")


def container_format_of(path: Path) -> str:
    """Container told by a file name. Raises UsageError for an unknown suffix."""
    try:
        return CONTAINER_OF_SUFFIX[path.suffix.lower()]
    except KeyError:
        raise UsageError(
            f"output name must end in {', '.join(CONTAINER_OF_SUFFIX)}, got {path.name}; "
            "choose one of these containers"
        ) from None


def check_container(choice: EncoderChoice, container_format: str) -> None:
    """Raise UsageError if the container does not take the codec."""
    containers = CONTAINERS_OF_CODEC[choice.codec]
    if container_format not in containers:
        raise UsageError(
            f"container must be one that takes {choice.codec} ({', '.join(containers)}), "
            f"got {container_format}; change the file name or the codec"
        )


def encoder_setup(choice: EncoderChoice, footage: Footage) -> EncoderSetup:
    """Encoder and pixel format for footage, whose own format is kept wherever possible.

    Raises InputError for a pixel format that cannot be drawn on.
    """
    quantiser = None
    if choice.codec == "prores":
        name, options = "prores_ks", {"profile": "hq"}
        quantiser = _PRORES_QUANTISER[choice.quality]
    elif choice.codec == "ffv1":
        name, options = "ffv1", {"level": "3", "slices": "16", "slicecrc": "1"}
    elif choice.codec == "hevc":
        name, options = "libx265", dict(_X265[choice.quality])
        parameters = ["log-level=none", *_hdr_parameters(footage.hdr, "master-display", "max-cll")]
        options["x265-params"] = ":".join(filter(None, [options.get("x265-params"), *parameters]))
    else:
        name = "libx264rgb" if is_rgb(footage.pixel_format) else "libx264"
        options = dict(_X264[choice.quality])
        if parameters := _hdr_parameters(footage.hdr, "mastering-display", "cll"):
            options["x264-params"] = ":".join(parameters)
    if choice.codec == "prores":
        pixel_format = "yuv422p10le"  # ProRes 422 HQ has no other
    else:
        formats = av.Codec(name, "w").video_formats or []
        pixel_format = nearest_format(footage.pixel_format, {known.name for known in formats})
    return EncoderSetup(name, pixel_format, options, quantiser)


def losses(choice: EncoderChoice, hdr: HdrMetadata, pixel_aspect: Fraction | None) -> list[str]:
    """What a clip does not carry of the footage, one sentence each.

    H.264 and HEVC carry static HDR metadata in their own streams. ProRes and FFV1 leave it
    to the container, where the library has no way to put it for a stream that it encodes;
    nor has it for the shape of pixels in Matroska, which H.264 and HEVC carry themselves.
    """
    lost = [
        name
        for name, is_lost in (
            ("mastering display", hdr.mastering and choice.codec in ("prores", "ffv1")),
            ("content light level", hdr.light_level and choice.codec in ("prores", "ffv1")),
            ("pixel aspect", (pixel_aspect or 1) != 1 and choice.codec == "ffv1"),
        )
        if is_lost
    ]
    if not lost:
        return []
    return [
        f"The clip does not carry the footage's {' and '.join(lost)}; set it in the editing "
        "program, or write hevc."
    ]


def add_video_stream(
    output: av.container.OutputContainer,
    setup: EncoderSetup,
    footage: Footage,
    *,
    rate: Fraction,
    time_base: Fraction,
) -> av.VideoStream:
    """Add an encoder for footage to a container; its tags are still to be set."""
    stream = output.add_stream(setup.name, rate=rate, time_base=time_base, options=setup.options)
    assert isinstance(stream, av.VideoStream)
    stream.width, stream.height = footage.width, footage.height
    stream.pix_fmt = setup.pixel_format
    context = stream.codec_context
    context.thread_type = "AUTO"
    context.flags |= Flags.frame_duration
    if setup.quantiser is not None:
        context.flags |= Flags.qscale
        context.global_quality = setup.quantiser
    if setup.name == "libx265" and output.format.name in ("mp4", "mov"):
        context.codec_tag = "hvc1"  # the tag that editing programs and phones accept
    return stream


def _hdr_parameters(hdr: HdrMetadata, mastering_key: str, light_key: str) -> list[str]:
    """Static HDR metadata in the syntax that x264 and x265 share; values keep their commas."""
    parameters = []
    if hdr.mastering:
        red_x, red_y, green_x, green_y, blue_x, blue_y, white_x, white_y, least, most = (
            hdr.mastering
        )
        parameters.append(
            f"{mastering_key}=G({green_x},{green_y})B({blue_x},{blue_y})R({red_x},{red_y})"
            f"WP({white_x},{white_y})L({most},{least})"
        )
    if hdr.light_level:
        parameters.append(f"{light_key}={_pair(hdr.light_level)}")
    return parameters


def _pair(values: tuple[int, ...]) -> str:
    return f"{values[0]},{values[1]}"
