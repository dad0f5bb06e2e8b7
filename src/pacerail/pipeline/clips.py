"""From a record to a clip: the overlay on the footage, or alone with an alpha channel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pacerail.capture.open import open_capture
from pacerail.compose.alpha import AlphaCodec, alpha_codec, write_alpha_clip
from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice, check_container, container_format_of
from pacerail.compose.footage import opening_footage
from pacerail.draw.overlay import Overlay
from pacerail.errors import InputError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.drawing import Graphic, track_of
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord


@dataclass(frozen=True)
class ClipPlan:
    """What clip to write: sound in itself, and with a place to go."""

    output: Path
    encoding: EncoderChoice | AlphaCodec
    """Footage with the overlay burned in, or the overlay alone."""
    overwrite: bool


def plan_clip(
    output: Path,
    *,
    alpha: bool = False,
    codec: str | None = None,
    quality: str = "standard",
    overwrite: bool = False,
) -> ClipPlan:
    """Check a request for a clip before any work is done on it.

    codec : h264 by default, prores for the overlay alone.
    Raises UsageError for a codec, quality or file name that do not go together, OutputError
    or UsageError for a file that cannot be written.
    """
    encoding: EncoderChoice | AlphaCodec
    if alpha:
        encoding = alpha_codec(codec or "prores", output)
    else:
        encoding = EncoderChoice(codec or "h264", quality)
        check_container(encoding, container_format_of(output))
    check_writable(output, overwrite=overwrite)
    return ClipPlan(output, encoding, overwrite)


def write_clip(
    capture: Path,
    record: TimingRecord,
    graphic: Graphic,
    first_refresh: int,
    end_refresh: int,
    plan: ClipPlan,
    watcher: Watcher = QUIET,
) -> None:
    """Write refreshes [first_refresh, end_refresh) as planned."""
    if isinstance(plan.encoding, AlphaCodec):
        _write_alone(
            capture, record, graphic, first_refresh, end_refresh, plan, plan.encoding, watcher
        )
    else:
        _write_burned_in(
            capture, record, graphic, first_refresh, end_refresh, plan, plan.encoding, watcher
        )


def _write_burned_in(
    capture: Path,
    record: TimingRecord,
    graphic: Graphic,
    first_refresh: int,
    end_refresh: int,
    plan: ClipPlan,
    encoder: EncoderChoice,
    watcher: Watcher,
) -> None:
    canvas = _canvas(capture, record)
    overlay = _overlay(record, graphic, canvas, first_refresh, end_refresh)
    with (
        atomic_output(plan.output, overwrite=plan.overwrite) as part,
        open_capture(capture, refresh_hz=record.refresh_hz, allow_interlaced=True) as footage,
    ):
        if not footage.info.has_time_stamps:
            raise InputError(
                f"footage must have time stamps to draw on, got none in {capture}; "
                "put the stream into an MP4 or Matroska file first"
            )
        is_whole = first_refresh == 0 and end_refresh == record.refreshes
        with watcher.task(f"drawing on {capture.name}", end_refresh - first_refresh) as advance:
            burn_in(
                footage.container,
                footage.video,
                part,
                overlay.patches,
                _refresh_finder(record),
                container_format=container_format_of(plan.output),
                encoder=encoder,
                first_refresh=first_refresh,
                end_refresh=None if is_whole else end_refresh,
                progress=advance,
            )


def _write_alone(
    capture: Path,
    record: TimingRecord,
    graphic: Graphic,
    first_refresh: int,
    end_refresh: int,
    plan: ClipPlan,
    codec: AlphaCodec,
    watcher: Watcher,
) -> None:
    """A clip of the size and refresh rate of the capture, one picture for every refresh."""
    canvas = _canvas(capture, record)
    overlay = _overlay(record, graphic, canvas, first_refresh, end_refresh)
    with (
        atomic_output(plan.output, overwrite=plan.overwrite) as part,
        watcher.task(f"drawing {plan.output.name}", end_refresh - first_refresh) as advance,
    ):
        write_alpha_clip(
            part,
            overlay.patches,
            range(first_refresh, end_refresh),
            codec=codec,
            width=canvas[0],
            height=canvas[1],
            rate=record.refresh_hz,
            progress=advance,
        )


def _canvas(capture: Path, record: TimingRecord) -> tuple[int, int]:
    """Width and height of the picture as a player shows it."""
    with open_capture(capture, refresh_hz=record.refresh_hz, allow_interlaced=True) as footage:
        return opening_footage(footage.container, footage.video).canvas


def _overlay(
    record: TimingRecord,
    graphic: Graphic,
    canvas: tuple[int, int],
    first_refresh: int,
    end_refresh: int,
) -> Overlay:
    return Overlay(
        [track_of(record, graphic, first_refresh)],
        graphic.style,
        *canvas,
        first_refresh=first_refresh,
        end_refresh=end_refresh,
    )


def _refresh_finder(record: TimingRecord) -> Callable[[int], int]:
    """The refresh that shows a picture, by its time stamp; doubled ones share a refresh."""
    pts = record.pts
    return lambda tick: max(int(np.searchsorted(pts, tick, side="right")) - 1, 0)
