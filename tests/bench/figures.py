"""Time and memory of all figures and of every table, for a long record.

Run as ``python tests/bench/figures.py [HOURS]``; three hours at 60 Hz unless told
otherwise. Prints seconds for each step and the peak of resident memory.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction

import numpy as np

from pacerail.export.csv_text import write_csv
from pacerail.export.facts_text import facts_as_json
from pacerail.export.tables import (
    events_table,
    frames_table,
    rates_table,
    refreshes_table,
    summary_table,
    with_timecode,
)
from pacerail.record import Source, TimingRecord, Verdict
from pacerail.scanout import scan_out_of_height
from pacerail.stats.cadence import cadence_runs
from pacerail.stats.comparison import compare_segments
from pacerail.stats.events import segment_events
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.readout import running_counts
from pacerail.stats.rolling import frame_time_on_screen, rolling_frame_rate
from pacerail.stats.segment import Segment
from pacerail.stats.summary import summarise
from pacerail.timecode import Timecode

REFRESH_HZ = Fraction(60)


def long_record(hours: float) -> TimingRecord:
    """A play session: half of it at 60, half at 30 with stalls and tears, menus between."""
    random = np.random.default_rng(1)
    n = round(hours * 3600 * REFRESH_HZ)
    scene = (np.arange(n) // 3600) % 2
    hold = np.where(scene == 1, 2, 1) + (random.random(n) < 0.03)
    hold = np.where(random.random(n) < 1e-4, random.integers(10, 300, n), hold)
    flips = 1 + np.cumsum(hold)
    flips = flips[flips < n]
    rows = np.where(random.random(len(flips)) < 0.05, random.integers(1, 1080, len(flips)), 0)
    verdict = np.full(n, Verdict.HELD, np.uint8)
    verdict[0] = Verdict.FIRST
    verdict[flips] = Verdict.NEW
    score = random.lognormal(2.0, 1.0, n).astype(np.float32)
    return TimingRecord(
        source=Source("long.mp4", 1, "0", "h264", 1920, 1080),
        refresh_hz=REFRESH_HZ,
        time_base=Fraction(1, 15360),
        scan_out=scan_out_of_height(1080),
        pts=np.arange(n, dtype=np.int64) * 256,
        verdict=verdict,
        score=score,
        margin=np.abs(np.log2(score)),
        margin_limit=0.3,
        flip_refresh=flips,
        tear_row=rows.astype(np.float64),
        unseen_row=np.zeros(len(flips)),
        cut_refresh=np.unique(random.integers(0, n, n // 300)),
        target_fps=None,
        settings={},
        notes=(),
    )


@contextmanager
def timed(step: str) -> Iterator[None]:
    """Print how long the block took, in wall and processor time."""
    wall, processor = time.perf_counter(), time.process_time()
    yield
    wall, processor = time.perf_counter() - wall, time.process_time() - processor
    print(f"{step:28} {wall:6.2f} s   ({processor:.2f} s of processor)")


def main() -> None:
    """Build the record, work out everything, print the times."""
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
    record = long_record(hours)
    print(f"{hours:g} h at {REFRESH_HZ} Hz: {record.refreshes} refreshes", end=", ")
    print(f"{len(record.flip_refresh)} flips")
    with timed("all figures"):
        with timed("  series"):
            series = frame_series(record)
        with timed("  rolling rate, counts"):
            rate = rolling_frame_rate(series).frame_rate_fps
            frame_time = frame_time_on_screen(series)
            running_counts(series)
        with timed("  summary"):
            figures = summarise(record, series)
    with timed("cadence"):
        segment = Segment(record, series, 0, record.refreshes)
        cadence_runs(segment)
    with timed("events"):
        events = segment_events(segment)
    with timed("facts as JSON"):
        facts_as_json(narrate(record, series), figures, "long.mp4")
    with timed("comparison of two halves"):
        middle = record.refreshes // 2
        compare_segments(
            Segment(record, series, 0, middle),
            Segment(record, series, middle, record.refreshes),
        )
    tables = {
        "refreshes": refreshes_table(record),
        "refreshes with timecode": with_timecode(refreshes_table(record), Timecode(REFRESH_HZ)),
        "frames": frames_table(series),
        "rates": rates_table(series, rate, frame_time),
        "summary": summary_table(figures),
        "events": events_table(events),
    }
    with open(os.devnull, "w", newline="") as stream:
        for name, table in tables.items():
            with timed(f"CSV of {name}"):
                write_csv(table, stream)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak resident memory {peak:.0f} MB")


if __name__ == "__main__":
    main()
