from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from pacerail.sheet.lines import key_lines
from tests.sheet.sheet_texts import GOOD, toml_text

AWKWARD = '''\
title = """
[not.a.header]
key = 1
"""
a.b.c = 1
a.b.d = { x = 1, y = [ { z = 2 } ] }
list = [
    1,  # ] not the end
    2,
]

[[things]]
name = "# no comment"
[things.inner]
deep = 1
[[things.more]]
[[things.more]]
last = true

[[things]]
"quoted key" = 1
[[things.more]]
last = false
[a.e]
f = 1
'''


def test_every_form_of_a_key_is_found_on_its_line() -> None:
    lines = key_lines(AWKWARD)
    assert lines == {
        ("title",): 1,
        ("a",): 5,
        ("a", "b"): 5,
        ("a", "b", "c"): 5,
        ("a", "b", "d"): 6,
        ("a", "b", "d", "x"): 6,
        ("a", "b", "d", "y"): 6,
        ("a", "b", "d", "y", 0): 6,
        ("a", "b", "d", "y", 0, "z"): 6,
        ("list",): 7,
        ("list", 0): 7,
        ("list", 1): 7,
        ("things",): 12,
        ("things", 0): 12,
        ("things", 0, "name"): 13,
        ("things", 0, "inner"): 14,
        ("things", 0, "inner", "deep"): 15,
        ("things", 0, "more"): 16,
        ("things", 0, "more", 0): 16,
        ("things", 0, "more", 1): 17,
        ("things", 0, "more", 1, "last"): 18,
        ("things", 1): 20,
        ("things", 1, "quoted key"): 21,
        ("things", 1, "more"): 22,
        ("things", 1, "more", 0): 22,
        ("things", 1, "more", 0, "last"): 23,
        ("a", "e"): 24,
        ("a", "e", "f"): 25,
    }


def paths(value: object, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Every key and place of a parsed document."""
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    else:
        return {path}
    return {path}.union(*(paths(each, (*path, key)) for key, each in inner))


def test_lines_are_those_of_all_keys_and_no_others() -> None:
    for text in (GOOD, AWKWARD):
        assert key_lines(text).keys() == paths(tomllib.loads(text)) - {()}


values = st.recursive(
    st.integers(-9, 9) | st.text("ab#[]=\n\"'", max_size=4),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("ab.# ", max_size=3), inner)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.text("ab.#\"' ", max_size=4), values, max_size=5))
def test_a_key_of_any_written_table_stands_on_the_line_where_it_was_written(
    table: dict[str, object],
) -> None:
    lines = key_lines(toml_text(table))
    for number, (key, value) in enumerate(table.items(), 1):
        assert {lines[path] for path in paths(value, (key,))} == {number}
