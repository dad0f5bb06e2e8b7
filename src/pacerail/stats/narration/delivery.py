"""Sentences about the segment as a whole: extent, tears, still spans, faults, doubt."""

from __future__ import annotations

from collections.abc import Iterator

from pacerail.figure import EventKind, Fact
from pacerail.plural import plural
from pacerail.stats.narration.told import COUNT_FOR_PERCENT, DOUBT, Told, listed, times_of
from pacerail.stats.spoken import spoken_duration, spoken_share

# Share of uncertain verdicts from which a warning comes before all else: one in a hundred
# could by itself make up a 1 % low.
UNCERTAIN_LIMIT = 0.01


def uncertainty(told: Told) -> Iterator[Fact]:
    """Verdicts that could not be made surely; a caution when they are many."""
    uncertain, refreshes = told.count("uncertain_verdicts"), told.count("refreshes")
    if not uncertain:
        return
    caution = "Treat these figures with care: " if uncertain >= UNCERTAIN_LIMIT * refreshes else ""
    yield Fact(
        "uncertainty",
        f"{caution}{plural(uncertain, 'refresh', 'refreshes')} could not be judged surely.",
        f"{uncertain} of {refreshes} refreshes within the margin limit",
        told.whole,
    )


def guesswork(told: Told) -> Iterator[Fact]:
    """That nothing can be told of the pace, and why."""
    uncertain, refreshes = told.count("uncertain_verdicts"), told.count("refreshes")
    yield Fact(
        "guesswork",
        "The capture does not show how this segment runs: too many refreshes could not be "
        "told new from held.",
        f"not measurable: {uncertain} of {refreshes} refreshes within the margin limit; record "
        "with more bits, or watch a livelier part of the picture",
        told.whole,
    )


def extent(told: Told) -> Iterator[Fact]:
    """Length and flips."""
    refreshes, flips = told.count("refreshes"), told.count("flips")
    duration = told.number("duration_s")
    yield Fact(
        "extent",
        f"The segment lasts {spoken_duration(duration)} and brings {plural(flips, 'new frame')}.",
        f"{duration:.3f} s, {plural(refreshes, 'refresh', 'refreshes')} at {told.hz}, "
        f"{plural(flips, 'flip')}",
        told.whole,
    )


def tears(told: Told) -> Iterator[Fact]:
    """Torn flips, or how far their absence can be trusted."""
    flips, torn = told.count("flips"), told.count("torn_flips")
    if not flips:
        return
    exact = f"{torn} of {plural(flips, 'flip')}, {told.interval('torn_share')}; {DOUBT}"
    if not torn:
        sentence = f"No tear was seen in this sample of {plural(flips, 'frame')}."
        exact += (
            f"; below {told.number('torn_share_rule_of_three') * 100:.3g} % by the rule of three"
        )
    elif torn == flips:
        sentence = "Every frame is torn."
    elif flips < COUNT_FOR_PERCENT:
        sentence = f"{torn} of {flips} frames {'is' if torn == 1 else 'are'} torn."
    else:
        share = spoken_share(told.number("torn_share"))
        sentence = f"{share.capitalize()} of frames are torn."
    yield Fact(
        "tears",
        sentence,
        exact,
        times_of(told.events_of(EventKind.TEAR)) or told.whole,
    )


def still_spans(told: Told) -> Iterator[Fact]:
    """Still spans, each with its moment."""
    still_s = told.number("still_time_s")
    if still_s <= 0.0:
        return
    spans = told.events_of(EventKind.STILL_SPAN)
    yield Fact(
        "still spans",
        f"The picture stands still for {spoken_duration(still_s)}; "
        "this is left out of the frame rate.",
        listed(spans, (f"{event.end_s - event.start_s:.3f} s" for event in spans))
        or f"{still_s:.3f} s, begun before the segment",
        times_of(spans) or told.whole,
    )


def capture_faults(told: Told) -> Iterator[Fact]:
    """Lost refreshes, each run with its moment."""
    lost = told.count("lost_refreshes")
    if not lost:
        return
    faults = told.events_of(EventKind.CAPTURE_FAULT)
    yield Fact(
        "capture faults",
        f"The recording lost {plural(lost, 'refresh', 'refreshes')}, which "
        f"{'is' if lost == 1 else 'are'} not counted as the program's.",
        listed(faults, (f"{event.size:.0f}" for event in faults)) or "begun before the segment",
        times_of(faults) or told.whole,
    )


def notes(told: Told) -> Iterator[Fact]:
    """What measuring met and assumed."""
    for note in told.segment.record.notes:
        sentence = note[:1].upper() + note[1:].rstrip(".")
        yield Fact("note", f"{sentence}.", "noted when the capture was measured", told.whole)
