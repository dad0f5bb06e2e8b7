"""The clips of the accuracy bench: small frozen descriptions, made into files when asked for.

A clip is one content at one program timing on one display, coded one way. Making it
writes the capture and its exact truth into a cache folder; a clip whose description has
not changed is taken from there.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from pathlib import Path

import numpy as np

from demo import pacing
from demo.encode import LOSSLESS, Encoding, write_capture
from demo.simulator import Display, Simulation
from demo.truth import Truth
from tests.bench.contents import source_of

VERSION = 2
"""Raised when contents or simulator change what a description makes."""


class Grade(StrEnum):
    """How well a clip is coded, which decides what may be asked of a detector."""

    SHARP = "lossless, crf <= 20"
    GOOD = "crf 23 to 25, HEVC, AV1, 10-bit"
    COARSE = "crf 28, 6 Mbit/s 720p CBR"
    ALMOST_STILL = "one small moving object, crf 23"
    NOISY = "capture noise sigma 0.5, crf 20"
    VERY_NOISY = "capture noise sigma 1 to 1.5"
    STARVED = "too few bits to measure"
    NEAR = "near the refresh rate, at no even pace"
    LATE = "frames wait for the refresh, but for those that come late"
    FAULTY = "refreshes lost or doubled by the recorder"
    INTRA = "every picture coded alone: MJPEG, ProRes, H.264"
    HELD = "screens held for seconds, keyframes among them"


@dataclass(frozen=True)
class Clip:
    """One capture of the corpus."""

    grade: Grade
    content: str
    timing: str
    sync: bool
    encoding: Encoding
    size: tuple[int, int] = (640, 360)
    """Width and height that the program draws."""
    refresh_hz: Fraction = Fraction(60)
    refreshes: int = 240
    container: str = "mp4"
    program_start_s: Fraction = Fraction(0)
    frame_by_frame: bool = False
    """Program time moves by one 25th of a second per flip, whatever the flips' pace."""
    dropped: tuple[int, ...] = ()
    repeated: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """Readable and unique: changes with everything that changes the file."""
        coding = self.encoding
        is_lossless = coding.options == LOSSLESS.get(coding.encoder)
        rate = "cbr" if coding.bit_rate else coding.options.get("crf")
        rate = rate or ("lossless" if is_lossless else "fixed")
        parts = (
            self.content, self.timing, "sync" if self.sync else "off",
            coding.encoder.removeprefix("lib"), f"{coding.pix_fmt}-{rate}",
            f"{float(self.refresh_hz):.5g}Hz",
        )  # fmt: skip
        digest = hashlib.sha256(f"{VERSION} {self!r}".encode()).hexdigest()[:8]
        return "_".join((*parts, digest)).replace(" ", "-")

    def of_height(self, lines: int) -> Clip:
        """The same drawn with that many lines."""
        width, height = self.size
        return replace(self, size=(2 * round(width * lines / height / 2), lines))


@dataclass(frozen=True)
class MadeClip:
    """A clip that exists as files."""

    clip: Clip
    path: Path
    truth: Truth


def make_clip(clip: Clip, folder: Path) -> MadeClip:
    """Write the capture and its truth into the folder, unless they are there already."""
    path = folder / f"{clip.name}.{clip.container}"
    truth_path = path.with_name(path.name + ".truth.json")
    if not (path.exists() and truth_path.exists()):
        folder.mkdir(parents=True, exist_ok=True)
        truth = write_capture(path, simulation_of(clip), clip.encoding, overwrite=True)
        truth.save(truth_path)
    return MadeClip(clip, path, Truth.load(truth_path))


