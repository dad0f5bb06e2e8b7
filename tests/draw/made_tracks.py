"""Tracks and footage made by hand for the drawing tests, and pictures composed from patches."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.track import Track
from pacerail.patch import Patch
from pacerail.series import FrameSeries, SpanKind

Span = tuple[SpanKind, float, float]
"""Kind, length in refreshes, and tear row as a share of the picture height."""

FRAME, STILL, FAULT, OPEN = SpanKind.FRAME, SpanKind.STILL, SpanKind.FAULT, SpanKind.OPEN


def frames(*lengths: float) -> list[Span]:
    """Frames of these lengths in refreshes, none of them torn."""
    return [(FRAME, length, 0.0) for length in lengths]


def make_series(
    spans: Sequence[Span], refresh_hz: Fraction = Fraction(60), target_fps: float = 60.0
) -> FrameSeries:
    """A series of 1080 rows from spans that follow one another from 0 s."""
    edges = np.concatenate([[0.0], np.cumsum([length for _, length, _ in spans])])
    seconds = edges / float(refresh_hz)
    kind = np.array([kind for kind, _, _ in spans], np.uint8)
    return FrameSeries(
        refresh_hz=refresh_hz,
        refreshes=round(edges[-1]),
        picture_height=1080,
        start_s=seconds[:-1],
        end_s=seconds[1:],
        kind=kind,
        refresh=np.floor(edges[:-1] + 1e-9).astype(np.int64),
        tear_row=np.array([share * 1080 for _, _, share in spans]),
        flipped=(kind == FRAME) | (kind == STILL),
        target_ms=1000.0 / target_fps,
        target_is_inferred=True,
    )


def make_track(
    spans: Sequence[Span],
    label: str = "Merle",
    refresh_hz: Fraction = Fraction(60),
    target_fps: float = 60.0,
) -> Track:
    """A track whose columns are plain counts over the series: enough to draw with."""
    series = make_series(spans, refresh_hz, target_fps)
    hz = float(refresh_hz)
    starts = np.arange(series.refreshes) / hz
    span = np.searchsorted(series.start_s, starts + 1e-7, side="right") - 1
    is_frame = series.kind == FRAME
    frame_time = np.where(is_frame, series.frame_time_ms, np.nan)[span]
    flips = series.start_s[series.flipped]
    ends = starts + 1 / hz
    rate = np.searchsorted(flips, ends - 1e-7) - np.searchsorted(flips, ends - 1 - 1e-7)
    measurable = (series.kind[span] != STILL) & (series.kind[span] != FAULT)
    late = is_frame & (series.frame_time_ms > series.target_ms + 500 / hz)
    torn = series.tear_row[series.flipped] > 0
    flips_so_far = np.searchsorted(flips, ends - 1e-7)
    torn_so_far = np.concatenate([[0], np.cumsum(torn)])[flips_so_far]
    with np.errstate(invalid="ignore"):
        share = torn_so_far / flips_so_far
    return Track(
        label=label,
        series=series,
        frame_rate_fps=np.where(measurable, rate / np.clip(ends, 1 / hz, 1), np.nan),
        frame_time_ms=frame_time,
        late_frames=np.cumsum(late)[span],
        torn_share=share,
    )


def eventful_spans(seed: int = 5) -> list[Span]:
    """Twelve seconds with everything that can be drawn: even, uneven, torn, stalled, lost."""
    random = np.random.default_rng(seed)
    spans: list[Span] = [(OPEN, 2, 0.0), *frames(*[1] * 40)]
    spans += frames(1, 1, 2, 1, 1, 3, 1, 2, 2, 1, 1, 1, 6, 1, 1, 1, 1)
    phase = 0.0
    for _ in range(30):
        length = 1.0 + 0.5 * random.random()
        spans.append((FRAME, length, phase % 1.0))
        phase += length
    spans.append((FRAME, 1 + (-phase) % 1.0, phase % 1.0))
    spans += frames(*[1] * 20, 14, *[1] * 24, 2, 1, 1, 2, 1, 1)
    spans += [(FAULT, 8, 0.0), (OPEN, 3, 0.0), *frames(*[2] * 30), (STILL, 45, 0.0)]
    spans += frames(*[1] * 50, 2, *[1] * 30, 4, 4, 4, *[1] * 60, 8, *[1] * 40)
    return [*spans, (OPEN, 4, 0.0)]


def paint(picture: NDArray[np.uint8], patches: Sequence[Patch]) -> NDArray[np.uint8]:
    """An RGB picture with the patches painted over it in order, in floating point."""
    left, top = min(p.x for p in patches), min(p.y for p in patches)
    right = max(p.x + p.width for p in patches)
    bottom = max(p.y + p.height for p in patches)
    painted = picture.copy()
    result = picture[top:bottom, left:right].astype(np.float64)
    for patch in patches:
        rows = slice(patch.source_y, patch.source_y + patch.height)
        columns = slice(patch.source_x, patch.source_x + patch.width)
        source = patch.image.rgba[rows, columns].astype(np.float64)
        assert source.shape[:2] == (patch.height, patch.width)
        y, x = patch.y - top, patch.x - left
        under = result[y : y + patch.height, x : x + patch.width]
        under *= 1 - source[..., 3:] / 255
        under += source[..., :3]
    painted[top:bottom, left:right] = np.floor(result + 0.5)
    return painted


def flat(width: int, height: int, level: int = 128) -> NDArray[np.uint8]:
    """Footage of one grey."""
    return np.full((height, width, 3), level, np.uint8)


def harbour(width: int, height: int, seed: int = 2) -> NDArray[np.uint8]:
    """Busy footage: a dusk gradient, blocks of many sizes, and grain."""
    random = np.random.default_rng(seed)
    down = np.linspace(0, 1, height)[:, None, None]
    top, foot = np.array([250.0, 176, 120]), np.array([38.0, 66, 98])
    picture = np.broadcast_to(top * (1 - down) + foot * down, (height, width, 3)).copy()
    for _ in range(260):
        w, h = random.integers(8, width // 6), random.integers(8, height // 6)
        x, y = random.integers(0, width), random.integers(height // 3, height)
        picture[y : y + h, x : x + w] = random.uniform(10, 250, 3)
    picture += random.normal(0, 8, picture.shape)
    return np.clip(picture, 0, 255).astype(np.uint8)
