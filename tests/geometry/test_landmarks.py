"""Places the hand can hit exactly. Expected values are worked out by hand; where a theorem is used it is named."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.landmarks import (
    Neighbourhood,
    arc_centres,
    crossings_near,
    feet,
    middles,
    segments_of,
    square_places,
    tangent_places,
)
from bladewise.geometry.path import EMPTY, PathBuilder, circle, ellipse, joined, polygon, rectangle


def curve(*points):
    pen = PathBuilder()
    pen.move_to(points[0])
    pen.cubic_to(*points[1:])
    return pen.path()


def test_the_segments_near_a_place_are_found_and_no_near_one_is_missed():
    points = [(index % 40 * 1.0, index // 40 * 1.0 + 0.3 * math.sin(index)) for index in range(1000)]
    path = polygon(points)
    hood = Neighbourhood(path)
    for place in ((0.0, 0.0), (20.2, 10.1), (39.0, 24.9), (200.0, 5.0)):
        near = set(hood.near(place, 0.7).tolist())
        _, away, _ = feet(path, place)
        assert set(np.flatnonzero(away <= 0.7).tolist()) <= near
    assert len(hood.near((20.2, 10.1), 0.7)) < 50
    assert not len(Neighbourhood(EMPTY).near((0.0, 0.0), 1.0))


def test_middles_are_halfway_by_length_not_by_parameter():
    path = joined([polygon([(0, 0), (10, 0)], closed=False), circle((0, 0), 10), curve((0, 0), (0, 0), (0, 0), (9, 0))])
    places = middles(path)
    assert places[0].tolist() == [5.0, 0.0]
    assert places[1] == pytest.approx([10 * math.sqrt(0.5), 10 * math.sqrt(0.5)], abs=1e-6)
    assert places[5] == pytest.approx([4.5, 0.0], abs=1e-6)  # its parameter 1/2 lies at 1.125


def test_the_centre_of_an_ellipse_that_was_turned_is_found_from_its_arcs():
    path = ellipse((30, 20), 15, 5).transformed(Affine.rotated(33.0, about=(30, 20)))
    assert arc_centres(path) == pytest.approx(np.broadcast_to([30.0, 20.0], (4, 2)), abs=1e-9)
    assert np.isnan(arc_centres(rectangle(0, 0, 1, 1))).all()


def test_two_circles_cross_where_pythagoras_says():
    path = joined([circle((0, 0), 10), circle((12, 0), 10)])
    found, which = crossings_near(path, (6.3, 7.6), 1.0)
    assert which.tolist() == [[0, 5]]
    assert len(found) == 1
    assert found[0] == pytest.approx([6.0, 8.0], abs=1e-9)
    assert not len(crossings_near(path, (0.0, 10.0), 1.0)[0])


def test_a_joint_of_two_segments_is_no_crossing():
    assert not len(crossings_near(rectangle(0, 0, 10, 10), (10.0, 10.0), 1.0)[0])
    assert not len(crossings_near(segments_of(rectangle(0, 0, 1, 1), np.array([0])), (0.0, 0.0), 1.0)[0])


def test_a_tangent_from_a_point_touches_a_circle_at_thales_place():
    path = circle((0, 0), 6)
    found = tangent_places(path, (10.0, 0.0), (3.5, 4.9))
    touch = found[~np.isnan(found[:, 0])]
    assert any(np.allclose(each, [3.6, 4.8], atol=1e-9) for each in touch)
    assert np.isnan(tangent_places(rectangle(0, 0, 10, 10), (20.0, 0.0), (10.0, 5.0))).all()


def test_a_line_meets_an_edge_at_a_right_angle():
    path = polygon([(0, 0), (10, 10)], closed=False)
    assert square_places(path, (10.0, 0.0), (4.0, 5.0))[0] == pytest.approx([5.0, 5.0], abs=1e-9)
    round_ = square_places(circle((0, 0), 5), (9.0, 12.0), (3.1, 4.1))
    assert any(np.allclose(each, [3.0, 4.0], atol=1e-9) for each in round_)
