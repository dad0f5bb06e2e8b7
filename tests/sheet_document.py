"""The reference of edit sheets, from the schema; run as a script it writes it anew."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import MISSING
from pathlib import Path
from typing import Any

import pacerail.sheet.sheet
from pacerail.sheet.loads import Load, LoadPoint, LoadRace, LoadTake
from pacerail.sheet.outputs import KINDS
from pacerail.sheet.platforms import Canvas, Platform
from pacerail.sheet.schema import Key, keys_of
from pacerail.sheet.segments import Segment
from pacerail.sheet.sheet import Sheet
from pacerail.sheet.stills import Still, StillAlternate, StillPush

DOCUMENT = Path(pacerail.sheet.sheet.__file__).parent / "README.md"

HEAD = """\
# The edit sheet

One TOML file describes all graphics of a video: which captures are compared, which stretches
of them are shown, and what is made of each. `pacerail new CAPTURE... -o SHEET.toml` writes a
commented one to start from, `pacerail build SHEET.toml` makes everything in it.

```toml
output = "harbour"

[canvas]
size = "1920x1080"
rate = 60

[platforms.merle]
label = "Merle"
captures = ["merle.mp4", "merle-2.mp4"]

[platforms.wren]
label = "Wren"
captures = ["wren.mp4"]
ignore = [[0.8, 0, 0.2, 0.1]]

[[outputs]]
kind = "facts"

[segments.dash]
in = "5.2"
length = "3.0"
sync = { merle = "6.0", wren = "6.2" }
take = { merle = 2 }

[[segments.dash.outputs]]
kind = "layout"
layout = "abreast"
```

Paths are relative to the sheet. A time is a number of seconds or a text: `"83.5"`, `"1:23.5"`,
`"0:01:23.5"`, or timecode `"00:01:23:30"`, all counted from the first picture of a capture;
timecode counts on from that of the capture where it carries one. An unknown key is an error.

This page is written from the code: `python -m tests.sheet_document`.
"""


def document() -> str:
    """The whole reference, as Markdown."""
    parts = [
        HEAD,
        _part("Top of the sheet", "", Sheet),
        _part("`[canvas]`", "", Canvas),
        _part("`[platforms.NAME]`", _first_line(Platform), Platform),
        _part("`[segments.NAME]`", _first_line(Segment), Segment),
        _part("`[loads.NAME]`", _first_line(Load), Load),
        _part("`[[loads.NAME.takes]]`", _first_line(LoadTake), LoadTake),
        _part("`[loads.NAME.race]`", _first_line(LoadRace), LoadRace),
        _part("`start` and `end` of a take, as a table", _first_line(LoadPoint), LoadPoint),
        _part("`[stills.NAME]`", _first_line(Still), Still),
        _part("`[stills.NAME.push]`", _first_line(StillPush), StillPush),
        _part("`[stills.NAME.alternate]`", _first_line(StillAlternate), StillAlternate),
        "## Outputs\n\nEach is a table `[[outputs]]`, made of every segment, or "
        "`[[segments.NAME.outputs]]`, made of one. Its key `kind` says which of these it is.\n",
        *(
            _part(f'`kind = "{kind}"`', _first_line(schema), schema, level=3)
            for kind, schema in KINDS.items()
        ),
    ]
    return "\n".join(parts)


def _part(title: str, told: str, schema: type[Any], level: int = 2) -> str:
    """A heading, a sentence and a table of keys."""
    lines = [f"{'#' * level} {title}", ""]
    if told:
        lines += [told, ""]
    lines += ["| key | value | without it | meaning |", "| --- | --- | --- | --- |"]
    lines += _rows(schema)
    return "\n".join(lines) + "\n"


def _rows(schema: type[Any]) -> Iterator[str]:
    for _, key in keys_of(schema):
        cells = (f"`{key.name}`", key.kind.words, _default(key), key.meaning)
        yield "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _default(key: Key) -> str:
    if key.default is MISSING:
        return "must be given"
    if key.otherwise or key.default is None:
        return key.otherwise
    if isinstance(key.default, tuple):
        return f"`{json.dumps(list(key.default))}`"
    return f"`{json.dumps(key.default)}`"


def _first_line(schema: type[Any]) -> str:
    return (schema.__doc__ or "").split("\n\n")[0].replace("\n", " ")


if __name__ == "__main__":
    DOCUMENT.write_text(document(), "utf-8")
