"""From one output of a segment, as the sheet has it, to the jobs that make it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil

from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.extent import Prospect
from pacerail.pipeline.ingredients import Stretch
from pacerail.pipeline.job import DRAFTS, Job, Work
from pacerail.pipeline.moments_work import MomentsWork
from pacerail.pipeline.pixels_work import PixelsWork
from pacerail.pipeline.works import (
    ClipWork,
    ComparisonWork,
    FactsWork,
    JointStripWork,
    LayoutWork,
    MarkersWork,
    Rolling,
    StripWork,
    TableWork,
)
from pacerail.sheet.outputs import (
    AlphaOutput,
    ComparisonOutput,
    CsvOutput,
    FactsOutput,
    LayoutOutput,
    MarkersOutput,
    MomentsOutput,
    Output,
    OverlayOutput,
    PixelsOutput,
    StripOutput,
)
from pacerail.sheet.platforms import Canvas
from pacerail.sheet.sheet import BOTH, NONE
from pacerail.size import draft_canvas

_SUFFIX = {"h264": ".mp4", "hevc": ".mp4", "prores": ".mov", "ffv1": ".mkv"}
_ALPHA_SUFFIX = {"prores": ".mov", "animation": ".mov", "png": ".mov", "vp9": ".webm"}
_FACTS_SUFFIX = {"text": ".txt", "markdown": ".md", "json": ".json"}
_MARKERS_SUFFIX = {"webvtt": ".vtt", "otio": ".otio"}


@dataclass(frozen=True, eq=False)
class Scene:
    """A segment, ready to be made into outputs."""

    name: str
    stretches: Mapping[str, Stretch]
    """By platform, in the order in which they are shown."""
    prospects: Mapping[str, Prospect]
    style: Style
    rolling: Rolling
    canvas: Canvas
    draft: bool

    def job(
        self,
        file: str,
        work: Work,
        about: str,
        platforms: tuple[str, ...],
        *,
        is_drawn: bool = True,
        beside: tuple[str, ...] = (),
    ) -> Job:
        """A job of this segment that reads those platforms.

        is_drawn : whether every picture is drawn, which takes time.
        """
        folder = f"{DRAFTS if self.draft else ''}{self.name}/"
        stretches = [self.stretches[platform] for platform in platforms]
        length_s = max(stretch.length_s for stretch in stretches)
        pictures = sum(
            ceil(self.stretches[platform].length_s * self.prospects[platform].refresh_hz)
            for platform in platforms
        )
        needs = dict.fromkeys(need for stretch in stretches for need in stretch.needs)
        return Job(
            folder + file,
            work,
            about,
            float(length_s),
            pictures if is_drawn else 1,
            tuple(needs),
            tuple(folder + each for each in beside),
        )


def jobs_of(output: Output, scene: Scene) -> Iterator[Job]:
    """The jobs of an output: one, or one for each of its platforms.

    Raises UsageError for what does not go together.
    """
    everyone = tuple(scene.stretches)
    if isinstance(output, LayoutOutput):
        yield _layout_job(output, scene)
    elif isinstance(output, ComparisonOutput):
        both = _both(scene)
        yield scene.job(
            f"{output.name or 'comparison'}.csv",
            ComparisonWork(both),
            "figures beside each other",
            everyone,
            is_drawn=False,
        )
    elif isinstance(output, FactsOutput):
        chosen = output.platforms or everyone
        yield scene.job(
            f"{output.name or 'facts'}{_FACTS_SUFFIX[output.format]}",
            FactsWork(scene.name, _one_or_two(scene, chosen), output.format),
            "facts",
            chosen,
            is_drawn=False,
        )
    elif isinstance(output, StripOutput) and output.joined:
        yield scene.job(
            f"{output.name or 'strip'}.{output.format}",
            JointStripWork(_both(scene), scene.style, scene.rolling),
            "strip of both",
            everyone,
            is_drawn=False,
        )
    else:
        for platform in output.platforms or everyone:
            yield from _platform_jobs(output, scene, platform)


def _platform_jobs(
    output: OverlayOutput
    | AlphaOutput
    | StripOutput
    | CsvOutput
    | MarkersOutput
    | MomentsOutput
    | PixelsOutput,
    scene: Scene,
    platform: str,
) -> Iterator[Job]:
    stretch = scene.stretches[platform]
    match output:
        case OverlayOutput():
            yield scene.job(
                f"{platform}.{output.name or 'overlay'}{_SUFFIX[output.codec]}",
                _clip_work(output, scene, stretch),
                "overlay on footage",
                (platform,),
            )
        case AlphaOutput():
            stem = f"{platform}.{output.name or 'overlay-alpha'}"
            yield scene.job(
                f"{stem}{_ALPHA_SUFFIX[output.codec]}",
                _clip_work(output, scene, stretch),
                "overlay alone",
                (platform,),
                beside=(f"{stem}.placement.json",) if output.crop else (),
            )
        case StripOutput():
            yield scene.job(
                f"{platform}.{output.name or 'strip'}.{output.format}",
                StripWork(stretch, scene.style, scene.rolling),
                "strip",
                (platform,),
                is_drawn=False,
            )
        case CsvOutput():
            for table in output.tables:
                yield scene.job(
                    f"{platform}.{table}.csv",
                    TableWork(stretch, scene.rolling, table),
                    f"table of {table}",
                    (platform,),
                    is_drawn=False,
                )
        case PixelsOutput():
            stem = f"{platform}.{output.name or 'pixels'}"
            yield scene.job(
                f"{stem}.{output.format}",
                PixelsWork(stretch, scene.style, output.regions),
                "native size",
                (platform,),
                beside=(f"{stem}.json",),
            )
        case MomentsOutput():
            stem = f"{platform}.{output.name or 'moments'}"
            yield scene.job(
                f"{stem}.{output.format}",
                MomentsWork(stretch, scene.style, output.still_limit),
                "moments",
                (platform,),
                beside=(f"{stem}.json",),
            )
        case MarkersOutput():
            yield scene.job(
                f"{platform}.{output.name or 'markers'}{_MARKERS_SUFFIX[output.format]}",
                MarkersWork(stretch, output.format),
                "markers",
                (platform,),
                is_drawn=False,
            )


def _clip_work(output: OverlayOutput | AlphaOutput, scene: Scene, stretch: Stretch) -> ClipWork:
    return ClipWork(
        stretch,
        scene.style,
        scene.rolling,
        alpha=isinstance(output, AlphaOutput),
        codec=output.codec,
        quality=_quality(output.quality, scene) if isinstance(output, OverlayOutput) else None,
        rate=scene.canvas.rate,
        crop=isinstance(output, AlphaOutput) and output.crop,
        premultiplied=isinstance(output, AlphaOutput) and output.premultiplied,
        halved=scene.draft,
    )


def _layout_job(output: LayoutOutput, scene: Scene) -> Job:
    canvas = scene.canvas.size
    platforms = tuple(scene.stretches)
    heard = {None: "a", BOTH: BOTH, NONE: NONE, platforms[0]: "a", platforms[1]: "b"}
    work = LayoutWork(
        _both(scene),
        scene.style,
        scene.rolling,
        layout=output.layout,
        canvas=draft_canvas(canvas) if scene.draft else canvas,
        rate=scene.canvas.rate,
        audio=heard[output.audio],
        scaled=output.scaled,
        divider=output.divider,
        sweep_s=output.sweep,
        codec=output.codec,
        quality=_quality(output.quality, scene),
    )
    file = f"{output.name or output.layout}{_SUFFIX[output.codec]}"
    return scene.job(file, work, f"layout {output.layout}", platforms)


def _quality(quality: str, scene: Scene) -> str:
    return "draft" if scene.draft else quality


def _both(scene: Scene) -> tuple[Stretch, Stretch]:
    try:
        first, second = scene.stretches.values()
    except ValueError:
        raise UsageError(
            f"comparison must be of two platforms, got {', '.join(scene.stretches)}; "
            "leave it out or add the second platform"
        ) from None
    return first, second


def _one_or_two(scene: Scene, chosen: tuple[str, ...]) -> tuple[Stretch] | tuple[Stretch, Stretch]:
    found = [scene.stretches[platform] for platform in dict.fromkeys(chosen)]
    return (found[0],) if len(found) == 1 else (found[0], found[1])
