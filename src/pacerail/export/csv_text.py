"""Comma-separated values as RFC 4180 has them."""

from __future__ import annotations

import csv
from typing import TextIO

from pacerail.export.tables import Table


def write_csv(table: Table, stream: TextIO) -> None:
    """Write header and rows, each ended by CRLF, fields quoted only where they must be.

    `stream` must not translate line ends: open files with ``newline=""``.
    """
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(table.header)
    writer.writerows(table.rows)
