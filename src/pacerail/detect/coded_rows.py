"""Seams that the coder makes: AV1 predicts large squares on their own, and they meet in rows.

On motion that is soft across rows, as motion blur leaves it, nothing else steps from one row to
the next. A tear falls on such a row as often as on any other.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from pacerail.detect.part import TearRows

SQUARE_ROWS = 32
"""Half the height of the largest squares of AV1 and HEVC."""
LEAST_SEAM, FEWEST_SEAMS = 0.06, 20
"""Least strength of seams that tell where most lie, and fewest of them."""
CODED_SHARE, FEWEST_ROWS = 0.6, 3
"""Share of those from which such rows are the coder's, and how many different ones there must be:
a tear that stands has one. (Of 213 clips with seams enough, three of soft motion in AV1 come to
more than 0.95, and all but one of the others to less than 0.36.)"""


def without_coded_rows(tears: TearRows, row_step: int) -> TearRows:
    """The same tears without seams between coded squares, where most seams are of that kind.

    row_step : picture rows for each row that was looked at.
    """
    square = np.rint(tears.row / SQUARE_ROWS)
    is_between = np.abs(tears.row - SQUARE_ROWS * square) <= row_step / 2
    is_between &= tears.mirror_octaves == 0
    tells = (tears.seam >= LEAST_SEAM) & (tears.mirror_octaves == 0)
    coded = is_between & tells
    is_coded = (
        tells.sum() >= FEWEST_SEAMS
        and coded.sum() >= CODED_SHARE * tells.sum()
        and len(np.unique(square[coded])) >= FEWEST_ROWS
    )
    if not is_coded:
        return tears
    kept = ~is_between
    return TearRows(**{column.name: getattr(tears, column.name)[kept] for column in fields(tears)})
