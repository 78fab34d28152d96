"""Fits against what theory promises."""

import math

import numpy as np
import pytest

from bladewise.geometry.fitting import fit_polyline
from bladewise.geometry.handles import Stretches, fit_arcs, fit_cubics
from bladewise.geometry.measures import area, nearest_each
from bladewise.geometry.path import Path, PathBuilder, SegmentKind


def stretch(points, first, last, allowed_mm=1.0):
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    return Stretches(
        points[None], along[None], np.full((1, len(points)), allowed_mm), np.array([first]), np.array([last])
    )


def quarter_turn(count):
    angle = np.linspace(0.0, math.pi / 2.0, count)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def test_the_best_cubic_for_a_quarter_circle_is_better_than_the_interpolating_one():
    """κ = 0.5522847 touches the circle in the middle and is 2.725e-4 off; least squares may stray both ways.

    T. Goldapp, "Approximation of circular arcs by cubic polynomials", 1991, gives 1.96e-4 as the least
    possible with both ends on the circle (κ = 0.5519150; from memory).
    """
    control, strain = fit_cubics(stretch(quarter_turn(101), (0.0, 1.0), (-1.0, 0.0)))
    assert 1.95e-4 < strain[0] < 2.725e-4
    assert control[0, 1, 1] == pytest.approx(0.5519, abs=3e-4)


def test_a_cubic_s_own_points_give_the_cubic_back():
    """Least squares on exact data has the exact answer (P. J. Schneider 1990: two handle lengths)."""
    t = np.linspace(0.0, 1.0, 60)[:, None]
    a, b, c, d = np.array([[0.0, 0.0], [10.0, 0.0], [25.0, 10.0], [30.0, 25.0]])
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    last = (d - c) / np.hypot(*(d - c))
    control, strain = fit_cubics(stretch(points, (1.0, 0.0), last))
    np.testing.assert_allclose(control[0], [a, b, c, d], atol=1e-3)
    assert strain[0] < 1e-5


def test_an_arc_s_own_points_give_the_arc_back():
    """I. Kåsa, "A circle fitting procedure and its error analysis", 1976: exact on exact data."""
    angle = np.linspace(0.3, 4.3, 50)
    points = np.stack([7.0 + 5.0 * np.cos(angle), 2.0 - 5.0 * np.sin(angle)], axis=1)
    arcs = fit_arcs(stretch(points, (1.0, 0.0), (1.0, 0.0)))
    np.testing.assert_allclose(arcs.centres, [[7.0, 2.0]], atol=1e-12)
    np.testing.assert_allclose(arcs.sweeps, [-4.0], atol=1e-12)
    assert arcs.strain[0] < 1e-12


def test_halving_the_tolerance_a_sixty_fourth_takes_twice_the_pieces():
    """A cubic with tangents given follows a smooth curve to the sixth order (C. de Boor, K. Höllig, M. Sabin 1987)."""
    s = np.linspace(0.0, 2.0 * math.pi, 700)
    source = np.stack([s * 5.0, 10.0 * np.sin(s)], axis=1)
    few, many = (len(fit_polyline(source, tolerance)) for tolerance in (0.064, 0.001))
    assert 1.4 <= many / few <= 2.6


def test_a_circle_fitted_from_chords_has_the_circle_s_area():
    pen = PathBuilder()
    pen.move_to((5.0, 0.0))
    angle = 2.0 * math.pi * np.arange(1, 200) / 200
    for x, y in 5.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1):
        pen.line_to((x, y))
    pen.close()
    ring: Path = fit_polyline(pen.path().points[:, 0], 0.005, closed=True)
    assert (ring.kinds == SegmentKind.ARC).all()
    assert area(ring) == pytest.approx(25.0 * math.pi, rel=1e-12)
    assert nearest_each(ring, pen.path().points[:, 0]).distances_mm.max() < 1e-12
