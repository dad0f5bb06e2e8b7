"""From two captures to one clip: a frozen description, and the making of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import ceil
from pathlib import Path
from typing import Protocol

from pacerail.capture.open import Capture
from pacerail.compose.arrangement import Arrangement
from pacerail.compose.encode import EncoderChoice, check_container, container_format_of
from pacerail.compose.footage import opening_footage
from pacerail.compose.joint import Clip, Moment, shape_of, write_joint
from pacerail.compose.rate import RateChange
from pacerail.compose.rectangle import PictureShape
from pacerail.compose.side import Side
from pacerail.compose.sound import SideSound
from pacerail.files import atomic_output, check_writable
from pacerail.patch import Patch
from pacerail.pipeline.footage import open_footage, refresh_finder
from pacerail.pipeline.graphic import Graphic, track_of
from pacerail.pipeline.joint_graphics import JointGraphics, TimedTrack
from pacerail.pipeline.joint_look import AUDIO_CHOICES, JointLook
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord


@dataclass(frozen=True, eq=False)
class JointSide:
    """One of the two platforms."""

    capture: Path
    record: TimingRecord
    label: str
    first_refresh: int = 0
    """Shown by the first picture of the clip."""
    until_refresh: int | None = None
    """First that is not shown any more; None where all to the end of the capture are."""

    @property
    def end_refresh(self) -> int:
        """First refresh that is not shown any more, or that there is not."""
        refreshes = self.record.refreshes
        return refreshes if self.until_refresh is None else min(self.until_refresh, refreshes)

    @property
    def start_s(self) -> Fraction:
        """Start of the first refresh shown, on the clock of the capture's container."""
        return int(self.record.pts[self.first_refresh]) * self.record.time_base

    @property
    def length_s(self) -> Fraction:
        """Time from the first refresh shown to the end of the last."""
        return (self.end_refresh - self.first_refresh) / self.record.refresh_hz


@dataclass(frozen=True)
class JointOutput:
    """Where a clip goes and how it is encoded; checked before any work.

    Raises UsageError for words that do not go together, OutputError or UsageError for a
    place that cannot be written to.
    """

    path: Path
    codec: str = "h264"
    quality: str = "standard"
    overwrite: bool = False

    def __post_init__(self) -> None:
        check_container(self.encoder, self.container_format)
        check_writable(self.path, overwrite=self.overwrite)

    @property
    def encoder(self) -> EncoderChoice:
        """Codec and quality."""
        return EncoderChoice(self.codec, self.quality)

    @property
    def container_format(self) -> str:
        """Told by the suffix of the path."""
        return container_format_of(self.path)


@dataclass(frozen=True, eq=False)
class JointClip:
    """Two platforms in a look: all that decides what the clip shows."""

    sides: tuple[JointSide, JointSide]
    look: JointLook

    @cached_property
    def clip(self) -> Clip:
        """How many pictures there are, and their rate."""
        rate = self.look.rate or max(side.record.refresh_hz for side in self.sides)
        length_s = max(side.length_s for side in self.sides)
        if self.look.length_s is not None:
            length_s = min(length_s, self.look.length_s)
        return Clip(ceil(length_s * rate), rate)

    def timed_track(self, side: JointSide) -> TimedTrack:
        """What is drawn of a platform; its running counts start where it is first shown."""
        graphic = Graphic(self.look.style, side.label, self.look.settings)
        return TimedTrack(
            track_of(side.record, graphic, side.first_refresh),
            side.first_refresh,
            side.end_refresh,
            RateChange(side.record.refresh_hz, self.clip.rate),
        )


class Graphics(Protocol):
    """What is painted over the pictures of two platforms, and where those lie."""

    @property
    def arrangement(self) -> Arrangement:
        """Where pictures go on the canvas."""

    def patches(self, moment: Moment) -> Sequence[Patch]:
        """What to paint, in order, on the picture of a moment."""


def write_joint_clip(joint: JointClip, output: JointOutput, watcher: Watcher = QUIET) -> None:
    """Write the clip that a description tells.

    Raises InputError for captures that cannot be drawn on or shown together, UsageError
    for graphics that do not fit the canvas.
    """

    def graphics_on(shapes: Sequence[PictureShape]) -> JointGraphics:
        tracks = [joint.timed_track(side) for side in joint.sides]
        return JointGraphics(joint.look, shapes, tracks, joint.clip)

    write_sides(joint.sides, joint.look.audio, joint.clip, graphics_on, output, watcher)


def write_sides(
    platforms: Sequence[JointSide],
    audio: str,
    clip: Clip,
    graphics_on: Callable[[Sequence[PictureShape]], Graphics],
    output: JointOutput,
    watcher: Watcher,
    *,
    dims: bool = True,
) -> None:
    """Write a clip of two platforms with graphics that depend on the shape of their pictures.

    audio : one of `AUDIO_CHOICES`.
    dims : whether a picture that is held because its capture has ended is dimmed.
    """
    with ExitStack() as until_written:
        captures = [
            until_written.enter_context(open_footage(side.capture, side.record))
            for side in platforms
        ]
        sides = [
            replace(_side(side, capture, clip), dims=dims)
            for side, capture in zip(platforms, captures, strict=True)
        ]
        graphics = graphics_on(
            [shape_of(side.footage, side.video.sample_aspect_ratio) for side in sides]
        )
        sounds = []
        for number in AUDIO_CHOICES[audio]:
            side = platforms[number]
            sounding = until_written.enter_context(open_footage(side.capture, side.record))
            sounds.append(_sound(side, sounding, watcher))
        part = until_written.enter_context(atomic_output(output.path, overwrite=output.overwrite))
        advance = until_written.enter_context(
            watcher.task(f"drawing {output.path.name}", clip.pictures)
        )
        write_joint(
            sides,
            sounds if any(sounds) else [],
            graphics.arrangement,
            graphics.patches,
            clip,
            part,
            container_format=output.container_format,
            encoder=output.encoder,
            progress=advance,
            notice=watcher.notice,
        )


def _side(side: JointSide, capture: Capture, clip: Clip) -> Side:
    """A platform as the canvas reads it."""
    return Side(
        container=capture.container,
        video=capture.video,
        footage=opening_footage(capture.container, capture.video),
        refresh_of=refresh_finder(side.record),
        first_refresh=side.first_refresh,
        end_refresh=side.end_refresh,
        rate_change=RateChange(side.record.refresh_hz, clip.rate),
    )


def _sound(side: JointSide, capture: Capture, watcher: Watcher) -> SideSound | None:
    """The first sound track of a capture, opened once more; None where there is none."""
    streams = capture.container.streams.audio
    if not streams:
        watcher.notice(f"{side.capture.name} has no sound; it is silent in the clip")
        return None
    return SideSound(capture.container, streams[0], side.start_s)
