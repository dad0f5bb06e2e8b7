from __future__ import annotations

from tests.cli.running import Runner


def test_every_style_is_listed_with_what_it_is(run: Runner) -> None:
    outcome = run("styles")
    assert (outcome.status, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert len(lines) >= 4
    assert lines == sorted(lines)
    assert all(len(line.split("  ", 1)[1].strip()) > 10 for line in lines)
