from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import av

from pacerail.compose.packets import MOST_FAILURES, readable_packets
from tests.compose.clips import write_clip


class Breaking:
    """A container whose reading breaks with an error before every n-th packet."""

    def __init__(self, container: Any, error: type[Exception], every: int) -> None:
        self._packets = container.demux(video=0)
        self._error, self._every, self._read = error, every, 0

    def demux(self, _: object) -> Iterator[Any]:
        while True:
            self._read += 1
            if self._read % self._every == 0:
                raise self._error
            packet = next(self._packets, None)
            if packet is None:
                return
            yield packet


def packets_read(path: Path, error: type[Exception], every: int) -> int:
    with av.open(str(path)) as container:
        broken: Any = Breaking(container, error, every)
        return sum(packet.size > 0 for packet in readable_packets(broken, []))


def test_reading_goes_on_where_a_stream_appears_late(tmp_path: Path) -> None:
    clip = write_clip(tmp_path / "in.mp4", audio=None)
    assert packets_read(clip, IndexError, 7) == 40


def test_a_file_that_fails_again_and_again_is_given_up(tmp_path: Path) -> None:
    clip = write_clip(tmp_path / "in.mp4", audio=None)
    assert packets_read(clip, IndexError, 1) == 0
    assert MOST_FAILURES < 1000
