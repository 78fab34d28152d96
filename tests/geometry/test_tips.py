"""The gap between two strokes ends where it should, however sharp it is."""

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.curves import point_at
from bladewise.geometry.parallels import parallel
from bladewise.geometry.path import PathBuilder, circle
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import StrokeGeometry, stroke_to_shape
from bladewise.geometry.tips import sharpened

REACH = 0.5


def sliver(height):
    """A line, and over it a curve that meets both its ends at a small angle."""
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((20, -height), (45, -1.6 * height), (60, 0))
    pen.close()
    return pen.path()


def off(path, place):
    """Distance of a place from the curve of a sliver, from 200,000 places of it."""
    t = np.linspace(0.0, 1.0, 200_001)
    rows = np.zeros(len(t), int)
    curve = point_at(path.points[rows], path.kinds[rows], path.weights[rows], t)
    return np.hypot(*(curve - place).T).min()


def tips(path):
    """The ends, left and right, of the lowest hole or outline."""
    places = path.points[:, 0]
    return places[places[:, 0].argmin()], places[places[:, 0].argmax()]


@pytest.mark.parametrize("height", [2.5, 6.0, 15.0])
def test_the_hole_in_a_thin_stroked_shape_ends_as_far_from_line_as_from_curve(height):
    path = sliver(height)
    shape = stroke_to_shape(path, StrokeGeometry(2.0 * REACH))
    hole = list(shape.subpaths())[1]
    for place in tips(hole):
        assert place[1] == pytest.approx(-REACH, abs=1e-6)
        assert off(path, place) == pytest.approx(REACH, abs=1e-6)


@pytest.mark.parametrize("height", [2.5, 6.0, 15.0])
def test_a_thin_shape_cut_smaller_ends_as_far_from_line_as_from_curve(height):
    path = sliver(height)
    for place in tips(parallel(Region(path), -REACH)):
        assert place[1] == pytest.approx(-REACH, abs=1e-6)
        assert off(path, place) == pytest.approx(REACH, abs=1e-6)


def test_it_holds_under_an_uneven_pen():
    path, pen = sliver(6.0), Affine(1.0, 0.3, 0.0, -2.0, 5.0, 3.0)
    whole = stroke_to_shape(path.transformed(pen), StrokeGeometry(2.0 * REACH, pen=pen)).transformed(pen.inverse())
    hole = min(whole.subpaths(), key=lambda ring: np.ptp(ring.points[:, :, 0]))
    for place in tips(hole):
        assert place[1] == pytest.approx(-REACH, abs=1e-6)
        assert off(path, place) == pytest.approx(REACH, abs=1e-6)


def test_what_has_no_sharp_tip_keeps_every_bit():
    ring = stroke_to_shape(circle((0, 0), 10), StrokeGeometry(1.0))
    assert sharpened(ring, circle((0, 0), 10), 0.5, 0.002) == ring
