"""What coding may do to held pictures."""

import numpy as np
import pytest

from pacerail.detect.coding import coarsest_step, quantiser_ceiling, starved


def test_coding_moves_a_held_picture_by_half_a_step_at_most() -> None:
    step = np.full(200, np.nan)
    step[[0, 50, 100]] = 16, 10, 2
    ceiling = 2 ** quantiser_ceiling(coarsest_step(step))
    assert ceiling[20] == pytest.approx(8)  # the coarsest of those near
    assert ceiling[60] == pytest.approx(5)
    assert ceiling[100] == pytest.approx(3)  # never less than the noise of a capture
    assert ceiling[190] == np.inf  # nothing near tells


def test_small_changes_under_a_coarse_quantiser_tell_nothing() -> None:
    coarsest = np.array([20.0, 64.0, 64.0, np.nan])
    change = np.array([2.0, 20.0, 40.0, 2.0])
    assert starved(coarsest, change).tolist() == [False, True, False, False]
