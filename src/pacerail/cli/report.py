"""What `measure` shows of a record: its source, its verdicts and its chief figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pacerail.figure import Figure
from pacerail.record import TimingRecord, Verdict
from pacerail.timebase import format_clock

# What a person asks first; `pacerail csv --table summary` has them all, with definitions.
CHIEF_FIGURES = (
    "mean_frame_rate_fps",
    "target_frame_time_ms",
    "frame_time_median_ms",
    "frame_time_p95_ms",
    "frame_time_p99_ms",
    "longest_frame_ms",
    "longest_frame_start_s",
    "late_frames",
    "missed_refreshes",
    "on_pace_time_share",
    "hold_pattern",
    "torn_flips",
    "torn_share",
    "still_spans",
    "lost_refreshes",
    "uncertain_verdicts",
)
# Units that a key ends in and the value is followed by; others are words of the name.
UNIT_SYMBOLS = ("fps", "ms", "s")


def record_report(record: TimingRecord, figures: Sequence[Figure]) -> str:
    """A few aligned lines of text, without an end of line after the last."""
    source = record.source
    counts = ", ".join(
        f"{int((record.verdict == verdict).sum())} {verdict.name.lower()}" for verdict in Verdict
    )
    length = format_clock(float(record.refreshes / record.refresh_hz))
    rows = [
        (
            "capture",
            f"{source.name}, {source.picture_width}x{source.picture_height} {source.codec}",
        ),
        ("length", f"{length}, {record.refreshes} refreshes at {float(record.refresh_hz):.6g} Hz"),
        ("verdicts", counts),
        *(_figure_rows(figures) if not record.is_guesswork() else _doubt_rows(record)),
        *(("note", note) for note in record.notes),
    ]
    width = max(len(name) for name, _ in rows)
    return "\n".join(f"{name:<{width}}  {text}" for name, text in rows)


def _figure_rows(figures: Sequence[Figure]) -> Iterator[tuple[str, str]]:
    by_key = {figure.key: figure for figure in figures}
    for key in CHIEF_FIGURES:
        figure = by_key[key]
        symbol = figure.unit if figure.unit in UNIT_SYMBOLS else ""
        yield key.removesuffix(f"_{symbol}").replace("_", " "), _figure_text(figure)


def _doubt_rows(record: TimingRecord) -> Iterator[tuple[str, str]]:
    """In place of figures that would be guesses."""
    yield "figures", "not measurable: too many verdicts are uncertain"
    yield "uncertain verdicts", str(int(record.uncertain.sum()))


def _figure_text(figure: Figure) -> str:
    """A figure as people write it; the CSV has every digit."""
    value = figure.value
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        if figure.key.endswith("share"):
            return f"{value:.1%}"
        text = f"{value:.3f}" if figure.unit == "s" else f"{value:.2f}"
    else:
        text = str(value)
    return f"{text} {figure.unit}" if figure.unit in UNIT_SYMBOLS else text
