from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.running import Runner


def test_facts_are_sentences_with_their_numbers_and_times(run: Runner, record: Path) -> None:
    outcome = run("facts", record)
    assert (outcome.status, outcome.err) == (0, "")
    assert "The frame rate averages 30 frames per second." in outcome.out
    assert all(line.endswith("]") for line in outcome.out.splitlines())


def test_a_segment_has_facts_of_its_own(run: Runner, record: Path) -> None:
    outcome = run("facts", record, "--from", "0.5", "--to", "1.0")
    assert "The segment lasts 500 milliseconds and brings 15 new frames." in outcome.out


@pytest.mark.parametrize("facts_format", ["text", "markdown", "json"])
def test_a_file_holds_what_is_printed(
    run: Runner, record: Path, tmp_path: Path, facts_format: str
) -> None:
    printed = run("facts", record, "--format", facts_format).out
    written = tmp_path / "facts"
    assert run("facts", record, "--format", facts_format, "-o", written).out == ""
    assert written.read_text() == printed


def test_figures_are_those_of_the_table(run: Runner, record: Path) -> None:
    facts = json.loads(run("facts", record, "--format", "json").out)
    table = csv.DictReader(io.StringIO(run("csv", record, "--table", "summary").out, newline=""))
    by_key = {row["figure"]: row["value"] for row in table}
    assert {figure["figure"] for figure in facts["figures"]} == by_key.keys()
    for figure in facts["figures"]:
        if isinstance(figure["value"], str):
            assert by_key[figure["figure"]] == figure["value"]
        else:
            assert float(by_key[figure["figure"]]) == pytest.approx(figure["value"], abs=5e-7)
    shown = run("facts", record, "--format", "markdown").out
    assert f"| {by_key['mean_frame_rate_fps']} |" in shown
