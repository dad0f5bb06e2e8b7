"""Speed and memory of the main jobs, as ratios from one run on one machine.

Run as ``python -m tests.bench.speed``. Each rate is the best of several repeats, taken in
turn so that a busy moment of the machine meets all of them. References: decoding alone,
libavfilter's freezedetect, a plain transcode, and drawing the usual way: all graphics anew, on
whole pictures in RGB, as arrays (naive) or with Skia in place (naive-rgba). All decode with the
same number of threads, and encode with the settings of the quality asked for, which are printed,
and as many threads as the encoder chooses. CPU is that of all threads: on cores that others use
too, its ratios tell more than those of rates. Memory is the peak of a process of its own, on a
capture and on one ten times as long made of the same packets.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from itertools import count
from pathlib import Path

import av

from demo.encode import Encoding, write_capture
from demo.pacing import steady
from demo.scene import scene_source
from demo.simulator import Display, Simulation
from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.compose.encode import EncoderChoice, EncoderSetup, add_video_stream, encoder_setup
from pacerail.compose.footage import Footage, footage_of
from pacerail.draw.arrange import arrange
from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.furniture import draw_gutter, draw_needle
from pacerail.draw.lane import LaneInks, draw_tiles
from pacerail.draw.library import load_skia
from pacerail.draw.readout import Readout
from pacerail.draw.scale import design_unit, scale_for
from pacerail.draw.tile_times import draw_times
from pacerail.draw.tiles import lay_tiles
from pacerail.patch import Image, Patch, whole
from pacerail.pipeline.clips import ClipRequest, plan_clip, write_clip
from pacerail.pipeline.footage import canvas_of
from pacerail.pipeline.graphic import Graphic, load_graphic, track_of
from pacerail.pipeline.measuring import measure, record_path
from pacerail.record import TimingRecord
from pacerail.threads import DECODER_THREADS
from tests.bench.blending import whole_picture_route

ENCODINGS = {
    "h264": Encoding(options={"preset": "veryfast", "b": "30M"}, bit_rate=30_000_000),
    "h264-crf": Encoding(),
    "hevc": Encoding(encoder="libx265", options={"preset": "ultrafast", "crf": "22"}),
    "h264-10bit": Encoding(pix_fmt="yuv420p10le", options={"preset": "veryfast", "crf": "20"}),
}


def main() -> None:
    """Print rates, ratios and peaks."""
    options = _options()
    folder = Path(options.folder)
    folder.mkdir(parents=True, exist_ok=True)
    clip = capture(folder, options.height, options.seconds, options.codec)
    length = count_pictures(clip)
    print(f"{clip.name}: {length} pictures, {os.cpu_count()} cores")
    setup, _ = encoding(clip, options.quality)
    print(f"encoded by {setup.name}", *(f"{key}={value}" for key, value in setup.options.items()))

    record = measure(clip)
    output, alone = folder / "speed.out.mp4", folder / "speed.out.mov"
    graphic = load_graphic(options.style, "Merle")
    burned = plan_clip(ClipRequest(output, quality=options.quality, overwrite=True))
    alpha = plan_clip(ClipRequest(alone, alpha=True, overwrite=True))
    jobs: dict[str, Callable[[], object]] = {
        "decode": lambda: decode(clip),
        "read": lambda: read(clip),
        "freezedetect": lambda: freezedetect(clip),
        "measure": lambda: measure(clip),
        "transcode": lambda: transcode(clip, output, options.quality),
        "overlay": lambda: write_clip(clip, record, graphic, 0, record.refreshes, burned),
        "naive": lambda: draw_naively(
            clip, output, record, graphic, options.quality, whole_picture_route
        ),
        "naive-rgba": lambda: draw_naively(
            clip, output, record, graphic, options.quality, drawn_in_place
        ),
        "alpha": lambda: write_clip(clip, record, graphic, 0, record.refreshes, alpha),
    }
    if options.only:
        jobs = {name: job for name, job in jobs.items() if name in options.only}
    rates, cpu_ms = best_rates(jobs, length, options.repeats)
    for path in (output, alone):
        path.unlink(missing_ok=True)
    for name, rate in rates.items():
        print(
            f"{name:<14}{rate:8.1f} pictures/s {1000 / rate:7.2f} ms each, "
            f"{cpu_ms[name]:.2f} ms of CPU"
        )
    for name, reference in (
        ("measure", "decode"),
        ("measure", "freezedetect"),
        ("overlay", "transcode"),
        ("overlay", "naive"),
        ("overlay", "naive-rgba"),
    ):
        if name in rates and reference in rates:
            print(
                f"{name} / {reference}: {rates[name] / rates[reference]:.3f}, "
                f"by CPU {cpu_ms[reference] / cpu_ms[name]:.3f}"
            )
    if options.memory:
        compare_memory(clip, folder)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--height", type=int, default=1080)
    parser.add_argument("--seconds", type=int, default=10)
    parser.add_argument("--codec", choices=ENCODINGS, default="h264")
    parser.add_argument("--quality", default="standard")
    parser.add_argument("--style", default="quay")
    parser.add_argument("--only", nargs="*", metavar="JOB", help="leave the other jobs out")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--memory", action="store_true", help="compare peaks of memory too")
    parser.add_argument("--folder", default=Path(tempfile.gettempdir()) / "pacerail-bench")
    return parser.parse_args()


def capture(folder: Path, height: int, seconds: int, codec: str) -> Path:
    """The demo scene at 30 unsynchronised frames a second in 60 Hz; made once and kept."""
    path = folder / f"scene-{height}p60-{codec}-{seconds}s.mp4"
    if not path.exists():
        simulation = Simulation(
            source=scene_source(height * 16 // 9, height),
            flip_s=steady(30, seconds, Fraction(-1, 250)),
            display=Display(Fraction(60), sync=False),
            refreshes=60 * seconds,
        )
        write_capture(path, simulation, ENCODINGS[codec])
    return path


def count_pictures(path: Path) -> int:
    """Pictures by the packets of the file."""
    with av.open(str(path)) as container:
        return sum(packet.size > 0 for packet in container.demux(container.streams.video[0]))


def best_rates(
    jobs: dict[str, Callable[[], object]], length: int, repeats: int
) -> tuple[dict[str, float], dict[str, float]]:
    """Pictures a second of each job, and milliseconds of CPU of one; best of the repeats."""
    best = dict.fromkeys(jobs, float("inf"))
    least_cpu = dict(best)
    for _ in range(repeats):
        for name, job in jobs.items():
            start, cpu = time.perf_counter(), time.process_time()
            job()
            best[name] = min(best[name], time.perf_counter() - start)
            least_cpu[name] = min(least_cpu[name], time.process_time() - cpu)
    return (
        {name: length / seconds for name, seconds in best.items()},
        {name: 1000 * seconds / length for name, seconds in least_cpu.items()},
    )


def threaded_video(container: av.container.InputContainer) -> av.VideoStream:
    """The pictures of a container, decoded with as many threads as the package takes."""
    video = container.streams.video[0]
    video.thread_type, video.thread_count = "AUTO", DECODER_THREADS
    return video


def decode(path: Path) -> None:
    """Decode every picture and do nothing with it."""
    with av.open(str(path)) as container:
        video = threaded_video(container)
        for packet in container.demux(video):
            packet.decode()


def read(path: Path) -> None:
    """Decode through the package's reader: luma views on the refresh grid."""
    with open_capture(path) as capture:
        for _ in pictures(capture):
            pass


