"""Load times as plain text, Markdown, JSON or a table for CSV."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

from pacerail.export.tables import Row, Table

METHOD = (
    "ratio: median of all pairs of takes (Hodges and Lehmann), exact 95 % interval from the "
    "Mann-Whitney distribution"
)


@dataclass(frozen=True)
class LoadRow:
    """One take."""

    platform: str
    take: int
    start_s: float
    end_s: float
    length_s: float
    refreshes: int
    end_error_s: float
    """By how much either end may be off: one refresh."""
    late_frames: int
    """During the load, as in its animation."""
    longest_frame_ms: float | None


@dataclass(frozen=True)
class PlatformRow:
    """All takes of a platform."""

    platform: str
    takes: int
    median_s: float
    shortest_s: float
    longest_s: float
    disagree: bool
    """They differ by more than measuring explains."""


@dataclass(frozen=True)
class RatioRow:
    """One platform over the other."""

    first: str
    second: str
    ratio: float
    lower: float | None
    upper: float | None
    least: float
    """What measuring alone leaves open."""
    most: float | None


@dataclass(frozen=True)
class LoadTable:
    """Everything about one load."""

    name: str
    takes: tuple[LoadRow, ...]
    platforms: tuple[PlatformRow, ...]
    ratio: RatioRow | None
    """None unless two platforms were timed."""


def loads_as_text(loads: Sequence[LoadTable]) -> str:
    """Takes, then what they come to, for every load."""
    return "\n".join("\n".join(_lines(load)) + "\n" for load in loads)


def loads_as_markdown(loads: Sequence[LoadTable]) -> str:
    """A heading, two tables and remarks for every load."""
    parts = []
    for load in loads:
        lines = [f"# {load.name}", ""]
        lines += _markdown_table(_TAKES, [_take_cells(row) for row in load.takes])
        lines += ["", *_markdown_table(_PLATFORMS, [_platform_cells(r) for r in load.platforms])]
        lines += ["", *(f"- {remark}" for remark in remarks(load))]
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def loads_as_json(loads: Sequence[LoadTable]) -> str:
    """A list of loads, each with its takes, platforms, ratio and remarks."""
    rows = [asdict(load) | {"method": METHOD, "remarks": list(remarks(load))} for load in loads]
    return json.dumps(rows, indent=2, ensure_ascii=False) + "\n"


def loads_table(loads: Sequence[LoadTable]) -> Table:
    """One row a take."""
    return Table(
        (
            "load",
            "platform",
            "take",
            "start_s",
            "end_s",
            "length_s",
            "refreshes",
            "end_error_s",
            "late_frames",
            "longest_frame_ms",
        ),
        [_csv_row(load.name, row) for load in loads for row in load.takes],
    )


def remarks(load: LoadTable) -> Iterator[str]:
    """What a reader must know besides the numbers."""
    worst_ms = max(row.end_error_s for row in load.takes) * 1000
    yield f"Each end is good to one refresh, {worst_ms:.1f} ms, so a length is good to twice that."
    for each in load.platforms:
        if each.disagree:
            yield (
                f"The takes of {each.platform} differ by "
                f"{each.longest_s - each.shortest_s:.3f} s, more than measuring explains: what "
                "is loaded, or kept from before, was not the same. Record more takes."
            )
    if load.ratio is not None:
        ratio = load.ratio
        times = f"{ratio.first} takes {ratio.ratio:.3f} times as long as {ratio.second}"
        yield f"{times}{_interval(ratio)}."


_TAKES = ("platform", "take", "start s", "end s", "length s", "± s an end", "late", "longest ms")
_PLATFORMS = ("platform", "takes", "median s", "shortest s", "longest s", "takes agree")


def _take_cells(row: LoadRow) -> Row:
    return (
        row.platform,
        str(row.take),
        f"{row.start_s:.3f}",
        f"{row.end_s:.3f}",
        f"{row.length_s:.3f}",
        f"{row.end_error_s:.3f}",
        str(row.late_frames),
        "" if row.longest_frame_ms is None else f"{row.longest_frame_ms:.1f}",
    )


def _platform_cells(row: PlatformRow) -> Row:
    agree = "one take" if row.takes == 1 else "no" if row.disagree else "yes"
    lengths = (row.median_s, row.shortest_s, row.longest_s)
    return (row.platform, str(row.takes), *(f"{each:.3f}" for each in lengths), agree)


def _csv_row(name: str, row: LoadRow) -> Row:
    longest = "" if row.longest_frame_ms is None else f"{row.longest_frame_ms:.6f}"
    times = (row.start_s, row.end_s, row.length_s)
    return (
        name,
        row.platform,
        str(row.take),
        *(f"{each:.9f}" for each in times),
        str(row.refreshes),
        f"{row.end_error_s:.9f}",
        str(row.late_frames),
        longest,
    )


def _interval(ratio: RatioRow) -> str:
    if ratio.lower is None or ratio.upper is None:
        most = "any number" if ratio.most is None else f"{ratio.most:.3f}"
        return (
            f", {ratio.least:.3f} to {most} by what measuring leaves open; too few takes for an "
            "interval (four of each give one): record more"
        )
    return f", 95 % interval {ratio.lower:.3f} to {ratio.upper:.3f} ({METHOD})"


def _lines(load: LoadTable) -> Iterator[str]:
    yield load.name
    for header, rows in (
        (_TAKES, [_take_cells(row) for row in load.takes]),
        (_PLATFORMS, [_platform_cells(row) for row in load.platforms]),
    ):
        yield ""
        yield from _columns([header, *rows])
    yield ""
    yield from remarks(load)


def _columns(rows: Sequence[Row]) -> Iterator[str]:
    """Rows in aligned columns, the first to the left and the others to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for first, *others in rows:
        cells = [f"{cell:>{width}}" for cell, width in zip(others, widths[1:], strict=True)]
        yield "  ".join(["  " + f"{first:{widths[0]}}", *cells]).rstrip()


def _markdown_table(header: Row, rows: Sequence[Row]) -> Iterator[str]:
    yield f"| {' | '.join(header)} |"
    yield f"| --- |{' ---: |' * (len(header) - 1)}"
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |"
