from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice
from pacerail.compose.rate import RateChange
from pacerail.compose.segment import first_tick
from tests.compose.clips import AUDIO_SAMPLES, RATE, frame_time_s, refresh_grid, write_clip

FILM_SIXTY = Fraction(60000, 1001)
FIRST, END = 43, 83


def cut(
    source: Path, target: Path, container_format: str, rate: Fraction, **options: object
) -> int:
    with av.open(str(source)) as container:
        return burn_in(
            container,
            container.streams.video[0],
            target,
            lambda refresh: [],
            refresh_grid(source, rate),
            container_format=container_format,
            encoder=EncoderChoice(quality="lossless"),
            **options,  # type: ignore[arg-type]
        )


def sound_of(path: Path, samples: int) -> NDArray[np.float64]:
    """Sound from time 0 on, by the time stamps of the decoded frames; NaN where none is."""
    heard = np.full(samples, np.nan)
    with av.open(str(path)) as container:
        for frame in container.decode(audio=0):
            assert frame.pts is not None
            assert frame.time_base is not None
            start = round(frame.pts * Fraction(frame.time_base) * RATE)
            values = frame.to_ndarray().reshape(-1).astype(np.float64)
            first, end = max(start, 0), min(start + len(values), samples)
            if end > first:
                heard[first:end] = values[first - start : end - start]
    return heard


def pictures_of(path: Path) -> list[tuple[Fraction, NDArray[Any]]]:
    with av.open(str(path)) as container:
        return [(frame_time_s(frame), frame.to_ndarray()) for frame in container.decode(video=0)]


@pytest.mark.parametrize("rate", [Fraction(60), FILM_SIXTY])
@pytest.mark.parametrize(
    ("container_format", "audio"), [("mp4", "aac"), ("mov", "pcm_s16le"), ("mp4", "flac")]
)
def test_a_segment_holds_its_pictures_and_sound_to_the_sample(
    tmp_path: Path, container_format: str, audio: str, rate: Fraction
) -> None:
    source, target = tmp_path / "in", tmp_path / "out"
    options = {"preset": "veryfast", "g": "30"}
    write_clip(
        source,
        container_format=container_format,
        audio=audio,
        rate=rate,
        pictures=100,
        width=160,
        height=90,
        options=options,
    )
    assert cut(source, target, container_format, rate, first_refresh=FIRST, end_refresh=END) == 40
    whole, part = pictures_of(source), pictures_of(target)
    assert [moment for moment, _ in part] == [index / rate for index in range(40)]
    for (_, expected), (_, found) in zip(whole[FIRST:END], part, strict=True):
        assert (expected == found).all()
    length = int(40 / rate * RATE)
    start = round(FIRST / rate * RATE)
    expected_sound = sound_of(source, start + length)[start:]
    # One coded packet decodes a little differently after a cut: 1 of 32768 at most.
    assert np.abs(sound_of(target, length) - expected_sound).max() <= (
        3e-5 if audio == "aac" else 0
    )


