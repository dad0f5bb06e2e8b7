from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.capture.recordings import record_holds
from tests.cli.running import Runner


@pytest.fixture
def stalling(run: Runner, tmp_path: Path) -> Path:
    capture = record_holds(tmp_path / "a.mp4", [1] * 30 + [12] + [1] * 30, timecode="10:00:00:00")
    assert run("measure", capture).status == 0
    return tmp_path / "a.timing.npz"


def test_web_captions(run: Runner, stalling: Path) -> None:
    outcome = run("markers", stalling, "--format", "webvtt")
    assert (outcome.status, outcome.err) == (0, "")
    assert outcome.out == (
        "WEBVTT\n\n00:00:00.500 --> 00:00:00.700\nstall, 200 ms, 11 missed refreshes\n"
    )


def test_timeline_markers_count_from_the_start_timecode(run: Runner, stalling: Path) -> None:
    pytest.importorskip("opentimelineio")
    output = stalling.parent / "a.otio"
    assert run("markers", stalling, "--format", "otio", "-o", output).status == 0
    clip = json.loads(output.read_text())["tracks"]["children"][0]["children"][0]
    (marker,) = clip["markers"]
    assert marker["marked_range"]["start_time"]["value"] == 10 * 3600 * 60 + 30
    assert marker["marked_range"]["duration"]["value"] == 12


def test_a_format_must_be_named(run: Runner, stalling: Path) -> None:
    outcome = run("markers", stalling)
    assert (outcome.status, outcome.out) == (2, "")
    assert outcome.err == (
        "Error: Missing option '--format'. Choose from: webvtt, otio; see pacerail markers --help\n"
    )
