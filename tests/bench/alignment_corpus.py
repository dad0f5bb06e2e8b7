"""Takes of the same content, as different machines and recorders would make them.

Every take is small and a few seconds long. Its content starts at a time of its own, so the
offset between two takes of one content is the difference of those times.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from demo import pacing
from demo.encode import Encoding, write_capture
from demo.looks import MERLE, WREN, Look
from demo.scene import scene_source, shot_source
from demo.simulator import Display, PictureSource, Rgb, Simulation
from tests.bench import film

SIZE = 320, 180
FILM_FPS = Fraction(25)
FILM_FRAMES = 125
# Content from the storyboard, the shots, and film; where a take may start and still overlap
# the others by some seconds.
STORY = "story"
SHOTS = ("opening", "glide", "dash", "arcade", "fog", "arrival")
FILMS = ("bikes", "bigbuckbunny")


@dataclass(frozen=True)
class Take:
    """One recording of some content."""

    content: str
    start_s: Fraction
    """Content time at the first refresh."""
    length_s: Fraction
    look: Look = MERLE
    refresh_hz: int = 60
    sync: bool = True
    pace: str = "steady"
    """``steady`` is as many frames as refreshes, ``drifting`` is 30 to 40 fps."""
    size: tuple[int, int] = SIZE
    crf: int = 20
    gamma: float = 1.0
    brightness: float = 0.0
    contrast: float = 1.0
    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    """Share cut off at the left, top, right and bottom before resizing."""
    bars: int = 0
    """Black rows above and below."""

    @property
    def name(self) -> str:
        """Says everything that differs from take to take."""
        left, top, right, bottom = self.crop
        return (
            f"{self.content}-{float(self.start_s):.4f}-{float(self.length_s):g}-{self.look.name}-"
            f"{self.refresh_hz}{'s' if self.sync else 'u'}{self.pace[0]}-{self.size[0]}x"
            f"{self.size[1]}-q{self.crf}-g{self.gamma}b{self.brightness:g}c{self.contrast}-"
            f"{left:g}_{top:g}_{right:g}_{bottom:g}-{self.bars}"
        )


def make_take(take: Take, folder: Path) -> Path:
    """The file of a take, made where it does not exist yet."""
    path = folder / f"{take.name}.mp4"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        flips, program = _timing(take)
        simulation = Simulation(
            _processed(_source(take), take),
            flips,
            Display(Fraction(take.refresh_hz), take.sync),
            refreshes=int(take.length_s * take.refresh_hz),
            program_s=program,
        )
        encoding = Encoding(
            options={"crf": str(take.crf), "preset": "superfast"}, size=take.size, audio=False
        )
        write_capture(path, simulation, encoding)
    return path


def _timing(take: Take) -> tuple[list[Fraction], list[Fraction]]:
    """Flip times and the content time of each frame."""
    if take.content in FILMS:
        period = 1 / FILM_FPS
        phase = -(take.start_s % period)
        flips = [phase + k * period for k in range(int(take.length_s / period) + 1)]
    elif take.pace == "steady":
        flips = pacing.steady(take.refresh_hz, take.length_s)
    else:
        flips = pacing.drifting(30, 40, take.length_s)
    return flips, [take.start_s + flip for flip in flips]


def _source(take: Take) -> PictureSource:
    width, height = SIZE
    if take.content == STORY:
        return scene_source(width, height, take.look)
    if take.content in SHOTS:
        return shot_source(take.content, width, height, take.look)
    frames = film.frames(take.content, FILM_FRAMES, width, height)
    return lambda content_s: frames[min(round(content_s * FILM_FPS), len(frames) - 1)].copy()


def _processed(source: PictureSource, take: Take) -> PictureSource:
    """The source as another signal path would show it."""
    codes = np.arange(256) / 255
    curve = (codes**take.gamma - 0.5) * take.contrast + 0.5 + take.brightness
    table = np.rint(np.clip(curve, 0, 1) * 255).astype(np.uint8)
    left, top, right, bottom = take.crop

    def draw(content_s: Fraction) -> Rgb:
        rgb = table[source(content_s)[..., :3]]
        rows, columns = rgb.shape[:2]
        rgb = rgb[
            round(top * rows) : rows - round(bottom * rows),
            round(left * columns) : columns - round(right * columns),
        ]
        if take.bars:
            rgb = np.pad(rgb, ((take.bars, take.bars), (0, 0), (0, 0)))
        return np.ascontiguousarray(rgb)

    return draw


def variants(content: str, first_s: Fraction, length_s: Fraction) -> Sequence[Take]:
    """A reference take and takes that each differ from it in several ways at once."""
    reference = Take(content, first_s, length_s)
    later = first_s + Fraction(613, 1000)
    latest = first_s + Fraction(1087, 1000)
    return (
        reference,
        Take(content, later, length_s, look=WREN, sync=False, pace="drifting"),
        Take(content, latest, length_s, refresh_hz=120, size=(256, 144), gamma=1.02, crf=24),
        Take(
            content,
            later + Fraction(1, 300),
            length_s,
            look=WREN,
            sync=False,
            pace="drifting",
            size=(384, 216),
            gamma=0.98,
            brightness=0.03,
            contrast=0.95,
            crf=28,
        ),
        replace(reference, start_s=latest, crop=(0.03, 0.02, 0.02, 0.03), crf=23),
        replace(reference, start_s=later, bars=22, size=(320, 224), brightness=-0.02, crf=23),
    )


FAMILIES: tuple[Sequence[Take], ...] = (
    variants(STORY, Fraction(0), Fraction(6)),
    variants(STORY, Fraction(15, 2), Fraction(7)),
    variants("glide", Fraction(1), Fraction(4)),
    variants("dash", Fraction(1), Fraction(4)),
    variants("arcade", Fraction(1), Fraction(4)),
    variants("fog", Fraction(1), Fraction(5)),
    variants("arrival", Fraction(0), Fraction(4)),
    variants("bikes", Fraction(0), Fraction(4)),
    variants("bigbuckbunny", Fraction(0), Fraction(4)),
)
"""Takes of one family show the same content; those of different contents are unrelated."""
