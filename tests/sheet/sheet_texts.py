"""A good sheet, and writing one from a table."""

from __future__ import annotations

import json
from typing import Any

GOOD = """\
# A comment before everything.
output = "harbour"
style = "quay"
window = 0.5

[canvas]
size = "640x360"
rate = "60"

[platforms.merle]
label = "Merle"
captures = [
    "glider.mp4",  # the first take
    "glider.mp4",
]
target_fps = 60
watch = [0, 0, 1, 0.9]

[platforms.wren]
captures = ["glider.mp4"]
ignore = [[0.8, 0, 0.2, 0.1], [0, 0, 0.1, 0.1]]

[[outputs]]
kind = "facts"
format = "markdown"

[segments.dash]
in = { merle = "0.2", wren = "0:00.4" }
length = 1.5
take.merle = 2

[[segments.dash.outputs]]
kind = "layout"
layout = "abreast"
audio = "wren"

[[segments.dash.outputs]]
kind = "csv"
platforms = ["merle"]
tables = ["summary", "frames"]

[segments.arcade]
in = "0.1"
out = "1.1"
sync = { merle = "0.5", wren = "0.7" }

[[segments.arcade.outputs]]
kind = "overlay"
name = "dark"
"""


def toml_text(table: dict[str, Any]) -> str:
    """A table as TOML, a line for each key at the top."""
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in table.items())


def _value(value: Any) -> str:
    if isinstance(value, dict):
        inside = ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items())
        return f"{{ {inside} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, float):
        return str(value)
    return json.dumps(value)


def _key(key: str) -> str:
    return json.dumps(key)
