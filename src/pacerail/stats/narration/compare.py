"""Sentences about two segments side by side.

Every fact has two stretches of time, the first segment and the second.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pacerail.figure import Difference, EventKind, Fact
from pacerail.plural import plural
from pacerail.stats.comparison import are_late_alike, compare_segments
from pacerail.stats.narration.delivery import UNCERTAIN_LIMIT
from pacerail.stats.narration.told import COUNT_FOR_PERCENT, Times, Told, listed
from pacerail.stats.pace import late_limit_ms
from pacerail.stats.segment import Segment
from pacerail.stats.spoken import spoken_duration, spoken_rate, spoken_share


def narrate_comparison(
    first: Segment, second: Segment, label_1: str, label_2: str
) -> tuple[Fact, ...]:
    """What may be said of two platforms beside each other, in the order it is told.

    Which has more of something is said only where the whole interval of the difference lies
    on one side of zero.
    """
    differences = {each.key: each for each in compare_segments(first, second)}
    pair = _Pair((Told(first), Told(second)), (label_1, label_2), differences)
    return tuple(fact for chapter in _CHAPTERS for fact in chapter(pair))


@dataclass(frozen=True, eq=False)
class _Pair:
    """Two segments with what is known of each and of their differences."""

    told: tuple[Told, Told]
    labels: tuple[str, str]
    differences: dict[str, Difference]

    def fact(self, topic: str, sentence: str, exact: str) -> Fact:
        times: Times = (*self.told[0].whole, *self.told[1].whole)
        return Fact(topic, sentence, exact, times)

    def counts(self, key: str) -> tuple[int, int]:
        first, second = self.told
        return first.count(key), second.count(key)

    def verdict(self, key: str, more: str) -> str:
        """``; Wren runs faster``, or what keeps that from being said."""
        told = self.differences[key]
        if isinstance(told.lower, str):
            return "; the footage is too short to say whether that is chance"
        if not told.is_told_apart:
            return "; the footage does not tell them apart"
        return f"; {self.labels[0 if told.lower > 0 else 1]} {more}"

    def listing(self, texts: tuple[str, str]) -> str:
        """``Merle: ...; Wren: ...``."""
        return "; ".join(f"{label}: {text}" for label, text in zip(self.labels, texts, strict=True))


def _uncertainty(pair: _Pair) -> Iterator[Fact]:
    uncertain, refreshes = pair.counts("uncertain_verdicts"), pair.counts("refreshes")
    if any(n >= UNCERTAIN_LIMIT * of for n, of in zip(uncertain, refreshes, strict=True)):
        yield pair.fact(
            "uncertainty",
            f"Treat this comparison with care: {plural(uncertain[0], 'refresh', 'refreshes')} of "
            f"{pair.labels[0]} and {uncertain[1] or 'none'} of {pair.labels[1]} could not be "
            "judged surely.",
            f"{uncertain[0]} of {refreshes[0]} and {uncertain[1]} of {refreshes[1]} refreshes "
            "within the margin limit",
        )


def _frame_rate(pair: _Pair) -> Iterator[Fact]:
    told = pair.differences["mean_frame_rate_fps"]
    if isinstance(told.first, str) or isinstance(told.second, str):
        yield pair.fact(
            "frame rate",
            f"The frame rates of {' and '.join(pair.labels)} cannot be compared.",
            pair.listing((str(told.first), str(told.second))),
        )
        return
    label, other = pair.labels
    rate, other_rate = spoken_rate(told.first), spoken_rate(told.second)
    both = (
        f"Both average {rate} frames per second"
        if rate == other_rate
        else f"{label} averages {rate} frames per second, {other} {other_rate}"
    )
    # What sounds the same needs no excuse for a difference.
    if rate != other_rate or told.is_told_apart:
        both += pair.verdict(told.key, "runs faster")
    yield pair.fact(
        "frame rate",
        f"{both}.",
        f"{told.first:.3f} and {told.second:.3f} fps, difference {told.difference:.3f} fps; "
        f"{_interval(told, 1.0, 'fps')}",
    )


def _pace(pair: _Pair) -> Iterator[Fact]:
    late, frames = pair.counts("late_frames"), pair.counts("frames")
    if not all(frames):
        return
    if not are_late_alike(*(told.segment for told in pair.told)):
        limits = [
            spoken_duration(late_limit_ms(told.segment.series) / 1000.0) for told in pair.told
        ]
        yield pair.fact(
            "pace",
            f"A frame is late beyond {limits[0]} on {pair.labels[0]} and beyond {limits[1]} on "
            f"{pair.labels[1]}, so their late frames cannot be compared.",
            f"{pair.listing((_limit(pair.told[0]), _limit(pair.told[1])))}; late is more than "
            "half a refresh beyond the target",
        )
        return
    yield _share_fact(pair, "pace", late, frames, "frames", "late_share", ("came late", "is late"))


def _limit(told: Told) -> str:
    target_ms, origin = told.number("target_frame_time_ms"), told.values["target_origin"]
    return f"target {target_ms:.3f} ms, {origin}, in {told.hz}"


def _tears(pair: _Pair) -> Iterator[Fact]:
    torn, flips = pair.counts("torn_flips"), pair.counts("flips")
    if all(flips):
        yield _share_fact(pair, "tears", torn, flips, "flips", "torn_share", ("was torn", "tears"))


def _share_fact(
    pair: _Pair,
    topic: str,
    cases: tuple[int, int],
    trials: tuple[int, int],
    counted: str,
    key: str,
    verbs: tuple[str, str],
) -> Fact:
    """A share of frames on both platforms.

    counted : what the trials are, exactly. verbs : what the cases did, what the platform does.
    """
    told = pair.differences[key]
    did, does = verbs
    exact = (
        f"{cases[0]} of {trials[0]} and {cases[1]} of {trials[1]} {counted}; "
        f"{_interval(told, 100.0, 'percentage points')}"
    )
    if not any(cases):
        samples = f"in samples of {trials[0]} and {trials[1]}"
        return pair.fact(topic, f"No frame {did} on either platform, {samples}.", exact)
    amount, other = (_amount(n, of) for n, of in zip(cases, trials, strict=True))
    is_one = not cases[0] or (cases[0] == 1 and trials[0] < COUNT_FOR_PERCENT)
    verb = did if is_one else did.replace("was", "were")
    both = f"On {pair.labels[0]} {amount} {verb}, on {pair.labels[1]} {other}"
    return pair.fact(topic, f"{both}{pair.verdict(key, f'{does} more often')}.", exact)


def _amount(cases: int, trials: int) -> str:
    if not cases:
        return "no frame"
    if trials < COUNT_FOR_PERCENT:
        return f"{cases} of {plural(trials, 'frame')}"
    return f"{spoken_share(cases / trials)} of frames"


def _stalls(pair: _Pair) -> Iterator[Fact]:
    stalls = [told.events_of(EventKind.STALL) for told in pair.told]
    if not any(stalls):
        return
    lengths_s = [[event.end_s - event.start_s for event in events] for events in stalls]
    parts = []
    for label, lengths in zip(pair.labels, lengths_s, strict=True):
        longest = spoken_duration(max(lengths)) if lengths else ""
        match len(lengths):
            case 0:
                parts.append(f"{label} has no stall")
            case 1:
                parts.append(f"{label} has one stall, of {longest}")
            case many:
                parts.append(f"{label} has {many} stalls, the longest of {longest}")
    moments = [
        listed(events, (f"{length * 1000:.3f} ms" for length in lengths)) or "none"
        for events, lengths in zip(stalls, lengths_s, strict=True)
    ]
    yield pair.fact("stalls", "; ".join(parts) + ".", pair.listing((moments[0], moments[1])))


def _still_spans(pair: _Pair) -> Iterator[Fact]:
    still_s = [told.number("still_time_s") for told in pair.told]
    if any(still_s):
        spoken = [spoken_duration(each) if each else "at no time" for each in still_s]
        yield pair.fact(
            "still spans",
            f"{pair.labels[0]} stands still {_for(spoken[0])}, {pair.labels[1]} {_for(spoken[1])}; "
            "pause or stall, it is left out of the frame rates.",
            f"{still_s[0]:.3f} s and {still_s[1]:.3f} s",
        )


def _for(spoken: str) -> str:
    return spoken if spoken == "at no time" else f"for {spoken}"


def _interval(told: Difference, scale: float, unit: str) -> str:
    if isinstance(told.lower, str) or isinstance(told.upper, str):
        return str(told.lower)
    lower, upper = told.lower * scale, told.upper * scale
    return f"95 % interval of the difference {lower:.3g} to {upper:.3g} {unit} by block bootstrap"


_CHAPTERS: tuple[Callable[[_Pair], Iterator[Fact]], ...] = (
    _uncertainty,
    _frame_rate,
    _pace,
    _stalls,
    _tears,
    _still_spans,
)
