"""A specimen sheet: every style at work on the same invented moment."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lettering import fit_label
from pacerail.draw.overlay import Overlay
from pacerail.draw.style import Style
from pacerail.draw.track import Track
from pacerail.series import FrameSeries, SpanKind

WIDTH, MARGIN, GAP = 1920, 60, 28
WIDE, TALL = (886, 498), (280, 498)
NAME, SUMMARY = 40.0, 26.0
GROUND, TEXT, QUIET = Colour(24, 28, 34), Colour(242, 244, 246), Colour(176, 186, 194)

HZ = 60
MOMENT = 150
"""Refresh shown: an uneven stretch and a stall behind, a slow stretch ahead."""
# Frame lengths in refreshes, with the share of the screen height at which each came in.
EVEN, SLOW, STALL = [(1.0, 0.0)] * 24, [(2.0, 0.0)] * 16, [(11.0, 0.0)]
TORN = [(1.25, (0.25 * number) % 1.0) for number in range(24)]
UNEVEN = [(1.0, 0.0), (2.0, 0.0), (1.0, 0.0), (3.0, 0.0), (1.0, 0.0), (2.0, 0.0)]
FIRST = [*EVEN, *UNEVEN, *TORN, *EVEN, *UNEVEN, *STALL, *EVEN, *SLOW, *EVEN, *STALL, *EVEN * 3]
SECOND = [*EVEN, *SLOW, *EVEN, *TORN, *EVEN, *UNEVEN, *EVEN, *STALL, *EVEN, *SLOW, *EVEN * 3]

# Dusk over a harbour, from the top of the sky to the foot of the water, and its silhouettes
# as shares of the picture: left, top, width.
SKY = (Colour(247, 190, 132), Colour(214, 140, 128), Colour(108, 98, 132))
WATER = (Colour(96, 104, 138), Colour(30, 52, 78))
HORIZON = 0.62
HOUSES = (
    (0.04, 0.5, 0.1),
    (0.16, 0.42, 0.07),
    (0.26, 0.55, 0.16),
    (0.7, 0.47, 0.08),
    (0.8, 0.53, 0.2),
)
BANDS = 24


def draw_specimen(styles: Sequence[tuple[str, Style]]) -> Drawing:
    """One row per style, given by name: alone and mirrored, with what it says of itself."""
    tracks = (_track("Merle", FIRST), _track("Wren", SECOND))
    row = round(2.2 * NAME) + WIDE[1] + 2 * GAP

    def paint(canvas: Canvas) -> None:
        for number, (name, style) in enumerate(styles):
            top = MARGIN + number * row
            _draw_title(canvas, top, name, style)
            size = TALL if style.place.edge in ("left", "right") else WIDE
            for count in (1, 2):
                x = MARGIN + (count - 1) * (size[0] + GAP)
                _draw_picture(canvas, x, top + round(2.2 * NAME), size, style, tracks[:count])

    return Drawing(WIDTH, 2 * MARGIN + len(styles) * row - 2 * GAP, GROUND, paint)


def _draw_title(canvas: Canvas, top: int, name: str, style: Style) -> None:
    baseline = top + NAME
    title = fit_label(name, NAME, "SemiBold", WIDTH / 4)
    canvas.label(title, MARGIN, baseline, TEXT)
    after = MARGIN + title.width + GAP
    summary = fit_label(style.summary, SUMMARY, "Regular", WIDTH - MARGIN - after)
    canvas.label(summary, after, baseline, QUIET)


def _draw_picture(
    canvas: Canvas, x: int, y: int, size: tuple[int, int], style: Style, tracks: Sequence[Track]
) -> None:
    end = min(track.series.refreshes for track in tracks)
    overlay = Overlay(tracks, style, *size, first_refresh=0, end_refresh=end)
    with canvas.clipped(Box(x, y, *size)):
        _draw_harbour(canvas, Box(x, y, *size))
        for patch in overlay.patches(MOMENT):
            canvas.patch(patch, x, y)


def _draw_harbour(canvas: Canvas, box: Box) -> None:
    for number in range(BANDS):
        share = (number + 0.5) / BANDS
        if share < HORIZON:
            colour = _between(SKY, share / HORIZON)
        else:
            colour = _between(WATER, (share - HORIZON) / (1 - HORIZON))
        top = box.y + number * box.height // BANDS
        foot = box.y + (number + 1) * box.height // BANDS
        canvas.box(Box(box.x, top, box.width, foot - top), colour)
    foot = box.y + round(HORIZON * BANDS) * box.height // BANDS
    for left, ridge, width in HOUSES:
        roof = box.y + round(ridge * box.height)
        house = Box(box.x + round(left * box.width), roof, round(width * box.width), foot - roof)
        canvas.box(house, Colour(52, 54, 78))


def _between(colours: Sequence[Colour], share: float) -> Colour:
    """The colour at a share of the way through several."""
    place = share * (len(colours) - 1)
    first = min(int(place), len(colours) - 2)
    return colours[first + 1].faded(place - first).over(colours[first])


def _track(label: str, lengths: Sequence[tuple[float, float]]) -> Track:
    """A track of frames of these lengths; its counts are as plain as a specimen allows."""
    edges = np.concatenate([[0.0], np.cumsum([length for length, _ in lengths])])
    refreshes = int(edges[-1])
    torn = np.array([share for _, share in lengths])
    series = FrameSeries(
        refresh_hz=Fraction(HZ),
        refreshes=refreshes,
        picture_height=1080,
        start_s=edges[:-1] / HZ,
        end_s=edges[1:] / HZ,
        kind=np.full(len(lengths), SpanKind.FRAME, np.uint8),
        refresh=edges[:-1].astype(np.int64),
        tear_row=1080 * torn,
        flipped=np.full(len(lengths), True),
        target_ms=1000.0 / HZ,
        target_is_inferred=True,
    )
    refresh = np.arange(refreshes)
    span = np.searchsorted(edges, refresh + 1e-6, side="right") - 1
    elapsed = np.minimum(refresh + 1.0, HZ)
    flips = np.searchsorted(edges, refresh + 1.0) - np.searchsorted(edges, refresh + 1.0 - elapsed)
    late = series.frame_time_ms > 1.5 * series.target_ms
    return Track(
        label=label,
        series=series,
        frame_rate_fps=flips / elapsed * HZ,
        frame_time_ms=series.frame_time_ms[span],
        late_frames=np.cumsum(late, dtype=np.int64)[span],
        torn_share=(np.cumsum(torn > 0) / np.arange(1, len(torn) + 1))[span],
    )
