"""From a record to one composed picture, for trying a style."""

from __future__ import annotations

from pathlib import Path

from pacerail.compose.still import write_still
from pacerail.draw.overlay import Overlay
from pacerail.files import atomic_output
from pacerail.pipeline.drawing import Graphic, track_of
from pacerail.pipeline.footage import canvas_of, open_footage, refresh_finder
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
    overlay = Overlay(
        [track_of(record, graphic)],
        graphic.style,
        *canvas_of(capture, record),
        first_refresh=0,
        end_refresh=record.refreshes,
    )
    with (
        atomic_output(output, overwrite=overwrite) as part,
        open_footage(capture, record) as footage,
    ):
        write_still(
            footage.container,
            footage.video,
            part,
            overlay.patches(refresh),
            refresh_finder(record),
            refresh,
        )
