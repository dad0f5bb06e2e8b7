import gc
import math
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures


def noise_capture(
    folder: Path, encoder: str, options: dict[str, str], pix_fmt: str = "yuv420p", count: int = 26
) -> Path:
    """A small capture of noise."""
    path = folder / "noise.mp4"
    random = np.random.default_rng(4)
    with av.open(str(path), "w") as container:
        stream = container.add_stream(encoder, rate=60, options=options)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = 128, 96, pix_fmt
        for number in range(count):
            rgb = random.integers(60, 200, (96, 128, 3), np.uint8)
            frame = av.VideoFrame.from_ndarray(rgb, format="rgb24").reformat(format=pix_fmt)
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def steps(path: Path) -> list[float]:
    """Quantiser steps of the pictures of a capture."""
    with open_capture(path) as capture:
        return [picture.quantiser_step for picture in pictures(capture)]


@pytest.mark.parametrize("qp", [10, 22, 34])
@pytest.mark.parametrize("pix_fmt", ["yuv420p", "yuv420p10le"])
def test_the_step_of_h264_is_that_of_its_constant_qp(tmp_path: Path, qp: int, pix_fmt: str) -> None:
    # ITU-T H.264, 8.5.9: 0.625 at QP 0, twice as much with every 6 (from memory). In 10 bits
    # libx264 counts QP from 0 as well: 12 more is the same step in 8-bit code values.
    offset = 12 if "10" in pix_fmt else 0
    options = {"qp": str(qp + offset), "bf": "0", "g": "250", "preset": "ultrafast"}
    found = steps(noise_capture(tmp_path, "libx264", options, pix_fmt))
    assert found[12] == found[24] == pytest.approx(0.625 * 2 ** (qp / 6))
    assert sum(not math.isnan(step) for step in found) == 3


def test_other_codecs_do_not_tell(tmp_path: Path) -> None:
    options = {"x265-params": "log-level=none", "preset": "ultrafast"}
    path = noise_capture(tmp_path, "libx265", options, count=14)
    assert all(math.isnan(step) for step in steps(path))


def test_asking_keeps_no_picture(tmp_path: Path) -> None:
    # A frame is freed at once only where nothing refers back to it.
    path = noise_capture(tmp_path, "libx264", {"preset": "ultrafast"}, count=100)
    gc.collect()
    gc.disable()
    try:
        steps(path)
        kept = [o for o in gc.get_objects() if isinstance(o, av.VideoFrame) and o.width == 128]
    finally:
        gc.enable()
    assert not kept
