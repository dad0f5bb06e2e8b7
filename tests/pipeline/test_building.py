from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path

import av
import pytest

from pacerail.errors import InputError, UsageError
from pacerail.files import atomic_output
from pacerail.pipeline.building import Outcome, build
from pacerail.pipeline.sheets import prepare
from pacerail.pipeline.watcher import Watcher
from pacerail.pipeline.workers import InProcess, Workers, cluster, processes
from tests.capture.recordings import record_holds
from tests.cli.test_align import NEAR_S, OFFSET_S, record_blobs
from tests.pipeline.edit_sheets import OUTPUTS, SHEET, contents, made_here, write_edit


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sheet of an edit that was built once."""
    sheet = write_edit(tmp_path_factory.mktemp("clean"))
    made_here(sheet)
    return sheet


@pytest.fixture
def fresh(clean: Path, tmp_path: Path) -> Path:
    """The sheet of the same edit, not built yet."""
    for source in (clean, *clean.parent.glob("*.mp4")):
        shutil.copy2(source, tmp_path)
    return tmp_path / clean.name


@pytest.fixture
def built(clean: Path, tmp_path: Path) -> Path:
    """The sheet of a copy of the edit that was built."""
    shutil.copytree(clean.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / clean.name


def edited(sheet: Path, there: str, instead: str) -> Outcome:
    """Build a sheet after a change in its text."""
    text = sheet.read_text("utf-8")
    assert there in text
    sheet.write_text(text.replace(there, instead), "utf-8")
    return made_here(sheet)


def made(outcome: Outcome) -> set[str]:
    assert not outcome.failures
    return {job.output for job in outcome.made}


def test_a_build_makes_everything_that_the_sheet_asks_for(clean: Path) -> None:
    found = contents(clean.parent / "made")
    records = {name for name in found if name.startswith("records/")}
    assert {Path(name).name.split("-")[0] for name in records} == {"merle", "wren"}
    assert found.keys() - records == OUTPUTS | {"dash/merle.overlay-alpha.placement.json"}
    for name, pictures in (("dash/stacked.mp4", 24), ("pier/wren.overlay.mp4", 18)):
        with av.open(str(clean.parent / "made" / name)) as clip:
            assert sum(1 for _ in clip.decode(video=0)) == pictures


def test_planning_writes_nothing(fresh: Path) -> None:
    prepared = prepare(fresh)
    assert {job.output for job in prepared.plan.jobs} >= OUTPUTS
    assert not any(map(prepared.is_current, prepared.plan.jobs))
    assert not (fresh.parent / "made").exists()


def test_nothing_is_made_twice(built: Path) -> None:
    outcome = made_here(built)
    assert made(outcome) == set()
    assert {job.output for job in outcome.kept} >= OUTPUTS


@pytest.mark.parametrize("segments", [("dash",), ("pier",), ("dash", "pier")])
def test_segments_can_be_built_alone(fresh: Path, segments: tuple[str, ...]) -> None:
    outcome = made_here(fresh, *segments)
    folders = {output.split("/")[0] for output in made(outcome)}
    assert folders == {"records", *segments}


def test_a_style_touches_only_what_is_drawn_in_it(built: Path) -> None:
    assert made(edited(built, 'style = "mast"', 'style = "chart"')) == {
        "dash/merle.overlay-alpha.mov"
    }
    assert made(edited(built, 'output = "made"', 'output = "made"\nstyle = "wake"')) == {
        "dash/stacked.mp4",
        "pier/wren.overlay.mp4",
        "pier/merle.strip.svg",
        "pier/wren.strip.svg",
    }


def test_a_style_file_is_told_by_what_is_in_it(built: Path) -> None:
    style = built.parent / "own.toml"
    style.write_text('extends = "mast"\n', "utf-8")
    assert made(edited(built, 'style = "mast"', 'style = "own.toml"')) == set()
    style.write_text('extends = "mast"\ncolours.late = "#ffcc00"\n', "utf-8")
    assert made(made_here(built)) == {"dash/merle.overlay-alpha.mov"}


def test_a_label_touches_only_what_shows_it(built: Path) -> None:
    assert made(edited(built, 'label = "Wren"', 'label = "Reed"')) == {
        output for output in OUTPUTS if "merle" not in output and not output.endswith("frames.csv")
    } | {"pier/wren.frames.csv"}


def test_what_counts_in_the_picture_is_measured_anew(built: Path) -> None:
    before = {name for name in contents(built.parent / "made") if "records/wren" in name}
    outcome = edited(built, 'label = "Wren"', 'label = "Wren"\nignore = [[0, 0, 0.1, 0.1]]')
    records = {output for output in made(outcome) if output.startswith("records/")}
    assert len(records) == 1
    assert not records & before
    # The other record is still there: going back measures nothing.
    back = edited(built, "\nignore = [[0, 0, 0.1, 0.1]]", "")
    assert not any(output.startswith("records/") for output in made(back))


def test_a_capture_is_known_by_its_contents(built: Path) -> None:
    shutil.copy(built.parent / "merle.mp4", built.parent / "again.mp4")
    (built.parent / "again.mp4").replace(built.parent / "merle.mp4")
    assert made(made_here(built)) == set()
    shutil.copy(built.parent / "merle.mp4", built.parent / "wren.mp4")
    outcome = made_here(built)
    assert any(output.startswith("records/wren") for output in made(outcome))
    assert "pier/merle.frames.csv" not in made(outcome)


@pytest.mark.parametrize("damage", ["edit", "remove"])
def test_an_output_that_was_touched_is_made_again(built: Path, damage: str) -> None:
    target = built.parent / "made" / "pier" / "wren.frames.csv"
    good = target.read_bytes()
    if damage == "edit":
        target.write_bytes(good.replace(b"0", b"1"))
    else:
        target.unlink()
    assert made(made_here(built)) == {"pier/wren.frames.csv"}
    assert target.read_bytes() == good


def test_a_lost_placement_is_written_again(built: Path) -> None:
    (built.parent / "made" / "dash" / "merle.overlay-alpha.placement.json").unlink()
    assert made(made_here(built)) == {"dash/merle.overlay-alpha.mov"}


def test_what_is_not_asked_for_any_more_is_left_and_told(built: Path) -> None:
    sheet = built.read_text("utf-8")
    built.write_text(sheet[: sheet.index("[segments.pier]")], "utf-8")
    prepared = prepare(built)
    assert set(prepared.stale) == {output for output in OUTPUTS if output.startswith("pier/")}
    before = contents(built.parent / "made")
    made_here(built)
    assert contents(built.parent / "made") == before
    assert prepare(built, ["dash"]).stale == ()


def test_a_draft_is_smaller_and_replaces_nothing(built: Path) -> None:
    before = contents(built.parent / "made")
    outcome = made_here(built, draft=True)
    assert made(outcome) == {f"draft/{output}" for output in OUTPUTS}
    after = contents(built.parent / "made")
    assert {name: after[name] for name in before} == before
    with av.open(str(built.parent / "made" / "draft" / "pier" / "wren.overlay.mp4")) as clip:
        assert (clip.streams.video[0].width, clip.streams.video[0].height) == (160, 90)
        assert sum(1 for _ in clip.decode(video=0)) == 18
    assert made(made_here(built)) == set()
    assert made(made_here(built, draft=True)) == set()


def test_a_job_that_fails_takes_only_what_needs_it(fresh: Path) -> None:
    # The header is whole, the pictures are not.
    wren = fresh.parent / "wren.mp4"
    data = bytearray(wren.read_bytes())
    start = data.index(b"mdat") + 4
    data[start:-4000] = bytes(len(data) - 4000 - start)
    wren.write_bytes(data)
    prepared = prepare(fresh)
    outcome = build(prepared.plan, Workers(InProcess()))
    assert [failure.job.about for failure in outcome.failures] == ["record of wren.mp4"]
    assert {job.output for job in outcome.left_out} == {
        output for output in OUTPUTS if "merle" not in output
    }
    assert {job.output for job in outcome.made if not job.output.startswith("records/")} == {
        output for output in OUTPUTS if "merle" in output
    }


@pytest.mark.parametrize(
    ("there", "instead", "message"),
    [
        ('in = "0.2"', 'in = "7"', "line 37: segments.pier.in: moment must lie inside the capture"),
        ('["wren.mp4"]', '["reed.mp4"]', "line 11: platforms.wren.captures[1] must be a readable"),
        ('"mast"', '"mist"', "line 34: segments.dash.outputs[2].style: style must be one of"),
        ('["wren.mp4"]', '["edit.toml"]', "line 11: platforms.wren.captures[1]: capture must be"),
        (
            'kind = "markers"',
            'kind = "strip"\nformat = "svg"\nstyle = "mast"',
            "line 36: segments.pier must make every file once, got pier/merle.strip.svg twice",
        ),
    ],
)
def test_what_the_captures_do_not_allow_is_told_by_its_key(
    fresh: Path, there: str, instead: str, message: str
) -> None:
    fresh.write_text(SHEET.replace(there, instead), "utf-8")
    with pytest.raises(InputError) as raised:
        prepare(fresh)
    assert message in str(raised.value)


def test_a_segment_that_is_not_there_is_a_wrong_request(fresh: Path) -> None:
    with pytest.raises(UsageError, match="segment must be one of dash, pier, got dusk"):
        prepare(fresh, ["dusk"])


def test_sync_starts_the_other_platform_where_it_shows_the_same(fresh: Path) -> None:
    text = SHEET.replace('in = "0.2"', 'in = "0.2"\nsync = { merle = "0.3", wren = "0.25" }')
    fresh.write_text(text, "utf-8")
    made_here(fresh, "pier")
    firsts = {}
    for platform in ("merle", "wren"):
        with (fresh.parent / "made" / "pier" / f"{platform}.frames.csv").open() as rows:
            firsts[platform] = float(next(csv.DictReader(rows))["flip_s"])
    # Wren shows at 0.15 s what Merle shows at 0.2 s; its next flip comes at refresh 10.
    assert firsts == pytest.approx({"merle": 12 / 60, "wren": 10 / 60}, abs=1e-6)


AUTO = """\
output = "made"

