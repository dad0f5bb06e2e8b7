"""Copying audio packets: which container takes what, and cutting them in step."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from fractions import Fraction
from math import ceil
from typing import Any, cast

import av

from pacerail.compose.segment import AudioPacket
from pacerail.errors import UsageError

# Codecs that each container takes by stream copy, tried one by one with the bundled
# muxers (mov refuses FLAC and Opus only when the header is written, too late to say so).
_LOSSLESS = {"flac", "alac"}
_LOSSY = {"aac", "mp2", "mp3", "ac3", "eac3"}
_PCM_BYTES = {  # of one sample of one channel
    "pcm_s16le": 2,
    "pcm_s16be": 2,
    "pcm_s24le": 3,
    "pcm_s24be": 3,
    "pcm_s32le": 4,
    "pcm_f32le": 4,
}
_PCM = set(_PCM_BYTES)
TAKES = {
    "mp4": _LOSSY | _LOSSLESS | {"opus", "vorbis"} | _PCM,
    "mov": _LOSSY | {"alac"} | _PCM,
    "matroska": _LOSSY | _LOSSLESS | {"opus", "vorbis"} | _PCM,
}
# Containers with an edit list: packets may start before the first picture and are
# played from it on, to the sample.
HAS_EDIT_LIST = {"mp4", "mov"}

# Decoding that must precede the first sample heard. Opus: RFC 7845 section 4.6. For
# transform codecs one packet feeds the overlap of the next; theirs are below 48 ms
# (1152 samples at 24 kHz). Lossless and PCM packets stand alone.
_OPUS_PREROLL_S = Fraction(80, 1000)
_OVERLAP_PREROLL_S = Fraction(48, 1000)

# Audio that lies further than this behind its pictures in the file is not waited for.
INTERLEAVE_S = Fraction(2)


def check_audio_fits(streams: Sequence[av.AudioStream], container_format: str) -> None:
    """Raise UsageError if the container cannot take a stream as it is."""
    takes = TAKES[container_format]
    for stream in streams:
        codec = codec_of(stream)
        if codec not in takes:
            fitting = [name for name, codecs in TAKES.items() if codec in codecs]
            advice = f"write {' or '.join(fitting)} instead" if fitting else "convert it first"
            raise UsageError(
                f"audio must be in a codec that {container_format} takes, got {codec}; {advice}"
            )


def codec_of(stream: av.AudioStream) -> str:
    """Name of the codec, whichever decoder reads it: ``mp3``, not ``mp3float``."""
    return stream.codec_context.codec.canonical_name


class AudioCut:
    """Picks the packets that a segment needs and counts their time from its first picture.

    With an edit list in the output, packets that start before the first picture are kept
    for what of them is heard after it. Without, they would be heard early: PCM is cut at the
    first sample, other packets are dropped, and sound begins with the first whole one.
    """

    def __init__(
        self,
        streams: Sequence[av.AudioStream],
        end_s: Fraction | None,
        *,
        from_zero: bool,
        has_edit_list: bool,
    ) -> None:
        self.streams = tuple(streams)
        self._from_zero = from_zero
        self._end_s = end_s
        self._has_edit_list = has_edit_list
        self._numbers = {stream.index: number for number, stream in enumerate(streams)}
        self._preroll_s = [_preroll_s(codec_of(stream)) for stream in streams]
        self._sample_bytes = [_sample_bytes(stream) for stream in streams]
        self._open = set(self._numbers)
        self._zero_s: Fraction | None = None
        self._waiting: list[av.Packet[av.AudioStream]] = []

    def start(self, zero_s: Fraction) -> Generator[AudioPacket, None, None]:
        """Tell when the first picture is; gives the packets that waited for it."""
        self._zero_s = zero_s
        for packet in self._waiting:
            yield from self.take(packet)
        self._waiting.clear()

    def take(self, packet: av.Packet[av.AudioStream]) -> Generator[AudioPacket, None, None]:
        """The packet as the output needs it, if it does."""
        if self._is_past_end(packet):
            self._open.discard(packet.stream_index)
            return
        number = self._numbers[packet.stream_index]
        if not self._from_zero:
            yield AudioPacket(packet, number)
        elif self._zero_s is None:
            self._waiting.append(packet)
        elif self._is_needed(packet, self._zero_s):
            lead_s = self._zero_s - _time_s(packet)
            if lead_s > 0 and not self._has_edit_list:
                packet = _later_part(packet, lead_s, self._sample_bytes[number])
            shift = round(self._zero_s / packet.time_base)
            packet.pts = (packet.pts or 0) - shift
            packet.dts = (packet.dts or 0) - shift
            yield AudioPacket(packet, number)

    def is_over(self, packet: av.Packet[Any]) -> bool:
        """True when no stream can still bring a packet, told at any packet read."""
        if self._end_s is not None and _time_s(packet) > self._end_s + INTERLEAVE_S:
            return True
        return not self._open

    def _is_past_end(self, packet: av.Packet[av.AudioStream]) -> bool:
        marks_end_of_stream = packet.dts is None
        return marks_end_of_stream or (self._end_s is not None and _time_s(packet) >= self._end_s)

    def _is_needed(self, packet: av.Packet[av.AudioStream], zero_s: Fraction) -> bool:
        start_s, number = _time_s(packet), self._numbers[packet.stream_index]
        if not (self._has_edit_list or self._sample_bytes[number]):
            return start_s >= zero_s
        end_s = start_s + (packet.duration or 0) * packet.time_base
        return end_s > zero_s - self._preroll_s[number]


def _preroll_s(codec: str) -> Fraction:
    """Seconds of packets to keep before the first sample that is to be heard."""
    if codec == "opus":
        return _OPUS_PREROLL_S
    return Fraction(0) if codec in _LOSSLESS | _PCM else _OVERLAP_PREROLL_S


def _sample_bytes(stream: av.AudioStream) -> int:
    """Bytes of one sample of all channels where packets are nothing but samples; else 0."""
    return _PCM_BYTES.get(codec_of(stream), 0) * stream.channels


def _later_part(
    packet: av.Packet[av.AudioStream], lead_s: Fraction, sample_bytes: int
) -> av.Packet[av.AudioStream]:
    """A packet of PCM from the first sample on that lies `lead_s` or more after its start."""
    samples = packet.size // sample_bytes
    sample_s = (packet.duration or 0) * Fraction(packet.time_base) / samples
    left_out = min(ceil(lead_s / sample_s), samples - 1)
    part = av.Packet(bytes(packet)[left_out * sample_bytes :])
    ticks = round(left_out * sample_s / packet.time_base)
    part.time_base = packet.time_base
    part.pts = part.dts = (packet.pts or 0) + ticks
    part.duration = (packet.duration or 0) - ticks
    return cast("av.Packet[av.AudioStream]", part)


def _time_s(packet: av.Packet[Any]) -> Fraction:
    """Presentation time of a packet; before everything for the mark of a stream's end."""
    ticks = packet.dts if packet.pts is None else packet.pts
    return Fraction(-1) if ticks is None else ticks * Fraction(packet.time_base)
