"""Two platforms beside each other: facts, table and strip, from the command line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import av
import pytest

from tests.cli.running import Outcome, Runner
from tests.timing_records import record_of_flips, record_of_holds


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Twelve seconds at 60 and at 30 frames a second; captures of one name."""
    folder = tmp_path_factory.mktemp("pair")
    paths = folder / "merle.timing.npz", folder / "wren.timing.npz"
    record_of_holds([1] * 720).save(paths[0], overwrite=False)
    record_of_holds([2] * 360).save(paths[1], overwrite=False)
    return paths


LABELS = ("--label", "Merle", "--label-b", "Wren")


def rows(outcome: Outcome) -> list[dict[str, str]]:
    assert (outcome.status, outcome.err) == (0, "")
    return list(csv.DictReader(io.StringIO(outcome.out, newline="")))


def test_facts_tell_both_and_what_sets_them_apart(run: Runner, pair: tuple[Path, Path]) -> None:
    outcome = run("facts", *pair, *LABELS, "--target-fps", "60")
    assert (outcome.status, outcome.err) == (0, "")
    blocks = [block.splitlines() for block in outcome.out.split("\n\n")]
    assert [block[0] for block in blocks] == ["Merle and Wren", "Merle", "Wren"]
    assert blocks[0][1].startswith(
        "Merle averages 60 frames per second, Wren 30; Merle runs faster. [60.000 and 30.000 fps"
    )
    assert blocks[0][1].endswith("; Merle 0:00.000 to 0:12.033, Wren 0:00.000 to 0:12.033]")


def test_a_short_segment_is_no_ground_for_a_claim(run: Runner, pair: tuple[Path, Path]) -> None:
    outcome = run("facts", *pair, "--from", "1", "--to", "5")
    assert "Merle runs faster" not in outcome.out
    assert "the footage is too short to say whether that is chance." in outcome.out


def test_json_has_the_differences_and_both_platforms(run: Runner, pair: tuple[Path, Path]) -> None:
    told = json.loads(run("facts", *pair, *LABELS, "--format", "json").out)
    assert told["title"] == "Merle and Wren"
    assert [each["title"] for each in told["platforms"]] == ["Merle", "Wren"]
    (rate,) = [each for each in told["differences"] if each["figure"] == "mean_frame_rate_fps"]
    assert (rate["first"], rate["second"]) == pytest.approx((60, 30))
    assert rate["difference"] == pytest.approx(30)
    assert all(len(fact["times_s"]) == 2 for fact in told["facts"])


def test_markdown_has_one_table_for_both(run: Runner, pair: tuple[Path, Path]) -> None:
    text = run("facts", *pair, *LABELS, "--format", "markdown").out
    assert text.startswith("# Merle and Wren\n\n- **Merle averages ")
    assert "| figure | Merle | Wren | difference | lower | upper | unit | definition |" in text
    assert "\n## Merle\n" in text
    assert "\n## Wren\n" in text


def test_the_table_is_the_summary_of_each(run: Runner, pair: tuple[Path, Path]) -> None:
    both = rows(run("csv", *pair, *LABELS, "--table", "comparison", "--from-b", "2", "--to", "10"))
    for record, label, times in (
        (pair[0], "Merle", ["--from", "0", "--to", "10"]),
        (pair[1], "Wren", ["--from", "2", "--to", "12"]),
    ):
        alone = rows(run("csv", record, "--table", "summary", *times))
        assert [row[label] for row in both] == [row["value"] for row in alone]


def test_captures_of_one_name_are_told_apart(run: Runner, pair: tuple[Path, Path]) -> None:
    both = rows(run("csv", *pair, "--table", "comparison"))
    assert list(both[0])[:3] == ["figure", "harbour (A)", "harbour (B)"]


