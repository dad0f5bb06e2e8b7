"""What a sheet may hold, told once: frozen dataclasses whose fields know how they are read.

A field made by `key` carries its kind, the meaning of its key and its default. Reading,
checking and the reference of the sheet all come from that.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, field, fields, replace
from typing import Any, Generic, Protocol, TypeVar

from pacerail.errors import InputError, UsageError
from pacerail.sheet.document import Document
from pacerail.sheet.lines import Path

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, eq=False)
class Node:
    """A value of a document, with its place."""

    document: Document
    path: Path
    value: Any

    def error(self, rule: str, advice: str) -> InputError:
        """An error about this value."""
        return self.document.error(self.path, rule, self.value, advice)

    def child(self, key: str | int) -> Node:
        """The value of a key of a table, or of a place in a list."""
        return Node(self.document, (*self.path, key), self.value[key])


class Kind(Protocol[T_co]):
    """What a key may be set to."""

    @property
    def words(self) -> str:
        """What it is, to go after ``must be``."""

    def read(self, node: Node) -> T_co:
        """The value that stands there. Raises InputError when it is not of this kind."""


@dataclass(frozen=True)
class Scalar(Generic[T]):
    """One value, read by a function that raises ValueError or TypeError for anything else."""

    words: str
    parse: Callable[[Any], T]
    example: str

    def read(self, node: Node) -> T:
        """The parsed value."""
        try:
            return self.parse(node.value)
        except UsageError as error:
            raise InputError(f"{node.document.place(node.path)}: {error}") from error
        except (ValueError, TypeError, OverflowError):
            raise node.error(f"be {self.words}", f"write for example {self.example}") from None


@dataclass(frozen=True)
class ListOf(Generic[T]):
    """A list of values of one kind."""

    item: Kind[T]
    at_least: int = 0

    @property
    def words(self) -> str:
        """What it is."""
        return f"a list, each item {self.item.words}"

    def read(self, node: Node) -> tuple[T, ...]:
        """Every item."""
        if not isinstance(node.value, list) or len(node.value) < self.at_least:
            some = f" with at least {self.at_least} of it" if self.at_least else ""
            raise node.error(f"be {self.words}{some}", "write it in square brackets")
        return tuple(self.item.read(node.child(place)) for place in range(len(node.value)))


@dataclass(frozen=True)
class TableOf(Generic[T]):
    """A table with the keys of a dataclass."""

    schema: type[T]

    @property
    def words(self) -> str:
        """What it is."""
        return "a table"

    def read(self, node: Node) -> T:
        """An instance of the dataclass."""
        return read_table(self.schema, node)


@dataclass(frozen=True)
class Entries(Generic[T]):
    """A table whose keys are names that the user makes up."""

    item: Kind[T]
    reserved: tuple[str, ...] = ()
    """Names that mean something already."""

    @property
    def words(self) -> str:
        """What it is."""
        return f"a table of names, each {self.item.words}"

    def read(self, node: Node) -> dict[str, T]:
        """Everything by its name, in the order of the file."""
        check_table(node)
        for name in node.value:
            if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}", name) or name in self.reserved:
                others = f", and not {', '.join(self.reserved)}" if self.reserved else ""
                raise node.document.error(
                    (*node.path, name),
                    f"have a name of letters, digits, _ and -{others}",
                    name,
                    "choose another; what people read goes into the label",
                )
        return {name: self.item.read(node.child(name)) for name in node.value}


@dataclass(frozen=True)
class OneOf(Generic[T]):
    """A table whose key `kind` says which dataclass its other keys are those of."""

    schemas: Mapping[str, type[T]]

    @property
    def words(self) -> str:
        """What it is."""
        return "a table with a kind"

    def read(self, node: Node) -> T:
        """An instance of the dataclass of that kind."""
        check_table(node)
        kind = node.value.get("kind")
        if kind not in list(self.schemas):
            raise node.document.error(
                (*node.path, "kind"),
                f"be one of {', '.join(self.schemas)}",
                kind,
                "say what is to be made",
            )
        return read_table(self.schemas[kind], node, besides=("kind",))


@dataclass(frozen=True)
class ByPlatform(Generic[T]):
    """A value for every platform, or one of its own for each."""

    shared: T | None
    own: Mapping[str, T]

    def of(self, platform: str) -> T | None:
        """The value of a platform, None where it has none."""
        return self.own.get(platform, self.shared)


@dataclass(frozen=True)
class ForPlatforms(Generic[T]):
    """One value, or a table of platforms with a value for each."""

    item: Kind[T]

    @property
    def words(self) -> str:
        """What it is."""
        return f"{self.item.words}, or a table of platforms with one for each"

    def read(self, node: Node) -> ByPlatform[T]:
        """The value or values; whether the platforms exist is checked later."""
        if isinstance(node.value, dict):
            return ByPlatform(None, {name: self.item.read(node.child(name)) for name in node.value})
        return ByPlatform(self.item.read(node), {})


@dataclass(frozen=True)
class Key:
    """One key of a table."""

    name: str
    kind: Kind[Any]
    meaning: str
    default: Any
    """What it is without the key; MISSING where the key is required."""
    otherwise: str
    """The default in words."""

    @property
    def summary(self) -> str:
        """The first sentence of the meaning, to go on after a colon."""
        first = self.meaning.partition(". ")[0].removesuffix(".")
        return first[:1].lower() + first[1:]


def key(
    kind: Kind[T],
    meaning: str,
    *,
    default: Any = MISSING,
    otherwise: str = "",
    name: str | None = None,
) -> Any:
    """A dataclass field for a key.

    default : what it is without the key; of a dict, every instance has its own.
    otherwise : the default in words, where it does not speak for itself.
    name : of the key, where Python does not allow it as the name of a field.
    """
    told = Key(name or "", kind, meaning, default, otherwise)
    if isinstance(default, dict):
        return field(default_factory=default.copy, metadata={Key: told})
    return field(default=default, metadata={Key: told})


def keys_of(schema: type[Any]) -> Iterator[tuple[Field[Any], Key]]:
    """Every field of a dataclass that is a key, with what is known of it."""
    for each in fields(schema):
        if Key in each.metadata:
            told: Key = each.metadata[Key]
            yield each, replace(told, name=told.name or each.name)


def read_table(schema: type[T], node: Node, *, besides: tuple[str, ...] = (), **given: object) -> T:
    """An instance of a dataclass from a table.

    besides : keys that are allowed and were read already. given : fields that are no keys.
    Raises InputError for an unknown key, a missing key, or a value that is not allowed.
    """
    check_table(node)
    known = {each.name: (target, each) for target, each in keys_of(schema)}
    allowed = (*besides, *known)
    for name in node.value:
        if name not in allowed:
            near = difflib.get_close_matches(name, allowed, n=1)
            raise node.document.error(
                (*node.path, name),
                f"be one of the keys {', '.join(allowed)}",
                name,
                f"did you mean {near[0]}?" if near else "remove it",
            )
    values: dict[str, object] = {}
    for name, (target, each) in known.items():
        if name in node.value:
            values[target.name] = each.kind.read(node.child(name))
        elif each.default is MISSING:
            raise InputError(
                f"{node.document.place((*node.path, name))} must be given, got nothing; "
                f"add it, {each.kind.words}: {each.summary}"
            )
    return schema(**values, **given)


def check_table(node: Node) -> None:
    """Raise InputError unless the value is a table."""
    if not isinstance(node.value, dict):
        raise node.error("be a table", f"write it as [{node.path[-1]}] with keys below")
