"""Styles: how an overlay looks and where it sits, read from TOML.

Lengths are pixels on a canvas whose shorter side is 1080, and scale with it.
"""

from __future__ import annotations

import importlib.resources
import tomllib
from dataclasses import dataclass, replace
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Annotated, Any, Literal

from pacerail.draw.colour import LEAST_TEXT_CONTRAST, Colour, least_contrast
from pacerail.draw.schema import Range, read_table
from pacerail.errors import InputError, UsageError

Length = Annotated[float, Range(0, 1000)]
Size = Annotated[float, Range(8, 300)]
Milliseconds = Annotated[float, Range(1, 1000)]
Share = Annotated[float, Range(0, 1)]


@dataclass(frozen=True)
class Place:
    """Where the overlay sits in the graphics-safe area."""

    edge: Literal["bottom", "top", "left", "right"]
    """Side of the safe area that it lies along."""
    align: Literal["start", "centre", "end"]
    """Position along that side, from the left or from the top."""
    length: Annotated[float, Range(0.15, 1)]
    """Share of that side that it takes."""
    readout: Literal["beside", "above"]
    """Readout beside the tiles or above them; narrow canvases always put it above."""


@dataclass(frozen=True)
class Plate:
    """The ground that carries everything; it vouches for the contrast of the text."""

    colour: Colour
    opacity: Share
    padding: Annotated[float, Range(4, 200)]


@dataclass(frozen=True)
class Type:
    """Sizes of letters."""

    label: Size
    frame_rate: Size
    unit: Size
    detail: Size


@dataclass(frozen=True)
class Lane:
    """The tiles and what goes with them."""

    pixels_per_ms: Annotated[float, Range(0.1, 4)]
    """One scale both ways; rounded so that a refresh is an even whole number of pixels."""
    cut_ms: Milliseconds
    """A tile is cut off at this frame time, and marked so; it sets the height of the lane."""
    paired_cut_ms: Milliseconds
    """The same for each of two mirrored platforms."""
    gap: Length
    """Room between neighbouring tiles."""
    needle: Annotated[float, Range(0.1, 0.95)]
    """Share of the length at which now lies."""
    ghost: Share
    """Strength of what is still to come."""
    rules_ms: tuple[Milliseconds, ...]
    stall_times: bool
    """Write the frame time into a tile that has room for it."""
    rate_height: Length
    """Height of the rolling-frame-rate lane; 0 leaves it out."""
    minimap_height: Length
    """Height of the map of the whole segment; 0 leaves it out."""


@dataclass(frozen=True)
class Readout:
    """The numbers."""

    show: tuple[Literal["frame_time", "late", "torn"], ...]
    frame_rate_decimals: Annotated[int, Range(0, 2)]
    changes_per_second: Annotated[float, Range(0.5, 60)]
    form: Literal["block", "column", "line"]
    """Label over frame rate with details at the right, all in a column, or all in a line."""
    gutter: Length
    """Room between the frame rate and the details."""
    label_width: Length
    """A longer label is cut short, unless the numbers leave it more room."""


@dataclass(frozen=True)
class Colours:
    """Inks; `text` and `quiet` must stay legible on the plate over any footage."""

    text: Colour
    quiet: Colour
    rule: Colour
    needle: Colour
    on_pace: Colour
    late: Colour
    far_late: Colour
    still: Colour
    fault: Colour


@dataclass(frozen=True)
class Style:
    """One look, complete."""

    summary: str
    place: Place
    plate: Plate
    type: Type
    lane: Lane
    readout: Readout
    colours: Colours

    @property
    def plate_colour(self) -> Colour:
        """Colour of the plate with its opacity."""
        return self.plate.colour.faded(self.plate.opacity)

    @property
    def opaque(self) -> Style:
        """The same on a plate that nothing shows through, for sheets, which lie on no footage."""
        return replace(self, plate=replace(self.plate, opacity=1.0))


def style_names() -> tuple[str, ...]:
    """Names of the shipped styles, in order of the alphabet."""
    files = (entry.name for entry in _style_folder().iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in files if name.endswith(".toml")))


def load_style(name_or_path: str) -> Style:
    """A shipped style by name, or a file of the user's own by path.

    Raises UsageError for an unknown name, InputError for a file that cannot be used.
    """
    table = _resolve(_source(name_or_path, Path()), seen=())
    file = Path(name_or_path).name if name_or_path.endswith(".toml") else f"{name_or_path}.toml"
    style = read_table(Style, table, file)
    if style.lane.minimap_height and style.place.edge in ("left", "right"):
        raise InputError(
            f"lane.minimap_height in {file} must be 0 on an upright rail, got "
            f"{style.lane.minimap_height:g}; set it to 0 or move place.edge to top or bottom"
        )
    for ink in ("text", "quiet"):
        ratio = least_contrast(getattr(style.colours, ink), style.plate_colour)
        if ratio < LEAST_TEXT_CONTRAST:
            raise InputError(
                f"colours.{ink} in {file} must reach a contrast of {LEAST_TEXT_CONTRAST}:1 on the "
                f"plate over any footage, got {ratio:.2f}:1; raise plate.opacity or move the colour"
            )
    return style


def _style_folder() -> Traversable:
    """Folder of the shipped styles: in the wheel, or at the top of a checkout."""
    shipped = importlib.resources.files("pacerail") / "styles"
    return shipped if shipped.is_dir() else Path(__file__).resolve().parents[3] / "styles"


def _source(name_or_path: str, folder: Path) -> Traversable:
    if name_or_path.endswith(".toml"):
        return folder / name_or_path
    if name_or_path not in style_names():
        raise UsageError(
            f"style must be one of {', '.join(style_names())} or the path of a .toml file, "
            f"got {name_or_path!r}; pick one of them"
        )
    return _style_folder() / f"{name_or_path}.toml"


def _resolve(source: Traversable, seen: tuple[str, ...]) -> dict[str, Any]:
    """The table of a file, laid over those of the styles it extends."""
    if str(source) in seen:
        raise InputError(
            f"extends must not lead back to the same style, got {source.name} twice; "
            "extend a shipped style"
        )
    try:
        table = tomllib.loads(source.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(
            f"style must be a readable file, got {source}: {error.strerror}; check the path"
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(
            f"style must be a TOML file, got {source.name}: {error}; correct that line"
        ) from error
    base = table.pop("extends", None)
    if base is None:
        return table
    if not isinstance(base, str):
        raise InputError(
            f"extends in {source.name} must be the name or path of a style, got {base!r}; "
            'write for example extends = "quay"'
        )
    folder = source.parent if isinstance(source, Path) else Path()
    return _laid_over(_resolve(_source(base, folder), (*seen, str(source))), table)


def _laid_over(base: dict[str, Any], table: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in table.items():
        below = merged.get(key)
        both = isinstance(below, dict) and isinstance(value, dict)
        merged[key] = _laid_over(below, value) if both else value  # type: ignore[arg-type]
    return merged
