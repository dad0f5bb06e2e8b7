"""How far found moments lie from the truth, kind by kind and clip by clip.

Usage: python -m tests.bench.moments [FOLDER]

Clips are the demo's storyboard at several rates, with and without sync, noise and lossy
coding. Cuts are the storyboard's changes of shot, still spans the pause. The fades are eased:
they start with the first frame of another light, in 8 bits, and end with the first of the last.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from pathlib import Path

from demo import pacing
from demo.easel import ramp
from demo.encode import LOSSLESS, Encoding, write_capture
from demo.scene import DURATION_S, STORYBOARD, scene_source
from demo.simulator import Display, Simulation
from demo.truth import Truth
from pacerail.moments.moment import MomentKind
from pacerail.pipeline.measuring import measure
from pacerail.pipeline.moments import moments_of

# Moments of the storyboard at which its fades start and end, seconds, in and out.
FADE_IN, FADE_OUT = (0.15, 1.0), (15.5, 16.3)


@dataclass(frozen=True)
class Clip:
    """One capture of the storyboard."""

    fps: int
    refresh_hz: int
    sync: bool
    crf: int | None
    """None for lossless coding."""
    noise: float
    rows: int = 180
    encoder: str = "libx264"

    @property
    def name(self) -> str:
        """What it is, as a file name."""
        sync = "sync" if self.sync else "free"
        grade = "lossless" if self.crf is None else f"{self.encoder[3:]}-crf{self.crf}"
        return f"{self.fps}fps-{self.refresh_hz}hz-{sync}-{self.rows}-{grade}-noise{self.noise:g}"

    @property
    def encoding(self) -> Encoding:
        """How it is coded."""
        if self.crf is None:
            return Encoding(options=LOSSLESS[self.encoder], noise_sigma=self.noise)
        options = {"crf": str(self.crf), "preset": "veryfast"}
        return Encoding(self.encoder, options=options, noise_sigma=self.noise)


CLIPS = (
    Clip(60, 60, True, 18, 0),
    Clip(30, 60, True, 23, 1),
    Clip(47, 60, False, 30, 0),
    Clip(33, 50, False, 23, 1),
    Clip(30, 30, True, 23, 1),
    Clip(50, 120, False, 23, 1),
    Clip(60, 60, True, 23, 2),
    Clip(60, 60, True, None, 1),
    Clip(40, 60, False, 26, 1, encoder="libx265"),
    Clip(30, 60, True, 28, 1, rows=360),
    Clip(47, 60, False, 23, 1, rows=360),
    Clip(60, 60, True, 35, 0),
)


def main() -> None:
    """Print the errors of every clip."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    for clip in CLIPS:
        path, truth = _made(clip, folder)
        found = moments_of(path, measure(path))
        for kind, wanted in _wanted(truth):
            got = [each.refresh for each in found if each.kind == kind]
            errors = [min((each - want for each in got), key=abs, default=None) for want in wanted]
            surplus = len(got) - len(wanted)
            print(f"{clip.name:44} {kind:12} errors {errors}  surplus {surplus}", flush=True)


def _made(clip: Clip, folder: Path) -> tuple[Path, Truth]:
    flips = pacing.steady(clip.fps, DURATION_S, Fraction(0 if clip.sync else -1, 500))
    simulation = Simulation(
        scene_source(clip.rows * 16 // 9, clip.rows),
        flips,
        Display(Fraction(clip.refresh_hz), clip.sync),
        refreshes=int(DURATION_S * clip.refresh_hz),
    )
    path = folder / f"{clip.name}.mp4"
    return path, write_capture(path, simulation, clip.encoding, overwrite=True)


def _wanted(truth: Truth) -> Iterator[tuple[MomentKind, list[int]]]:
    """Kinds with the refreshes at which they happen."""

    def shown(moment_s: Fraction) -> int:
        """Refresh of the first flip from a moment on."""
        return next(
            (flip.refresh for flip in truth.flips if flip.time_s >= moment_s),
            ceil(moment_s * truth.refresh_hz),
        )

    yield MomentKind.CUT, [shown(cue.start_s) for cue in STORYBOARD[1:]]
    pause = next(cue for cue in STORYBOARD if cue.name == "paused")
    yield MomentKind.STILL_START, [shown(pause.start_s)]
    yield MomentKind.STILL_END, [shown(pause.end_s)]
    yield MomentKind.FADE_START, [shown(_eased(*FADE_IN, 1)), shown(_eased(*FADE_OUT, 1))]
    yield MomentKind.FADE_END, [shown(_eased(*FADE_IN, 255)), shown(_eased(*FADE_OUT, 255))]


def _eased(start_s: float, end_s: float, code: int) -> Fraction:
    """When the demo's ramp from 0 to 255 first rounds to a code, to a tenth of a millisecond."""
    times = (Fraction(tick, 10_000) for tick in range(int(start_s * 10_000), 200_000))
    return next(time for time in times if round(255 * ramp(float(time), start_s, end_s)) >= code)


if __name__ == "__main__":
    main()
