"""Sizes of pictures in pixels."""

from __future__ import annotations

import re

from pacerail.errors import UsageError

SHORTEST_SIDE, LONGEST_SIDE = 240, 8192
"""Of a canvas, in pixels. Below, no letter is legible; above, H.264 ends (level 6.2)."""


def parse_size(text: str) -> tuple[int, int]:
    """Width and height from ``1920x1080``. Raises UsageError on anything else."""
    match = re.fullmatch(r"(\d{1,5})x(\d{1,5})", text.strip().lower(), re.ASCII)
    if not match:
        raise UsageError(f"size must be WIDTHxHEIGHT, got {text!r}; write for example 1920x1080")
    return int(match[1]), int(match[2])


def check_canvas(size: tuple[int, int]) -> None:
    """Raise UsageError unless a clip of layouts may have that width and height."""
    if not _may_be_canvas(size):
        raise UsageError(
            f"canvas must have even sides of {SHORTEST_SIDE} to {LONGEST_SIDE} pixels, "
            f"got {size[0]}x{size[1]}; write for example 1920x1080"
        )


def draft_canvas(size: tuple[int, int]) -> tuple[int, int]:
    """Half of each side, or the same where a canvas cannot be so small."""
    halved = half(size[0]), half(size[1])
    return halved if _may_be_canvas(halved) else size


def half(side: int) -> int:
    """Half of a side, rounded down to an even number of at least 2.

    Of both sides, that is a quarter of the pixels.
    """
    return max(side // 4 * 2, 2)


def _may_be_canvas(size: tuple[int, int]) -> bool:
    return all(side % 2 == 0 and SHORTEST_SIDE <= side <= LONGEST_SIDE for side in size)
