from __future__ import annotations

import csv
import io
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.export.csv_text import write_csv
from pacerail.export.tables import (
    Table,
    cadence_table,
    definitions_table,
    differences_table,
    events_table,
    frames_table,
    rates_table,
    refreshes_table,
    summary_table,
    value_text,
    with_timecode,
)
from pacerail.figure import CadenceRun, Difference, Event, EventKind, Figure
from pacerail.record import TimingRecord, Verdict
from pacerail.series import FrameSeries
from pacerail.stats.frames import frame_series
from pacerail.stats.rolling import frame_time_on_screen, rolling_frame_rate
from pacerail.stats.summary import summarise
from pacerail.timecode import Timecode
from tests.timing_records import record_of_flips, record_of_holds, records

RECORD = record_of_flips(
    [1, 3, 4, 4, 6], 12, [0, 540, 0, 200.25, 0], faults=[8], firsts=[9], refresh_hz=60
)
SERIES = frame_series(RECORD)


def text_of(table: Table) -> str:
    stream = io.StringIO()
    write_csv(table, stream)
    return stream.getvalue()


def lines_of(table: Table) -> list[str]:
    return text_of(table).split("\r\n")[:-1]


def rates_of(series: FrameSeries) -> Table:
    return rates_table(
        series, rolling_frame_rate(series).frame_rate_fps, frame_time_on_screen(series)
    )


def test_refreshes() -> None:
    assert lines_of(refreshes_table(RECORD)) == [
        "refresh,time_s,verdict,tear_rows,margin",
        "0,0.000000000,first,,2.0",
        "1,0.016666667,new,,2.0",
        "2,0.033333333,held,,2.0",
        "3,0.050000000,new,540,2.0",
        "4,0.066666667,new,0;200.25,2.0",
        "5,0.083333333,held,,2.0",
        "6,0.100000000,new,,2.0",
        "7,0.116666667,held,,2.0",
        "8,0.133333333,fault,,2.0",
        "9,0.150000000,first,,2.0",
        "10,0.166666667,held,,2.0",
        "11,0.183333333,held,,2.0",
    ]


def test_a_margin_that_is_no_number_is_an_empty_field() -> None:
    margin = RECORD.margin.copy()
    margin[[0, 8]] = np.inf, np.nan
    lines = lines_of(refreshes_table(replace(RECORD, margin=margin)))
    assert lines[1] == "0,0.000000000,first,,"
    assert lines[9] == "8,0.133333333,fault,,"


def test_frames() -> None:
    assert lines_of(frames_table(SERIES)) == [
        "frame,refresh,tear_row,flip_s,frame_time_ms,refreshes_held",
        "0,1,0,0.016666667,41.333333,2",
        "1,3,540,0.058000000,8.666667,1",
        "2,4,0,0.066666667,2.966667,0",
        "3,4,200.25,0.069633333,30.366667,2",
        "4,6,0,0.100000000,,",
    ]


def test_rates() -> None:
    lines = lines_of(rates_of(SERIES))
    assert lines[0] == "refresh,time_s,frame_rate_fps,frame_time_ms"
    assert lines[1] == "0,0.000000000,,"
    assert lines[2] == "1,0.016666667,24.193548,41.333333"
    assert lines[9] == "8,0.133333333,,"


def test_a_still_span_between_flips_has_a_length_and_one_at_the_end_has_none() -> None:
    series = frame_series(record_of_flips([1, 40, 41], 100))
    assert lines_of(frames_table(series))[1:] == [
        "0,1,0,0.016666667,650.000000,39",
        "1,40,0,0.666666667,16.666667,1",
        "2,41,0,0.683333333,,",
    ]


