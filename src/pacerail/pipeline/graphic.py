"""How a record is shown, and the track of it that is drawn."""

from __future__ import annotations

from dataclasses import dataclass

from pacerail.draw.style import Style, load_style
from pacerail.draw.track import Track
from pacerail.pipeline.tracks import DEFAULTS, SeriesSettings, rates_of
from pacerail.record import TimingRecord
from pacerail.stats.readout import running_counts


@dataclass(frozen=True, eq=False)
class Graphic:
    """How an overlay or a strip shows a record."""

    style: Style
    label: str
    settings: SeriesSettings = DEFAULTS


def load_graphic(style: str, label: str, settings: SeriesSettings = DEFAULTS) -> Graphic:
    """A graphic in a shipped style, or in a style file of the user's.

    Raises UsageError for an unknown name, InputError for a file that is no style.
    """
    return Graphic(load_style(style), label, settings)


def track_of(record: TimingRecord, graphic: Graphic, first_refresh: int = 0) -> Track:
    """The track of a record; its running counts start at `first_refresh`."""
    rates = rates_of(record, graphic.settings)
    counts = running_counts(rates.series, first_refresh=first_refresh)
    return Track(
        graphic.label,
        rates.series,
        rates.frame_rate_fps,
        rates.frame_time_ms,
        counts.late_frames,
        counts.torn_share,
    )
