"""From a record to a clip: the overlay on the footage, or alone with an alpha channel."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from pacerail.compose.alpha import (
    AlphaCodec,
    alpha_codec,
    placement_text,
    write_alpha_clip,
    write_png_sequence,
)
from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice, check_container, container_format_of
from pacerail.compose.rate import RateChange
from pacerail.draw.overlay import Overlay
from pacerail.errors import UsageError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.footage import canvas_of, open_footage, refresh_finder
from pacerail.pipeline.graphic import Graphic, track_of
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord
from pacerail.size import half
from pacerail.timecode import Timecode

PICTURES = "pictures"
"""In place of a codec: a folder of PNG files."""


@dataclass(frozen=True)
class ClipRequest:
    """What clip is wanted, in the words of the command line."""

    output: Path
    alpha: bool = False
    """The overlay alone."""
    codec: str | None = None
    """Of footage: h264 unless told otherwise. Of the overlay alone: prores, or `PICTURES`."""
    quality: str | None = None
    """Of footage: standard unless told otherwise. The overlay alone has only one."""
    rate: Fraction | None = None
    """Pictures a second; those of the capture if None."""
    crop: bool = False
    """The overlay alone, cut to its own rectangle."""
    premultiplied: bool = False
    """The overlay alone, its colours multiplied by alpha."""
    halved: bool = False
    """At half of each side, for a quick look."""
    overwrite: bool = False


@dataclass(frozen=True)
class ClipPlan:
    """A request that is sound in itself and has a place to go."""

    request: ClipRequest
    encoding: EncoderChoice | AlphaCodec | None
    """How footage or the overlay alone is coded; None for a folder of PNG files."""


def plan_clip(request: ClipRequest) -> ClipPlan:
    """Check a request before any work is done on it.

    Raises UsageError for words that do not go together, OutputError or UsageError for a
    place that cannot be written to.
    """
    if not request.alpha:
        if request.crop or request.premultiplied:
            option = "--crop" if request.crop else "--premultiplied"
            raise UsageError(f"{option} must go with --alpha, got footage; add --alpha")
        choice = EncoderChoice(request.codec or "h264", request.quality or "standard")
        check_container(choice, container_format_of(request.output))
        check_writable(request.output, overwrite=request.overwrite)
        return ClipPlan(request, choice)
    if request.quality is not None:
        raise UsageError(
            f"--quality must go with footage, got {request.quality} with --alpha; "
            "leave it out: the overlay alone is always coded at its best"
        )
    if request.crop:
        check_writable(placement_path(request.output), overwrite=request.overwrite)
    if request.codec == PICTURES:
        if request.premultiplied:
            raise UsageError(
                "--premultiplied must go with a clip, got pictures; PNG is straight by definition"
            )
        if request.output.exists():
            raise UsageError(
                f"folder of pictures must not exist yet, got {request.output}; name another"
            )
        check_writable(request.output, overwrite=False)
        return ClipPlan(request, None)
    codec = alpha_codec(request.codec or "prores", request.output)
    check_writable(request.output, overwrite=request.overwrite)
    return ClipPlan(request, codec)


def placement_path(output: Path) -> Path:
    """Where the placement of a cropped clip is written: beside it."""
    return output.with_name(f"{output.stem}.placement.json")


def write_clip(
    capture: Path,
    record: TimingRecord,
    graphic: Graphic,
    first_refresh: int,
    end_refresh: int,
    plan: ClipPlan,
    watcher: Watcher = QUIET,
) -> None:
    """Write refreshes [first_refresh, end_refresh) of a capture, or of its overlay, as planned.

    Raises InputError for footage that cannot be drawn on.
    """
    canvas = canvas_of(capture, record)
    if plan.request.halved:
        canvas = half(canvas[0]), half(canvas[1])
    overlay = Overlay(
        [track_of(record, graphic, first_refresh)],
        graphic.style,
        *canvas,
        first_refresh=first_refresh,
        end_refresh=end_refresh,
    )
    job = _Job(record, overlay, canvas, first_refresh, end_refresh, plan.request)
    if isinstance(plan.encoding, EncoderChoice):
        job.burn_in(capture, plan.encoding, watcher)
    else:
        job.write_alone(plan.encoding, watcher)


@dataclass(frozen=True, eq=False)
class _Job:
    """One clip, with everything known."""

    record: TimingRecord
    overlay: Overlay
    canvas: tuple[int, int]
    first_refresh: int
    end_refresh: int
    request: ClipRequest

    @property
    def rate_change(self) -> RateChange | None:
        rate, refresh_hz = self.request.rate, self.record.refresh_hz
        return None if rate in (None, refresh_hz) else RateChange(refresh_hz, rate or refresh_hz)

    @property
    def start_timecode(self) -> str | None:
        """Label of the first picture; none where the clip counts at another rate."""
        record = self.record
        if record.start_timecode is None or self.rate_change is not None:
            return None
        timecode = Timecode.starting_at(record.start_timecode, record.refresh_hz)
        return timecode.label(self.first_refresh)

    def burn_in(self, capture: Path, encoder: EncoderChoice, watcher: Watcher) -> None:
        refreshes = self.end_refresh - self.first_refresh
        is_whole = refreshes == self.record.refreshes
        with (
            atomic_output(self.request.output, overwrite=self.request.overwrite) as part,
            open_footage(capture, self.record) as footage,
            watcher.task(f"drawing on {capture.name}", self._pictures()) as advance,
        ):
            burn_in(
                footage.container,
                footage.video,
                part,
                self.overlay.patches,
                refresh_finder(self.record),
                container_format=container_format_of(self.request.output),
                encoder=encoder,
                first_refresh=self.first_refresh,
                end_refresh=None if is_whole else self.end_refresh,
                rate_change=self.rate_change,
                halved=self.request.halved,
                start_timecode=self.start_timecode,
                progress=advance,
                notice=watcher.notice,
            )

    def write_alone(self, codec: AlphaCodec | None, watcher: Watcher) -> None:
        request = self.request
        width, height = self.canvas
        rectangle = self.overlay.rectangle if request.crop else None
        change = self.rate_change or RateChange(self.record.refresh_hz, self.record.refresh_hz)
        refreshes = change.refreshes(self.first_refresh, self.end_refresh)
        with (
            atomic_output(request.output, overwrite=request.overwrite) as part,
            watcher.task(f"drawing {request.output.name}", self._pictures()) as advance,
        ):
            if codec is None:
                write_png_sequence(
                    part,
                    self.overlay.patches,
                    refreshes,
                    width=width,
                    height=height,
                    rectangle=rectangle,
                    progress=advance,
                )
            else:
                write_alpha_clip(
                    part,
                    self.overlay.patches,
                    refreshes,
                    codec=codec,
                    width=width,
                    height=height,
                    rate=change.rate,
                    rectangle=rectangle,
                    premultiplied=request.premultiplied,
                    start_timecode=self.start_timecode,
                    progress=advance,
                )
            if rectangle is not None:
                placement = placement_path(request.output)
                with atomic_output(placement, overwrite=request.overwrite) as text:
                    text.write_text(placement_text(rectangle, width, height), encoding="utf-8")

    def _pictures(self) -> int:
        refreshes = self.end_refresh - self.first_refresh
        return self.rate_change.pictures_before(refreshes) if self.rate_change else refreshes