def test_a_part_of_a_table_is_that_part_of_the_whole() -> None:
    assert lines_of(refreshes_table(RECORD, 3, 5)) == [
        lines_of(refreshes_table(RECORD))[index] for index in (0, 4, 5)
    ]
    assert lines_of(frames_table(SERIES, 3, 5)) == [
        lines_of(frames_table(SERIES))[index] for index in (0, 2, 3, 4)
    ]
    rate, time = rolling_frame_rate(SERIES).frame_rate_fps, frame_time_on_screen(SERIES)
    assert lines_of(rates_table(SERIES, rate, time, 3, 5)) == [
        lines_of(rates_of(SERIES))[index] for index in (0, 4, 5)
    ]


def test_tables_longer_than_a_block_have_no_seam() -> None:
    record = record_of_holds([1] * 40_000)
    rows = list(refreshes_table(record).rows)
    assert [int(row[0]) for row in rows] == list(range(record.refreshes))
    assert len(list(frames_table(frame_series(record)).rows)) == 40_001


def test_summary() -> None:
    figures = (
        Figure("flips", 12, "", "flips in the segment"),
        Figure("longest_frame_ms", 50.0, "ms", "longest frame time"),
        Figure("late_share", "not measurable: no frame", "", "late frames, over frames"),
    )
    assert lines_of(summary_table(figures)) == [
        "figure,value,unit,definition",
        "flips,12,,flips in the segment",
        "longest_frame_ms,50.000000,ms,longest frame time",
        'late_share,not measurable: no frame,,"late frames, over frames"',
    ]


def test_events() -> None:
    events = (
        Event(EventKind.STALL, 0.5, 0.75, 30, 14.0, "refreshes"),
        Event(EventKind.TEAR, 1.008, 1 + 1 / 60, 60, 540.5, "row"),
    )
    assert lines_of(events_table(events)) == [
        "start_s,end_s,kind,size,unit,refresh",
        "0.500000000,0.750000000,stall,14,refreshes,30",
        "1.008000000,1.016666667,tear,540.5,row,60",
    ]


def test_cadence() -> None:
    runs = (CadenceRun(0.5, 4.5, 120, (1, 3), 2), CadenceRun(4.5, 5.0, 20, ()))
    assert lines_of(cadence_table(runs)) == [
        "start_s,end_s,pattern,frame_rate_fps,frames,lapses",
        "0.500000000,4.500000000,1:3,30.000000,120,2",
        "4.500000000,5.000000000,irregular,40.000000,20,0",
    ]


def test_differences() -> None:
    difference = Difference("late_share", "", "late over frames", 0.5, 0.25, 0.25, 0.1, "why")
    assert lines_of(differences_table((difference,), "Merle", "Wren")) == [
        "figure,Merle,Wren,difference,lower,upper,unit,definition",
        "late_share,0.500000,0.250000,0.250000,0.100000,why,,late over frames",
    ]


def test_definitions() -> None:
    assert lines_of(definitions_table([("flips", "", "flips, torn or clean")])) == [
        "name,unit,definition",
        'flips,,"flips, torn or clean"',
    ]


def test_timecode_comes_last() -> None:
    # 00:01:00;02 follows 00:00:59;29 (OpenTimelineIO's tests hold the same row).
    timecode = Timecode.starting_at("00:00:59;29", Fraction(30000, 1001))
    record = record_of_holds([1] * 3, refresh_hz=Fraction(30000, 1001))
    assert [
        line.split(",")[-1] for line in lines_of(with_timecode(refreshes_table(record), timecode))
    ] == [
        "timecode",
        "00:00:59;29",
        "00:01:00;02",
        "00:01:00;03",
        "00:01:00;04",
        "00:01:00;05",
    ]
    with pytest.raises(ValueError, match="a table with timecode must have refreshes"):
        with_timecode(summary_table(()), timecode)


@pytest.mark.parametrize(
    ("value", "text"), [(3, "3"), (0.1, "0.100000"), (59.94005994, "59.940060"), ("3:2", "3:2")]
)
def test_values(value: int | float | str, text: str) -> None:
    assert value_text(value) == text


