"""Laws that hold for any polyline whatever."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.fitting import fit_polyline, refit
from bladewise.geometry.measures import nearest_each
from bladewise.geometry.path import PathBuilder

coordinate = st.integers(-80, 80).map(lambda n: n / 4.0)
polylines = st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=30)
tolerances = st.sampled_from([0.01, 0.1, 0.5, 2.0])


@settings(max_examples=40)
@given(polylines, tolerances, st.booleans())
def test_the_result_lies_within_the_tolerance_both_ways_and_has_no_more_segments(points, tolerance_mm, closed):
    path = fit_polyline(points, tolerance_mm, closed=closed)
    ring = [*points, points[0]] if closed else points
    assert nearest_each(path, points).distances_mm.max() <= tolerance_mm * (1.0 + 1e-6)
    dense = points_on(rational_cubics(path), np.linspace(0.0, 1.0, 40)).reshape(-1, 2)
    strayed = shapely.distance(shapely.linestrings(ring), shapely.points(dense)).max()
    assert strayed <= tolerance_mm * 1.02
    assert len(path) <= len(ring)


@settings(max_examples=40)
@given(polylines, tolerances, st.booleans())
def test_segments_join_to_the_last_bit_and_rings_close(points, tolerance_mm, closed):
    path = fit_polyline(points, tolerance_mm, closed=closed)
    np.testing.assert_array_equal(path.points[1:, 0], path.points[:-1, 3])
    assert path.closed.tolist() == [closed]
    if closed:
        np.testing.assert_array_equal(path.points[-1, 3], path.points[0, 0])


@settings(max_examples=15)
@given(st.lists(st.tuples(*[coordinate] * 6), min_size=1, max_size=5), st.sampled_from([0.01, 0.1]), st.booleans())
def test_refitting_never_strays_and_never_adds(controls, tolerance_mm, closed):
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    for a, b, c, d, e, f in controls:
        pen.cubic_to((a, b), (c, d), (e, f))
    if closed:
        pen.close()
    path = pen.path()
    new = refit(path, tolerance_mm)
    assert len(new) <= len(path)
    t = np.linspace(0.0, 1.0, 30)
    there = nearest_each(new, points_on(rational_cubics(path), t).reshape(-1, 2)).distances_mm.max()
    back = nearest_each(path, points_on(rational_cubics(new), t).reshape(-1, 2)).distances_mm.max()
    assert max(there, back) <= tolerance_mm * 1.1
    assert refit(new, tolerance_mm) == new or len(refit(new, tolerance_mm)) < len(new)


def test_the_same_points_give_the_same_path():
    points = np.random.default_rng(4).normal(size=(60, 2)).cumsum(axis=0)
    assert fit_polyline(points, 0.3) == fit_polyline(points, 0.3)
    with pytest.raises(ValueError, match="above"):
        fit_polyline(points, 0.0)
