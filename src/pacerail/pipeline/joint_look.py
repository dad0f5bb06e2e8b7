"""How a clip of two platforms looks and sounds, whatever it shows."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pacerail.choices import LAYOUTS
from pacerail.compose.arrangement import Divider
from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.pipeline.tracks import DEFAULTS, SeriesSettings
from pacerail.size import check_canvas

AUDIO_CHOICES = {"a": (0,), "b": (1,), "both": (0, 1), "none": ()}
"""The platforms that are heard; of two, the first from the left and the second from the right."""


@dataclass(frozen=True)
class JointLook:
    """What a clip looks and sounds like, whatever it shows; checked before any measuring.

    Raises UsageError for what does not make sense.
    """

    style: Style
    layout: str = "abreast"
    """One of `LAYOUTS`."""
    canvas: tuple[int, int] = (1920, 1080)
    scales: bool = True
    """False keeps every picture at its own pixels."""
    divider: Fraction = Fraction(1, 2)
    """Where the line of a split picture stands, as a share of its width."""
    sweep_s: Fraction | None = None
    """Seconds in which that line goes to and fro once; None lets it stand."""
    rate: Fraction | None = None
    """Pictures a second; the higher refresh rate of the two if None."""
    length_s: Fraction | None = None
    """No longer than the longer capture lasts, which is what None means."""
    audio: str = "a"
    """One of `AUDIO_CHOICES`."""
    settings: SeriesSettings = DEFAULTS

    def __post_init__(self) -> None:
        for name, value, allowed in (
            ("layout", self.layout, LAYOUTS),
            ("audio", self.audio, tuple(AUDIO_CHOICES)),
        ):
            if value not in allowed:
                raise UsageError(
                    f"{name} must be one of {', '.join(allowed)}, got {value}; choose one of them"
                )
        check_canvas(self.canvas)
        for name, length_s in (("length", self.length_s), ("sweep", self.sweep_s)):
            if length_s is not None and length_s <= 0:
                raise UsageError(f"{name} must be above 0 s, got 0; give a time or leave it out")

    @property
    def line(self) -> Divider:
        """The line of a split picture."""
        return Divider(self.divider, self.sweep_s)
