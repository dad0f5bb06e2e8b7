"""From a record to its graphics: the track that is drawn, and the strip as a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pacerail.draw.page import check_format, write_drawing
from pacerail.draw.specimen import draw_specimen
from pacerail.draw.strip import lay_strip
from pacerail.draw.style import Style, load_style, style_names
from pacerail.draw.track import Track
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.tracks import DEFAULTS, SeriesSettings, rates_of
from pacerail.record import TimingRecord
from pacerail.stats.events import segment_events
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.readout import running_counts
from pacerail.stats.segment import Segment

# Topics of `stats.narration` whose sentences fit under the title of a strip.
CAPTION_TOPICS = ("frame rate", "pace", "tears")


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


def named_styles(names: Sequence[str]) -> dict[str, Style]:
    """Styles by name or file, all shipped ones where none is named.

    Raises UsageError for an unknown name, InputError for a file that is no style.
    """
    return {Path(name).stem: load_style(name) for name in names or style_names()}


def write_specimen(styles: Mapping[str, Style], output: Path, *, overwrite: bool = False) -> None:
    """Draw each style at work on one sheet.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_format(output)
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(draw_specimen(list(styles.items())), part)


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


def write_strip(
    record: TimingRecord,
    graphic: Graphic,
    first_refresh: int,
    end_refresh: int,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Draw the tiles of refreshes [first_refresh, end_refresh) with axes, events and facts.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_format(output)
    check_writable(output, overwrite=overwrite)
    track = track_of(record, graphic, first_refresh)
    hz = float(record.refresh_hz)
    facts = narrate(record, track.series, first_refresh, end_refresh)
    strip = lay_strip(
        [track],
        graphic.style,
        first_refresh / hz,
        end_refresh / hz,
        caption=[fact.sentence for fact in facts if fact.topic in CAPTION_TOPICS],
        events=[segment_events(Segment(record, track.series, first_refresh, end_refresh))],
    )
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(strip, part)
