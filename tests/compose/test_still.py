from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.still import write_still
from pacerail.patch import Image, Patch, whole
from tests.compose.clips import write_clip

COLOURS = ((230, 150, 0), (0, 114, 178), (255, 255, 255), (0, 0, 0), (204, 121, 167))


def still(source: Path, target: Path, patches: list[Patch], number: int = 0) -> NDArray[np.uint8]:
    with av.open(str(source)) as container:
        video = container.streams.video[0]
        write_still(list(container.decode(video))[number], video, target, patches)
    with av.open(str(target), format="png_pipe") as container:
        return next(container.decode(video=0)).to_ndarray(format="rgb24").astype(np.uint8)


@pytest.mark.parametrize(
    ("pixel_format", "tags"),
    [
        ("yuv420p", (1, 1, 1, 1)),
        ("yuv420p", (6, 1, 6, 6)),
        ("yuv420p", (1, 2, 1, 1)),
        ("yuv444p10le", (1, 1, 1, 1)),
    ],
)
def test_drawn_colours_are_seen_as_drawn(
    tmp_path: Path, pixel_format: str, tags: tuple[int, int, int, int]
) -> None:
    source = write_clip(
        tmp_path / "in.mp4", pixel_format=pixel_format, tags=tags, pictures=20, audio=None
    )
    swatches = []
    for index, colour in enumerate(COLOURS):
        swatch = Image(np.full((40, 40, 4), (*colour, 255), np.uint8))
        swatches.append(whole(swatch, 20 + 50 * index, 60))
    rgb = still(source, tmp_path / "still.png", swatches)
    assert rgb.shape == (180, 320, 3)
    for index, colour in enumerate(COLOURS):
        inside = rgb[64:96, 24 + 50 * index : 56 + 50 * index].astype(int)
        # Two roundings to 8-bit Y'CbCr in narrow range are worth two codes of RGB.
        assert np.abs(inside - colour).max() <= 2


def test_without_patches_it_is_the_picture(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4", pictures=4, audio=None)
    with av.open(str(source)) as container:
        wanted = [frame.to_ndarray(format="rgb24") for frame in container.decode(video=0)]
    found = still(source, tmp_path / "still.png", [], 2).astype(int)
    differences = [np.abs(found - frame).mean() for frame in wanted]
    assert int(np.argmin(differences)) == 2
