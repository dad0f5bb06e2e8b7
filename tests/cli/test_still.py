from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from tests.capture.recordings import record as make_recording
from tests.cli.running import Runner, names


def page(path: Path) -> NDArray[np.generic]:
    with av.open(str(path)) as container:
        frame = next(container.decode(video=0))
        return frame.to_ndarray(format="rgb48le" if "48" in frame.format.name else "rgb24")


def contains(whole: NDArray[np.generic], part: NDArray[np.generic]) -> bool:
    """True when a part lies somewhere in a picture, sample for sample."""
    rows, columns, _ = part.shape
    starts = np.argwhere((whole == part[0, 0]).all(axis=-1))
    return any(np.array_equal(whole[y : y + rows, x : x + columns], part) for y, x in starts)


def grey_of(capture: Path, number: int) -> NDArray[np.uint8]:
    with av.open(str(capture)) as container:
        frame = list(container.decode(video=0))[number]
        return frame.to_ndarray(format="gray").astype(np.uint8)


def test_regions_are_enlarged_pixel_by_pixel(run: Runner, capture: Path) -> None:
    whole, zoom = capture.parent / "whole.png", capture.parent / "zoom.png"
    assert run("still", capture, "--at", "1.5", "-o", whole).status == 0
    outcome = run(
        "still", capture, "--at", "1.5", "--region", "0.25,0.25,0.125,0.125", "--scale", "5",
        "-o", zoom,
    )  # fmt: skip
    assert outcome.status == 0
    source = _picture_in(page(whole))
    enlarged = source[24:36, 32:48].repeat(5, axis=0).repeat(5, axis=1)
    assert contains(page(zoom), enlarged)


def _picture_in(sheet: NDArray[np.generic]) -> NDArray[np.generic]:
    """The 128 x 96 picture at the lower left of a page of one picture, by its gap."""
    gap = (sheet.shape[1] - 128) // 2
    foot = sheet.shape[0] - gap
    return sheet[foot - 96 : foot, gap : gap + 128]


def test_ten_bits_become_sixteen(run: Runner, tmp_path: Path) -> None:
    capture = make_recording(
        tmp_path / "deep.mkv", range(12), encoder="ffv1", pixel_format="yuv444p10le", options={}
    )
    output = tmp_path / "deep.png"
    assert run("still", capture, "--at", "0.1", "-o", output).status == 0
    sheet = page(output)
    assert sheet.dtype == np.uint16
    assert len(np.unique(_picture_in(sheet) % 257)) > 2


def test_two_captures_split_and_difference(run: Runner, capture: Path) -> None:
    split = capture.parent / "split.png"
    assert run("still", capture, capture, "--at", "1", "--at-b", "1.2", "--arrange", "split",
               "-o", split).status == 0  # fmt: skip
    outcome = run("still", capture, capture, "--at", "1", "--arrange", "difference",
                  "-o", capture.parent / "d.png")  # fmt: skip
    assert outcome.status == 0
    drawn = page(capture.parent / "d.png")
    # The same picture twice: the whole map is the colour of no difference.
    assert contains(drawn, np.broadcast_to(np.array([12, 14, 22], drawn.dtype), (96, 128, 3)))


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--arrange", "split"), "split must have two captures, got one"),
        (("--arrange", "zoom"), "regions must go with the arrangement zoom, got 0 and zoom"),
        (("--region", "0,0,1,1", "--scale", "0"), "scale must be 1 to 99, got 0"),
        (("--region", "0,0,1,1", "--scale", "99"), "region must have at most 8192 pixels a side"),
        (("--divider", "1"), "divider must stand between 0 and 1 of the picture's width, got '1'"),
        (("--label-b", "Wren"), "--label-b must go with a second capture"),
        (("--at-b", "1"), "--at-b and --label-b must go with a second capture"),
    ],
)
def test_what_does_not_go_together_is_refused(
    run: Runner, capture: Path, arguments: tuple[str, ...], message: str
) -> None:
    outcome = run("still", capture, "--at", "1", *arguments, "-o", capture.parent / "o.png")
    assert outcome.status == 2
    assert message in outcome.err
    assert "o.png" not in names(capture.parent)


def clip(path: Path) -> list[NDArray[np.int64]]:
    with av.open(str(path)) as container:
        return [
            frame.to_ndarray(format="rgb24").astype(np.int64) for frame in container.decode(video=0)
        ]


