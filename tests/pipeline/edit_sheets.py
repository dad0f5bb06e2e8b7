"""A small edit: two captures of a moving pattern and a sheet, in a folder of their own."""

from __future__ import annotations

from pathlib import Path

import av

from pacerail.pipeline.building import Outcome, build
from pacerail.pipeline.manifest import FOLDER
from pacerail.pipeline.sheets import prepare
from pacerail.pipeline.workers import InProcess, Workers
from tests.capture.recordings import record_holds

SHEET = """\
output = "made"

[canvas]
size = "320x240"

[platforms.merle]
captures = ["merle.mp4"]
label = "Merle"

[platforms.wren]
captures = ["wren.mp4"]
label = "Wren"

[[outputs]]
kind = "facts"

[[outputs]]
kind = "comparison"

[segments.dash]
in = "0.1"
length = "0.4"

[[segments.dash.outputs]]
kind = "layout"
layout = "stacked"
quality = "lossless"

[[segments.dash.outputs]]
kind = "alpha"
platforms = ["merle"]
codec = "animation"
crop = true
style = "mast"

[segments.pier]
in = "0.2"
length = "0.3"

[[segments.pier.outputs]]
kind = "overlay"
platforms = ["wren"]
quality = "lossless"

[[segments.pier.outputs]]
kind = "strip"
format = "svg"

[[segments.pier.outputs]]
kind = "csv"
tables = ["frames"]

[[segments.pier.outputs]]
kind = "markers"
"""

OUTPUTS = {
    "dash/facts.txt",
    "dash/comparison.csv",
    "dash/stacked.mp4",
    "dash/merle.overlay-alpha.mov",
    "pier/facts.txt",
    "pier/comparison.csv",
    "pier/wren.overlay.mp4",
    "pier/merle.strip.svg",
    "pier/wren.strip.svg",
    "pier/merle.frames.csv",
    "pier/wren.frames.csv",
    "pier/merle.markers.vtt",
    "pier/wren.markers.vtt",
}
"""Main output of every job but those that measure."""


def write_edit(folder: Path) -> Path:
    """Captures of 0.6 s at 60 Hz and the sheet, whose path is returned."""
    for name, holds in (("merle", [1] * 36), ("wren", [2] * 18)):
        record_holds(folder / f"{name}.mp4", holds, size=(320, 180))
    sheet = folder / "edit.toml"
    sheet.write_text(SHEET, "utf-8")
    return sheet


def made_here(sheet: Path, *names: str, draft: bool = False) -> Outcome:
    """Build in this process."""
    prepared = prepare(sheet, names, draft=draft)
    return build(prepared.plan, Workers(InProcess()))


def contents(folder: Path) -> dict[str, bytes]:
    """Every file that a build leaves to people, hidden ones too; of H.264 what it shows.

    x264 does not code the same pictures in the same way each time, even where nothing is lost.
    """
    return {
        path.relative_to(folder).as_posix(): _shown(path)
        if path.suffix == ".mp4" and not path.name.startswith(".")
        else path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.relative_to(folder).parts[0] != FOLDER
    }


def _shown(clip: Path) -> bytes:
    """Time stamps and samples of all pictures, and the coded sound."""
    with av.open(str(clip)) as container:
        shown = [
            repr((frame.pts, frame.time_base)).encode() + frame.to_ndarray().tobytes()
            for frame in container.decode(video=0)
        ]
    with av.open(str(clip)) as container:
        sound = [bytes(packet) for packet in container.demux(*container.streams.audio)]
    return b"".join([*shown, *sound])
