"""Sentences about frame rate, frame time and cadence."""

from __future__ import annotations

from collections.abc import Iterator

from pacerail.figure import CadenceRun, EventKind, Fact, pattern_text
from pacerail.plural import plural
from pacerail.stats.cadence import TIE_S, cadence_runs, hold_counts
from pacerail.stats.narration.told import COUNT_FOR_PERCENT, DOUBT, LISTED, Told, listed, times_of
from pacerail.stats.segment import NotMeasurableError
from pacerail.stats.spoken import (
    spoken_duration,
    spoken_number,
    spoken_rate,
    spoken_share,
)
from pacerail.timebase import format_clock

# The slowest 1 % of fewer frames than this is less than one frame.
_FRAMES_FOR_ONE_PERCENT = 100
# Shorter than this, a stretch has no room for a pattern and its absence says nothing.
_IRREGULAR_S = 0.5 - TIE_S
# A rate measured over less of the segment than this is not said of the whole.
_MOSTLY_MEASURED = 0.9


def frame_rate(told: Told) -> Iterator[Fact]:
    """Mean frame rate, and over how much of the segment it was measured."""
    rate = told.values["mean_frame_rate_fps"]
    if isinstance(rate, str):
        yield Fact("frame rate", "The frame rate cannot be told.", rate, told.whole)
        return
    measured, duration = told.number("measured_time_s"), told.number("duration_s")
    part = (
        f", measured over {spoken_duration(measured)} of {spoken_duration(duration)}"
        if measured < _MOSTLY_MEASURED * duration
        else ""
    )
    yield Fact(
        "frame rate",
        f"The frame rate averages {spoken_rate(rate)} frames per second{part}.",
        f"{rate:.3f} fps over {measured:.3f} s measured",
        told.whole,
    )


def late_frames(told: Told) -> Iterator[Fact]:
    """Late frames, or how far their absence can be trusted."""
    frames, late = told.count("frames"), told.count("late_frames")
    if not frames:
        return
    target_ms = told.number("target_frame_time_ms")
    origin = told.values["target_origin"]
    against = (
        f"Against {'an inferred' if origin == 'inferred' else 'the'} target of "
        f"{spoken_rate(1000 / target_ms)} frames per second"
    )
    exact = (
        f"{late} of {frames} frames, {told.interval('late_share')}, {DOUBT}; "
        f"target {target_ms:.3f} ms, {origin}"
    )
    if not late:
        three = told.number("late_share_rule_of_three") * 100
        yield Fact(
            "pace",
            f"{against}, no frame came late and no refresh was missed in this sample of "
            f"{plural(frames, 'frame')}.",
            f"{exact}; below {three:.3g} % by the rule of three",
            told.whole,
        )
        return
    on_pace = told.number("on_pace_time_share")
    missed = told.count("missed_refreshes")
    yield Fact(
        "pace",
        f"{against}, {late} of {plural(frames, 'frame')} came late; frames were on pace for "
        f"{spoken_share(on_pace)} of the time.",
        f"{exact}; {plural(missed, 'missed refresh', 'missed refreshes')}; on pace for "
        f"{on_pace * 100:.3f} % of measured time",
        told.whole,
    )


def slowest_frames(told: Told) -> Iterator[Fact]:
    """Both meanings of the 1 % low, where 1 % of the frames is a frame at least."""
    if told.count("frames") < _FRAMES_FOR_ONE_PERCENT:
        return
    by_mean = told.number("one_percent_low_by_mean_fps")
    by_quantile = told.number("one_percent_low_by_quantile_fps")
    yield Fact(
        "slowest frames",
        f"99 percent of frames came at {spoken_rate(by_quantile)} frames per second or "
        f"faster; the slowest 1 percent averaged {spoken_rate(by_mean)}.",
        f"1 % low by quantile {by_quantile:.3f} fps (1000 / P99), by mean {by_mean:.3f} fps "
        f"(slowest 1 % of frames over their time)",
        told.whole,
    )


def longest_frame(told: Told) -> Iterator[Fact]:
    """The longest frame."""
    if not told.count("frames"):
        return
    length, start = told.number("longest_frame_ms"), told.number("longest_frame_start_s")
    yield Fact(
        "longest frame",
        f"The longest frame stayed for {spoken_duration(length / 1000)}.",
        f"{length:.3f} ms at {format_clock(start)}",
        ((start, start + length / 1000),),
    )


def stalls(told: Told) -> Iterator[Fact]:
    """Stalls, each with its moment."""
    events = told.events_of(EventKind.STALL)
    if not events:
        return
    lengths_s = [event.end_s - event.start_s for event in events]
    longest = spoken_duration(max(lengths_s))
    yield Fact(
        "stalls",
        f"There is one stall, of {longest}."
        if len(events) == 1
        else f"There are {len(events)} stalls, the longest of {longest}.",
        listed(events, (f"{length * 1000:.3f} ms" for length in lengths_s)),
        times_of(events),
    )


def holds(told: Told) -> Iterator[Fact]:
    """For how long most frames are held, with the whole histogram and the main pattern."""
    try:
        counts = hold_counts(told.segment)
    except NotMeasurableError:
        return
    frames = sum(counts.values())
    hold, most = max(counts.items(), key=lambda each: each[1])
    held = plural(hold, "refresh", "refreshes")
    if most == frames:
        sentence = f"Every frame is held for {held}."
    elif frames < COUNT_FOR_PERCENT:
        sentence = f"{most} of {frames} frames are held for {held}."
    else:
        sentence = f"{spoken_share(most / frames).capitalize()} of frames are held for {held}."
    share = told.number("hold_pattern_time_share") * 100
    yield Fact(
        "holds",
        sentence,
        f"refreshes x frames: {told.values['hold_histogram']}; {told.values['hold_pattern']} "
        f"for {share:.1f} % of the measured time",
        told.whole,
    )


def cadence(told: Told) -> Iterator[Fact]:
    """The longest runs of one pattern, in order of time."""
    try:
        runs = cadence_runs(told.segment)
    except NotMeasurableError as reason:
        if told.count("frames"):
            yield Fact("cadence", "There is no cadence to tell.", str(reason), told.whole)
        return
    telling = [run for run in runs if run.pattern or run.end_s - run.start_s >= _IRREGULAR_S]
    longest = sorted(telling, key=lambda run: round(run.start_s - run.end_s, 6))[:LISTED]
    for run in sorted(longest, key=lambda run: run.start_s):
        duration = run.end_s - run.start_s
        yield Fact(
            "cadence",
            f"{_pace_of(run)} for {spoken_duration(duration)}.",
            f"{run.frame_rate_fps:.3f} fps in {told.hz}, {pattern_text(run.pattern)}, "
            f"{run.frames} frames, {duration:.3f} s from {format_clock(run.start_s)}",
            ((run.start_s, run.end_s),),
        )


def _pace_of(run: CadenceRun) -> str:
    """``30 frames per second, badly paced 1:3``."""
    rate = f"{spoken_number(run.frame_rate_fps)} frames per second"
    if not run.pattern:
        return f"{rate} on average without a repeating pattern"
    paced = "evenly paced" if run.is_even else "paced" if run.is_balanced else "badly paced"
    lapses = f" but for {plural(run.lapses, 'frame')}" if run.lapses else ""
    return f"{rate}, {paced} {pattern_text(run.pattern)}{lapses},"
