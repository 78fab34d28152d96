"""Shared stretches: the search for them ends whatever the curves."""

import numpy as np
import pytest

from bladewise.geometry.crossings import Curves
from bladewise.geometry.path import rectangle
from bladewise.geometry.weave import _share


@pytest.mark.timeout(20)
def test_a_curve_whose_points_are_not_found_again_on_it_does_not_hold_up_the_search():
    path = rectangle(0.0, 0.0, 10.0, 5.0)
    points, kinds, weights = path.points.copy(), path.kinds.copy(), path.weights.copy()
    count = len(path)
    start, end = np.arange(count), (np.arange(count) + 1) % count
    parent = np.arange(count)
    nothing_is_near = -1.0
    _share(
        Curves(points, kinds, weights),
        start,
        end,
        np.ones(count, np.bool_),
        parent,
        np.zeros(count),
        np.ones(count),
        nothing_is_near,
    )
    assert np.array_equal(points, path.points)
    assert np.array_equal(parent, np.arange(count))