def freezedetect(path: Path) -> None:
    """Decode and run libavfilter's freezedetect, its threshold as documented."""
    with av.open(str(path)) as container:
        video = threaded_video(container)
        graph = av.filter.Graph()
        source = graph.add_buffer(template=video)
        detector = graph.add("freezedetect", "n=0.001:d=0.016")
        sink = graph.add("buffersink")
        source.link_to(detector)
        detector.link_to(sink)
        graph.configure()
        for frame in container.decode(video):
            graph.push(frame)
            graph.pull()


def transcode(path: Path, output: Path, quality: str) -> None:
    """Decode and encode with the settings of the overlay, audio copied, nothing drawn."""
    encode_each(path, output, quality, lambda frame, number: frame)


Painting = Callable[[av.VideoFrame, list[Patch]], av.VideoFrame]
"""A picture with patches on it, by way of RGB."""


def draw_naively(
    path: Path,
    output: Path,
    record: TimingRecord,
    graphic: Graphic,
    quality: str,
    paint: Painting,
) -> None:
    """The usual way: every picture to RGB and back, and all graphics drawn anew on it."""
    redraw = Redrawing(record, graphic, *canvas_of(path, record))

    def draw(frame: av.VideoFrame, number: int) -> av.VideoFrame:
        drawn = paint(frame, redraw.patches(number))
        drawn.pts, drawn.time_base = frame.pts, frame.time_base
        return drawn

    encode_each(path, output, quality, draw)


def drawn_in_place(frame: av.VideoFrame, patches: list[Patch]) -> av.VideoFrame:
    """Patches drawn by Skia; the encoder's stream takes the picture back to its own format."""
    skia = load_skia()
    rgba = frame.to_ndarray(format="rgba")
    surface = skia.Surface(rgba, colorType=skia.kRGBA_8888_ColorType)
    with surface as target:
        for patch in patches:
            Canvas(target).patch(patch, 0, 0)
    surface.flushAndSubmit()
    return av.VideoFrame.from_ndarray(rgba, "rgba")


