"""From a record to a drawing: its strip as a picture, and the specimen sheet of styles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from pacerail.draw.page import check_format, write_drawing
from pacerail.draw.specimen import draw_specimen
from pacerail.draw.strip import lay_strip
from pacerail.draw.style import Style, load_style, style_names
from pacerail.figure import Fact
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.graphic import Graphic, track_of
from pacerail.pipeline.passage import Passage
from pacerail.pipeline.tracks import SeriesSettings
from pacerail.record import TimingRecord
from pacerail.stats.events import segment_events
from pacerail.stats.narration.compare import narrate_comparison
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.segment import Segment
from pacerail.timebase import format_clock

# Topics of `stats.narration` whose sentences fit under the title of a strip.
CAPTION_TOPICS = ("frame rate", "pace", "tears")


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
    part = Passage(record, graphic.label, first_refresh, end_refresh)
    facts = narrate(record, track.series, first_refresh, end_refresh)
    strip = lay_strip(
        [track],
        graphic.style,
        part.start_s,
        part.end_s,
        caption=captioned(facts),
        events=[segment_events(Segment(record, track.series, first_refresh, end_refresh))],
    )
    with atomic_output(output, overwrite=overwrite) as unfinished:
        write_drawing(strip, unfinished)


def write_joint_strip(
    first: Passage,
    second: Passage,
    style: Style,
    settings: SeriesSettings,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Draw two platforms' tiles mirrored on one axis, with what sets the two apart.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_format(output)
    check_writable(output, overwrite=overwrite)
    segments = first.segment(settings), second.segment(settings)
    facts = narrate_comparison(*segments, first.label, second.label)
    caption = captioned(facts)
    if first.start_s != second.start_s:
        caption.append(
            f"Times are those of {first.label}; {second.label} is shown from "
            f"{format_clock(second.start_s)} on."
        )
    strip = lay_strip(
        [
            track_of(passage.record, Graphic(style, passage.label, settings), passage.first_refresh)
            for passage in (first, second)
        ],
        style,
        first.start_s,
        first.end_s,
        second_s=(second.start_s, second.end_s),
        caption=caption,
        events=[segment_events(segment) for segment in segments],
    )
    with atomic_output(output, overwrite=overwrite) as unfinished:
        write_drawing(strip, unfinished)


def captioned(facts: Sequence[Fact]) -> list[str]:
    """The sentences that fit under the title of a strip."""
    return [fact.sentence for fact in facts if fact.topic in CAPTION_TOPICS]
