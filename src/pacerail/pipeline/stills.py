"""From a record to one composed picture, for trying a style."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from pacerail.compose.footage import footage_of, seen_canvas
from pacerail.compose.moment import frame_on_screen
from pacerail.files import atomic_output
from pacerail.pipeline.footage import open_footage, refresh_finder
from pacerail.pipeline.graphic import Graphic, track_of
from pacerail.record import TimingRecord


def write_frame(
    capture: Path,
    record: TimingRecord,
    graphic: Graphic,
    refresh: int,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Write the picture of a refresh with the overlay on it as a PNG.

    Raises InputError for footage that cannot be drawn on.
    """
    with (
        atomic_output(output, overwrite=overwrite) as part,
        open_footage(capture, record) as footage,
        ThreadPoolExecutor(1) as decoder,
    ):
        # Deep in a group of pictures decoding takes longer than loading all that draws.
        shown = decoder.submit(
            frame_on_screen, footage.container, footage.video, refresh_finder(record), refresh
        )
        from pacerail.compose.still import write_still
        from pacerail.draw.library import load_skia
        from pacerail.draw.overlay import Overlay

        load_skia()
        track = track_of(record, graphic)
        picture = shown.result()
        overlay = Overlay(
            [track],
            graphic.style,
            *seen_canvas(footage_of(picture), footage.video),
            first_refresh=0,
            end_refresh=record.refreshes,
        )
        write_still(picture, footage.video, part, overlay.patches(refresh))