class Redrawing:
    """The graphics of one platform, every part of them drawn for each picture."""

    def __init__(self, record: TimingRecord, graphic: Graphic, width: int, height: int) -> None:
        track, style = track_of(record, graphic), graphic.style
        self._track, self._style, self._unit = track, style, design_unit(width, height)
        hz = track.series.refresh_hz
        self._scale = scale_for(hz, style.lane.pixels_per_ms, self._unit)
        self._readout = Readout(track, [track], style, self._unit)
        self._layout = arrange(style, width, height, [self._readout], self._scale)
        self._tiles = lay_tiles(track.series, self._scale)

    def patches(self, refresh: int) -> list[Patch]:
        """The picture's rail, drawn anew."""
        style, layout = self._style, self._layout
        lane, (panel,) = layout.lane, layout.panels
        reading = self._readout.reader.read(refresh / float(self._scale.refresh_hz))
        drawing = Drawing(
            panel.box.width,
            panel.box.height,
            style.plate_colour,
            lambda part: self._readout.draw(part, panel.content, reading),
        )
        patches = [whole(drawing.image(), panel.box.x, panel.box.y)]
        start = refresh * self._scale.pixels_per_refresh - layout.needle
        for first, length, strength in (
            (0, layout.needle, 1.0),
            (layout.needle, layout.along - layout.needle, style.lane.ghost),
        ):
            strip = self._strip(start + first, length, LaneInks.of(style, strength))
            patches.append(whole(strip, lane.x + first, lane.y))
        gutter = draw_gutter(layout, style, [float(self._scale.refresh_hz)])
        patches.append(whole(gutter, layout.gutter.x, layout.gutter.y))
        needle = draw_needle(layout, style, self._unit)
        patches.append(whole(needle, *layout.needle_corner(needle)))
        return patches

    def _strip(self, start: int, length: int, inks: LaneInks) -> Image:
        layout = self._layout

        def paint(canvas: Canvas) -> None:
            (side,) = layout.sides(start, length)
            draw_tiles(canvas, side, self._tiles, layout.bands.look, inks)
            if self._style.lane.stall_times:
                draw_times(canvas, side, self._tiles, layout.bands.look, inks)
            canvas.box(layout.axis_box(length), self._style.colours.rule)

        return Drawing(length, layout.lane.height, self._style.plate_colour, paint).image()


def encoding(path: Path, quality: str) -> tuple[EncoderSetup, Footage]:
    """Settings of the overlay's encoder for a capture, and what they are made for."""
    with av.open(str(path)) as container:
        footage = footage_of(next(container.decode(video=0)))
    return encoder_setup(EncoderChoice("h264", quality), footage), footage


def encode_each(
    path: Path,
    output: Path,
    quality: str,
    change: Callable[[av.VideoFrame, int], av.VideoFrame],
) -> None:
    """Decode, change and encode every picture in one loop; copy the audio."""
    setup, footage = encoding(path, quality)
    with av.open(str(path)) as container, av.open(str(output), "w") as target:
        video, audio = threaded_video(container), container.streams.audio[0]
        rate, time_base = Fraction(video.guessed_rate or 60), Fraction(video.time_base or 0)
        stream = add_video_stream(target, setup, footage, rate=rate, time_base=time_base)
        copy = target.add_stream_from_template(audio)
        numbers = count()
        for packet in container.demux(video, audio):
            if packet.stream_index == audio.index:
                if packet.dts is not None:
                    packet.stream = copy
                    target.mux(packet)
                continue
            for frame in packet.decode():
                assert isinstance(frame, av.VideoFrame)
                frame.pict_type = 0
                target.mux(stream.encode(change(frame, next(numbers))))
        target.mux(stream.encode(None))


def compare_memory(clip: Path, folder: Path) -> None:
    """Print the peaks of both jobs on the clip and on one ten times as long."""
    longer = repeat_packets(clip, folder / f"{clip.stem}-times10.mp4", 10)
    for job in ("measure", "overlay"):
        peaks = [peak_megabytes(job, path, folder) for path in (clip, longer)]
        print(f"{job} memory: {peaks[0]:.0f} MB, ten times as long {peaks[1]:.0f} MB")


def repeat_packets(source: Path, target: Path, times: int) -> Path:
    """The same video packets over and over, on a clock that runs on; made once and kept."""
    if target.exists():
        return target
    with av.open(str(target), "w") as output:
        copy = None
        for number in range(times):
            with av.open(str(source)) as container:
                video = container.streams.video[0]
                copy = copy or output.add_stream_from_template(video)
                for packet in container.demux(video):
                    if packet.dts is None or packet.pts is None:
                        continue
                    packet.pts += number * (video.duration or 0)
                    packet.dts += number * (video.duration or 0)
                    packet.stream = copy
                    output.mux(packet)
    return target


def peak_megabytes(job: str, clip: Path, folder: Path, *, keep: bool = False) -> float:
    """Most resident memory of a process that does the job; its output is kept on request."""
    output = folder / "memory.out.mp4"
    arguments = {
        "measure": ["measure", str(clip), "-o", str(record_path(clip)), "--overwrite"],
        "overlay": ["overlay", str(clip), "--quality", "draft", "-o", str(output), "--overwrite"],
    }[job]
    process = subprocess.Popen(
        [sys.executable, "-c", "from pacerail.cli.main import main; main()", *arguments],
        stdout=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    if not keep:
        output.unlink(missing_ok=True)
    if status:
        raise RuntimeError(f"{job} of {clip} failed")
    return usage.ru_maxrss / 1024


if __name__ == "__main__":
    main()
