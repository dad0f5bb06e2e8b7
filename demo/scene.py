"""Tidewater Courier: the storyboard, and the picture at any moment of it.

A paper glider delivers letters over a harbour at dusk. Every picture is a pure function
of program time, picture size and look.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from demo import shots
from demo.canvas import Board
from demo.easel import Easel
from demo.looks import MERLE, Look
from demo.simulator import PictureSource, Rgb
from demo.stage import Stage


@dataclass(frozen=True)
class Cue:
    """One shot of the storyboard."""

    name: str
    start_s: Fraction
    end_s: Fraction
    shot: shots.Shot
    shot_start_s: Fraction = Fraction(0)
    """The shot's own time when it comes on."""


def _storyboard(*parts: tuple[str, str, shots.Shot, str]) -> tuple[Cue, ...]:
    cues: list[Cue] = []
    start = Fraction(0)
    for name, length, shot, shot_start in parts:
        cues.append(Cue(name, start, start + Fraction(length), shot, Fraction(shot_start)))
        start = cues[-1].end_s
    return tuple(cues)


STORYBOARD = _storyboard(
    ("opening", "2.8", shots.opening, "0"),
    ("glide", "2.4", shots.glide, "0"),
    ("dash", "1.8", shots.dash, "0"),
    ("paused", "0.8", shots.paused, "0"),
    ("dash on", "0.8", shots.dash, "1.8"),
    ("arcade", "1.8", shots.arcade, "0"),
    ("loading", "1.4", shots.loading, "0"),
    ("fog", "1.2", shots.fog, "0"),
    ("moored", "1.2", shots.moored, "0"),
    ("arrival", "2.2", shots.arrival, "0"),
)
"""In order; every change of shot is a hard cut."""

DURATION_S = STORYBOARD[-1].end_s

SHOTS: dict[str, shots.Shot] = {cue.name: cue.shot for cue in STORYBOARD if cue.name != "dash on"}
"""Every shot by name, for showing one of them on its own."""


def cue_at(program_s: Fraction) -> Cue:
    """The storyboard's part at that moment; after the end it starts anew."""
    moment = program_s % DURATION_S
    return next(cue for cue in STORYBOARD if moment < cue.end_s)


def scene_source(width: int, height: int, look: Look = MERLE) -> PictureSource:
    """The whole storyboard as a picture source."""
    stage = _stage(width, height, look)

    def draw(program_s: Fraction) -> Rgb:
        cue = cue_at(program_s)
        shot_s = cue.shot_start_s + program_s % DURATION_S - cue.start_s
        return _picture(stage, cue.shot, float(shot_s))

    return draw


def shot_source(name: str, width: int, height: int, look: Look = MERLE) -> PictureSource:
    """One shot on its own, for as long as wanted; program time is the shot's time."""
    stage, shot = _stage(width, height, look), SHOTS[name]
    return lambda program_s: _picture(stage, shot, float(program_s))


@lru_cache(maxsize=2)
def _stage(width: int, height: int, look: Look) -> Stage:
    """Building scenery takes seconds, and sources of one size can share it."""
    return Stage(width, height, look)


def _picture(stage: Stage, shot: shots.Shot, shot_s: float) -> Rgb:
    board = Board(stage.width, stage.height)
    shot(Easel(board.rgba, board.canvas, stage), shot_s)
    return board.rgba
