"""What reading a capture met on the way, in numbers and in sentences."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

# Recorders that work lose a refresh here and there; one that leaves out repeated pictures
# leaves out many. (Our choice.)
MANY_LOST = 0.05
MANY_LOST_HINT = "; if the recorder leaves out pictures that repeat, pass --gaps held"


@dataclass
class ReadingReport:
    """Counts that the reader keeps while it runs; `sentences` tells them."""

    pictures: int = 0
    """Pictures handed on."""
    lost: int = 0
    """Refreshes without a picture."""
    filled: int = 0
    """Refreshes without a picture that repeat the one before, as asked."""
    doubled: int = 0
    """Pictures dropped because their refresh had one already."""
    damaged: int = 0
    """Pictures in which the decoder concealed damage."""
    undecodable: int = 0
    """Packets, or places between packets, that could not be decoded."""
    clock_jumps: int = 0
    """Times that the time stamps restarted or leapt."""
    interlaced: int = 0
    """Pictures flagged as two fields, read as if they were progressive."""
    shape_changes: int = 0
    """Times that picture size or pixel format changed."""
    missing_s: Fraction = Fraction(0)
    """Length that the header states beyond the last picture."""

    def sentences(self) -> tuple[str, ...]:
        """One sentence for everything out of the ordinary; empty for a sound capture."""
        hint = "" if self.lost < MANY_LOST * self.pictures else MANY_LOST_HINT
        told = (
            (
                self.lost,
                f"refreshes that the recording lost, counted as capture faults: {{}}{hint}",
            ),
            (self.filled, "refreshes without a picture, taken as held: {}"),
            (self.doubled, "pictures dropped because they came twice or out of order: {}"),
            (self.damaged, "pictures damaged in the file and patched by the decoder: {}"),
            (self.undecodable, "places in the file that could not be decoded: {}"),
            (self.clock_jumps, "jumps of the recording's clock, read as if it ran on: {}"),
            (self.interlaced, "interlaced pictures read as if they were progressive: {}"),
            (self.shape_changes, "changes of picture size or format, each starts a new part: {}"),
        )
        result = [text.format(count) for count, text in told if count]
        if self.missing_s:
            result.append(
                f"the file ends {float(self.missing_s):.3f} s before the end its header states; "
                "what is there was measured"
            )
        return tuple(result)
