"""The tables of a record as text fields: a header and rows, ready for any text format.

Column order is fixed. Rows come in blocks made from whole columns, so a table of any
length needs little memory. Times are seconds from the first picture with nine decimals,
frame times and rates have six: one nanosecond either way, finer than a row's scan time.
A field is empty where there is no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.figure import CadenceRun, Difference, Event, Figure, pattern_text
from pacerail.record import TimingRecord, Verdict
from pacerail.series import FrameSeries
from pacerail.timecode import Timecode

Row = tuple[str, ...]

_BLOCK = 16_384


@dataclass(frozen=True)
class Table:
    """Column names and rows of equally many fields; rows can be gone through once."""

    header: Row
    rows: Iterable[Row]


def refreshes_table(
    record: TimingRecord, first_refresh: int = 0, end_refresh: int | None = None
) -> Table:
    """What each refresh brought.

    `tear_rows` lists the rows of a refresh with a torn flip, separated by semicolons; a 0
    among them is a further flip that came in cleanly. A clean refresh has none. `margin`
    is empty where nothing was decided.
    """
    end = record.refreshes if end_refresh is None else end_refresh
    return Table(
        ("refresh", "time_s", "verdict", "tear_rows", "margin"),
        _refresh_rows(record, first_refresh, end),
    )


def frames_table(
    series: FrameSeries, first_refresh: int = 0, end_refresh: int | None = None
) -> Table:
    """One row for each flip; length and hold are empty where the next flip is not known.

    `frame` counts flips from the start of the capture, whatever part is listed.
    """
    end = series.refreshes if end_refresh is None else end_refresh
    return Table(
        ("frame", "refresh", "tear_row", "flip_s", "frame_time_ms", "refreshes_held"),
        _frame_rows(series, first_refresh, end),
    )


def rates_table(
    series: FrameSeries,
    frame_rate_fps: NDArray[np.float64],
    frame_time_ms: NDArray[np.float64],
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> Table:
    """Rolling frame rate and frame time on screen, one row for each refresh.

    frame_rate_fps, frame_time_ms : shape (n,), one value for each refresh of the capture,
    NaN where there is none.
    """
    end = series.refreshes if end_refresh is None else end_refresh
    return Table(
        ("refresh", "time_s", "frame_rate_fps", "frame_time_ms"),
        _rate_rows(series, frame_rate_fps, frame_time_ms, first_refresh, end),
    )


def summary_table(figures: Iterable[Figure]) -> Table:
    """The figures of a segment, each with its definition in words."""
    return Table(
        ("figure", "value", "unit", "definition"),
        ((each.key, value_text(each.value), each.unit, each.definition) for each in figures),
    )


def events_table(events: Iterable[Event]) -> Table:
    """What happened, with start, end, kind and size."""
    return Table(
        ("start_s", "end_s", "kind", "size", "unit", "refresh"),
        (
            (
                f"{each.start_s:.9f}",
                f"{each.end_s:.9f}",
                each.kind.value,
                _shortest(round(each.size, 6)),
                each.unit,
                str(each.refresh),
            )
            for each in events
        ),
    )


def cadence_table(runs: Iterable[CadenceRun]) -> Table:
    """Runs of one hold pattern in order of time; lapses are frames out of the pattern."""
    return Table(
        ("start_s", "end_s", "pattern", "frame_rate_fps", "frames", "lapses"),
        (
            (
                f"{each.start_s:.9f}",
                f"{each.end_s:.9f}",
                pattern_text(each.pattern),
                f"{each.frame_rate_fps:.6f}",
                str(each.frames),
                str(each.lapses),
            )
            for each in runs
        ),
    )


def differences_table(differences: Iterable[Difference], first: str, second: str) -> Table:
    """Figures of two segments side by side; `first` and `second` are their labels."""
    return Table(
        ("figure", first, second, "difference", "lower", "upper", "unit", "definition"),
        (
            (
                each.key,
                *map(
                    value_text,
                    (each.first, each.second, each.difference, each.lower, each.upper),
                ),
                each.unit,
                each.definition,
            )
            for each in differences
        ),
    )


def definitions_table(definitions: Iterable[tuple[str, str, str]]) -> Table:
    """Name, unit and definition in words of figures and events."""
    return Table(("name", "unit", "definition"), definitions)


def with_timecode(table: Table, timecode: Timecode) -> Table:
    """The table with one more column, last: the label of the row's refresh.

    Raises ValueError for a table without a column of refreshes.
    """
    if "refresh" not in table.header:
        raise ValueError(f"a table with timecode must have refreshes, got {table.header}")
    column = table.header.index("refresh")
    return Table(
        (*table.header, "timecode"),
        ((*row, timecode.label(int(row[column]))) for row in table.rows),
    )


def value_text(value: int | float | str) -> str:
    """A figure as a field: whole numbers and text as they are, others to six decimals."""
    return f"{value:.6f}" if isinstance(value, float) else str(value)


def _blocks(first: int, end: int) -> Iterator[slice]:
    for start in range(first, end, _BLOCK):
        yield slice(start, min(start + _BLOCK, end))


def _refresh_rows(record: TimingRecord, first: int, end: int) -> Iterator[Row]:
    names = np.array([verdict.name.lower() for verdict in Verdict])
    for block in _blocks(first, end):
        yield from zip(
            *_refresh_and_time(block, float(record.refresh_hz)),
            names[record.verdict[block]].tolist(),
            _tear_rows(record, block),
            _where(np.isfinite(record.margin[block]), map(str, record.margin[block])),
            strict=True,
        )


def _tear_rows(record: TimingRecord, block: slice) -> list[str]:
    fields = [""] * (block.stop - block.start)
    low, high = np.searchsorted(record.flip_refresh, [block.start, block.stop])
    refresh, row = record.flip_refresh[low:high], record.tear_row[low:high]
    torn_refresh = np.isin(refresh, refresh[row > 0])
    for index, value in zip(refresh[torn_refresh] - block.start, row[torn_refresh], strict=True):
        fields[index] += f"{';' if fields[index] else ''}{_shortest(value)}"
    return fields


def _frame_rows(series: FrameSeries, first: int, end: int) -> Iterator[Row]:
    flips = np.flatnonzero(series.flipped)
    number = np.arange(len(flips))
    inside = (series.refresh[flips] >= first) & (series.refresh[flips] < end)
    flips, number = flips[inside], number[inside]
    is_known = np.append(series.flipped[1:], False)[flips]
    next_refresh = series.refresh[np.minimum(flips + 1, len(series.refresh) - 1)]
    length, held = series.frame_time_ms[flips], next_refresh - series.refresh[flips]
    for block in _blocks(0, len(flips)):
        yield from zip(
            map(str, number[block].tolist()),
            map(str, series.refresh[flips[block]].tolist()),
            map(_shortest, series.tear_row[flips[block]].tolist()),
            _decimals(series.start_s[flips[block]], 9),
            _where(is_known[block], _decimals(length[block], 6)),
            _where(is_known[block], map(str, held[block].tolist())),
            strict=True,
        )


def _rate_rows(
    series: FrameSeries,
    frame_rate_fps: NDArray[np.float64],
    frame_time_ms: NDArray[np.float64],
    first: int,
    end: int,
) -> Iterator[Row]:
    for block in _blocks(first, end):
        yield from zip(
            *_refresh_and_time(block, float(series.refresh_hz)),
            _measured(frame_rate_fps[block]),
            _measured(frame_time_ms[block]),
            strict=True,
        )


def _refresh_and_time(block: slice, refresh_hz: float) -> tuple[list[str], list[str]]:
    refresh = np.arange(block.start, block.stop)
    return list(map(str, refresh.tolist())), _decimals(refresh / refresh_hz, 9)


def _measured(values: NDArray[np.float64]) -> list[str]:
    return _where(~np.isnan(values), _decimals(values, 6))


def _where(known: NDArray[np.bool_], fields: Iterable[str]) -> list[str]:
    return [
        field if is_known else "" for is_known, field in zip(known.tolist(), fields, strict=True)
    ]


def _decimals(values: NDArray[np.float64], digits: int) -> list[str]:
    form = f"%.{digits}f"
    return [form % value for value in values.tolist()]


def _shortest(value: float) -> str:
    """The fewest digits that read back as the same number, without a trailing ``.0``."""
    return str(int(value)) if value == int(value) else repr(float(value))
