"""What the sentences of one segment share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pacerail.figure import Event, EventKind
from pacerail.stats.events import segment_events
from pacerail.stats.segment import NotMeasurableError, Segment
from pacerail.stats.summary import segment_figures
from pacerail.timebase import format_clock

# More moments than this are counted, not listed; a speaker could not read them out.
LISTED = 8
COUNT_FOR_PERCENT = 100
"""Below this many a share is spoken as a count: one of eight is not "12 percent"."""
DOUBT = "refreshes are not independent, so the doubt is at least that"

Times = tuple[tuple[float, float], ...]


class Told:
    """A segment with its figures by key and its events."""

    def __init__(self, segment: Segment) -> None:
        self.segment = segment
        self.values = {figure.key: figure.value for figure in segment_figures(segment)}
        self.events = segment_events(segment)
        self.whole: Times = ((segment.start_s, segment.end_s),)
        self.hz = f"{float(segment.series.refresh_hz):.6g} Hz"

    def number(self, key: str) -> float:
        """The figure; raises NotMeasurableError where it has no value."""
        value = self.values[key]
        if isinstance(value, str):
            raise NotMeasurableError(value)
        return value

    def count(self, key: str) -> int:
        """A figure that counts."""
        return int(self.number(key))

    def interval(self, key: str) -> str:
        """The 95 % interval of a share, in words."""
        lower, upper = (self.number(f"{key}_{end}") * 100 for end in ("lower", "upper"))
        return f"95 % interval {lower:.3g} to {upper:.3g} % (Clopper-Pearson)"

    def events_of(self, kind: EventKind) -> list[Event]:
        """Events of one kind, in order of time."""
        return [event for event in self.events if event.kind == kind]


def times_of(events: Sequence[Event]) -> Times:
    """Start and end of each event."""
    return tuple((event.start_s, event.end_s) for event in events)


def listed(events: Sequence[Event], sizes: Iterable[str]) -> str:
    """``133.333 ms at 0:08.233; ...``: a size and the moment of each event, up to a limit."""
    texts = [
        f"{size} at {format_clock(event.start_s)}"
        for event, size in zip(events, sizes, strict=True)
    ]
    rest = len(texts) - LISTED
    return "; ".join(texts[:LISTED]) + (f"; and {rest} more" if rest > 0 else "")
