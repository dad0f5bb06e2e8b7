"""Whatever way a figure leaves the library, it is the same figure."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest
from hypothesis import given

from pacerail.export.csv_text import write_csv
from pacerail.export.facts_text import facts_as_json
from pacerail.export.tables import frames_table, rates_table, summary_table, value_text
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.readout import running_counts
from pacerail.stats.rolling import frame_time_on_screen, rolling_frame_rate
from pacerail.stats.summary import summarise
from tests.figures_document import DOCUMENT, with_tables
from tests.timing_records import record_of_holds, records


def test_the_document_holds_the_table_of_figures() -> None:
    document = DOCUMENT.read_text("utf-8")
    assert document == with_tables(document), "run python tests/figures_document.py"


def test_the_mean_rates_in_the_document_are_right() -> None:
    record = record_of_holds([1] * 60 + [2] * 20)
    (rate,) = (
        figure.value
        for figure in summarise(record, frame_series(record))
        if figure.key == "mean_frame_rate_fps"
    )
    assert rate == pytest.approx(48.0)
    assert (60 * 60 + 20 * 30) / 80 == 52.5


@given(records(max_refreshes=150))
def test_csv_and_json_print_the_summary(record: TimingRecord) -> None:
    series = frame_series(record)
    figures = summarise(record, series)
    stream = io.StringIO()
    write_csv(summary_table(figures), stream)
    rows = list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))
    assert [(row["figure"], row["value"]) for row in rows] == [
        (figure.key, value_text(figure.value)) for figure in figures
    ]
    told = json.loads(facts_as_json(narrate(record, series), figures, "a.mp4"))
    assert [figure["value"] for figure in told["figures"]] == [figure.value for figure in figures]


@given(records(max_refreshes=150))
def test_the_last_readout_is_the_summary(record: TimingRecord) -> None:
    series = frame_series(record)
    values = {figure.key: figure.value for figure in summarise(record, series)}
    counts = running_counts(series)
    assert counts.late_frames[-1] == values["late_frames"]
    if isinstance(values["torn_share"], str):
        assert np.isnan(counts.torn_share[-1])
    else:
        assert counts.torn_share[-1] == values["torn_share"]


@given(records(max_refreshes=150, with_cuts=False))
def test_a_window_over_the_whole_capture_reads_the_mean_frame_rate(record: TimingRecord) -> None:
    series = frame_series(record, still_limit_s=1e9)
    values = {figure.key: figure.value for figure in summarise(record, series)}
    window_s = max(record.refreshes, 2) / float(record.refresh_hz)
    rate = rolling_frame_rate(series, window_s=window_s).frame_rate_fps[-1]
    if np.isfinite(rate):
        assert rate == pytest.approx(values["mean_frame_rate_fps"])


@given(records(max_refreshes=150))
def test_frame_times_on_screen_are_those_of_the_frames_table(record: TimingRecord) -> None:
    series = frame_series(record)
    table = frames_table(series)
    column = table.header.index("frame_time_ms")
    listed = {row[column] for row in table.rows}
    rates = rates_table(
        series, rolling_frame_rate(series).frame_rate_fps, frame_time_on_screen(series)
    )
    shown = {row[rates.header.index("frame_time_ms")] for row in rates.rows} - {""}
    assert shown <= listed
