import numpy as np
import pytest

from pacerail.draw.canvas import Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lettering import ELLIPSIS, Label, fit_label, text_width
from pacerail.draw.library import load_skia

CLEAR, INK = Colour(0, 0, 0, 0), Colour(255, 255, 255)


def inked(label: Label, width: int = 500) -> tuple[int, int, int]:
    """First and last inked column, and how many pixels are inked, of a label drawn at 20."""
    image = Drawing(width, 80, CLEAR, lambda canvas: canvas.label(label, 20, 50, INK)).image()
    columns = np.flatnonzero((image.rgba[..., 3] > 40).any(axis=0))
    if not len(columns):
        return 0, 0, 0
    return int(columns[0]), int(columns[-1]), int((image.rgba[..., 3] > 40).sum())


def test_a_label_that_fits_stays_as_it_is() -> None:
    assert fit_label("Merle", 28, "Medium", 200).text == "Merle"


@pytest.mark.parametrize("width", [60, 90, 140, 200])
def test_a_long_label_ends_in_an_ellipsis_within_its_room(width: int) -> None:
    label = fit_label("Merle, the living-room machine by the window", 28, "Medium", width)
    assert label.text.endswith(ELLIPSIS)
    assert label.width <= width
    _, last, ink = inked(label)
    assert ink > 0
    assert last - 20 <= width


def test_line_breaks_and_double_spaces_become_one_space() -> None:
    assert fit_label("Merle\n  dock", 28, "Medium", 400).text == "Merle dock"


def test_a_mark_above_a_letter_is_never_cut_from_it() -> None:
    text = "x\u0301" * 40
    for width in range(60, 160, 7):
        cut = fit_label(text, 28, "Medium", width).text.removesuffix(ELLIPSIS)
        assert len(cut) % 2 == 0


@pytest.mark.parametrize("text", ["Мерль", "Μέρλε", "Drozd śpiewak", "Merle №2"])
def test_other_alphabets_draw(text: str) -> None:
    label = fit_label(text, 28, "Medium", 400)
    _, last, ink = inked(label)
    assert ink > 100
    assert last - 20 <= label.width + 2


@pytest.mark.parametrize("text", ["שחרור", "شحرور", "黒歌鳥", "🐦"])
def test_a_script_without_a_font_shows_boxes_rather_than_nothing(text: str) -> None:
    label = fit_label(text, 28, "Medium", 400)
    _, _, ink = inked(label)
    assert ink > 50
    assert label.width <= 400


def test_a_right_to_left_label_ends_its_sentence_on_the_left() -> None:
    """The stop of a Hebrew or Arabic label stands at its left end, where fonts allow to tell."""
    if load_skia().FontMgr().matchFamilyStyleCharacter("", load_skia().FontStyle(), [], 0x5D0):
        plain = fit_label("\u05d0\u05d0\u05d0", 40, "Medium", 400)
        stopped = fit_label("\u05d0\u05d0\u05d0...", 40, "Medium", 400)
        image = Drawing(500, 80, CLEAR, lambda canvas: canvas.label(stopped, 20, 50, INK)).image()
        heights = (image.rgba[..., 3] > 40).sum(axis=0)
        start = heights[20 : 20 + int(stopped.width - plain.width)]
        assert start.max() < 12


def test_width_scales_exactly_with_size() -> None:
    assert text_width("16.7 ms", 50, "Medium") == pytest.approx(
        2 * text_width("16.7 ms", 25, "Medium"), rel=1e-4
    )
