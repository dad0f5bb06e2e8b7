"""What a perfect observer of a simulated capture would write down."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Self

from pacerail.record import Verdict

# Mean luma difference, in code values, that both sides of a tear must have between the
# two frames before anyone can be asked to see it. Our choice: well above what H.264 at
# crf 23 adds to a held picture (medians of 0.05 to 0.3 on real clips).
SEEN_CODE_VALUES = 2.0


@dataclass(frozen=True)
class Flip:
    """One frame's first appearance in the capture."""

    frame: int
    """Index into the flips that were given to the simulator."""
    refresh: int
    tear_row: float
    """Row at which the frame starts: a whole number as scanned, 0 for a clean flip."""
    time_s: Fraction
    """Moment at which it starts to reach the screen, from the start of refresh 0."""
    block_difference: float
    """Largest mean difference to the frame before within any 8x8 block, in code values."""
    shown_difference: float
    """The same of the blocks below the tear: what its own refresh shows of the frame."""
    seam_difference: float
    """Mean difference of the two frames next to the tear, on the side where it is smaller.

    Code values; 0 for a clean flip.
    """

    @property
    def is_torn(self) -> bool:
        """True where the flip cut a refresh in two."""
        return self.tear_row > 0

    @property
    def tear_can_be_seen(self) -> bool:
        """True where both frames differ on both sides of the tear."""
        return self.is_torn and self.seam_difference > SEEN_CODE_VALUES


@dataclass(frozen=True)
class Truth:
    """The exact timing of one capture."""

    refresh_hz: Fraction
    rows: int
    """Picture height that the tear rows refer to."""
    verdict: tuple[Verdict, ...]
    """One per refresh: new exactly where a flip falls in it."""
    flips: tuple[Flip, ...]

    def resized(self, rows: int) -> Self:
        """The truth for a capture that was resized to another height."""
        scale = rows / self.rows
        flips = tuple(replace(flip, tear_row=flip.tear_row * scale) for flip in self.flips)
        return replace(self, rows=rows, flips=flips)

    def save(self, path: Path) -> None:
        """Write as JSON, fractions as text."""
        document = {
            "refresh_hz": str(self.refresh_hz),
            "rows": self.rows,
            "verdict": [int(verdict) for verdict in self.verdict],
            "flips": [vars(flip) | {"time_s": str(flip.time_s)} for flip in self.flips],
        }
        path.write_text(json.dumps(document), encoding="utf-8")

    @classmethod
    def load(cls, path: Path) -> Self:
        """Read what `save` wrote."""
        document: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        return cls(
            refresh_hz=Fraction(document["refresh_hz"]),
            rows=document["rows"],
            verdict=tuple(Verdict(value) for value in document["verdict"]),
            flips=tuple(
                Flip(**flip | {"time_s": Fraction(flip["time_s"])}) for flip in document["flips"]
            ),
        )
