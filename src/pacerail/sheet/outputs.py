"""What can be made of a segment: one dataclass for each kind of output."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pacerail.choices import (
    ALPHA_CODECS,
    CODECS,
    DRAWING_FORMATS,
    FACTS_FORMATS,
    LAYOUTS,
    MARKERS_FORMATS,
    QUALITIES,
    TABLES,
)
from pacerail.region import Region
from pacerail.sheet.schema import ListOf, key
from pacerail.sheet.values import FILE_NAME, LENGTH, REGION, SWITCH, TEXT, choice, number

_STYLE = "A shipped style, or the path of a style file."
_PLATFORMS = "Platforms that it is made of, each for itself."
_SPOKEN_OF = "Platforms that they are about."
_NAME = "What the file is called, in place of its kind; two of a kind need names to differ."
_CODEC = "How the clip is coded."


@dataclass(frozen=True, kw_only=True)
class LayoutOutput:
    """Both platforms in one clip, each with its tiles."""

    layout: str = key(choice(*LAYOUTS), "How the two share the canvas.")
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="the layout")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    audio: str | None = key(
        TEXT,
        "Whose sound is heard: a platform, `both` (left and right) or `none`.",
        default=None,
        otherwise="the first platform",
    )
    scaled: bool = key(
        SWITCH, "Scale pictures to their place; else each keeps its own pixels.", default=True
    )
    divider: Fraction = key(
        number(0.05, 0.95, "0.5"),
        "Where the line of a split picture stands, as a share of its width.",
        default=Fraction(1, 2),
        otherwise="0.5",
    )
    sweep: Fraction | None = key(
        LENGTH,
        "Let that line go to and fro once in this time.",
        default=None,
        otherwise="it stands",
    )
    codec: str = key(choice(*CODECS), _CODEC, default="h264")
    quality: str = key(choice(*QUALITIES), "How well it is coded.", default="standard")


@dataclass(frozen=True, kw_only=True)
class OverlayOutput:
    """The overlay burned into the footage of a platform."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="overlay")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    codec: str = key(choice(*CODECS), _CODEC, default="h264")
    quality: str = key(choice(*QUALITIES), "How well it is coded.", default="standard")


@dataclass(frozen=True, kw_only=True)
class AlphaOutput:
    """The overlay of a platform alone, with an alpha channel, for an editing program."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="overlay-alpha")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    codec: str = key(choice(*ALPHA_CODECS), _CODEC, default="prores")
    crop: bool = key(
        SWITCH,
        "Cut it to the overlay's rectangle; a `.placement.json` says where that lies.",
        default=False,
    )
    premultiplied: bool = key(
        SWITCH, "Multiply colours by alpha; else alpha is straight.", default=False
    )


@dataclass(frozen=True, kw_only=True)
class StripOutput:
    """The tiles of a platform as a picture, or of both, mirrored."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="strip")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    joined: bool = key(SWITCH, "Both platforms in one strip.", default=False)
    format: str = key(choice(*DRAWING_FORMATS), "What it is written as.", default="png")


@dataclass(frozen=True, kw_only=True)
class CsvOutput:
    """Tables of a platform as comma-separated values."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    tables: tuple[str, ...] = key(
        ListOf(choice(*TABLES), 1), "Which tables, a file each.", default=("summary", "frames")
    )


@dataclass(frozen=True, kw_only=True)
class ComparisonOutput:
    """Every figure of both platforms, with difference and interval, as CSV."""

    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="comparison")


@dataclass(frozen=True, kw_only=True)
class FactsOutput:
    """Short sentences for a narration, on each platform and on what sets two apart."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _SPOKEN_OF, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="facts")
    format: str = key(choice(*FACTS_FORMATS), "What they are written as.", default="text")


@dataclass(frozen=True, kw_only=True)
class MarkersOutput:
    """What happened on a platform, as markers for an editing program."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="markers")
    format: str = key(choice(*MARKERS_FORMATS), "What they are written as.", default="webvtt")


@dataclass(frozen=True, kw_only=True)
class PixelsOutput:
    """The size at which a platform's pictures were drawn: the evidence, and JSON beside it."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="pixels")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    regions: tuple[Region, ...] = key(
        ListOf(REGION),
        "The only parts to look at, as fractions of the picture.",
        default=(),
        otherwise="what the platform watches",
    )
    format: str = key(choice(*DRAWING_FORMATS), "What it is written as.", default="png")


@dataclass(frozen=True, kw_only=True)
class MomentsOutput:
    """Moments at which a clock may start or stop: the pictures around each, and JSON beside it."""

    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1), _PLATFORMS, default=None, otherwise="all"
    )
    name: str | None = key(FILE_NAME, _NAME, default=None, otherwise="moments")
    style: str | None = key(TEXT, _STYLE, default=None, otherwise="that of the sheet")
    still_limit: Fraction = key(
        LENGTH, "A picture that stays longer is still.", default=Fraction(1, 2), otherwise="0.5"
    )
    format: str = key(choice(*DRAWING_FORMATS), "What it is written as.", default="png")


Output = (
    LayoutOutput
    | OverlayOutput
    | AlphaOutput
    | StripOutput
    | CsvOutput
    | ComparisonOutput
    | FactsOutput
    | MarkersOutput
    | MomentsOutput
    | PixelsOutput
)

KINDS: dict[str, type[Output]] = {
    "layout": LayoutOutput,
    "overlay": OverlayOutput,
    "alpha": AlphaOutput,
    "strip": StripOutput,
    "csv": CsvOutput,
    "comparison": ComparisonOutput,
    "facts": FactsOutput,
    "markers": MarkersOutput,
    "moments": MomentsOutput,
    "pixels": PixelsOutput,
}
