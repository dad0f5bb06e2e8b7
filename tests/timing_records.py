"""Timing records for tests, built by hand or at random."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate
from typing import Any

import numpy as np
from hypothesis import strategies as st

from pacerail.record import Source, TimingRecord, Verdict
from pacerail.scanout import scan_out_of_height

ROWS = 1080


def record_of_flips(
    flips: Sequence[int],
    refreshes: int,
    tear_rows: Sequence[float] | None = None,
    *,
    refresh_hz: Fraction | int = 60,
    faults: Sequence[int] = (),
    firsts: Sequence[int] = (),
    rows: int = ROWS,
    **changes: Any,
) -> TimingRecord:
    """A record whose flips fall in those refreshes; all others are held."""
    verdict = np.full(refreshes, Verdict.HELD, np.uint8)
    verdict[0] = Verdict.FIRST
    verdict[list(firsts)] = Verdict.FIRST
    verdict[list(faults)] = Verdict.FAULT
    verdict[list(flips)] = Verdict.NEW
    columns: dict[str, Any] = {
        "source": Source("harbour.mkv", 1000, "0123", "h264", rows * 16 // 9, rows),
        "refresh_hz": Fraction(refresh_hz),
        "time_base": Fraction(1, 15360),
        "scan_out": scan_out_of_height(rows),
        "pts": np.arange(refreshes, dtype=np.int64) * 256,
        "verdict": verdict,
        "score": np.full(refreshes, 4.0, np.float32),
        "margin": np.full(refreshes, 2.0, np.float32),
        "margin_limit": 0.5,
        "flip_refresh": np.asarray(flips, np.int64),
        "tear_row": np.asarray(tear_rows or np.zeros(len(flips)), np.float64),
        "unseen_row": np.zeros(len(flips)),
        "target_fps": None,
        "settings": {},
        "notes": (),
        "cut_refresh": np.empty(0, np.int64),
    }
    return TimingRecord(**(columns | changes))


def record_of_holds(
    holds: Sequence[int], *, refresh_hz: Fraction | int = 60, first_flip: int = 1
) -> TimingRecord:
    """A synchronised record in which each frame is held for so many refreshes.

    A last flip ends the last frame, so every hold is of known length.
    """
    flips = list(accumulate(holds, initial=first_flip))
    return record_of_flips(flips, flips[-1] + 1, refresh_hz=refresh_hz)


@st.composite
def records(draw: st.DrawFn, *, max_refreshes: int = 300, with_cuts: bool = True) -> TimingRecord:
    """Random records: clean and torn flips, several a refresh, faults and new parts."""
    n = draw(st.integers(1, max_refreshes))
    rates = [Fraction(60), Fraction(60000, 1001), Fraction(50), Fraction(120)]
    refresh_hz = draw(st.sampled_from(rates))
    seed = draw(st.integers(0, 2**32 - 1))
    flip_share = draw(st.sampled_from([0.0, 0.05, 0.5, 0.95, 1.0]))
    torn_share = draw(st.sampled_from([0.0, 0.3, 1.0]))
    cut_share = draw(st.sampled_from([0.0, 0.02, 0.2])) if with_cuts else 0.0
    random = np.random.default_rng(seed)
    faults: list[int] = []
    firsts: list[int] = []
    flips: list[int] = []
    rows: list[float] = []
    after_fault = False
    for refresh in range(n):
        if random.random() < cut_share:
            faults.append(refresh)
            after_fault = True
            continue
        if refresh == 0 or after_fault or random.random() < cut_share / 4:
            firsts.append(refresh)
        elif random.random() < flip_share:
            count = 1 + int(random.random() < 0.1)
            torn = random.random() < torn_share
            chosen = sorted(random.choice(np.arange(1, ROWS), count, replace=False))
            for row in chosen if torn else [0]:
                flips.append(refresh)
                rows.append(float(row))
        after_fault = False
    # In its refresh, or in the one before if no flip falls in that.
    has_room = np.diff(flips, prepend=-2) > 1
    earliest = np.where(has_room, 1 - ROWS, 0)
    unseen = np.where(rows, 0.0, random.integers(earliest, ROWS))
    cuts = np.flatnonzero(random.random(n) < draw(st.sampled_from([0.0, 0.02, 0.2])))
    return record_of_flips(
        flips,
        n,
        rows,
        refresh_hz=refresh_hz,
        faults=faults,
        firsts=[f for f in firsts if f],
        unseen_row=unseen * draw(st.booleans()),
        cut_refresh=cuts if draw(st.booleans()) else None,
    )
