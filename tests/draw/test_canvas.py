from pathlib import Path

import numpy as np

from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.library import load_skia
from pacerail.draw.overlay import Overlay
from pacerail.draw.page import write_png
from pacerail.draw.style import load_style
from pacerail.patch import Image
from tests.draw.made_tracks import eventful_spans, flat, make_track, paint


def test_images_are_premultiplied() -> None:
    image = Drawing(4, 2, Colour(200, 100, 0, 0.5), lambda canvas: None).image()
    assert image.rgba[0, 0].tolist() == [100, 50, 0, 128]


def test_png_has_straight_alpha(tmp_path: Path) -> None:
    """As its specification has it (PNG, third edition, 4.2.1)."""
    path = tmp_path / "half.png"
    write_png(Image(np.tile(np.array([100, 50, 0, 128], np.uint8), (2, 2, 1))), path)
    skia = load_skia()
    stored = skia.Image.open(str(path)).toarray(colorType=skia.kRGBA_8888_ColorType)
    np.testing.assert_allclose(stored[0, 0], [200, 100, 0, 128], atol=1)


def test_patches_painted_on_a_canvas_are_those_that_composing_blends() -> None:
    overlay = Overlay(
        [make_track(eventful_spans())],
        load_style("chart"),
        640,
        360,
        first_refresh=0,
        end_refresh=400,
    )
    patches = overlay.patches(150)

    def paint_all(canvas: Canvas) -> None:
        for patch in patches:
            canvas.patch(patch, 0, 0)

    drawn = Drawing(640, 360, Colour(90, 90, 90), paint_all).image().rgba[..., :3]
    blended = paint(flat(640, 360, 90), patches)
    assert np.abs(drawn.astype(int) - blended).max() <= 2
