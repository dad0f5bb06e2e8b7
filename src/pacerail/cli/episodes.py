"""Segments as they are written on the command line, of one record or of two."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pacerail.cli.options import FILE, segment_refreshes, together
from pacerail.errors import UsageError

if TYPE_CHECKING:
    from pacerail.pipeline.passage import Episode
    from pacerail.record import TimingRecord

_SEGMENT = re.compile(
    r"(?:(?P<name>[^=]+)=)?(?P<start>[^=/]+?)\.\.(?P<end>[^=/]+)"
    r"(?:/(?P<start_b>[^=/]+?)(?:\.\.(?P<end_b>[^=/]+))?)?"
)


@dataclass(frozen=True)
class Span:
    """Times of a segment as written; None where they are left out."""

    start: str | None = None
    end: str | None = None


@dataclass(frozen=True)
class WrittenSegment:
    """A segment as written: its times in the first record and, if other, in the second."""

    first: Span
    second: Span = Span()
    name: str = ""


def parse_segment(text: str) -> WrittenSegment:
    """A segment from ``5.2..8.6``, ``dash=5.2..8.6`` or ``dash=5.2..8.6/5.4..9``.

    Raises UsageError on anything else.
    """
    match = _SEGMENT.fullmatch(text.strip())
    if not match:
        raise UsageError(
            f"segment must be [NAME=]IN..OUT[/IN[..OUT]], got {text!r}; write for example "
            "dash=5.2..8.6, or dash=5.2..8.6/5.4 where the second platform has it from 5.4"
        )
    name = match["name"] or text.strip()
    return WrittenSegment(
        Span(match["start"], match["end"]), Span(match["start_b"], match["end_b"]), name.strip()
    )


second_record = click.argument("record_b", type=FILE, required=False)

second_segment_options = together(
    click.option(
        "--from-b",
        "start_b",
        metavar="T",
        help="Start of the segment in RECORD_B; else the same as in RECORD.",
    ),
    click.option(
        "--to-b",
        "end_b",
        metavar="T",
        help="End of the segment in RECORD_B; else it is as long as in RECORD.",
    ),
)


def episode_of(
    written: WrittenSegment, records: Sequence[TimingRecord], labels: Sequence[str | None]
) -> Episode:
    """The segment in each record; without a label a platform is called as its capture.

    In the second record it starts at the same time unless another is written, and is as long
    as in the first, both to their ends where no end is written.
    Raises UsageError when times enclose nothing of a capture, or when times or a label are of
    a record that is not there.
    """
    from pacerail.pipeline.passage import Episode, Passage

    first = records[0]
    start, end = segment_refreshes(written.first.start, written.first.end, first)
    name, *others = _distinct(
        [
            label or Path(record.source.name).stem
            for label, record in zip(labels, records, strict=False)
        ]
    )
    passage = Passage(first, name, start, end)
    if len(records) == 1:
        if written.second != Span() or labels[1]:
            raise UsageError(
                "times and label of a second platform must go with a second record, got one "
                "record; name RECORD_B or leave them out"
            )
        return Episode(written.name, (passage,))
    second = records[1]
    start_b = written.second.start or written.first.start
    start_2, end_2 = segment_refreshes(start_b, written.second.end, second)
    if written.second.end is None and written.first.end is not None:
        length_s = (end - start) / first.refresh_hz
        end_2 = min(start_2 + max(round(length_s * second.refresh_hz), 1), second.refreshes)
    return Episode(written.name, (passage, Passage(second, others[0], start_2, end_2)))


def _distinct(labels: Sequence[str]) -> Sequence[str]:
    """Labels that tell two platforms apart: takes of one capture may have the same name."""
    if len(set(labels)) == len(labels):
        return labels
    return [f"{label} ({letter})" for label, letter in zip(labels, "AB", strict=True)]
