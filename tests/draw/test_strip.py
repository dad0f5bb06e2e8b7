import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pacerail.draw.canvas import Drawing
from pacerail.draw.library import load_skia
from pacerail.draw.page import check_format, write_drawing, write_png
from pacerail.draw.strip import draw_strip, lay_strip
from pacerail.draw.style import load_style, style_names
from pacerail.errors import UsageError
from pacerail.figure import Event, EventKind
from pacerail.patch import Image
from tests.draw.made_tracks import eventful_spans, frames, make_track

QUAY = load_style("quay")
CAPTION = ("0:00.000 to 0:09.000, 43.1 fps on average", "12 frames late, longest 233 ms")
STALL = Event(EventKind.STALL, 2.1333, 2.3667, 128, 13.0, "refreshes")
TEAR = Event(EventKind.TEAR, 1.2, 1.21, 72, 400.0, "row")


def rgb(image: Image) -> np.ndarray:
    return image.rgba[..., :3].astype(int)


@pytest.mark.parametrize("style", style_names())
@pytest.mark.parametrize(("start_s", "end_s"), [(0.0, 0.3), (0.0, 9.0), (0.5, 40.0), (0.0, 900.0)])
def test_nothing_touches_the_edge_of_a_strip(style: str, start_s: float, end_s: float) -> None:
    spans = eventful_spans() * (1 if end_s < 10 else 5 if end_s < 100 else 100)
    look = load_style(style)
    track = make_track(spans, "Merle")
    strip = draw_strip(track, look, start_s, end_s, caption=CAPTION, events=[STALL, TEAR, STALL])
    picture = rgb(strip)
    ground = picture[0, 0]
    assert (strip.rgba[..., 3] == 255).all()
    for edge in (picture[:20], picture[-20:], picture[:, :20], picture[:, -16:]):
        assert (edge == ground).all()
    assert (picture != ground).any()


def test_a_longer_segment_gets_more_lines_not_smaller_tiles() -> None:
    track = make_track(frames(*[1] * 3600))
    short, long = (draw_strip(track, QUAY, 0.0, end_s) for end_s in (6.0, 12.0))
    assert short.rgba.shape[1] == long.rgba.shape[1]
    assert long.rgba.shape[0] > 1.5 * short.rgba.shape[0]


def test_height_stays_bounded_for_a_whole_capture() -> None:
    track = make_track(frames(*[1] * 60 * 600))
    assert draw_strip(track, QUAY, 0.0, 600.0).rgba.shape[0] < 5000


def test_an_overview_shows_a_single_stall_in_ten_minutes() -> None:
    calm, stalled = frames(*[1] * 36000), frames(*[1] * 18000, 12, *[1] * 17988)
    first, second = (rgb(draw_strip(make_track(s), QUAY, 0.0, 600.0)) for s in (calm, stalled))
    far_late = np.array([0xD5, 0x5E, 0x00])
    assert not (first == far_late).all(-1).any()
    assert (second == far_late).all(-1).any()


def test_marks_name_stalls_and_leave_tears_to_their_slits() -> None:
    track = make_track(eventful_spans())
    plain = rgb(draw_strip(track, QUAY, 0.0, 2.3))
    torn = rgb(draw_strip(track, QUAY, 0.0, 2.3, events=[TEAR]))
    stalled = rgb(draw_strip(track, QUAY, 0.0, 2.3, events=[STALL]))
    ground = plain[0, 0]
    assert (torn != ground).any(-1).sum() == (plain != ground).any(-1).sum()
    assert (stalled != ground).any(-1).sum() > (plain != ground).any(-1).sum() + 100


def test_two_tracks_share_one_axis() -> None:
    track = make_track(frames(*[1] * 60))
    solo = lay_strip([track], QUAY, 0.0, 1.0)
    pair = lay_strip([track, track], QUAY, 0.0, 1.0)
    assert pair.height > 1.3 * solo.height
    assert pair.width == solo.width


def test_the_second_track_has_times_of_its_own() -> None:
    early, late = make_track(frames(*[1] * 120)), make_track(frames(*[1] * 30, *[2] * 45))
    # From half a second on the second track has frames of two refreshes only.
    shifted = rgb(lay_strip([early, late], QUAY, 0.0, 1.0, second_s=(0.5, 1.5)).image())
    alike = rgb(lay_strip([early, early], QUAY, 0.0, 1.0).image())
    axis = len(alike) // 2
    assert (shifted[: axis - 40] == alike[: axis - 40]).all()
    assert (shifted != alike).any()
    late_colour = np.array([0xE6, 0x9F, 0x00])
    assert (shifted[axis:] == late_colour).all(-1).any()


