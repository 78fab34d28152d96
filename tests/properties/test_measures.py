"""Laws that hold for any curve whatever."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bladewise.geometry.affine import Affine
from bladewise.geometry.bernstein import derivatives, points_on, rational_cubics
from bladewise.geometry.booleans import resolve
from bladewise.geometry.curves import sub_segments
from bladewise.geometry.measures import (
    area,
    centroid,
    contains,
    least_distance,
    length,
    meetings,
    narrow_gaps,
    narrow_widths,
    nearest_each,
    point_at_length,
    winding_numbers,
)
from bladewise.geometry.path import Path, PathBuilder
from bladewise.geometry.regions import FillRule, Region

coordinate = st.integers(-200, 200).map(lambda n: n / 4.0)
point = st.tuples(coordinate, coordinate)


@st.composite
def closed_paths(draw):
    """Rings of any kinds of segments, crossing themselves as they like."""
    pen = PathBuilder()
    pen.move_to(draw(point))
    for _ in range(draw(st.integers(2, 6))):
        match draw(st.integers(0, 3)):
            case 0:
                pen.line_to(draw(point))
            case 1:
                pen.quadratic_to(draw(point), draw(point))
            case 2:
                pen.cubic_to(draw(point), draw(point), draw(point))
            case _:
                pen.arc_to(draw(point), draw(point), math.cos(math.radians(draw(st.integers(1, 45)))))
    pen.close()
    return pen.path()


def cut_everywhere(path, t):
    """Return the path with every segment cut in two at t."""
    at = np.full(len(path), t)
    first, first_weights = sub_segments(path.points, path.kinds, path.weights, np.zeros(len(path)), at)
    second, second_weights = sub_segments(path.points, path.kinds, path.weights, at, np.ones(len(path)))
    return Path(
        np.stack([first, second], axis=1).reshape(-1, 4, 2),
        np.repeat(path.kinds, 2),
        np.stack([first_weights, second_weights], axis=1).ravel(),
        path.starts * 2,
        path.closed,
    )


share = st.floats(0.05, 0.95)


@given(closed_paths(), share)
def test_cutting_segments_in_two_changes_neither_area_nor_length(path, t):
    pieces = cut_everywhere(path, t)
    assert area(pieces) == pytest.approx(area(path), rel=1e-9, abs=1e-9)
    assert length(pieces) == pytest.approx(length(path), rel=1e-9, abs=1e-12)


@given(closed_paths(), st.tuples(*[st.floats(-3.0, 3.0)] * 4))
def test_a_transform_scales_the_area_by_its_determinant(path, numbers):
    affine = Affine(*numbers, 5.0, -7.0)
    assert area(path.transformed(affine)) == pytest.approx(area(path) * affine.determinant, abs=1e-8)


@given(closed_paths(), st.tuples(*[st.floats(-3.0, 3.0)] * 4))
def test_the_centroid_goes_where_the_shape_goes(path, numbers):
    affine = Affine(*numbers, 5.0, -7.0)
    assume(abs(area(path)) > 1.0)
    assume(abs(affine.determinant) > 0.1)
    moved = centroid(path.transformed(affine))
    np.testing.assert_allclose(moved, affine.apply(np.array(centroid(path))), atol=1e-6)


@given(closed_paths())
def test_running_backwards_turns_the_area_and_keeps_the_length(path):
    assert area(path.reversed()) == pytest.approx(-area(path), abs=1e-9)
    assert length(path.reversed()) == pytest.approx(length(path), rel=1e-9)


@given(closed_paths(), st.lists(point, min_size=1, max_size=5))
def test_no_sample_of_the_curve_is_nearer_than_the_nearest_place(path, points):
    found = nearest_each(path, points)
    dense = points_on(rational_cubics(path), np.linspace(0.0, 1.0, 400)).reshape(-1, 2)
    sampled = np.hypot(*(np.array(points)[:, None] - dense).transpose(2, 0, 1)).min(axis=1)
    assert (found.distances_mm <= sampled + 1e-11).all()
    control = rational_cubics(path)[found.segments]
    np.testing.assert_allclose(points_on(control, found.parameters[:, None])[:, 0], found.points, atol=1e-10)
    np.testing.assert_allclose(np.hypot(*(found.points - points).T), found.distances_mm, atol=1e-10)


@given(closed_paths(), closed_paths())
def test_no_pair_of_samples_is_nearer_than_the_least_distance(first, second):
    gap = least_distance(first, second.transformed(Affine.moved(70.0, 30.0)))
    t = np.linspace(0.0, 1.0, 60)
    dense = points_on(rational_cubics(first), t).reshape(-1, 2)
    other = points_on(rational_cubics(second), t).reshape(-1, 2) + np.array([70.0, 30.0])
    sampled = np.hypot(*(dense[:, None] - other).transpose(2, 0, 1)).min()
    assert gap.distance_mm <= sampled + 1e-7
    assert math.dist(gap.first.point, gap.second.point) == pytest.approx(gap.distance_mm, abs=1e-9)


@given(closed_paths(), st.floats(0.0, 1.0))
def test_the_way_to_a_place_has_the_length_asked_for(path, part):
    whole = length(path)
    assume(whole > 0.1)
    places = point_at_length(path, part * whole)
    segment, t = int(places.segments[0]), float(places.parameters[0])
    rows = slice(0, segment + 1)
    points, weights = path.points[rows].copy(), path.weights[rows].copy()
    last, last_weight = sub_segments(
        points[-1:], path.kinds[segment : segment + 1], weights[-1:], np.zeros(1), np.array([t])
    )
    points[-1], weights[-1] = last[0], last_weight[0]
    way = Path(points, path.kinds[rows], weights, path.starts, np.zeros(1, np.bool_))
    assert length(way) == pytest.approx(part * whole, abs=1e-7 * whole)


@given(closed_paths(), st.lists(point, min_size=1, max_size=5))
def test_winding_is_the_angle_swept_by_the_curve(path, points):
    """Against the definition: the change of angle seen from the point, over a full turn."""
    at = np.array(points) + np.array([0.1234, 0.0567])
    assume((nearest_each(path, at).distances_mm > 0.05).all())
    dense = points_on(rational_cubics(path), np.linspace(0.0, 1.0, 4001)).reshape(-1, 2)
    ways = dense[None] - at[:, None]
    angle = np.unwrap(np.arctan2(ways[..., 1], ways[..., 0]), axis=1)
    expected = np.rint((angle[:, -1] - angle[:, 0]) / (2.0 * math.pi)).astype(int)
    np.testing.assert_array_equal(winding_numbers(path, at), expected)
    np.testing.assert_array_equal(contains(Region(path, FillRule.EVEN_ODD), at), expected % 2 != 0)


@st.composite
def blobs(draw):
    """Smooth rings of cubics around a centre, of unruly width."""
    count = draw(st.integers(3, 8))
    radii = [draw(st.integers(4, 40)) / 4.0 for _ in range(count)]
    angles = [2.0 * math.pi * k / count for k in range(count)]
    nodes = np.array([(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)])
    handles = (np.roll(nodes, -1, axis=0) - np.roll(nodes, 1, axis=0)) / draw(st.integers(3, 8))
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for k in range(count):
        after = (k + 1) % count
        pen.cubic_to(tuple(nodes[k] + handles[k]), tuple(nodes[after] - handles[after]), tuple(nodes[after]))
    pen.close()
    return resolve(Region(pen.path()))


@settings(max_examples=25)
@given(blobs(), st.floats(0.0, 360.0), st.floats(0.1, 30.0))
def test_a_width_turns_moves_and_grows_with_its_shape(path, turn_deg, scale):
    affine = Affine.moved(123.0, -45.0).after(Affine.rotated(turn_deg)).after(Affine.scaled(scale, scale))
    found, again = narrow_widths(path, 3.0), narrow_widths(path.transformed(affine), 3.0 * scale)
    assume(all(abs(one.width_mm - 3.0) > 1e-3 for one in found))
    assert abs(len(found) - len(again)) <= 1
    fewer, more = sorted(([scale * one.width_mm for one in found], [one.width_mm for one in again]), key=len)
    assert all(min(abs(width - other) for other in more) <= 0.01 * width for width in fewer)


@settings(max_examples=25)
@given(blobs())
def test_what_is_a_width_inside_is_a_gap_of_the_shape_run_backwards(path):
    widths, gaps = narrow_widths(path, 3.0), narrow_gaps(path.reversed(), 3.0)
    # where the sides close by just six degrees a place may be told one way round only, or a little farther in
    assert abs(len(widths) - len(gaps)) <= 1
    fewer, more = sorted(([one.width_mm for one in widths], [one.width_mm for one in gaps]), key=len)
    assert all(min(abs(width - other) for other in more) <= 0.01 * width for width in fewer)


@settings(max_examples=25)
@given(blobs())
def test_the_circle_over_a_width_lies_inside_and_no_outline_runs_through_it(path):
    for found in narrow_widths(path, 4.0):
        assert contains(Region(path), found.place).all()
        assert nearest_each(path, found.place).distances_mm[0] >= found.width_mm * 0.497
        assert math.dist(found.first.point, found.second.point) == pytest.approx(found.width_mm, abs=1e-9)
        for foot in (found.first, found.second):
            on_curve = points_on(rational_cubics(path)[[foot.segment]], np.array([foot.t]))[0, 0]
            np.testing.assert_allclose(on_curve, foot.point, atol=1e-9)


@settings(max_examples=15)
@given(blobs(), st.sampled_from([1.0, -1.0]))
def test_no_circle_that_shrinks_to_fit_is_a_narrower_place(path, side):
    """Medial axis by shrinking balls (J. Ma, S. W. Bae and S. Choi 2012) on dense samples of the outline."""
    width_mm, askew, centre = shrunk_balls(path, side)
    found = narrow_widths(path, 3.0) if side > 0.0 else narrow_gaps(path, 3.0)
    # only balls that touch all but opposite places, and are at a neck: no ball beside them is smaller
    neck = (askew < math.radians(0.5)) & (width_mm < 2.5)
    for wide, place in zip(width_mm[neck], centre[neck], strict=True):
        beside = np.hypot(*(centre - place).T) < 0.15 * wide + 0.05
        if width_mm[beside].min() < wide * (1.0 - 1e-4) or beside.sum() < 20:
            continue
        assert min((one.width_mm for one in found), default=math.inf) <= wide * 1.01


def shrunk_balls(path, side, per_segment=400):
    t = (np.arange(per_segment) + 0.5) / per_segment
    points, velocity, _ = derivatives(rational_cubics(path), t)
    points, velocity = points.reshape(-1, 2), velocity.reshape(-1, 2)
    points, velocity = (array[np.hypot(*velocity.T) > 1e-9] for array in (points, velocity))
    normal = side * np.stack([-velocity[:, 1], velocity[:, 0]], axis=1) / np.hypot(*velocity.T)[:, None]
    tree = shapely.STRtree(shapely.points(points))
    radius, foot = np.full(len(points), 50.0), np.full(len(points), -1)
    active = np.arange(len(points))
    for _ in range(50):
        centre = points[active] + normal[active] * radius[active, None]
        index = tree.query_nearest(shapely.points(centre), all_matches=False)[1]
        way = points[index] - points[active]
        ahead = 2.0 * (way * normal[active]).sum(axis=1)
        smaller = (np.hypot(*(points[index] - centre).T) < radius[active] * (1.0 - 1e-9)) & (ahead > 0.0)
        active, index, way, ahead = active[smaller], index[smaller], way[smaller], ahead[smaller]
        if not len(active):
            break
        radius[active], foot[active] = (way * way).sum(axis=1) / ahead, index
    some = foot >= 0
    centre = (points + normal * radius[:, None])[some]
    one, other = points[some] - centre, points[foot[some]] - centre
    angle = np.arctan2(np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]), (one * other).sum(axis=1))
    return 2.0 * radius[some], math.pi - angle, centre


@settings(max_examples=25)
@given(closed_paths(), closed_paths())
def test_every_meeting_lies_on_both_paths_and_no_crossing_of_samples_is_missed(first, second):
    found = meetings(first, second)
    ours = points_on(rational_cubics(first)[found.first_segments], found.first_parameters[:, None])[:, 0]
    theirs = points_on(rational_cubics(second)[found.second_segments], found.second_parameters[:, None])[:, 0]
    np.testing.assert_allclose(ours, found.points, atol=1e-7)
    np.testing.assert_allclose(theirs, found.points, atol=1e-7)
    assume(not len(found.shared))
    t = np.linspace(0.0, 1.0, 300)
    lines = [shapely.LineString(points_on(rational_cubics(path), t).reshape(-1, 2)) for path in (first, second)]
    sampled = shapely.get_coordinates(shapely.intersection(*lines))
    if len(sampled):
        assert len(found.points)
        apart = np.hypot(*(sampled[:, None] - found.points[None]).transpose(2, 0, 1)).min(axis=1)
        # where both run side by side the samples' chords cross some way off, or not at all
        assert np.median(apart) < 0.05
        assert len(found.points) >= np.count_nonzero(apart < 1e-3) / 2


@settings(max_examples=25)
@given(closed_paths(), closed_paths())
def test_meetings_are_the_same_whichever_path_is_asked_and_whichever_way_it_runs(first, second):
    one, other, back = meetings(first, second), meetings(second, first), meetings(first.reversed(), second)
    assume(not one.touching.any() and not len(one.shared))
    for again in (other, back):
        assert len(again.points) == len(one.points)
        order, ours = np.lexsort(again.points.round(5).T), np.lexsort(one.points.round(5).T)
        np.testing.assert_allclose(again.points[order], one.points[ours], atol=1e-6)