def test_a_push_goes_from_the_full_picture_to_the_region(run: Runner, capture: Path) -> None:
    output = capture.parent / "push.mp4"
    outcome = run("push", capture, "--at", "1", "--region", "0.5,0.5,0.25,0.25",
                  "--length", "0.5", "--label", "", "-o", output)  # fmt: skip
    assert outcome.status == 0
    pictures = clip(output)
    assert len(pictures) == 30
    source = grey_of(capture, 60).astype(int)
    assert np.abs(pictures[0].mean(axis=2) - source).mean() < 30
    cells = source[48:72, 64:96].repeat(4, axis=0).repeat(4, axis=1)
    last = pictures[-1].mean(axis=2)
    assert np.corrcoef(last.ravel(), cells.ravel())[0, 1] > 0.98


def test_a_push_names_the_platform_in_the_lower_left(run: Runner, capture: Path) -> None:
    made = []
    for label in ("", "Merle"):
        made.append(capture.parent / f"push{label}.mp4")
        outcome = run("push", capture, "--at", "1", "--region", "0,0,1,1", "--length", "0.1",
                      "--label", label, "-o", made[-1])  # fmt: skip
        assert outcome.status == 0
    bare, named = (clip(path)[-1] for path in made)
    changed = np.abs(bare - named).mean(axis=2) > 24
    assert changed[80:92, 6:30].mean() > 0.1
    assert not changed[:70].any()
    assert not changed[:, 80:].any()


def test_a_moment_names_a_refresh_of_the_record_beside(run: Runner, tmp_path: Path) -> None:
    """A time stamp that is late by more than half a refresh hides its picture on an even grid."""
    ticks = [10 * number + 6 * (number == 45) for number in range(60)]
    capture = make_recording(tmp_path / "a.mp4", ticks, time_base=Fraction(1, 600))
    even, known = tmp_path / "even.png", tmp_path / "known.png"
    assert run("still", capture, "--at", "0.7501", "-o", even).status == 0
    assert run("measure", capture).status == 0
    assert run("still", capture, "--at", "0.7501", "-o", known).status == 0
    assert [_nearest(_picture_in(page(path)), capture) for path in (even, known)] == [44, 45]


def _nearest(picture: NDArray[np.generic], capture: Path) -> int:
    """Which picture of a capture that is, by its pattern, whatever its range of codes."""
    grey = picture.astype(float).mean(axis=2).ravel()
    likeness = [np.corrcoef(grey, grey_of(capture, n).ravel())[0, 1] for n in range(40, 50)]
    return 40 + int(np.argmax(likeness))


def test_pixels_that_are_not_square_are_told_and_kept(run: Runner, tmp_path: Path) -> None:
    plain = make_recording(tmp_path / "plain.mp4", range(12))
    capture = tmp_path / "wide.mp4"
    with av.open(str(plain)) as source, av.open(str(capture), "w") as target:
        video = source.streams.video[0]
        stream = target.add_stream_from_template(video)
        stream.sample_aspect_ratio = Fraction(4, 3)
        for packet in source.demux(video):
            if packet.dts is not None:
                packet.stream = stream
                target.mux(packet)
    outcome = run("still", capture, "--at", "0.1", "-o", tmp_path / "o.png")
    assert outcome.status == 0
    assert "wide.mp4: its pixels are 4:3, not square; they are shown one for one" in outcome.err
    assert _picture_in(page(tmp_path / "o.png")).shape == (96, 128, 3)


def test_an_alternation_changes_at_its_interval(run: Runner, capture: Path) -> None:
    output = capture.parent / "swap.mp4"
    assert run("alternate", capture, capture, "--at", "1", "--at-b", "1.3", "--interval", "0.25",
               "--length", "1", "-o", output).status == 0  # fmt: skip
    pictures = clip(output)
    steps = [np.abs(b - a).mean() for a, b in pairwise(pictures)]
    assert len(pictures) == 60
    assert sorted(np.argsort(steps)[-3:] + 1) == [15, 30, 45]


@pytest.mark.parametrize("interval", ["0.1", "0.166"])
def test_flashing_is_refused(run: Runner, capture: Path, interval: str) -> None:
    outcome = run("alternate", capture, capture, "--at", "1", "--interval", interval,
                  "-o", capture.parent / "swap.mp4")  # fmt: skip
    assert outcome.status == 2
    assert "below 3 cycles a second (WCAG 2.3.1, flashes)" in outcome.err


def test_a_clip_needs_a_container(run: Runner, capture: Path) -> None:
    outcome = run("push", capture, "--at", "1", "--region", "0,0,0.5,0.5",
                  "-o", capture.parent / "push.gif")  # fmt: skip
    assert outcome.status == 2
    assert "output name must end in" in outcome.err