def simulation_of(clip: Clip) -> Simulation:
    """The run of the program that the clip records."""
    duration_s = clip.refreshes / clip.refresh_hz
    seed = int.from_bytes(hashlib.sha256(repr(clip).encode()).digest()[:4])
    flip_s = TIMINGS[clip.timing](duration_s, clip.refresh_hz, seed)
    program_s = [clip.program_start_s + flip - flip_s[0] for flip in flip_s]
    if clip.frame_by_frame:
        program_s = [clip.program_start_s + Fraction(k, 25) for k in range(len(flip_s))]
    return Simulation(
        source_of(clip.content, *clip.size),
        flip_s,
        Display(clip.refresh_hz, clip.sync),
        clip.refreshes,
        program_s=program_s,
        dropped=clip.dropped,
        repeated=clip.repeated,
    )


Timing = Callable[[Fraction, Fraction, int], list[Fraction]]
"""Flips for a duration in seconds, a refresh rate and a seed."""


def _phase(period_s: Fraction, seed: int) -> Fraction:
    """Some moment within the frame before the capture begins, on a grid of microseconds."""
    share = Fraction(int(np.random.default_rng(seed).integers(1, 10**6)), 10**6)
    return -share * period_s


def _steady(fps: Fraction | int) -> Timing:
    return lambda length, _, seed: pacing.steady(fps, length, _phase(1 / Fraction(fps), seed))


