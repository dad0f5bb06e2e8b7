"""Copying audio packets: which container takes what, and where a cut may fall."""

from __future__ import annotations

from fractions import Fraction

import av

from pacerail.errors import UsageError

# Codecs that each container takes by stream copy, tried one by one with the bundled
# muxers (mov refuses FLAC and Opus only when the header is written, too late to say so).
_LOSSLESS = {"flac", "alac"}
_LOSSY = {"aac", "mp3", "ac3", "eac3"}
_PCM = {"pcm_s16le", "pcm_s24le", "pcm_s32le", "pcm_f32le", "pcm_s16be", "pcm_s24be"}
TAKES = {
    "mp4": _LOSSY | _LOSSLESS | {"opus", "vorbis"} | _PCM,
    "mov": _LOSSY | {"alac"} | _PCM,
    "matroska": _LOSSY | _LOSSLESS | {"opus", "vorbis"} | _PCM,
    "webm": {"opus", "vorbis"},
}
# Containers with an edit list: packets may start before the first picture and are
# played from it on, to the sample.
HAS_EDIT_LIST = {"mp4", "mov"}

# Decoding that must precede the first sample heard. Opus: RFC 7845 section 4.6. For
# transform codecs one packet feeds the overlap of the next; theirs are below 48 ms
# (1152 samples at 24 kHz). Lossless and PCM packets stand alone.
_OPUS_PREROLL_S = Fraction(80, 1000)
_OVERLAP_PREROLL_S = Fraction(48, 1000)


def check_audio_fits(streams: list[av.AudioStream], container_format: str) -> None:
    """Raise UsageError if the container cannot take a stream as it is."""
    takes = TAKES[container_format]
    for stream in streams:
        codec = stream.codec_context.name
        if codec not in takes:
            fitting = [name for name in ("mp4", "mov", "matroska") if codec in TAKES[name]]
            advice = f"write {' or '.join(fitting)} instead" if fitting else "convert it first"
            raise UsageError(
                f"audio must be in a codec that {container_format} takes, got {codec}; {advice}"
            )


def preroll_s(codec: str) -> Fraction:
    """Seconds of packets to keep before the first sample that is to be heard."""
    if codec == "opus":
        return _OPUS_PREROLL_S
    return Fraction(0) if codec in _LOSSLESS | _PCM else _OVERLAP_PREROLL_S
