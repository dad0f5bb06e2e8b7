"""A long render: as many pictures as its source, sound to the sample, no drift, flat memory.

Run as ``python -m tests.bench.length``. It makes a small capture, puts the overlay on it,
decodes both and compares, and does the same with a tenth of the length to compare the peaks
of memory. Sound is a noise that never repeats, so an offset at the start and at the end can
be told to a sample.
"""

from __future__ import annotations

import argparse
import tempfile
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from tests.bench.speed import peak_megabytes

SIZE = (320, 180)
SOUND_HZ = 48000
BLOCK = 1024
WINDOW_S = 1
"""Length of the sound that is compared at the start and at the end."""
REACH = 2000
"""Largest offset that is looked for, in samples."""


def main() -> None:
    """Print counts, offsets and peaks."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=int, default=600)
    default = Path(tempfile.gettempdir()) / "pacerail-bench"
    parser.add_argument("--folder", type=Path, default=default)
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    peaks = {}
    for seconds in (options.seconds // 10, options.seconds):
        clip = write_source(options.folder / f"length-{seconds}s.mp4", seconds)
        # Measured apart, so that the second peak is that of drawing alone.
        peaks[seconds] = [
            peak_megabytes(job, clip, options.folder, keep=True) for job in ("measure", "overlay")
        ]
    output = options.folder / "memory.out.mp4"
    source, rendered = picture_times(clip), picture_times(output)
    print(f"pictures: {len(source)} in, {len(rendered)} out")
    print(f"largest difference of a time stamp: {largest_difference_s(source, rendered)} s")
    before, after = sound_of(clip), sound_of(output)
    print(f"sound: {len(before)} samples in, {len(after)} out")
    for name, start in (("start", SOUND_HZ), ("end", len(before) - 2 * SOUND_HZ * WINDOW_S)):
        print(f"offset of the sound near its {name}: {offset(before, after, start)} samples")
    for seconds, (measuring, drawing) in peaks.items():
        print(f"memory at {seconds} s: measuring {measuring:.0f} MB, drawing {drawing:.0f} MB")
    output.unlink()


def write_source(path: Path, seconds: int) -> Path:
    """A small capture at 60 Hz with 30 frames a second and noise for sound; kept."""
    if path.exists():
        return path
    random = np.random.default_rng(1)
    width, height = SIZE
    rows, columns = np.mgrid[:height, :width]
    with av.open(str(path), "w") as output:
        video = output.add_stream("libx264", rate=60, options={"preset": "ultrafast"})
        video.width, video.height, video.pix_fmt = width, height, "yuv420p"
        video.codec_context.colorspace = video.codec_context.color_range = 1
        tone = output.add_stream("aac", rate=SOUND_HZ, layout="mono")
        written = 0
        for index in range(60 * seconds):
            luma = ((columns + 3 * (index // 2) + rows) % 200 + 20).astype(np.uint8)
            frame = av.VideoFrame.from_ndarray(luma, "gray").reformat(format="yuv420p")
            frame.pts, frame.time_base = index, Fraction(1, 60)
            output.mux(video.encode(frame))
            while written * 60 < (index + 1) * SOUND_HZ:
                noise = random.normal(0, 0.1, (1, BLOCK)).astype(np.float32)
                block = av.AudioFrame.from_ndarray(noise, "fltp", "mono")
                block.sample_rate, block.pts = SOUND_HZ, written
                output.mux(tone.encode(block))
                written += BLOCK
        output.mux(video.encode(None))
        output.mux(tone.encode(None))
    return path


def picture_times(path: Path) -> list[Fraction]:
    """Time stamps of all pictures, decoded, in seconds."""
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        video.thread_type = "AUTO"
        base = Fraction(video.time_base or 0)
        return [(frame.pts or 0) * base for frame in container.decode(video)]


def largest_difference_s(one: list[Fraction], other: list[Fraction]) -> Fraction:
    """Between the time stamps of two clips of as many pictures."""
    return max(abs(a - b) for a, b in zip(one, other, strict=True))


def sound_of(path: Path) -> NDArray[np.float32]:
    """All samples, placed by the time stamp of the first on the clock of the pictures."""
    with av.open(str(path)) as container:
        frames = list(container.decode(audio=0))
    samples = np.concatenate([frame.to_ndarray()[0] for frame in frames])
    first = round((frames[0].pts or 0) * Fraction(frames[0].time_base or 0) * SOUND_HZ)
    return samples[-first:] if first < 0 else np.pad(samples, (first, 0))


def offset(one: NDArray[np.float32], other: NDArray[np.float32], start: int) -> int:
    """Samples by which a stretch of one sound comes later in the other."""
    length = SOUND_HZ * WINDOW_S
    first = one[start : start + length]
    second = other[start - REACH : start + length + REACH]
    size = 1 << (len(second) + length - 1).bit_length()
    product = np.fft.rfft(second, size) * np.conj(np.fft.rfft(first, size))
    return int(np.argmax(np.fft.irfft(product, size)[: 2 * REACH + 1])) - REACH


if __name__ == "__main__":
    main()
