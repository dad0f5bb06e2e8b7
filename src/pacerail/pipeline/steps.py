"""From a marked edge of one picture to a counted size, in words, JSON and a picture."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.capture.excerpt import glances
from pacerail.draw.page import check_format, write_drawing
from pacerail.draw.stairs import lay_stairs
from pacerail.errors import InputError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.graphic import Graphic
from pacerail.sharpness.stairs import REACH, Mark, Stairs, count_stairs

# Samples around the marked edge that the picture shows: what the count looked at, and room
# for the ticks, which stand over a flat edge and need more beside a steep one.
AROUND, BESIDE = REACH + 10, REACH + 40


@dataclass(frozen=True, eq=False)
class StepCount:
    """What was counted on one picture."""

    moment_s: float
    shown_width: int
    shown_height: int
    stairs: Stairs
    crop: NDArray[np.uint8]
    """Luma around the mark, 8 bits."""
    origin: tuple[int, int]
    """(x, y) of its first sample."""


def count_steps(path: Path, moment_s: float, edge: str) -> StepCount:
    """Count stair steps along an edge of the picture on screen at a moment, in seconds.

    edge : ``x0,y0,x1,y1``, in pixels of the capture.
    Raises InputError when the file is no capture or shows nothing then, UsageError when the
    mark lies on no edge with steps.
    """
    mark = Mark.parse(edge)
    glance = next(glances(path, moment_s), None)
    if glance is None:
        raise InputError(
            f"capture must have a picture at {moment_s:.3f} s, got none in {path}; repair it"
        )
    rows, columns = glance.luma.shape
    stairs = count_stairs(glance.luma, glance.bit_depth, mark)
    left, right = sorted((int(mark.x0), int(mark.x1)))
    top, bottom = sorted((int(mark.y0), int(mark.y1)))
    beside = AROUND if stairs.counts == "rows" else BESIDE
    left, top = max(left - beside, 0), max(top - AROUND, 0)
    right, bottom = min(right + beside + 1, columns), min(bottom + AROUND + 1, rows)
    crop = (glance.luma[top:bottom, left:right] >> (glance.bit_depth - 8)).astype(np.uint8)
    return StepCount(moment_s, columns, rows, stairs, crop, (left, top))


def step_sentences(count: StepCount) -> tuple[str, ...]:
    """What was counted, for people."""
    stairs = count.stairs
    length = count.shown_height if stairs.counts == "rows" else count.shown_width
    size = "height" if stairs.counts == "rows" else "width"
    return (
        f"{stairs.steps} steps over {stairs.extent:.1f} {stairs.counts}: native {size} "
        f"{stairs.size:.0f} of {length} {stairs.counts}, {stairs.least:.0f} to "
        f"{stairs.most:.0f} if one step was miscounted.",
        "Counted where the marked edge jumps; only edges drawn without smoothing have steps.",
    )


def step_json(count: StepCount) -> str:
    """One JSON object."""
    stairs = count.stairs
    return json.dumps(
        {
            "at_s": round(count.moment_s, 3),
            "counts": stairs.counts,
            "steps": stairs.steps,
            "extent": round(stairs.extent, 2),
            "size": round(stairs.size, 1),
            "least": round(stairs.least, 1),
            "most": round(stairs.most, 1),
            "shown_width": count.shown_width,
            "shown_height": count.shown_height,
        },
        indent=2,
    )


def write_steps(
    count: StepCount,
    graphic: Graphic,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Draw the marked edge with its steps ticked.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_steps_output(output, overwrite=overwrite)
    drawing = lay_stairs(
        graphic.label,
        step_sentences(count),
        count.crop,
        count.origin,
        count.stairs.jumps,
        graphic.style,
        are_rows=count.stairs.counts == "rows",
    )
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(drawing, part)


def check_steps_output(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if the picture cannot be written there."""
    check_format(output)
    check_writable(output, overwrite=overwrite)
