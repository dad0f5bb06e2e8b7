"""Rectangles given as fractions of a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from pacerail.errors import UsageError


@dataclass(frozen=True)
class Region:
    """A rectangle inside a picture; every field is a fraction of its width or height.

    Raises UsageError when the rectangle is empty or reaches outside the picture.
    """

    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        inside = (
            self.x >= 0
            and self.y >= 0
            and self.width > 0
            and self.height > 0
            and self.x + self.width <= 1 + 1e-9
            and self.y + self.height <= 1 + 1e-9
        )
        if not inside:
            raise UsageError(
                f"region must lie inside the picture, got {self}; "
                "give x,y,width,height as fractions from 0 to 1"
            )

    def __str__(self) -> str:
        return f"{self.x:g},{self.y:g},{self.width:g},{self.height:g}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Region from ``x,y,width,height``. Raises UsageError on anything else."""
        try:
            x, y, width, height = (float(part) for part in text.split(","))
        except ValueError:
            raise UsageError(
                f"region must be four numbers x,y,width,height, got {text!r}; "
                "give fractions of the picture such as 0,0,0.5,1"
            ) from None
        return cls(x, y, width, height)

    def covers(self, other: Region) -> bool:
        """Whether all of another region lies in this one."""
        return (
            self.x <= other.x
            and self.y <= other.y
            and self.x + self.width >= other.x + other.width
            and self.y + self.height >= other.y + other.height
        )

    def slices(self, rows: int, columns: int) -> tuple[slice, slice]:
        """Row and column slices of a picture of that size; at least one sample each way."""
        top = min(int(self.y * rows + 0.5), rows - 1)
        left = min(int(self.x * columns + 0.5), columns - 1)
        bottom = max(int((self.y + self.height) * rows + 0.5), top + 1)
        right = max(int((self.x + self.width) * columns + 0.5), left + 1)
        return slice(top, bottom), slice(left, right)
