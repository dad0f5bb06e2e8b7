"""Runs of places at which something holds."""

from itertools import groupby

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pacerail.runs import runs


@given(st.lists(st.booleans(), max_size=40))
def test_runs_are_those_that_grouping_finds(flags: list[bool]) -> None:
    places = groupby(range(len(flags)), key=flags.__getitem__)
    expected = [list(group) for is_set, group in places if is_set]
    assert runs(np.array(flags, bool)) == [(group[0], group[-1] + 1) for group in expected]
