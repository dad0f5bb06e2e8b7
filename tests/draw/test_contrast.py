"""Legibility measured on drawn pixels, over footage that is black, grey and white."""

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.draw.colour import LEAST_TEXT_CONTRAST, Colour, contrast
from pacerail.draw.overlay import Overlay
from pacerail.draw.style import load_style, style_names
from tests.draw.made_tracks import eventful_spans, flat, frames, make_track, paint

STALLED = [*frames(*[1] * 40, 20, *[1] * 30, 20, *[1] * 30)]


def as_colour(pixel: NDArray[np.uint8]) -> Colour:
    return Colour(*(float(channel) for channel in pixel))


def ratios(picture: NDArray[np.uint8], ground: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Contrast of each distinct colour of an area against its ground."""
    colours = np.unique(picture.reshape(-1, 3), axis=0)
    return np.array([contrast(as_colour(colour), as_colour(ground)) for colour in colours])


@pytest.mark.parametrize("level", [0, 128, 255])
@pytest.mark.parametrize("tracks", [1, 2])
@pytest.mark.parametrize("style", style_names())
def test_text_on_the_plate_reaches_the_guideline(style: str, tracks: int, level: int) -> None:
    """Full strokes of both inks are found on the plate, and both stand out enough."""
    look = load_style(style)
    track = make_track(eventful_spans())
    overlay = Overlay([track] * tracks, look, 1920, 1080, first_refresh=0, end_refresh=400)
    picture = paint(flat(1920, 1080, level), overlay.patches(150))
    for panel in overlay.layout.panels:
        x, y, width, height = panel.box
        area = picture[y : y + height, x : x + width]
        ground = area[0, 0]
        for ink in (look.colours.text, look.colours.quiet):
            wanted = np.array([ink.red, ink.green, ink.blue])
            strokes = (np.abs(area - wanted) <= 1).all(axis=-1)
            assert strokes.sum() > 50
            assert contrast(ink, as_colour(ground)) >= LEAST_TEXT_CONTRAST


@pytest.mark.parametrize("level", [0, 128, 255])
@pytest.mark.parametrize("style", [name for name in style_names() if name != "wake"])
@pytest.mark.parametrize("ghosted", [False, True])
def test_the_time_on_a_stall_reaches_the_guideline(style: str, ghosted: bool, level: int) -> None:
    look = load_style(style)
    track = make_track(STALLED)
    width, height = (1080, 1920) if style == "mast" else (1920, 1080)
    overlay = Overlay([track], look, width, height, first_refresh=0, end_refresh=400)
    # The first stall ends at refresh 60; see it well past the needle, or well before it.
    refresh = 64 if not ghosted else 38
    picture = paint(flat(width, height, level), overlay.patches(refresh))
    lane = overlay.layout.lane
    picture = picture[lane.y : lane.bottom, lane.x : lane.right]
    if overlay.layout.flow == "up":
        picture = np.rot90(picture, -1)
    step = round(look.lane.pixels_per_ms * 1000 / 60 / 2) * 2
    left = overlay.layout.needle + (40 - refresh) * step + 20
    block = picture[:, left : left + 20 * step - 40]
    axis = overlay.layout.axis
    rows = slice(axis - 60, axis - 4)
    if overlay.layout.flow == "up":
        rows = slice(axis + 8, axis + 100)
    block = block[rows]
    values, counts = np.unique(block.reshape(-1, 3), axis=0, return_counts=True)
    ground = values[counts.argmax()]
    assert counts.max() > 0.5 * counts.sum()
    assert ratios(block, ground).max() >= LEAST_TEXT_CONTRAST


@pytest.mark.parametrize("style", style_names())
def test_paces_part_in_lightness_too(style: str) -> None:
    """A viewer who sees no hue, or a grey copy, still tells late from on pace.

    Brightness ratios of neighbouring steps; 1.3 is visible as a difference of flat areas
    (our own floor, chosen by eye).
    """
    colours = load_style(style).colours
    steps = (colours.on_pace, colours.late, colours.far_late)
    assert contrast(steps[1], steps[2]) > 1.3
    assert contrast(steps[0], steps[2]) > 1.3


# General flash threshold (W3C, WCAG 2.x, success criterion 2.3.1, and "general flash and red
# flash thresholds" among the key terms of the WCAG 3 draft): opposing changes of relative
# luminance by 0.1 or more, the darker side below 0.8; more than three pairs of them in a
# second must not cover a quarter of any 10 degrees of the field of view. That these are
# 341 x 256 of a 1024 x 768 screen is from memory, without a second source.
LEAST_CHANGE, MOST_DARK, MOST_PAIRS, MOST_SHARE = 0.1, 0.8, 3, 0.25


@pytest.mark.parametrize("style", style_names())
@pytest.mark.parametrize("lengths", [(1,), (2,), (3,), (1, 2), (2, 4), (1, 8)], ids=str)
def test_moving_tiles_do_not_flash(style: str, lengths: tuple[int, ...]) -> None:
    """One second of strip at the rhythms that tiles have, on black footage."""
    width, height = (360, 640) if style == "mast" else (640, 360)
    track = make_track(frames(*lengths * 120))
    overlay = Overlay([track], load_style(style), width, height, first_refresh=0, end_refresh=400)
    x, y, w, h = overlay.rectangle
    black = flat(width, height, 0)
    second = np.stack(
        [paint(black, overlay.patches(refresh))[y : y + h, x : x + w] for refresh in range(90, 150)]
    )
    light = _luminance(second)
    before, after = light[:-1], light[1:]
    change = np.where(
        (np.abs(after - before) >= LEAST_CHANGE) & (np.minimum(after, before) < MOST_DARK),
        np.sign(after - before),
        0,
    )
    ups, downs = (change > 0).sum(axis=0), (change < 0).sum(axis=0)
    flashing = np.minimum(ups, downs) > MOST_PAIRS
    # A third of the width and of the height of a picture, as 341 x 256 is of that screen.
    window = (width // 3) * (height // 3)
    columns = np.convolve(flashing.sum(axis=0), np.ones(width // 3), mode="same")
    assert columns.max() < MOST_SHARE * window


def _luminance(pictures: NDArray[np.uint8]) -> NDArray[np.float64]:
    value = np.arange(256) / 255
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    result: NDArray[np.float64] = linear[pictures] @ np.array([0.2126, 0.7152, 0.0722])
    return result


@pytest.mark.parametrize("style", style_names())
def test_numbers_change_too_seldom_to_flash(style: str) -> None:
    """Six changes in a second are three pairs."""
    assert load_style(style).readout.changes_per_second <= 2 * MOST_PAIRS
