"""Builds that are killed at random moments, and what it costs to build again.

Run as ``python -m tests.bench.rebuilding [KILLS]``: every killed build goes on and is
compared with a clean one, clips by their pictures; then a build with nothing to do is timed.
"""

from __future__ import annotations

import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.cli.running import COMMAND
from tests.pipeline.edit_sheets import contents, write_edit
from tests.pipeline.killing import build_cut_short

KILLS = 20
NOTHING_TO_DO = 5
SEGMENTS = 10
"""Of the sheet that a build with nothing to do is timed on."""

_SEGMENT = """
[segments.part{number}]
in = "0.1"
length = "0.1"

[[segments.part{number}.outputs]]
kind = "layout"
layout = "abreast"
style = "chart"
"""


def main() -> None:
    """Print one line for each kill, and the times."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else KILLS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "clean").mkdir()
        sheet = write_edit(folder / "clean")
        clean_s = build(sheet)
        print(f"clean build: {clean_s:.2f} s")
        wanted = contents(sheet.parent / "made")
        dice = random.Random(1)
        equal = 0
        for number in range(kills):
            copy = folder / f"killed-{number}"
            copy.mkdir()
            for source in (sheet, *sheet.parent.glob("*.mp4")):
                shutil.copy2(source, copy)
            after_s = dice.uniform(0, clean_s)
            build_cut_short(copy / sheet.name, after_s, signal.SIGKILL)
            found = copy / "made"
            before = len(contents(found)) if found.exists() else 0
            again_s = build(copy / sheet.name)
            same = contents(found) == wanted
            equal += same
            print(
                f"killed after {after_s:.2f} s with {before:2} files there; "
                f"built on in {again_s:.2f} s; {'equal' if same else 'DIFFERENT'}"
            )
        print(f"{equal} of {kills} equal to the clean build")
        text = sheet.read_text("utf-8")
        parts = "".join(_SEGMENT.format(number=number) for number in range(SEGMENTS))
        sheet.write_text(text + parts, "utf-8")
        build(sheet)
        least_s = min(build(sheet) for _ in range(NOTHING_TO_DO))
        print(f"nothing to do, {SEGMENTS + 2} segments: {least_s:.2f} s, start of Python included")
        sheet.write_text((text + parts).replace('"chart"', '"buoy"'), "utf-8")
        print(f"another style in {SEGMENTS} of them: {build(sheet):.2f} s")


def build(sheet: Path) -> float:
    """Build in a process of its own; the seconds it took."""
    start = time.monotonic()
    subprocess.run([*COMMAND, "build", str(sheet), "--jobs", "2"], check=True, capture_output=True)
    return time.monotonic() - start


if __name__ == "__main__":
    main()
