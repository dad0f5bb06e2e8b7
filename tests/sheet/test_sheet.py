from __future__ import annotations

import copy
import re
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pacerail.errors import InputError
from pacerail.region import Region
from pacerail.sheet.document import dotted
from pacerail.sheet.outputs import CsvOutput, FactsOutput, LayoutOutput
from pacerail.sheet.sheet import load_sheet
from pacerail.sheet.values import Moment
from tests.sheet.sheet_texts import GOOD, toml_text

Place = tuple[str | int, ...]


def written(folder: Path, text: str) -> Path:
    path = folder / "edit.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    return path


def refusal(folder: Path, text: str) -> str:
    """What is said against a sheet; empty for a good one."""
    try:
        load_sheet(written(folder, text))
    except InputError as error:
        return str(error)
    return ""


def test_a_good_sheet_says_what_is_in_it(tmp_path: Path) -> None:
    sheet = load_sheet(written(tmp_path, GOOD))
    assert sheet.folder == tmp_path
    assert sheet.canvas.size == (640, 360)
    assert sheet.canvas.rate == 60
    assert [sheet.label_of(name) for name in sheet.platforms] == ["Merle", "wren"]
    assert sheet.platforms["merle"].watch == Region(0, 0, 1, 0.9)
    assert sheet.platforms["wren"].ignore[1] == Region(0, 0, 0.1, 0.1)
    dash = sheet.segments["dash"]
    assert dash.start.of("wren") == Moment("0:00.4")
    assert dash.length == Fraction(3, 2)
    assert (dash.take_of("merle"), dash.take_of("wren")) == (1, 0)
    assert dash.outputs == (
        LayoutOutput(layout="abreast", audio="wren"),
        CsvOutput(platforms=("merle",), tables=("summary", "frames")),
    )
    assert sheet.outputs == (FactsOutput(format="markdown"),)
    assert sheet.segments["arcade"].sync == {"merle": Moment("0.5"), "wren": Moment("0.7")}


@pytest.mark.parametrize(
    ("there", "instead", "message"),
    [
        (
            'layout = "abreast"',
            'layout = "abrest"',
            "edit.toml, line 34: segments.dash.outputs[1].layout must be one of abreast, stacked, "
            'split, inset, first, second, got "abrest"; write for example "abreast"',
        ),
        (
            "length = 1.5",
            "lenght = 1.5",
            "edit.toml, line 29: segments.dash.lenght must be one of the keys in, out, length, "
            'sync, take, outputs, got "lenght"; did you mean length?',
        ),
        (
            'wren = "0:00.4" }',
            'wrenn = "0:00.4" }',
            "edit.toml, line 28: segments.dash.in.wrenn must name a platform (merle, wren), got "
            '"wrenn"; correct the name',
        ),
        (
            "take.merle = 2",
            "take.merle = 3",
            "edit.toml, line 30: segments.dash.take.merle must be one of the 2 captures of merle, "
            "got 3; count them from 1",
        ),
        (
            "watch = [0, 0, 1, 0.9]",
            "watch = [0, 0, 1, 1.9]",
            "edit.toml, line 17: platforms.merle.watch: region must lie inside the picture, got "
            "0,0,1,1.9; give x,y,width,height as fractions from 0 to 1",
        ),
        (
            'size = "640x360"',
            'size = "100x100"',
            "edit.toml, line 7: canvas.size: canvas must have even sides of 240 to 8192 pixels, "
            "got 100x100; write for example 1920x1080",
        ),
        (
            "[canvas]",
            "[canvas",
            "edit.toml, line 6: line must be TOML, got \"[canvas\" (Expected ']' at the end of a "
            "table declaration); correct that line",
        ),
        (
            "length = 1.5\n",
            "",
            "edit.toml, line 27: segments.dash.out must be given where the other of out and "
            "length is not, got nothing; give one of the two",
        ),
        (
            'in = "0.1"',
            'in = { merle = "0.1", wren = "0.1" }',
            "edit.toml, line 43: segments.arcade.in must have a time for merle alone where sync "
            'is given, got {"merle": "0.1", "wren": "0.1"}; the other platform follows from sync; '
            "leave it out",
        ),
        (
            'in = { merle = "0.2", wren = "0:00.4" }',
            'in = { merle = "0.2" }',
            "edit.toml, line 28: segments.dash.in must have a time for wren, got "
            '{"merle": "0.2"}; add it, or tell by sync which moments coincide',
        ),
        (
            'name = "dark"',
            'name = "../../dark"',
            "edit.toml, line 49: segments.arcade.outputs[1].name must be a name of letters, "
            'digits, _, - and ., got "../../dark"; write for example "dusk"',
        ),
        (
            "[segments.arcade]",
            "[segments.draft]",
            "edit.toml, line 42: segments.draft must have a name of letters, digits, _ and -, and "
            'not records, draft, stills, loads, got "draft"; choose another; what people read goes '
            "into the label",
        ),
        (
            'output = "harbour"\n',
            "",
            "edit.toml, line 1: output must be given, got nothing; add it, a text on one line: "
            "folder for all that is made, relative to the sheet",
        ),
    ],
)
def test_an_error_names_file_line_and_key(
    tmp_path: Path, there: str, instead: str, message: str
) -> None:
    assert there in GOOD
    assert refusal(tmp_path, GOOD.replace(there, instead, 1)) == message


