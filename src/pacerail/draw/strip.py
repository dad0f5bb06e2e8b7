"""A still of the strip for a look before rendering: a segment's tiles on lines, with axes.

A segment longer than one line is folded onto further lines, each with its own time axis,
instead of shrinking its tiles. One that would need too many lines becomes an overview, in
which every column stands for the longest frame of a stated time.
"""

from __future__ import annotations

from collections.abc import Sequence

from pacerail.draw.arrange import rules_within
from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.heading import Heading
from pacerail.draw.lane import LaneLook
from pacerail.draw.lettering import text_width
from pacerail.draw.scale import Scale, even_up
from pacerail.draw.strip_lines import GAP, MARGIN, SMALL, Sheet, draw_line
from pacerail.draw.style import Style
from pacerail.draw.tiles import lay_tiles
from pacerail.draw.track import Track
from pacerail.errors import UsageError
from pacerail.figure import Event, EventKind
from pacerail.patch import Image

# Pixels per refresh at 60 Hz, each with the number of lines that it may take: the first that
# holds a segment is used. Below 6 a torn tile and its slit can no longer be told apart.
TILE_STEPS = ((24, 1), (16, 2), (12, 8), (10, 8), (8, 8), (6, 30))
DESIGN_STEP = 12
OVERVIEW_LINES = 8

COLUMN = 3
"""Pixels of a column of an overview, one of them gap."""
# Seconds that a column of an overview may stand for.
COLUMN_STEPS_S = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 60.0)


def draw_strip(
    track: Track,
    style: Style,
    start_s: float,
    end_s: float,
    *,
    width: int = 1920,
    caption: Sequence[str] = (),
    events: Sequence[Event] = (),
) -> Image:
    """The strip of one track in pixels; see `lay_strip`."""
    return lay_strip(
        [track], style, start_s, end_s, width=width, caption=caption, events=[events]
    ).image()


def lay_strip(
    tracks: Sequence[Track],
    style: Style,
    start_s: float,
    end_s: float,
    *,
    second_s: tuple[float, float] | None = None,
    width: int = 1920,
    caption: Sequence[str] = (),
    events: Sequence[Sequence[Event]] = ((), ()),
) -> Drawing:
    """The strip of the segment [start_s, end_s) in seconds, on a ground of its own.

    tracks : one, or two that are mirrored on one axis. width : even, pixels.
    second_s : the segment on the second track's own clock, if it has other times there. Both
    start side by side; the axis tells the times of the first.
    caption : lines of facts, written under the label.
    events : for each track, what is marked at its place; tears are not, since a torn tile
    shows its own.
    Raises UsageError when the segment lies outside the capture.
    """
    spans_s = [(start_s, end_s), second_s or (start_s, end_s)][: len(tracks)]
    spans_s = [_inside(track, *span_s) for track, span_s in zip(tracks, spans_s, strict=True)]
    style = style.opaque
    marks = [
        [event for event in events[number] if event.kind != EventKind.TEAR]
        for number in range(len(tracks))
    ]
    sheet = _sheet(tracks, style, spans_s, width, marks)
    sentences = list(caption)
    if sheet.column_s:
        sentences.append(f"Each column shows the longest frame of {sheet.column_s:g} s.")
    title = " above, ".join(track.label for track in tracks)
    heading = Heading(f"{title} below" if len(tracks) == 2 else title, sentences, width)
    height = even_up(heading.height + sheet.lines * sheet.line_height + MARGIN - 2 * GAP)

    def paint(canvas: Canvas) -> None:
        heading.draw(canvas, style.colours)
        for number in range(sheet.lines):
            draw_line(canvas, sheet, number, heading.height + number * sheet.line_height)

    return Drawing(width, height, style.plate.colour, paint)


def _inside(track: Track, start_s: float, end_s: float) -> tuple[float, float]:
    """The part of a segment for which there is a capture. Raises UsageError where none is."""
    duration_s = float(track.series.duration_s)
    start_s, end_s = max(start_s, 0.0), min(end_s, duration_s)
    if not start_s < end_s:
        raise UsageError(
            f"segment must lie within the capture of {duration_s:.3f} s, got {start_s:.3f} s to "
            f"{end_s:.3f} s; give an earlier start or a later end"
        )
    return start_s, end_s


def _sheet(
    tracks: Sequence[Track],
    style: Style,
    spans_s: Sequence[tuple[float, float]],
    width: int,
    events: Sequence[Sequence[Event]],
) -> Sheet:
    """The widest tiles that fold onto few lines, or an overview where that takes too many."""
    hz = tracks[0].series.refresh_hz
    left = MARGIN + even_up(text_width("100 ms", SMALL, "Medium") + GAP // 2)
    room = width - MARGIN - left

    def sheet(design_step: int, column_s: float = 0.0) -> Sheet:
        scale = Scale(hz, max(2, 2 * round(design_step * 30 / float(hz))))
        step = COLUMN if column_s else scale.pixels_per_refresh
        cut = even_up(int(scale.pixels(style.lane.cut_ms)))
        return Sheet(
            style=style,
            tracks=tracks,
            tiles=[lay_tiles(track.series, scale) for track in tracks],
            events=events,
            scale=scale,
            look=LaneLook(
                height=cut,
                gap=max(1, round(style.lane.gap * design_step / DESIGN_STEP)),
                line=2,
                detail_size=SMALL,
                rules=rules_within(style, scale, cut),
            ),
            width=width,
            left=left,
            length=room // step * step,
            spans_s=spans_s,
            pixels_per_s=COLUMN / column_s if column_s else scale.pixels_per_ms * 1000.0,
            column_s=column_s,
        )

    for step, most_lines in TILE_STEPS:
        candidate = sheet(step)
        if candidate.lines <= most_lines:
            return candidate
    for column_s in COLUMN_STEPS_S:
        candidate = sheet(DESIGN_STEP, column_s)
        if candidate.lines <= OVERVIEW_LINES:
            break
    return candidate
