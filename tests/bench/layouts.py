"""Speed of two platforms on one canvas, against plain stacking by the filter library.

Run as ``python -m tests.bench.layouts``. The reference decodes the same two captures,
scales each to half the width, stacks them side by side, fills up to the canvas and encodes
with the same settings, all by libavfilter, in one run with ours and taken in turn.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from av.filter import Graph

from pacerail.compose.encode import EncoderChoice, add_video_stream, encoder_setup
from pacerail.compose.footage import footage_of
from pacerail.pipeline.graphic import load_graphic
from pacerail.pipeline.joint import JointClip, JointOutput, JointSide, write_joint_clip
from pacerail.pipeline.joint_look import JointLook
from pacerail.pipeline.measuring import measure
from tests.bench.speed import best_rates, capture

CANVAS = (1920, 1080)


def main() -> None:
    """Print rates and the ratio."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=int, default=5)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--layout", default="abreast")
    parser.add_argument("--style", default="quay")
    parser.add_argument("--quality", default="standard")
    default = Path(tempfile.gettempdir()) / "pacerail-bench"
    parser.add_argument("--folder", type=Path, default=default)
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    clip = capture(options.folder, CANVAS[1], options.seconds, "h264")
    record = measure(clip)
    output = options.folder / "layouts.out.mp4"
    sides = (JointSide(clip, record, "Merle"), JointSide(clip, record, "Wren"))
    style = load_graphic(options.style, "").style
    joint = JointClip(sides, JointLook(style, options.layout, CANVAS, audio="none"))
    job = JointOutput(output, quality=options.quality, overwrite=True)
    rates, _ = best_rates(
        {
            "plain": lambda: stack_plainly(clip, clip, output, options.quality),
            options.layout: lambda: write_joint_clip(joint, job),
        },
        record.refreshes,
        options.repeats,
    )
    output.unlink(missing_ok=True)
    print(f"{clip.name}: {record.refreshes} pictures, {os.cpu_count()} cores")
    for name, rate in rates.items():
        print(f"{name:<10}{rate:8.1f} pictures/s {1000 / rate:7.2f} ms each")
    print(f"ratio {rates[options.layout] / rates['plain']:.3f}")


def stack_plainly(first: Path, second: Path, output: Path, quality: str) -> None:
    """Two captures side by side by the filter library, encoded as ours are."""
    width, height = CANVAS
    with av.open(str(first)) as left, av.open(str(second)) as right:
        streams = [each.streams.video[0] for each in (left, right)]
        for stream in streams:
            stream.thread_type = "AUTO"
        graph = Graph()
        sources = [graph.add_buffer(template=stream) for stream in streams]
        stack, pad = graph.add("hstack"), graph.add("pad", f"{width}:{height}:0:-1")
        for number, source in enumerate(sources):
            scale = graph.add("scale", f"{width // 2}:{height // 2}:flags=bicubic+accurate_rnd")
            source.link_to(scale)
            scale.link_to(stack, 0, number)
        sink = graph.add("buffersink")
        stack.link_to(pad)
        pad.link_to(sink)
        graph.configure()
        with av.open(str(output), "w", format="mp4") as target:
            video: Any = None
            for pictures in zip(left.decode(streams[0]), right.decode(streams[1]), strict=True):
                for source, picture in zip(sources, pictures, strict=True):
                    source.push(picture)
                frame: Any = sink.pull()
                if video is None:
                    footage = footage_of(frame)
                    setup = encoder_setup(EncoderChoice("h264", quality), footage)
                    time_base = Fraction(streams[0].time_base or 0)
                    rate = Fraction(streams[0].average_rate or 60)
                    video = add_video_stream(target, setup, footage, rate=rate, time_base=time_base)
                frame.pict_type = 0
                target.mux(video.encode(frame))
            target.mux(video.encode(None))


if __name__ == "__main__":
    main()
