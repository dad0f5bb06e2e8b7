from __future__ import annotations

import re
from pathlib import Path

import demo
from pacerail.sheet.outputs import LayoutOutput
from pacerail.sheet.sheet import load_sheet
from tests.sheet_document import DOCUMENT, HEAD, document


def test_the_reference_is_that_of_the_schema() -> None:
    assert DOCUMENT.read_text("utf-8") == document()


def test_the_sheet_of_the_demo_is_a_good_one() -> None:
    sheet = load_sheet(Path(demo.__file__).parent / "harbour.toml")
    assert list(sheet.platforms) == ["merle", "wren"]
    layouts = {
        output.layout
        for segment in sheet.segments.values()
        for output in segment.outputs
        if isinstance(output, LayoutOutput)
    }
    assert len(sheet.segments) == 5
    assert layouts == {"abreast", "split"}
    assert sheet.loads["fog"].race
    assert sheet.stills["glider"].push
    assert sheet.stills["glider"].alternate
    assert sheet.stills["mast"].steps


def test_its_example_is_a_good_sheet(tmp_path: Path) -> None:
    example = re.search(r"```toml\n(.*?)```", HEAD, re.DOTALL)
    assert example
    path = tmp_path / "harbour.toml"
    path.write_text(example[1], "utf-8")
    sheet = load_sheet(path)
    assert list(sheet.platforms) == ["merle", "wren"]
    assert list(sheet.segments) == ["dash"]
