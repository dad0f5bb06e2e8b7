"""Tables of a TOML file checked against frozen dataclasses, with one clear error each.

A field's annotation says what is allowed: a number with its range
(``Annotated[float, Range(0, 1)]``), a choice (``Literal["right", "up"]``), a colour, a
switch, a text, a list of any of these, or another dataclass.
"""

from __future__ import annotations

import difflib
from dataclasses import fields, is_dataclass
from typing import (
    Annotated,
    Any,
    Literal,
    NamedTuple,
    TypeVar,
    get_args,
    get_origin,
    get_type_hints,
)

from pacerail.draw.colour import Colour
from pacerail.errors import InputError

Schema = TypeVar("Schema")


class Range(NamedTuple):
    """Numbers allowed, both ends included."""

    low: float
    high: float


def read_table(schema: type[Schema], table: dict[str, Any], file: str, path: str = "") -> Schema:
    """An instance of `schema` from a parsed TOML table.

    file : what errors call the file. path : dotted key of the table inside it.
    Raises InputError for an unknown key, a missing key, or a value that is not allowed.
    """
    hints = get_type_hints(schema, include_extras=True)
    names = [field.name for field in fields(schema)]  # type: ignore[arg-type]
    for key in table:
        if key not in names:
            near = difflib.get_close_matches(key, names, n=1)
            advice = f"did you mean {near[0]}?" if near else "remove it"
            place = f"[{path}] of {file}" if path else file
            raise InputError(
                f"key in {place} must be one of {', '.join(names)}, got {key!r}; {advice}"
            )
    values = {}
    for name in names:
        dotted = f"{path}.{name}" if path else name
        if name not in table:
            raise InputError(
                f"{dotted} in {file} must be given, got nothing; "
                'set it, or start from a shipped style with extends = "quay"'
            )
        values[name] = _read_value(hints[name], table[name], file, dotted)
    return schema(**values)


def _read_value(hint: Any, value: Any, file: str, path: str) -> Any:
    if is_dataclass(hint) and hint is not Colour:
        if not isinstance(value, dict):
            raise _error(path, file, f"a table [{path}]", value)
        return read_table(hint, value, file, path)  # type: ignore[arg-type]
    if get_origin(hint) is tuple:
        if not isinstance(value, list):
            raise _error(path, file, "a list", value)
        inner = get_args(hint)[0]
        return tuple(_read_value(inner, item, file, path) for item in value)
    if get_origin(hint) is Literal:
        if value not in get_args(hint):
            raise _error(path, file, f"one of {', '.join(map(str, get_args(hint)))}", value)
        return value
    if get_origin(hint) is Annotated:
        kind, bounds = get_args(hint)
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if kind is int:
            is_number = is_number and isinstance(value, int)
        if not is_number or not bounds.low <= value <= bounds.high:
            noun = "a whole number" if kind is int else "a number"
            raise _error(path, file, f"{noun} from {bounds.low:g} to {bounds.high:g}", value)
        return kind(value)
    if hint is Colour:
        try:
            return Colour.parse(value)
        except (ValueError, TypeError):
            raise _error(path, file, "a colour written #rrggbb", value) from None
    if not isinstance(value, hint):
        rule = {bool: "true or false", str: "a text"}[hint]
        raise _error(path, file, rule, value)
    return value


def _error(path: str, file: str, rule: str, value: Any) -> InputError:
    return InputError(f"{path} in {file} must be {rule}, got {value!r}; correct that line")