@pytest.mark.parametrize(
    ("platforms", "output"),
    [("layout", 'layout = "split"'), ("comparison", ""), ("strip", "joined = true")],
)
def test_one_platform_has_nothing_beside_it(tmp_path: Path, platforms: str, output: str) -> None:
    text = f"""
        output = "x"
        [platforms.merle]
        captures = ["glider.mp4"]
        [segments.dash]
        in = 0
        length = 1
        [[segments.dash.outputs]]
        kind = "{platforms}"
        {output}
    """
    assert "segments.dash.outputs[1] must go with two platforms" in refusal(tmp_path, text)


def test_a_file_that_is_no_sheet_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="sheet must be a readable file"):
        load_sheet(tmp_path / "missing.toml")
    path = tmp_path / "edit.toml"
    path.write_bytes(b"output = '\xff'")
    with pytest.raises(InputError, match="sheet must be UTF-8 text"):
        load_sheet(path)
    assert "\n" not in refusal(tmp_path, "a = " + "[" * 20_000)


def places(value: Any, place: Place = ()) -> list[Place]:
    """Every key of a table and of the tables in it."""
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    found = []
    for key, each in inner:
        found.append((*place, key))
        if isinstance(each, (dict, list)):
            found += places(each, (*place, key))
    return found


def holder(table: Any, place: Place) -> Any:
    """The table or list in which the last step of a place is taken."""
    for key in place[:-1]:
        table = table[key]
    return table


TABLE = tomllib.loads(GOOD)
NONSENSE: list[Any] = [-1, 1e300, float("nan"), True, "", "?", "a\nb", [], {}, [[1]], {"x": 1}, "é"]
FOLDER = settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])


@FOLDER
@given(st.sampled_from(places(TABLE)), st.sampled_from(NONSENSE))
def test_a_wrong_value_is_refused_by_its_key(tmp_path: Path, place: Place, value: Any) -> None:
    table = copy.deepcopy(TABLE)
    holder(table, place)[place[-1]] = value
    message = refusal(tmp_path, toml_text(table))
    assume(message)
    while isinstance(place[-1], int):
        place = place[:-1]
    number = list(table).index(str(place[0])) + 1
    assert message.startswith(f"edit.toml, line {number}: {dotted(place)}")
    assert "\n" not in message


@FOLDER
@given(st.sampled_from(places(TABLE)), st.text('abé." ]\n', min_size=1, max_size=6))
def test_a_wrong_key_is_refused_by_its_name(tmp_path: Path, place: Place, name: str) -> None:
    assume(isinstance(place[-1], str) and name not in holder(TABLE, place))
    table = copy.deepcopy(TABLE)
    inside = holder(table, place)
    inside[name] = inside.pop(place[-1])
    made_up = place[:-1] in (("platforms",), ("segments",))
    assume(not (made_up and re.fullmatch("[ab]+", name)))
    message = refusal(tmp_path, toml_text(table))
    assert "\n" not in message
    assert message.startswith("edit.toml, line ")
    assert dotted((*place[:-1], name)) in message or f"{dotted(place)} must" in message


@FOLDER
@given(st.integers(0, len(GOOD) - 1), st.text(max_size=3), st.integers(0, 4))
def test_damaged_text_is_read_or_refused_in_one_line(
    tmp_path: Path, at: int, inserted: str, removed: int
) -> None:
    message = refusal(tmp_path, GOOD[:at] + inserted + GOOD[at + removed :])
    assert re.match(r"edit\.toml, line \d+: |sheet must be UTF-8 text|$", message)
    assert "\n" not in message