[platforms.merle]
captures = ["merle.mp4"]

[platforms.wren]
captures = ["wren.mp4"]

[segments.dash]
in = "1.2"
length = "1.0"
sync = "auto"

[[segments.dash.outputs]]
kind = "markers"
"""


def test_sync_finds_what_coincides(tmp_path: Path) -> None:
    record_blobs(tmp_path / "merle.mp4", 1, Fraction(0), (160, 90), sync=True)
    record_blobs(tmp_path / "wren.mp4", 1, Fraction(13, 20), (160, 90), sync=False)
    sheet = tmp_path / "edit.toml"
    sheet.write_text(AUTO, "utf-8")
    made_here(sheet)
    (found,) = (tmp_path / "made" / "records").glob("*.alignment.json")
    offset_s = json.loads(found.read_text("utf-8"))["offset_s"]
    assert offset_s == pytest.approx(-OFFSET_S, abs=NEAR_S)


def test_sync_refuses_what_never_coincides(tmp_path: Path) -> None:
    record_holds(tmp_path / "merle.mp4", [1] * 120)
    record_holds(tmp_path / "wren.mp4", [120])
    sheet = tmp_path / "edit.toml"
    sheet.write_text(AUTO.replace("1.2", "0.2"), "utf-8")
    outcome = made_here(sheet)
    (failure,) = outcome.failures
    assert failure.reason == (
        'sync = "auto" must find in wren.mp4 what merle.mp4 shows, got no match; write the '
        "moments that coincide by hand"
    )
    assert [job.output for job in outcome.left_out] == ["dash/wren.markers.vtt"]


def test_processes_make_the_same_bytes(clean: Path, fresh: Path) -> None:
    with processes(2) as workers:
        outcome = build(prepare(fresh).plan, workers)
    assert not outcome.failures
    assert contents(fresh.parent / "made") == contents(clean.parent / "made")


class Recorder(Watcher):
    """Keeps what it is told."""

    def __init__(self) -> None:
        self.steps: list[int] = []
        self.total: int | None = None
        self.notices: list[str] = []

    @contextmanager
    def task(self, name: str, total: int | None) -> Iterator[Callable[[int], None]]:
        self.total = total
        yield self.steps.append

    def notice(self, sentence: str) -> None:
        self.notices.append(sentence)


def test_progress_grows_picture_by_picture_to_the_end(fresh: Path) -> None:
    recorder = Recorder()
    plan = prepare(fresh).plan
    with processes(2) as workers:
        build(plan, workers, recorder)
        assert workers.pictures_done() == recorder.total
    assert recorder.steps == sorted(recorder.steps)
    assert recorder.steps[-1] == recorder.total == sum(job.pictures for job in plan.jobs)


def test_what_a_job_has_to_say_is_passed_on(fresh: Path) -> None:
    recorder = Recorder()
    build(prepare(fresh, ["dash"]).plan, Workers(InProcess()), recorder)
    assert "dash/stacked.mp4: merle.mp4 has no sound; it is silent in the clip" in recorder.notices


def test_a_cluster_makes_the_same_bytes(clean: Path, fresh: Path) -> None:
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None
        ) as local,
        cluster(local.scheduler_address) as workers,
    ):
        outcome = build(prepare(fresh).plan, workers)
    assert not outcome.failures
    assert contents(fresh.parent / "made") == contents(clean.parent / "made")


def test_two_builds_at_once_share_the_work(clean: Path, fresh: Path) -> None:
    plan = prepare(fresh).plan
    with ThreadPoolExecutor(2) as pool:
        for outcome in pool.map(lambda each: build(each, Workers(InProcess())), [plan, plan]):
            assert not outcome.failures
    assert contents(fresh.parent / "made") == contents(clean.parent / "made")
    assert made(made_here(fresh)) == set()


def test_what_a_killed_build_left_half_written_is_cleared_away(built: Path) -> None:
    target = built.parent / "made" / "pier" / "wren.frames.csv"
    with atomic_output(target, overwrite=True) as part:
        part.write_text("half")
        left = part.with_name(part.name)
        saved = part.read_bytes()
    left.write_bytes(saved)
    other = left.with_name(".wren.frames.extra.12345678.part.csv")
    other.write_bytes(saved)
    made_here(built)
    assert not left.exists()
    assert other.exists(), "another output's part may be in use"
