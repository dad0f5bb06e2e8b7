"""The kinds of work that a build does; each loads what it needs when it is done."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TextIO

from pacerail.draw.style import Style
from pacerail.errors import InputError
from pacerail.files import atomic_output
from pacerail.pipeline.ingredients import Stretch, Take
from pacerail.pipeline.watcher import Watcher


@dataclass(frozen=True)
class Rolling:
    """The window of the rolling frame rate."""

    window_s: float
    centred: bool


@dataclass(frozen=True)
class MeasureWork:
    """Measure a take, or keep the record beside it that was made in the same way."""

    take: Take

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the timing record."""
        from pacerail.pipeline.measuring import MeasureSettings, fitting_record, measure

        take = self.take
        settings = MeasureSettings(refresh_hz=take.refresh_hz, watch=take.watch, ignore=take.ignore)
        record = fitting_record(take.path, settings) or measure(take.path, settings, watcher)
        replace(record, target_fps=None).save(output, overwrite=True)


@dataclass(frozen=True)
class AlignWork:
    """Find the content of one take in another."""

    first: Take
    second: Take
    around_s: Fraction

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the offset there. Raises InputError when there is no match."""
        from pacerail.pipeline.alignment import align_captures

        found = align_captures(
            self.first.path, self.second.path, around_s=float(self.around_s), watcher=watcher
        )
        if found is None:
            raise InputError(
                f'sync = "auto" must find in {self.second.name} what {self.first.name} shows, '
                "got no match; write the moments that coincide by hand"
            )
        around_s = float(self.around_s)
        offset_s = found.moment_in_second(around_s) - around_s
        text = json.dumps({"offset_s": round(offset_s, 6), "at_s": around_s})
        _write_text(output, lambda stream: stream.write(text))


@dataclass(frozen=True)
class ClipWork:
    """The overlay of a platform on its footage, or alone with an alpha channel."""

    stretch: Stretch
    style: Style
    rolling: Rolling
    alpha: bool
    codec: str
    quality: str | None
    rate: Fraction | None
    crop: bool
    premultiplied: bool
    halved: bool

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the clip, and the placement of a cropped one."""
        from pacerail.pipeline.clips import ClipRequest, plan_clip, write_clip
        from pacerail.pipeline.graphic import Graphic
        from pacerail.pipeline.tracks import SeriesSettings

        passage = self.stretch.passage_in(folder)
        request = ClipRequest(
            output,
            alpha=self.alpha,
            codec=self.codec,
            quality=self.quality,
            rate=self.rate,
            crop=self.crop,
            premultiplied=self.premultiplied,
            halved=self.halved,
            overwrite=True,
        )
        settings = SeriesSettings(None, self.rolling.window_s, self.rolling.centred)
        write_clip(
            self.stretch.take.path,
            passage.record,
            Graphic(self.style, self.stretch.label, settings),
            passage.first_refresh,
            passage.end_refresh,
            plan_clip(request),
            watcher,
        )


@dataclass(frozen=True)
class LayoutWork:
    """Both platforms in one clip."""

    stretches: tuple[Stretch, Stretch]
    style: Style
    rolling: Rolling
    layout: str
    canvas: tuple[int, int]
    rate: Fraction | None
    audio: str
    scaled: bool
    divider: Fraction
    sweep_s: Fraction | None
    codec: str
    quality: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the clip."""
        from pacerail.pipeline.joint import JointClip, JointOutput, JointSide, write_joint_clip
        from pacerail.pipeline.joint_look import JointLook
        from pacerail.pipeline.tracks import SeriesSettings

        first, second = (
            JointSide(
                stretch.take.path,
                passage.record,
                stretch.label,
                passage.first_refresh,
                passage.end_refresh,
            )
            for stretch in self.stretches
            for passage in [stretch.passage_in(folder)]
        )
        look = JointLook(
            self.style,
            layout=self.layout,
            canvas=self.canvas,
            scales=self.scaled,
            divider=self.divider,
            sweep_s=self.sweep_s,
            rate=self.rate,
            audio=self.audio,
            settings=SeriesSettings(None, self.rolling.window_s, self.rolling.centred),
        )
        clip = JointOutput(output, self.codec, self.quality, overwrite=True)
        write_joint_clip(JointClip((first, second), look), clip, watcher)


@dataclass(frozen=True)
class StripWork:
    """The tiles of a platform as a picture."""

    stretch: Stretch
    style: Style
    rolling: Rolling

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Draw it in the format that the name of `output` ends in."""
        from pacerail.pipeline.drawing import write_strip
        from pacerail.pipeline.graphic import Graphic
        from pacerail.pipeline.tracks import SeriesSettings

        passage = self.stretch.passage_in(folder)
        settings = SeriesSettings(None, self.rolling.window_s, self.rolling.centred)
        graphic = Graphic(self.style, self.stretch.label, settings)
        refreshes = passage.first_refresh, passage.end_refresh
        write_strip(passage.record, graphic, *refreshes, output, overwrite=True)


