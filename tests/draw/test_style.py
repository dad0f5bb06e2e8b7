from dataclasses import is_dataclass
from pathlib import Path
from typing import get_type_hints

import pytest

from pacerail.draw.colour import Colour
from pacerail.draw.style import Style, load_style, style_names
from pacerail.errors import InputError, UsageError


def write(folder: Path, text: str, name: str = "mine.toml") -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_shipped_styles_have_names_and_say_what_they_are() -> None:
    assert style_names() == ("buoy", "chart", "mast", "quay", "wake")
    summaries = {load_style(name).summary for name in style_names()}
    assert len(summaries) == 5


def test_shipped_styles_differ_in_more_than_colour() -> None:
    def structure(name: str) -> tuple[object, ...]:
        style = load_style(name)
        return (style.place, style.readout.form, style.lane)

    assert len({structure(name) for name in style_names()}) == len(style_names())


def test_a_style_of_ones_own_changes_only_what_it_says(tmp_path: Path) -> None:
    path = write(
        tmp_path, 'extends = "quay"\nsummary = "Mine"\n[colours]\nlate = "#cc79a7"\n[lane]\ngap = 3'
    )
    mine, quay = load_style(path), load_style("quay")
    assert mine.colours.late == Colour(204, 121, 167)
    assert mine.lane.gap == 3
    assert mine.place == quay.place
    assert mine.colours.text == quay.colours.text


def test_a_style_can_extend_a_file_beside_it(tmp_path: Path) -> None:
    write(tmp_path, 'extends = "wake"\nsummary = "Base"', "base.toml")
    path = write(tmp_path, 'extends = "base.toml"\n[readout]\ngutter = 12')
    style = load_style(path)
    assert style.summary == "Base"
    assert style.readout.gutter == 12
    assert style.readout.form == "line"


# What a user reads, word for word, when a line of a style is wrong.
@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[lane]\nhieght = 3",
            "key in [lane] of mine.toml must be one of pixels_per_ms, cut_ms, paired_cut_ms, gap, "
            "needle, ghost, rules_ms, stall_times, rate_height, minimap_height, got 'hieght'; "
            "remove it",
        ),
        (
            "[readout]\ngutters = 3",
            "key in [readout] of mine.toml must be one of show, frame_rate_decimals, "
            "changes_per_second, form, gutter, label_width, got 'gutters'; did you mean gutter?",
        ),
        (
            "speed = 3",
            "key in mine.toml must be one of summary, place, plate, type, lane, readout, colours, "
            "got 'speed'; remove it",
        ),
        (
            "[lane]\nneedle = 1.2",
            "lane.needle in mine.toml must be a number from 0.1 to 0.95, got 1.2; "
            "correct that line",
        ),
        (
            '[lane]\ngap = "wide"',
            "lane.gap in mine.toml must be a number from 0 to 1000, got 'wide'; correct that line",
        ),
        (
            "[lane]\ngap = true",
            "lane.gap in mine.toml must be a number from 0 to 1000, got True; correct that line",
        ),
        (
            "[lane]\nrules_ms = 33",
            "lane.rules_ms in mine.toml must be a list, got 33; correct that line",
        ),
        (
            '[place]\nedge = "middle"',
            "place.edge in mine.toml must be one of bottom, top, left, right, got 'middle'; "
            "correct that line",
        ),
        (
            '[colours]\nlate = "red"',
            "colours.late in mine.toml must be a colour written #rrggbb, got 'red'; "
            "correct that line",
        ),
        (
            "[readout]\nframe_rate_decimals = 1.5",
            "readout.frame_rate_decimals in mine.toml must be a whole number from 0 to 2, got 1.5; "
            "correct that line",
        ),
        (
            "[lane]\nstall_times = 1",
            "lane.stall_times in mine.toml must be true or false, got 1; correct that line",
        ),
        ("plate = 3", "plate in mine.toml must be a table [plate], got 3; correct that line"),
        (
            "[plate]\nopacity = 0.2",
            "colours.text in mine.toml must reach a contrast of 4.5:1 on the plate over any "
            "footage, got 1.42:1; raise plate.opacity or move the colour",
        ),
        (
            '[place]\nedge = "left"\n[lane]\nminimap_height = 20',
            "lane.minimap_height in mine.toml must be 0 on an upright rail, got 20; "
            "set it to 0 or move place.edge to top or bottom",
        ),
    ],
)
def test_a_wrong_line_is_named(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        load_style(write(tmp_path, 'extends = "quay"\n' + text))
    assert str(caught.value) == message


def test_a_missing_key_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_style(write(tmp_path, 'summary = "Alone"'))
    assert str(caught.value) == (
        "place in mine.toml must be given, got nothing; "
        'set it, or start from a shipped style with extends = "quay"'
    )


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(UsageError) as caught:
        load_style("quai")
    assert str(caught.value) == (
        "style must be one of buoy, chart, mast, quay, wake or the path of a .toml file, "
        "got 'quai'; pick one of them"
    )


def test_a_missing_file_a_broken_file_and_a_circle_are_told_apart(tmp_path: Path) -> None:
    missing = str(tmp_path / "none.toml")
    with pytest.raises(InputError, match=r"style must be a readable file, got .*none\.toml: No"):
        load_style(missing)
    with pytest.raises(InputError, match=r"style must be a TOML file, got mine\.toml: "):
        load_style(write(tmp_path, "[lane\n"))
    circle = write(tmp_path, 'extends = "mine.toml"')
    with pytest.raises(InputError, match="extends must not lead back to the same style"):
        load_style(circle)
    with pytest.raises(InputError, match=r"extends in mine\.toml must be the name or path"):
        load_style(write(tmp_path, "extends = 3"))


def dotted_keys(schema: type, path: str = "") -> list[str]:
    """Every key of a style file."""
    keys = []
    for name, hint in get_type_hints(schema).items():
        inner = is_dataclass(hint) and hint is not Colour
        keys += dotted_keys(hint, f"{path}{name}.") if inner else [path + name]
    return keys


def test_the_reference_names_every_key_and_every_shipped_style() -> None:
    reference = (Path(__file__).parents[2] / "styles" / "README.md").read_text(encoding="utf-8")
    for name in (*dotted_keys(Style), *style_names()):
        assert f"`{name}`" in reference


def test_the_example_of_the_reference_loads(tmp_path: Path) -> None:
    reference = (Path(__file__).parents[2] / "styles" / "README.md").read_text(encoding="utf-8")
    example = reference.split("```toml\n")[1].split("```")[0]
    style = load_style(write(tmp_path, example))
    assert style.lane.pixels_per_ms == 0.96
    assert style.place == load_style("quay").place