def test_matroska_keeps_a_segment_in_step_to_its_millisecond(tmp_path: Path) -> None:
    source, target = tmp_path / "in", tmp_path / "out"
    write_clip(source, container_format="matroska", audio="flac", pictures=100)
    cut(source, target, "matroska", Fraction(60), first_refresh=FIRST, end_refresh=END)
    start, length = round(Fraction(FIRST, 60) * RATE), 40 * RATE // 60
    source_sound = sound_of(source, start + length + RATE // 1000)
    found = sound_of(target, length)
    heard = slice(RATE // 20, length - RATE // 20)
    errors = [
        np.nanmean(np.abs(found - source_sound[start + lag : start + lag + length])[heard])
        for lag in range(-RATE // 1000, RATE // 1000 + 1)
    ]
    assert min(errors) < 1  # of 32768, at a lag within a millisecond
    assert np.nanmean(np.abs(found)) > 1000


@pytest.mark.parametrize("audio", ["pcm_s16le", "pcm_s24le"])
def test_matroska_gets_pcm_from_the_first_sample_on(tmp_path: Path, audio: str) -> None:
    """It has no edit list, so the packet that the first picture falls into is cut."""
    source, target = tmp_path / "in", tmp_path / "out"
    write_clip(source, container_format="mov", audio=audio, pictures=100, width=160, height=90)
    cut(source, target, "matroska", Fraction(60), first_refresh=FIRST, end_refresh=END)
    with av.open(str(source)) as container:
        whole = np.concatenate([frame.to_ndarray()[0] for frame in container.decode(audio=0)])
    with av.open(str(target)) as container:
        frames = list(container.decode(audio=0))
    found = np.concatenate([frame.to_ndarray()[0] for frame in frames])
    start = FIRST * RATE // 60
    assert start % AUDIO_SAMPLES
    assert frames[0].pts == 0
    assert len(found) >= (END - FIRST) * RATE // 60
    assert (found == whole[start : start + len(found)]).all()


def test_half_the_rate_shows_every_second_refresh(tmp_path: Path) -> None:
    source, target = tmp_path / "in.mp4", tmp_path / "out"
    write_clip(source, pictures=41, width=160, height=90)
    change = RateChange(Fraction(60), Fraction(30))
    assert cut(source, target, "mp4", Fraction(60), rate_change=change) == 21
    whole, half = pictures_of(source), pictures_of(target)
    assert [moment for moment, _ in half] == [Fraction(index, 30) for index in range(21)]
    for index, (_, found) in enumerate(half):
        assert (found == whole[2 * index][1]).all()


def test_a_lost_refresh_is_filled_at_a_constant_rate(tmp_path: Path) -> None:
    source, target = tmp_path / "in.mp4", tmp_path / "out"
    pts = [index for index in range(24) if index not in (9, 10)]
    write_clip(source, pictures=22, pts=pts, width=160, height=90)
    change = RateChange(Fraction(60), Fraction(60))
    assert cut(source, target, "mp4", Fraction(60), rate_change=change) == 24
    whole, filled = pictures_of(source), pictures_of(target)
    for index in (9, 10):
        assert (filled[index][1] == whole[8][1]).all()
    assert (filled[11][1] == whole[9][1]).all()


def test_an_hour_of_59_94_at_60_neither_drifts_nor_ends_early() -> None:
    hour = 215784  # refreshes in an hour of drop-frame labels (SMPTE ST 12-1), 3599.9964 s
    change = RateChange(FILM_SIXTY, Fraction(60))
    shown = list(change.refreshes(0, hour))
    assert len(shown) == 216000  # ceil(3599.9964 * 60)
    picture = np.arange(len(shown))
    # The refresh that a picture shows started at or before it, by less than a refresh.
    late = picture * 60000 - np.array(shown) * 60 * 1001  # in units of 1 / (60 * 60000) s
    assert late.min() >= 0
    assert late.max() < 60 * 1001
    steps = np.diff(shown)
    assert set(steps) == {0, 1}
    assert np.count_nonzero(steps == 0) == len(shown) - hour


@given(
    refreshes=st.integers(1, 400),
    refresh_hz=st.sampled_from([Fraction(50), FILM_SIXTY, Fraction(60), Fraction(120)]),
    rate=st.sampled_from([Fraction(24), Fraction(25), Fraction(30), FILM_SIXTY, Fraction(60)]),
)
def test_both_ways_of_saying_the_mapping_agree(
    refreshes: int, refresh_hz: Fraction, rate: Fraction
) -> None:
    change = RateChange(refresh_hz, rate)
    by_refresh = [
        refresh
        for refresh in range(refreshes)
        for _ in range(change.pictures_before(refresh), change.pictures_before(refresh + 1))
    ]
    assert list(change.refreshes(0, refreshes)) == by_refresh


@given(
    first=st.integers(-1000, 100_000),
    step=st.integers(1, 5000),
    refresh=st.integers(0, 1000),
)
def test_first_tick_is_the_first_that_maps_to_the_refresh(
    first: int, step: int, refresh: int
) -> None:
    def refresh_of(pts: int) -> int:
        return (pts - first) // step

    ticks = first_tick(refresh_of, refresh, first)
    assert ticks is not None
    assert refresh_of(ticks) >= refresh
    assert ticks == first or refresh_of(ticks - 1) < refresh


def test_first_tick_beyond_the_end_is_none() -> None:
    assert first_tick(lambda pts: min(pts, 10), 11, 0) is None


@pytest.mark.parametrize("audio", [None, "aac"])
@pytest.mark.parametrize("group", ["30", "250"])
def test_a_segment_of_a_transport_stream_is_whole(
    tmp_path: Path, group: str, audio: str | None
) -> None:
    """Such a stream has no index: reading may begin where nothing can be decoded for long."""
    source, target = tmp_path / "in.ts", tmp_path / "out.mp4"
    write_clip(
        source,
        container_format="mpegts",
        audio=audio,
        pictures=150,
        width=160,
        height=90,
        options={"preset": "veryfast", "g": group, "sc_threshold": "0"},
    )
    whole = pictures_of(source)
    for first, end in ((1, 3), (73, 90), (100, 150)):
        cut(source, target, "mp4", Fraction(60), first_refresh=first, end_refresh=end)
        part = pictures_of(target)
        assert len(part) == end - first
        for (_, expected), (_, found) in zip(whole[first:end], part, strict=True):
            assert (expected == found).all()
