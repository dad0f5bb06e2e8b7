from __future__ import annotations

import numpy as np

from pacerail.draw.still_page import Pane, lay_page
from pacerail.draw.style import load_style


def test_the_name_of_a_narrow_pane_has_the_room_of_its_column() -> None:
    wide, narrow = np.zeros((90, 480, 3), np.uint8), np.zeros((90, 12, 3), np.uint8)
    page = lay_page([[Pane(wide, "")], [Pane(narrow, "Merle, 2×, nearest")]], load_style("quay"))
    is_ink = (page.astype(int).max(axis=2) > 128).any(axis=0)
    columns = np.flatnonzero(is_ink)
    assert columns.max() - columns.min() > 5 * narrow.shape[1]