FIELDS = st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0\r"))


@given(st.lists(st.tuples(FIELDS, FIELDS, FIELDS)))
def test_csv_is_rfc_4180(rows: list[tuple[str, str, str]]) -> None:
    """Sections 2.1 to 2.7: CRLF ends records, awkward fields are quoted, quotes doubled."""
    text = text_of(Table(("a", "b", "c"), rows))
    assert text.endswith("\r\n")
    assert list(csv.reader(io.StringIO(text, newline=""), strict=True)) == [
        ["a", "b", "c"],
        *map(list, rows),
    ]
    unquoted = "".join(text.split('"')[::2])
    assert unquoted.count("\r\n") == len(rows) + 1
    assert unquoted.replace("\r\n", "").count("\n") == 0


def test_csv_quotes_only_what_must_be() -> None:
    table = Table(("a", "b", "c", "d", "e"), [("a", "b,c", 'd"e', "f\ng", "")])
    assert lines_of(table)[1:] == ['a,"b,c","d""e","f\ng",']


def record_from_csv(text: str, like: TimingRecord) -> TimingRecord:
    """The record that a table of refreshes tells of; only what it does not hold is copied."""
    names = {verdict.name.lower(): verdict for verdict in Verdict}
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    flips: list[int] = []
    tear_rows: list[float] = []
    for row in rows:
        if row["verdict"] == "new":
            for tear_row in (row["tear_rows"] or "0").split(";"):
                flips.append(int(row["refresh"]))
                tear_rows.append(float(tear_row))
    return replace(
        like,
        verdict=np.array([names[row["verdict"]] for row in rows], np.uint8),
        margin=np.array([float(row["margin"]) for row in rows], np.float32),
        flip_refresh=np.array(flips, np.int64),
        tear_row=np.array(tear_rows, np.float64),
    )


@given(records(), st.integers(0, 2**32 - 1))
def test_figures_of_the_csv_are_figures_of_the_record(record: TimingRecord, seed: int) -> None:
    random = np.random.default_rng(seed)
    exact = replace(
        record,
        margin=random.exponential(1, record.refreshes).astype(np.float32),
        tear_row=np.where(
            record.tear_row > 0, record.tear_row - random.random(len(record.tear_row)) / 2, 0
        ),
    )
    again = record_from_csv(text_of(refreshes_table(exact)), like=exact)
    assert summarise(again, frame_series(again)) == summarise(exact, frame_series(exact))


@given(records(with_cuts=False))
def test_pandas_reads_the_frames_and_finds_the_same_figures(record: TimingRecord) -> None:
    series = frame_series(record, still_limit_s=1e9)
    frames = pd.read_csv(io.StringIO(text_of(frames_table(series)), newline=""))
    times = frames["frame_time_ms"].dropna()
    if len(times) < 2:
        return
    values = {figure.key: figure.value for figure in summarise(record, series)}
    # The table rounds to a nanosecond, so figures of it agree to about that much.
    assert times.mean() == pytest.approx(values["frame_time_mean_ms"], abs=2e-6)
    assert times.std() == pytest.approx(values["frame_time_standard_deviation_ms"], abs=2e-6)
    assert times.max() == pytest.approx(values["longest_frame_ms"], abs=2e-6)
    assert times.median() == pytest.approx(values["frame_time_median_ms"], abs=2e-6)
    assert (frames["tear_row"] > 0).sum() == values["torn_flips"]
    assert len(frames) == values["flips"]
    difference = frames["flip_s"].diff().dropna().to_numpy() * 1000
    np.testing.assert_allclose(difference, times, atol=3e-6)


@given(records())
def test_no_table_shows_nan(record: TimingRecord) -> None:
    series = frame_series(record)
    for table in (refreshes_table(record), frames_table(series), rates_of(series)):
        for row in table.rows:
            assert len(row) == len(table.header)
            assert "nan" not in row
            assert "inf" not in row
