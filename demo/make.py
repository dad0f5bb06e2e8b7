"""Makes the captures of both platforms, each with its truth: ``python -m demo.make DIR``."""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from demo.encode import write_capture
from demo.platforms import CLOSE_ENCODING, ENCODING, PLATFORMS, Platform

SIZE = 1280, 720


def make(platform: Platform, folder: Path, size: tuple[int, int] = SIZE) -> Path:
    """Write ``LABEL.mp4`` and ``LABEL-mast.mp4`` in lower case; return the path of the first.

    Beside each lies its truth, ``.truth.json``. size : width and height of the pictures.
    """
    path = folder / f"{platform.label.lower()}.mp4"
    mast = path.with_stem(f"{path.stem}-mast")
    for made, simulation, encoding in (
        (mast, platform.mast(*size), CLOSE_ENCODING),
        (path, platform.simulation(*size), ENCODING),
    ):
        truth = write_capture(made, simulation, encoding, overwrite=True)
        truth.save(made.with_suffix(".truth.json"))
    return path


def main() -> None:
    """Make all captures side by side, as drawing keeps one core busy."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path("demo/out")
    folder.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor() as pool:
        for path in pool.map(make, PLATFORMS, [folder] * len(PLATFORMS)):
            print(f"capture   {path}", flush=True)


if __name__ == "__main__":
    main()
