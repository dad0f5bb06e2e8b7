"""Sound of one or two platforms for one clip: decoded, put in step, mixed, encoded.

Sound is counted in samples from the first picture of the clip. What a recording lacks,
before its sound starts, in gaps, or after its end, is silence.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.compose.packets import readable_packets

Samples = NDArray[np.float32]

SAMPLE_RATE = 48000
"""Hz, of every sound track that editing programs and platforms take."""
BIT_RATE = 256_000
"""Of stereo AAC: transparent by common practice, no published source."""
PREROLL_S = Fraction(1, 2)
"""Decoding starts this much early, so that the first sample heard is decoded in full."""
JITTER_S = Fraction(20, 1000)
"""Time stamps that are off by less are taken as rounded; containers round to 1 ms."""
BLOCK = 1024
"""Samples per channel that AAC encodes at a time (ISO/IEC 14496-3)."""


@dataclass(frozen=True, eq=False)
class SideSound:
    """The sound of one platform, opened for reading at its start."""

    container: av.container.InputContainer
    audio: av.AudioStream
    start_s: Fraction
    """Moment, on the clock of the container, of the first picture of the clip."""


def stereo_blocks(sound: SideSound) -> Generator[Samples, None, None]:
    """Left and right from `start_s` on, shape (2, n), without a gap or an overlap."""
    time_base = Fraction(sound.audio.time_base or 1)
    early = max(sound.start_s - PREROLL_S, Fraction(0))
    sound.container.seek(int(early / time_base), stream=sound.audio, backward=True)
    # The library would make one channel quieter by 3 dB when it spreads it over two.
    layout = "mono" if sound.audio.channels == 1 else "stereo"
    resampler = av.AudioResampler("fltp", layout, SAMPLE_RATE)
    done = 0
    is_counting = False
    for samples, moment_s in _resampled(sound, resampler):
        start = round((moment_s - sound.start_s) * SAMPLE_RATE)
        if is_counting and abs(start - done) <= JITTER_S * SAMPLE_RATE:
            start = done
        if start > done:
            yield np.zeros((2, start - done), np.float32)
            done = start
        if start + samples.shape[1] > done:
            yield samples[:, done - start :]
            done = start + samples.shape[1]
            is_counting = True


def mixed(sides: Sequence[SideSound | None], samples: int) -> Generator[Samples, None, None]:
    """Blocks of at most BLOCK samples, shape (2, n), exactly `samples` of them in all.

    One side is heard as it is; of two, the first is heard from the left and the second
    from the right, each as the mean of its channels. One that is None is silent.
    """
    sources = [_Blocks(stereo_blocks(side) if side else iter(())) for side in sides]
    for start in range(0, samples, BLOCK):
        count = min(BLOCK, samples - start)
        heard = [source.take(count) for source in sources]
        if len(heard) == 2:
            yield np.stack([stereo.mean(0) for stereo in heard])
        else:
            yield heard[0]


class SoundTrack:
    """A stereo AAC stream of an output, written in step with its pictures."""

    def __init__(self, output: av.container.OutputContainer, blocks: Iterator[Samples]) -> None:
        self._output = output
        self._blocks = blocks
        self._stream = output.add_stream("aac", rate=SAMPLE_RATE, layout="stereo")
        self._stream.bit_rate = BIT_RATE
        self._done = 0

    def write_until(self, moment_s: Fraction) -> None:
        """Encode what starts before that moment of the clip."""
        while self._done < moment_s * SAMPLE_RATE:
            block = next(self._blocks, None)
            if block is None:
                return
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(block), "fltp", "stereo")
            frame.sample_rate, frame.pts = SAMPLE_RATE, self._done
            frame.time_base = Fraction(1, SAMPLE_RATE)
            self._output.mux(self._stream.encode(frame))
            self._done += block.shape[1]

    def finish(self) -> None:
        """Encode the rest, and what the encoder still holds."""
        self.write_until(Fraction(1 << 40))
        self._output.mux(self._stream.encode(None))


class _Blocks:
    """Takes any number of samples from blocks of any length; silence after the last."""

    def __init__(self, blocks: Iterator[Samples]) -> None:
        self._blocks = blocks
        self._held = np.empty((2, 0), np.float32)

    def take(self, count: int) -> Samples:
        parts, missing = [self._held], count - self._held.shape[1]
        while missing > 0:
            block = next(self._blocks, None)
            if block is None:
                block = np.zeros((2, missing), np.float32)
            parts.append(block)
            missing -= block.shape[1]
        joined = np.concatenate(parts, axis=1)
        self._held = joined[:, count:]
        return joined[:, :count]


def _resampled(
    sound: SideSound, resampler: av.AudioResampler
) -> Iterator[tuple[Samples, Fraction]]:
    """Decoded sound at SAMPLE_RATE with its moment; damaged packets are left out."""
    for packet in readable_packets(sound.container, [sound.audio]):
        try:
            frames = packet.decode()
        except av.error.InvalidDataError:
            continue
        for frame in frames:
            if isinstance(frame, av.AudioFrame) and frame.pts is not None:
                yield from _blocks_of(resampler.resample(frame))
    yield from _blocks_of(resampler.resample(None))


def _blocks_of(frames: Sequence[av.AudioFrame]) -> Iterator[tuple[Samples, Fraction]]:
    for frame in frames:
        if frame.pts is not None and frame.time_base is not None:
            channels = frame.to_ndarray().astype(np.float32, copy=False)
            stereo = np.broadcast_to(channels, (2, frame.samples))
            yield stereo, frame.pts * Fraction(frame.time_base)
