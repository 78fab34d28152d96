"""Laws that hold for any polyline whatever."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.fitting import fit_polyline, refit
from bladewise.geometry.measures import area, nearest_each, tangent_at
from bladewise.geometry.path import PathBuilder, SegmentKind, polygon
from bladewise.geometry.rounding import round_corners
from bladewise.geometry.smoothing import smooth

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


@settings(max_examples=40)
@given(polylines, st.sampled_from([0.1, 1.0, 5.0]), st.booleans())
def test_rounded_corners_touch_and_what_is_left_lies_on_what_was_there(points, radius_mm, closed):
    path = polygon(points, closed=closed)
    rounding = round_corners(path, radius_mm)
    new = rounding.path
    assert all(0.0 <= corner.radius_mm <= radius_mm for corner in rounding.corners)
    np.testing.assert_array_equal(new.points[1:, 0], new.points[:-1, 3])
    if closed:
        np.testing.assert_array_equal(new.points[-1, 3], new.points[0, 0])
    else:
        np.testing.assert_array_equal(new.points[[0, -1], [0, 3]], path.points[[0, -1], [0, 3]])
    assert new.closed.tolist() == path.closed.tolist()
    lines = new.kinds == SegmentKind.LINE
    if lines.any():
        away = shapely.distance(shapely.linestrings([*points, points[0]]), shapely.points(new.points[lines][:, [0, 3]]))
        assert away.max() < 1e-9
    index = np.arange(len(new))
    after = np.roll(index, -1)
    a, b = tangent_at(new, index, np.ones(len(new))), tangent_at(new, after, np.zeros(len(new)))
    turn = np.abs(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))
    beside = (new.kinds == SegmentKind.ARC) | (new.kinds[after] == SegmentKind.ARC)
    if not closed:
        beside[-1] = False
    # a corner too flat to be one, or one that no arc fits, may be all that is left beside an arc
    old_node = np.hypot(*(new.points[:, None, 3] - np.array(points)[None]).transpose(2, 0, 1)).min(axis=1) < 1e-6
    gone = np.ptp(new.points, axis=1).max(axis=1) < 1e-6  # a line of no length to speak of has no direction
    beside &= ~(old_node | gone | gone[after])
    assert turn[beside].max(initial=0.0) < 1e-5


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.sampled_from([0.3, 0.8, 2.0]))
def test_smoothing_keeps_near_and_keeps_the_area(seed, amount_mm):
    chance = np.random.default_rng(seed)
    angle = np.linspace(0.0, 2.0 * np.pi, 300, endpoint=False)
    reach = 30.0 + 6.0 * np.sin(3.0 * angle + seed) + chance.normal(size=300) * amount_mm / 6.0
    drawn = polygon(map(tuple, (reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)).tolist()))
    new = smooth(drawn, amount_mm)
    assert len(new) < len(drawn) / 4
    assert nearest_each(new, drawn.points[:, 0]).distances_mm.max() <= amount_mm * 1.1
    assert area(new) == pytest.approx(area(drawn), rel=0.01)