def _uneven(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
    return pacing.patterned((1, 3), refresh_hz, length, _phase(1 / refresh_hz, seed))


def _drifting_uneven(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
    # Three per mille off the refresh rate: tears wander through the picture.
    return _uneven(length, refresh_hz * Fraction(997, 1000), seed)


def _late(refreshes: int) -> Timing:
    """One frame in so many refreshes, clean; but one in five comes late and tears."""

    def timing(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
        random = np.random.default_rng(seed)
        flips = pacing.patterned((refreshes,), refresh_hz, length, -refreshes / refresh_hz)
        delays_ms = random.uniform(0.3, 8, len(flips)) * (random.random(len(flips)) < 0.2)
        return [
            flip + Fraction(round(1000 * delay_ms), 10**6)
            for flip, delay_ms in zip(flips, delays_ms, strict=True)
        ]

    return timing


def _slips(refreshes: int) -> Timing:
    """One frame in so many refreshes; but one in twelve stays for one to four longer."""

    def timing(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
        random = np.random.default_rng(seed)
        count = int(length * refresh_hz / refreshes) + 1
        longer = random.integers(1, 5, count) * (random.random(count) < 1 / 12)
        return pacing.patterned(
            (refreshes + longer).tolist(), refresh_hz, length, -refreshes / refresh_hz
        )

    return timing


def _stalls(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
    flips = pacing.steady(refresh_hz, length, _phase(1 / refresh_hz, seed))
    stalls = [(Fraction(7, 10), 100), (Fraction(3, 2), 200), (Fraction(5, 2), 400)]
    return pacing.stalled(flips, [(start, Fraction(ms, 1000)) for start, ms in stalls])


def _held(fps: int) -> Timing:
    """Steady, but for holds of 0.7, 1.2 and 2 seconds: what a loading screen or a menu does."""
    holds = ((1.0, 1.7), (2.7, 3.9), (4.6, 6.6))

    def timing(length: Fraction, refresh_hz: Fraction, seed: int) -> list[Fraction]:
        flips = _steady(fps)(length, refresh_hz, seed)
        return [flip for flip in flips if not any(start < flip < end for start, end in holds)]

    return timing


TIMINGS: dict[str, Timing] = {
    **{f"steady {fps}": _steady(fps) for fps in (24, 25, 30, 40, 50, 60, 75, 140)},
    # Just off the refresh rate or half of it: tears wander through the picture.
    "steady 29.9": _steady(Fraction(299, 10)),
    "steady 29.97": _steady(Fraction(30000, 1001)),
    "steady 59.94": _steady(Fraction(60000, 1001)),
    # Around the refresh rate of 60 Hz: nearly every refresh tears, and no row is held.
    "drift 55-65": lambda length, _, seed: pacing.drifting(55, 65, length),
    "jitter 58-63": lambda length, _, seed: pacing.jittered(58, 63, length, seed),
    "jitter 52-70": lambda length, _, seed: pacing.jittered(52, 70, length, seed),
    "drift 45-55": lambda length, _, seed: pacing.drifting(45, 55, length),
    "jitter 20-90": lambda length, _, seed: pacing.jittered(20, 90, length, seed),
    "uneven 1-3": _uneven,
    "drifting 1-3": _drifting_uneven,
    "late 60": _late(1),
    "late 30": _late(2),
    "slips 30": _slips(2),
    "stalls": _stalls,
    **{f"held {fps}": _held(fps) for fps in (25, 30, 40, 60)},
    "loading": lambda length, _, seed: pacing.stepping(0.15, 0.5, length, seed),
}
"""Every program timing by name."""


def h264(crf: int, preset: str = "veryfast", pix_fmt: str = "yuv420p", **more: str) -> Encoding:
    """H.264 at a constant quality."""
    return Encoding("libx264", pix_fmt, {"crf": str(crf), "preset": preset, **more})


def cbr(megabits: float) -> Encoding:
    """H.264 at a constant rate without B-pictures, as hardware recorders write it."""
    return Encoding(options={"preset": "veryfast", "g": "120"}, bit_rate=int(megabits * 1e6))


def noisy(sigma: float, crf: int = 20) -> Encoding:
    """H.264 of a capture with noise."""
    options = {"crf": str(crf), "preset": "veryfast"}
    return Encoding(options=options, noise_sigma=sigma)


QP0 = Encoding(options=LOSSLESS["libx264"])
FFV1_10 = Encoding("ffv1", "yuv420p10le", LOSSLESS["ffv1"])
HEVC = Encoding("libx265", options={"crf": "23", "preset": "superfast"})
HEVC_10 = Encoding("libx265", "yuv420p10le", {"crf": "23", "preset": "superfast"})
AV1 = Encoding("libsvtav1", options={"crf": "28", "preset": "11"})
MJPEG = Encoding("mjpeg", "yuvj422p", {"qmin": "3", "qmax": "3"})
PRORES = Encoding("prores_ks", "yuv422p10le", {"profile": "2"})
HEVC_KEYED = Encoding("libx265", options={"crf": "23", "preset": "superfast", "g": "60"})
AV1_KEYED = Encoding("libsvtav1", options={"crf": "28", "preset": "11", "g": "60"})
TO_1080 = Encoding(options={"crf": "20", "preset": "superfast"}, size=(1920, 1080))
TO_720 = Encoding(options={"crf": "23", "preset": "veryfast"}, size=(1280, 720))
HD, FULL_HD = (1280, 720), (1920, 1080)
NTSC = Fraction(60000, 1001)
ON, OFF = True, False

CLIPS: tuple[Clip, ...] = (
    # Sharp: no error is allowed.
    Clip(Grade.SHARP, "dash", "drift 45-55", OFF, QP0, refreshes=300),
    Clip(Grade.SHARP, "dash", "steady 29.9", OFF, h264(20), HD),
    Clip(Grade.SHARP, "arcade", "jitter 20-90", OFF, h264(18), refreshes=300),
    Clip(Grade.SHARP, "arcade", "steady 60", ON, h264(20), HD, refreshes=200),
    Clip(Grade.SHARP, "glide", "steady 60", ON, h264(16, "superfast"), FULL_HD, refreshes=150),
    Clip(Grade.SHARP, "glide", "uneven 1-3", ON, h264(20)),
    Clip(Grade.SHARP, "opening", "steady 30", ON, h264(20), HD, refreshes=200),
    Clip(Grade.SHARP, "opening", "drift 45-55", OFF, h264(18)),
    Clip(Grade.SHARP, "film-pan", "drift 45-55", OFF, h264(20), HD, refreshes=200),
    Clip(Grade.SHARP, "film-pan", "steady 60", ON, h264(18, pix_fmt="yuv444p")),
    Clip(Grade.SHARP, "film", "steady 30", OFF, h264(20), HD, frame_by_frame=True),
    Clip(Grade.SHARP, "bikes", "steady 25", ON, h264(18), (640, 272), Fraction(50), 300,
         frame_by_frame=True),
    Clip(Grade.SHARP, "scene", "stalls", ON, h264(20), refreshes=400),
    Clip(Grade.SHARP, "scene-wren", "steady 29.9", OFF, h264(20), refreshes=400,
         program_start_s=Fraction(9)),
    Clip(Grade.SHARP, "credits", "steady 60", ON, h264(20)),
    Clip(Grade.SHARP, "ledges", "steady 60", ON, h264(18)),
    Clip(Grade.SHARP, "letterbox", "jitter 20-90", OFF, h264(20)),
    Clip(Grade.SHARP, "fade", "steady 60", ON, h264(20)),
    Clip(Grade.SHARP, "cuts", "steady 60", ON, h264(20)),
    Clip(Grade.SHARP, "dark", "drift 45-55", OFF, h264(18)),
    Clip(Grade.SHARP, "fog", "steady 30", ON, h264(18)),
    Clip(Grade.SHARP, "moored", "steady 60", ON, QP0),
    Clip(Grade.SHARP, "loading", "loading", ON, h264(20)),
    Clip(Grade.SHARP, "cockpit", "drift 45-55", OFF, h264(20), HD, refreshes=200),
    Clip(Grade.SHARP, "arcade", "steady 75", OFF, h264(18)),
    Clip(Grade.SHARP, "dash", "steady 140", OFF, QP0, refreshes=150),
    Clip(Grade.SHARP, "arcade", "steady 40", ON, h264(20), refresh_hz=Fraction(120), refreshes=360),
    Clip(Grade.SHARP, "dash", "steady 29.97", OFF, h264(20), refresh_hz=NTSC, container="mkv"),
    Clip(Grade.SHARP, "glide", "steady 24", ON, h264(20), refresh_hz=Fraction(30), refreshes=150),
    Clip(Grade.SHARP, "arcade", "jitter 20-90", OFF, FFV1_10, container="mkv", refreshes=200),
    # Good: what recorders are set to.
    Clip(Grade.GOOD, "dash", "drift 45-55", OFF, h264(23), HD),
    Clip(Grade.GOOD, "arcade", "jitter 20-90", OFF, h264(23), HD),
    Clip(Grade.GOOD, "arcade", "steady 59.94", OFF, h264(23, "superfast"), FULL_HD, refreshes=150),
    Clip(Grade.GOOD, "film-pan", "steady 30", OFF, h264(23), HD, refreshes=200),
    Clip(Grade.GOOD, "film-zoom", "jitter 20-90", OFF, h264(23)),
    Clip(Grade.GOOD, "film", "steady 60", ON, h264(23, "medium"), frame_by_frame=True),
    Clip(Grade.GOOD, "bikes", "steady 30", ON, h264(25), (640, 272), refreshes=300,
         frame_by_frame=True),
    Clip(Grade.GOOD, "bikes", "jitter 20-90", OFF, h264(23), (640, 272), refreshes=300,
         frame_by_frame=True),
    Clip(Grade.GOOD, "glide", "drifting 1-3", OFF, h264(25)),
    Clip(Grade.GOOD, "glide", "stalls", ON, h264(23, "medium", g="60")),
    Clip(Grade.GOOD, "bikes", "slips 30", ON, h264(25, "medium")),
    Clip(Grade.GOOD, "film-pan", "slips 30", ON, h264(23)),
    Clip(Grade.GOOD, "opening", "steady 30", ON, h264(25)),
    Clip(Grade.GOOD, "dash", "steady 50", OFF, HEVC),
    Clip(Grade.GOOD, "arcade", "steady 60", ON, HEVC_10),
    Clip(Grade.GOOD, "glide", "steady 40", ON, AV1),
    Clip(Grade.GOOD, "film-pan", "drift 45-55", OFF, AV1),
    Clip(Grade.GOOD, "dash", "jitter 20-90", OFF, h264(23, pix_fmt="yuv420p10le")),
    Clip(Grade.GOOD, "arcade", "steady 30", OFF, h264(23, pix_fmt="yuv444p")),
    Clip(Grade.GOOD, "dash", "steady 29.9", OFF, TO_1080, HD, refreshes=150),
    Clip(Grade.GOOD, "arcade", "steady 60", ON, TO_720),
    Clip(Grade.GOOD, "cuts", "steady 30", OFF, h264(23)),
    Clip(Grade.GOOD, "fade", "drift 45-55", OFF, h264(23)),
    Clip(Grade.GOOD, "dark", "steady 30", ON, h264(23)),
    Clip(Grade.GOOD, "fog", "steady 60", ON, h264(23)),
    Clip(Grade.GOOD, "film-grain", "jitter 20-90", OFF, h264(23)),
    Clip(Grade.GOOD, "film-grain", "steady 30", ON, h264(23)),
    Clip(Grade.GOOD, "film-grain", "steady 60", OFF, h264(23)),
    Clip(Grade.GOOD, "split", "steady 60", ON, h264(23), (960, 540),
         program_start_s=Fraction(1)),
    Clip(Grade.GOOD, "cockpit", "steady 40", OFF, h264(23), HD, refreshes=200),
    Clip(Grade.GOOD, "ledges", "drift 45-55", OFF, h264(23)),
    Clip(Grade.GOOD, "credits", "steady 30", ON, h264(25)),
    Clip(Grade.GOOD, "floor", "steady 60", ON, h264(23, "medium"), HD, refreshes=150),
    Clip(Grade.GOOD, "floor", "drift 45-55", OFF, h264(23), HD, refreshes=150),
    Clip(Grade.GOOD, "floor-blur", "steady 60", ON, AV1, HD, refreshes=150),
    Clip(Grade.GOOD, "glide", "steady 40", OFF, h264(23), refresh_hz=Fraction(120), refreshes=360),
    Clip(Grade.GOOD, "dash", "steady 25", ON, h264(23), refresh_hz=Fraction(50), container="ts"),
    Clip(Grade.GOOD, "arcade", "drift 45-55", OFF, cbr(12), HD, refreshes=200),
    # Coarse.
    Clip(Grade.COARSE, "dash", "drift 45-55", OFF, h264(28)),
    Clip(Grade.COARSE, "arcade", "steady 30", ON, h264(28), HD, refreshes=200),
    Clip(Grade.COARSE, "film-pan", "jitter 20-90", OFF, h264(28)),
    Clip(Grade.COARSE, "floor-blur", "jitter 20-90", OFF, h264(28), HD, refreshes=150),
    Clip(Grade.COARSE, "dark", "steady 40", OFF, h264(26)),
    Clip(Grade.COARSE, "bikes", "steady 30", ON, h264(30), (640, 272), frame_by_frame=True),
    Clip(Grade.COARSE, "opening", "steady 30", ON, h264(28)),
    Clip(Grade.COARSE, "dash", "steady 29.9", OFF, cbr(6), HD, refreshes=200),
    Clip(Grade.COARSE, "film", "steady 30", ON, cbr(6), HD, refreshes=200, frame_by_frame=True),
    # Almost still.
    Clip(Grade.ALMOST_STILL, "moored", "steady 60", ON, h264(23), HD, refreshes=300),
    Clip(Grade.ALMOST_STILL, "moored", "steady 30", ON, h264(23), refreshes=300),
    Clip(Grade.ALMOST_STILL, "courier", "steady 30", ON, h264(23), HD, refreshes=300),
    Clip(Grade.ALMOST_STILL, "courier", "jitter 20-90", OFF, h264(23), refreshes=300),
    # Noise of an analogue stage or a camera.
    Clip(Grade.NOISY, "dash", "drift 45-55", OFF, noisy(0.5)),
    Clip(Grade.NOISY, "arcade", "steady 30", ON, noisy(0.5)),
    Clip(Grade.NOISY, "film-pan", "jitter 20-90", OFF, noisy(0.5)),
    Clip(Grade.NOISY, "moored", "steady 30", ON, noisy(0.5)),
    Clip(Grade.VERY_NOISY, "arcade", "jitter 20-90", OFF, noisy(1.0, 23)),
    Clip(Grade.VERY_NOISY, "glide", "steady 30", ON, noisy(1.5, 23)),
    # Starved: any number would be a guess.
    Clip(Grade.STARVED, "bikes", "steady 30", ON, cbr(0.12), (640, 272), frame_by_frame=True),
    Clip(Grade.STARVED, "film-pan", "steady 30", ON, h264(45)),
    # What a program without sync does whose frame rate is about that of the display.
    Clip(Grade.NEAR, "dash", "jitter 58-63", OFF, h264(20), HD, program_start_s=Fraction(3)),
    Clip(Grade.NEAR, "film-pan", "jitter 52-70", OFF, h264(23), HD),
    Clip(Grade.NEAR, "glide", "drift 55-65", OFF, h264(20), HD, program_start_s=Fraction(3)),
    Clip(Grade.NEAR, "scene", "drift 55-65", OFF, h264(23), program_start_s=Fraction(3)),
    # What a program does that gives up waiting once it is late.
    Clip(Grade.LATE, "arcade", "late 60", OFF, h264(20), HD),
    Clip(Grade.LATE, "film-pan", "late 60", OFF, h264(23)),
    Clip(Grade.LATE, "letterbox", "late 60", OFF, h264(20), HD),
    Clip(Grade.LATE, "split", "late 60", OFF, h264(23), HD, program_start_s=Fraction(1)),
    Clip(Grade.LATE, "dash", "late 30", OFF, h264(23), HD),
    Clip(Grade.LATE, "scene", "late 30", OFF, HEVC, HD, program_start_s=Fraction(3)),
    # Faults of the recording.
    Clip(Grade.FAULTY, "dash", "steady 60", ON, h264(20), dropped=(50, 51, 120, 180)),
    Clip(Grade.FAULTY, "arcade", "drift 45-55", OFF, h264(20), dropped=(77,), repeated=(31, 140)),
    # What capture cards and camera recorders write.
    Clip(Grade.INTRA, "film-zoom", "steady 29.9", OFF, MJPEG, container="mkv",
         program_start_s=Fraction(5)),
    Clip(Grade.INTRA, "arcade", "drift 45-55", OFF, MJPEG, container="mkv"),
    Clip(Grade.INTRA, "film-zoom", "steady 29.9", OFF, PRORES, container="mov",
         program_start_s=Fraction(5)),
    Clip(Grade.INTRA, "dash", "steady 60", ON, PRORES, container="mov"),
    Clip(Grade.INTRA, "film-zoom", "steady 29.9", OFF, h264(20, g="1")),
    Clip(Grade.INTRA, "glide", "jitter 20-90", ON, h264(20, g="1")),
    # Pauses of seconds, in which nothing but the coding changes.
    Clip(Grade.HELD, "arcade", "held 30", ON, h264(23, g="60"), refreshes=440),
    Clip(Grade.HELD, "glide", "held 60", ON, h264(20, bf="0", g="30"), refreshes=440),
    Clip(Grade.HELD, "film-zoom", "held 25", ON, h264(28), refreshes=440),
    Clip(Grade.HELD, "dash", "held 40", OFF, h264(23, "medium", g="60"), refreshes=440),
    Clip(Grade.HELD, "film-pan", "held 30", ON, HEVC_KEYED, refreshes=440),
    Clip(Grade.HELD, "arcade", "held 30", ON, AV1_KEYED, refreshes=440),
)  # fmt: skip
"""All clips; making them takes about nine minutes of one core."""
