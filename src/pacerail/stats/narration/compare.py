"""Sentences about two segments side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pacerail.figure import Difference, Fact
from pacerail.stats.comparison import compare_segments
from pacerail.stats.narration.told import Times
from pacerail.stats.segment import Segment
from pacerail.stats.spoken import spoken_rate, spoken_share


@dataclass(frozen=True)
class _Wording:
    """How one figure of two platforms is spoken."""

    topic: str
    both: str
    """Template of both values: label_1, value_1, label_2, value_2."""
    more: str
    """What the platform with the greater value does."""
    spoken: Callable[[float], str]


_WORDINGS = {
    "mean_frame_rate_fps": _Wording(
        "frame rate",
        "{label_1} averages {value_1} frames per second, {label_2} {value_2}",
        "runs faster",
        spoken_rate,
    ),
    "late_share": _Wording(
        "pace",
        "On {label_1} {value_1} of frames come late, on {label_2} {value_2}",
        "is late more often",
        spoken_share,
    ),
    "torn_share": _Wording(
        "tears",
        "On {label_1} {value_1} of flips are torn, on {label_2} {value_2}",
        "tears more often",
        spoken_share,
    ),
}


def narrate_comparison(
    first: Segment, second: Segment, label_1: str, label_2: str
) -> tuple[Fact, ...]:
    """Two platforms' frame rate, late and torn shares; which has more of one is said only
    where the whole interval of the difference lies on one side of zero.
    """
    times = ((first.start_s, first.end_s), (second.start_s, second.end_s))
    return tuple(
        _told(difference, _WORDINGS[difference.key], (label_1, label_2), times)
        for difference in compare_segments(first, second)
        if difference.key in _WORDINGS
    )


def _told(told: Difference, words: _Wording, labels: tuple[str, str], times: Times) -> Fact:
    if isinstance(told.first, str) or isinstance(told.second, str):
        sentence = f"The {words.topic} of {labels[0]} and {labels[1]} cannot be compared."
        reasons = zip(labels, (told.first, told.second), strict=True)
        exact = "; ".join(f"{label}: {value}" for label, value in reasons)
        return Fact(words.topic, sentence, exact, times)
    both = words.both.format(
        label_1=labels[0],
        value_1=words.spoken(told.first),
        label_2=labels[1],
        value_2=words.spoken(told.second),
    )
    exact = f"{told.first:.6g} and {told.second:.6g}, difference {told.difference:.4g} {told.unit}"
    if isinstance(told.lower, str) or isinstance(told.upper, str):
        sentence = f"{both}; whether they differ cannot be told."
        return Fact(words.topic, sentence, f"{exact.rstrip()}; {told.lower}", times)
    verdict = (
        f"{labels[0] if told.first > told.second else labels[1]} {words.more}"
        if told.is_told_apart
        else "the footage does not tell them apart"
    )
    interval = f"95 % interval {told.lower:.4g} to {told.upper:.4g} by block bootstrap"
    return Fact(words.topic, f"{both}; {verdict}.", f"{exact.rstrip()}; {interval}", times)
