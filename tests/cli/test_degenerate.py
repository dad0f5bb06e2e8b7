"""Records and segments in which there is nothing to measure, through every command."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from pacerail.choices import COMPARISON, FACTS_FORMATS, TABLES
from pacerail.record import TimingRecord
from tests.cli.running import Outcome, Runner
from tests.timing_records import record_of_flips, record_of_holds

RECORDS: dict[str, Callable[[], TimingRecord]] = {
    "one refresh": lambda: record_of_flips([], 1),
    "no flip": lambda: record_of_flips([], 20),
    "no flip for long": lambda: record_of_flips([], 900),
    "one flip": lambda: record_of_flips([7], 20),
    "one torn flip": lambda: record_of_flips([7], 20, [540.0]),
    "one frame": lambda: record_of_flips([7, 9], 20),
    "all fault": lambda: record_of_flips([], 20, faults=range(1, 20)),
    "fault from the start": lambda: record_of_flips([], 20, faults=range(20)),
    "all torn": lambda: record_of_flips(range(1, 20), 20, [540.0] * 19),
    "shorter than the window": lambda: record_of_holds([1] * 20),
    "one flip between faults": lambda: record_of_flips([5], 10, faults=[3, 7], firsts=[4, 8]),
}
TEXT_COMMANDS = [
    *(("facts", "--format", each) for each in FACTS_FORMATS),
    *(("csv", "--table", each) for each in TABLES),
    ("markers", "--format", "webvtt"),
    ("markers", "--format", "otio"),
]
# "nan", "inf" or "None" as a word of its own.
NO_NUMBER = re.compile(r"\b(nan|inf|none)\b", re.IGNORECASE)


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("degenerate")
    paths = {name: folder / f"{name}.timing.npz" for name in RECORDS}
    for name, make in RECORDS.items():
        make().save(paths[name], overwrite=False)
    return paths


def assert_plain(outcome: Outcome) -> None:
    """Done without a word of complaint, and without a number that is none."""
    assert (outcome.status, outcome.err) == (0, "")
    assert not NO_NUMBER.search(outcome.out)


@pytest.mark.parametrize("name", RECORDS)
@pytest.mark.parametrize("command", TEXT_COMMANDS, ids=" ".join)
def test_every_text_has_a_defined_answer(
    run: Runner, saved: dict[str, Path], name: str, command: tuple[str, ...]
) -> None:
    outcome = run(*command, saved[name])
    if command != ("markers", "--format", "otio"):
        assert_plain(outcome)
    assert (outcome.status, outcome.err) == (0, "")
    assert outcome.out
    if command[-1] in ("json", "otio"):
        json.loads(outcome.out, parse_constant=pytest.fail)


@pytest.mark.parametrize("name", RECORDS)
def test_every_record_has_a_strip(
    run: Runner, saved: dict[str, Path], tmp_path: Path, name: str
) -> None:
    outcome = run("strip", saved[name], "-o", tmp_path / "strip.png")
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    assert (tmp_path / "strip.png").stat().st_size


@pytest.mark.parametrize("other", ["no flip", "shorter than the window"])
@pytest.mark.parametrize("one", RECORDS)
def test_every_pair_can_be_set_side_by_side(
    run: Runner, saved: dict[str, Path], tmp_path: Path, one: str, other: str
) -> None:
    pair = saved[one], saved[other]
    for facts_format in FACTS_FORMATS:
        outcome = run("facts", *pair, "--format", facts_format)
        assert_plain(outcome)
        assert not re.search(r"\b(runs faster|more often)\b", outcome.out)
    table = run("csv", *pair, "--table", COMPARISON)
    assert_plain(table)
    assert len({len(row) for row in csv.reader(io.StringIO(table.out, newline=""))}) == 1
    outcome = run("strip", *pair, "-o", tmp_path / "strip.png")
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")


@pytest.mark.parametrize("command", TEXT_COMMANDS, ids=" ".join)
def test_a_segment_of_one_refresh(
    run: Runner, saved: dict[str, Path], command: tuple[str, ...]
) -> None:
    outcome = run(*command, saved["shorter than the window"], "--from", "0.1", "--to", "0.11")
    assert (outcome.status, outcome.err) == (0, "")


def test_what_is_not_measurable_says_why(run: Runner, saved: dict[str, Path]) -> None:
    outcome = run("csv", saved["no flip"], "--table", "summary")
    values = {
        row["figure"]: row["value"] for row in csv.DictReader(io.StringIO(outcome.out, newline=""))
    }
    assert values["flips"] == "0"
    assert values["mean_frame_rate_fps"] == (
        "not measurable: no part of the segment belongs to a frame of known length"
    )
    assert values["torn_share"] == "not measurable: no flip falls in the segment"