@dataclass(frozen=True)
class JointStripWork:
    """The tiles of both platforms, mirrored, as a picture."""

    stretches: tuple[Stretch, Stretch]
    style: Style
    rolling: Rolling

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Draw it in the format that the name of `output` ends in."""
        from pacerail.pipeline.drawing import write_joint_strip
        from pacerail.pipeline.tracks import SeriesSettings

        first, second = (stretch.passage_in(folder) for stretch in self.stretches)
        settings = SeriesSettings(None, self.rolling.window_s, self.rolling.centred)
        write_joint_strip(first, second, self.style, settings, output, overwrite=True)


@dataclass(frozen=True)
class TableWork:
    """A table of a platform as CSV."""

    stretch: Stretch
    rolling: Rolling
    table: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write it."""
        from pacerail.pipeline.tables import write_table
        from pacerail.pipeline.tracks import SeriesSettings

        passage = self.stretch.passage_in(folder)
        settings = SeriesSettings(None, self.rolling.window_s, self.rolling.centred)
        refreshes = passage.first_refresh, passage.end_refresh
        _write_text(
            output,
            lambda stream: write_table(passage.record, self.table, settings, *refreshes, stream),
        )


@dataclass(frozen=True)
class ComparisonWork:
    """Every figure of both platforms, with difference and interval, as CSV."""

    stretches: tuple[Stretch, Stretch]

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write it."""
        from pacerail.pipeline.tables import write_comparison
        from pacerail.pipeline.tracks import DEFAULTS

        first, second = (stretch.passage_in(folder) for stretch in self.stretches)
        _write_text(output, lambda stream: write_comparison(first, second, DEFAULTS, stream))


@dataclass(frozen=True)
class FactsWork:
    """Sentences for a narration, on one platform or on two beside each other."""

    segment: str
    stretches: tuple[Stretch] | tuple[Stretch, Stretch]
    facts_format: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write them."""
        from pacerail.pipeline.facts import facts_text
        from pacerail.pipeline.passage import Episode
        from pacerail.pipeline.tracks import DEFAULTS

        match self.stretches:
            case (one,):
                episode = Episode(self.segment, (one.passage_in(folder),))
            case (one, other):
                both = one.passage_in(folder), other.passage_in(folder)
                episode = Episode(self.segment, both)
        text = facts_text([episode], self.facts_format, DEFAULTS)
        _write_text(output, lambda stream: stream.write(text))


@dataclass(frozen=True)
class MarkersWork:
    """What happened on a platform, as markers for an editing program."""

    stretch: Stretch
    markers_format: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write them."""
        from pacerail.pipeline.tables import write_markers
        from pacerail.pipeline.tracks import DEFAULTS

        passage = self.stretch.passage_in(folder)
        refreshes = passage.first_refresh, passage.end_refresh
        _write_text(
            output,
            lambda stream: write_markers(
                passage.record, self.markers_format, DEFAULTS, *refreshes, stream
            ),
        )


def _write_text(output: Path, write: Callable[[TextIO], object]) -> None:
    """Replace a text file, whose line ends are as they are written."""
    with (
        atomic_output(output, overwrite=True) as part,
        part.open("w", encoding="utf-8", newline="") as stream,
    ):
        write(stream)