def test_the_shorter_of_two_segments_ends_before_the_other() -> None:
    track = make_track(frames(*[1] * 120))
    full = rgb(lay_strip([track, track], QUAY, 0.0, 1.0).image())
    short = rgb(lay_strip([track, track], QUAY, 0.0, 1.0, second_s=(0.0, 0.5)).image())
    assert full.shape == short.shape
    changed = np.flatnonzero((full != short).any((0, 2)))
    # Only the second half, which starts a little left of the middle, and below the axis.
    assert changed.min() > 0.4 * full.shape[1]
    assert np.flatnonzero((full != short).any((1, 2))).min() > full.shape[0] // 2


def test_the_words_of_a_mark_keep_off_the_next_one() -> None:
    track = make_track(eventful_spans())
    near = [replace(STALL, start_s=1.0, end_s=1.1), replace(STALL, start_s=1.05, end_s=1.3)]
    both, second = (
        rgb(draw_strip(track, QUAY, 0.0, 2.3, events=some)) for some in (near, near[1:])
    )
    # The first keeps its pennant, of some 150 pixels, and gives up its words.
    assert 0 < (both != second).any(-1).sum() < 250


def test_a_mark_at_the_end_of_a_line_has_its_words_before_it() -> None:
    track = make_track(eventful_spans())

    def marks(start_s: float) -> int:
        event = replace(STALL, start_s=start_s, end_s=start_s + 0.2)
        strip = rgb(draw_strip(track, QUAY, 0.0, 1.2, events=[event]))
        return int((strip != strip[0, 0]).any(-1).sum())

    # The words have some 900 pixels.
    assert marks(1.19) == pytest.approx(marks(0.6), abs=60)


@pytest.mark.parametrize(("start_s", "end_s"), [(5.0, 5.0), (5.0, 4.0), (99.0, 100.0)])
def test_a_segment_outside_the_capture_is_refused(start_s: float, end_s: float) -> None:
    track = make_track(frames(*[1] * 600))
    with pytest.raises(UsageError, match=r"segment must lie within the capture of 10\.000 s, got"):
        draw_strip(track, QUAY, start_s, end_s)


def test_png_holds_the_same_pixels(tmp_path: Path) -> None:
    image = draw_strip(make_track(eventful_spans()), QUAY, 0.0, 3.0)
    path = tmp_path / "strip.png"
    write_png(image, path)
    assert path.read_bytes().startswith(b"\x89PNG")
    skia = load_skia()
    again = skia.Image.open(str(path)).toarray(colorType=skia.kRGBA_8888_ColorType)
    np.testing.assert_array_equal(again, image.rgba)


@pytest.fixture
def strip() -> Drawing:
    track = make_track(eventful_spans())
    return lay_strip([track, track], QUAY, 0.0, 4.0, caption=CAPTION, events=[[STALL], []])


def test_svg_shows_what_png_shows(strip: Drawing, tmp_path: Path) -> None:
    path = tmp_path / "strip.svg"
    write_drawing(strip, path)
    root = ElementTree.fromstring(path.read_text())
    assert root.tag.endswith("svg")
    # Outlines, so that no reader needs the typeface.
    assert not [element for element in root.iter() if element.tag.endswith("text")]
    skia = load_skia()
    rgba = np.zeros((strip.height, strip.width, 4), np.uint8)
    surface = skia.Surface(
        rgba, colorType=skia.kRGBA_8888_ColorType, alphaType=skia.kPremul_AlphaType
    )
    page = skia.SVGDOM.MakeFromStream(skia.MemoryStream.MakeCopy(path.read_bytes()))
    page.render(surface.getCanvas())
    surface.flushAndSubmit()
    # Edges differ, since a reader smooths them; areas do not.
    difference = np.abs(rgba.astype(int) - strip.image().rgba.astype(int))
    assert (difference.max(-1) > 60).mean() < 0.01


def test_pdf_is_a_whole_document(strip: Drawing, tmp_path: Path) -> None:
    path = tmp_path / "strip.pdf"
    write_drawing(strip, path)
    data = path.read_bytes()
    assert data.startswith(b"%PDF-")
    assert data.rstrip().endswith(b"%%EOF")
    assert f"/MediaBox [0 0 {strip.width} {strip.height}]".encode() in data


def test_another_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError) as caught:
        check_format(tmp_path / "strip.gif")
    assert str(caught.value) == (
        "drawing must be a file named .png, .svg, .pdf, got strip.gif; change the suffix"
    )