@pytest.mark.parametrize(
    ("written", "first", "second"),
    [
        ("dash=5.2..8.6", (5.2, 8.6), (5.2, 8.6)),
        ("dash=5.2..8.6/5.4", (5.2, 8.6), (5.4, 8.8)),
        ("dash=0:05.2..8.6/00:00:05:24..0:09", (5.2, 8.6), (5.4, 9.0)),
        ("dash=5..99/11", (5.0, 721 / 60 + 1 / 60), (11.0, 722 / 60)),
    ],
)
def test_segments_have_times_of_their_own_on_each(
    run: Runner,
    pair: tuple[Path, Path],
    written: str,
    first: tuple[float, float],
    second: tuple[float, float],
) -> None:
    told = json.loads(run("facts", *pair, "--segment", written, "--format", "json").out)
    (segment,) = told["segments"]
    assert segment["segment"] == "dash"
    assert segment["facts"][0]["times_s"] == [pytest.approx(first), pytest.approx(second)]


def test_several_segments_each_have_their_heading(run: Runner, pair: tuple[Path, Path]) -> None:
    outcome = run("facts", pair[0], "--segment", "dash=1..2", "--segment", "3..4")
    headings = [block.splitlines()[0] for block in outcome.out.split("\n\n")]
    assert headings == ["dash: harbour", "3..4: harbour"]
    markdown = run(
        "facts", pair[0], "--segment", "dash=1..2", "--segment", "3..4", "--format", "markdown"
    )
    assert "\n## dash\n" in markdown.out
    assert "\n## 3..4\n" in markdown.out


def picture_rows(path: Path) -> int:
    with av.open(str(path)) as container:
        return next(container.decode(video=0)).height


def test_a_strip_of_both_has_the_second_below(
    run: Runner, pair: tuple[Path, Path], tmp_path: Path
) -> None:
    alone, both, later = (tmp_path / f"{name}.png" for name in ("alone", "both", "later"))
    times = ["--from", "1", "--to", "2"]
    assert run("strip", pair[0], *times, "-o", alone).status == 0
    assert run("strip", *pair, *times, *LABELS, "-o", both).status == 0
    assert run("strip", *pair, *times, "--from-b", "1.5", *LABELS, "-o", later).status == 0
    assert picture_rows(both) > 1.3 * picture_rows(alone)
    # One more line tells whose times they are.
    assert picture_rows(later) > picture_rows(both)


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["facts", "A", "--segment", "dash"], "segment must be [NAME=]IN..OUT[/IN[..OUT]]"),
        (
            ["facts", "A", "--segment", "1..2/3"],
            "times and label of a second platform must go with",
        ),
        (["facts", "A", "--from-b", "1"], "times and label of a second platform must go with"),
        (["facts", "A", "B", "--segment", "3..2"], "segment must start before it ends"),
        (["facts", "A", "B", "--segment", "1..2/50"], "segment must start inside the capture"),
        (["facts", "A", "--segment", "1..2", "--from", "1"], "--segment must stand without --from"),
        (["csv", "A", "--table", "rates", "--label-b", "W"], "times and label of a second"),
        (["csv", "A", "--table", "comparison"], "table comparison must go with two records"),
        (["csv", "A", "B", "--table", "frames"], "table comparison must go with two records"),
        (
            ["strip", "A", "--to-b", "1", "-o", "s.png"],
            "times and label of a second platform must go with",
        ),
    ],
)
def test_requests_that_make_no_sense(
    run: Runner, pair: tuple[Path, Path], command: list[str], words: str
) -> None:
    named = {"A": str(pair[0]), "B": str(pair[1])}
    outcome = run(*(named.get(part, part) for part in command))
    assert outcome.status == 2
    assert words in outcome.err
    assert outcome.err.count("\n") == 1
    assert outcome.out == ""


def test_platforms_of_other_refresh_rates(run: Runner, tmp_path: Path) -> None:
    slow, fast = tmp_path / "a.timing.npz", tmp_path / "b.timing.npz"
    record_of_holds([1] * 120).save(slow, overwrite=False)
    record_of_flips(range(1, 240, 2), 240, refresh_hz=120).save(fast, overwrite=False)
    told = rows(run("csv", slow, fast, "--table", "comparison", "--from", "0.5", "--to", "1.5"))
    by_key = {row["figure"]: row for row in told}
    assert by_key["refreshes"]["harbour (A)"] == "60"
    assert by_key["refreshes"]["harbour (B)"] == "120"
    assert float(by_key["mean_frame_rate_fps"]["difference"]) == pytest.approx(0, abs=1e-6)
