"""Fits against what theory promises."""

import math

import numpy as np
import pytest
from fontTools.cu2qu import curve_to_quadratic
from fontTools.qu2cu import quadratic_to_curves

from bladewise.geometry.conics import ellipse_through
from bladewise.geometry.fitting import fit_polyline, refit
from bladewise.geometry.handles import Stretches, fit_arcs, fit_cubics
from bladewise.geometry.measures import area, length, nearest_each
from bladewise.geometry.path import Path, PathBuilder, SegmentKind, circle, polygon
from bladewise.geometry.rounding import round_corners


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


def test_an_ellipse_through_its_own_points_has_its_axes():
    """P. L. Rosin, "A note on the least squares fitting of ellipses", 1993: exact on exact data."""
    angle = np.linspace(0.2, 2.9, 40)
    tilt = math.radians(25.0)
    flat = np.stack([7.0 * np.cos(angle), 3.0 * np.sin(angle)], axis=1)
    turn = np.array([[math.cos(tilt), math.sin(tilt)], [-math.sin(tilt), math.cos(tilt)]])
    found = ellipse_through(flat @ turn + (100.0, -40.0))
    assert found is not None
    np.testing.assert_allclose(found.centre, [100.0, -40.0], atol=1e-9)
    np.testing.assert_allclose(np.hypot(*found.axes.T), [7.0, 3.0], rtol=1e-9)


def test_points_of_a_hyperbola_or_a_line_are_no_ellipse():
    t = np.linspace(-1.0, 1.0, 30)
    assert ellipse_through(np.stack([2.0 * np.cosh(t), np.sinh(t)], axis=1)) is None
    assert ellipse_through(np.stack([t, 2.0 * t], axis=1)) is None


def test_a_fitted_ellipse_has_the_ellipse_s_length():
    """S. Ramanujan 1914, π(a + b)(1 + 3h/(10 + √(4 − 3h))), h = ((a − b)/(a + b))²; off by some h⁵/2¹⁷ of it."""
    angle = 2.0 * math.pi * np.arange(150) / 150
    ring = fit_polyline(np.stack([12.0 * np.cos(angle), 8.0 * np.sin(angle)], axis=1), 0.01, closed=True)
    h = (4.0 / 20.0) ** 2
    assert length(ring) == pytest.approx(math.pi * 20.0 * (1.0 + 3.0 * h / (10.0 + math.sqrt(4.0 - 3.0 * h))), rel=1e-9)


def test_quadratics_made_of_cubics_come_back_as_no_more_cubics_than_font_tools_finds():
    """fontTools (cu2qu, qu2cu; MIT): a cubic made quadratics within 0.01 mm, made cubics again within 0.02 mm."""
    chance = np.random.default_rng(3)
    ours = theirs = 0
    for _ in range(12):
        cubic = [
            (0.0, 0.0),
            tuple(chance.uniform((5, -20), (25, 20))),
            tuple(chance.uniform((15, -20), (35, 20))),
            (40.0, 0.0),
        ]
        spline = curve_to_quadratic(cubic, 0.01)
        theirs += len(quadratic_to_curves([spline], 0.02, True))
        pen = PathBuilder()
        pen.move_to(spline[0])
        off = spline[1:-1]
        for this, following in zip(off, [*off[1:], None], strict=True):
            end = spline[-1] if following is None else ((this[0] + following[0]) / 2, (this[1] + following[1]) / 2)
            pen.quadratic_to(this, end)
        new = refit(pen.path(), 0.02)
        ours += len(new)
        assert nearest_each(new, pen.path().points[:, 0]).distances_mm.max() <= 0.02
    assert ours <= theirs


@pytest.mark.parametrize("sides", [3, 5, 8])
def test_a_rounded_polygon_has_the_area_and_length_of_its_parallel_s_parallel(sides):
    """J. Steiner 1840: a polygon with corners rounded by r is the parallel at r of the one r smaller.

    Area A' + P'·r + π·r², length P' + 2π·r, with A' and P' of the inner polygon.
    """
    angles = 2.0 * math.pi * np.arange(sides) / sides
    radius, inradius = 1.5, 20.0 * math.cos(math.pi / sides)
    path = round_corners(polygon([(20.0 * math.cos(a), 20.0 * math.sin(a)) for a in angles]), radius).path
    inner = 20.0 * (inradius - radius) / inradius
    side = 2.0 * inner * math.sin(math.pi / sides)
    inner_area = 0.5 * sides * inner**2 * math.sin(2.0 * math.pi / sides)
    assert area(path) == pytest.approx(inner_area + sides * side * radius + math.pi * radius**2, rel=1e-12)
    assert length(path) == pytest.approx(sides * side + 2.0 * math.pi * radius, rel=1e-12)


def test_an_arc_between_a_line_and_a_circle_is_where_geometry_puts_it():
    """Its centre is r above the line and R + r from the circle's centre (Apollonius; any handbook of geometry)."""
    pen = PathBuilder()
    pen.move_to((-30.0, 0.0))
    pen.line_to((-10.0, 0.0))
    pen.svg_arc_to(10.0, 10.0, 0.0, large=False, sweep=True, point=(10.0, 0.0))
    path = round_corners(pen.path(), 2.0).path
    arc = path.points[path.kinds == SegmentKind.ARC][0]
    assert arc[0, 1] == 0.0
    centre = np.array([arc[0, 0], -2.0])
    assert np.hypot(*centre) == pytest.approx(12.0, abs=1e-12)
    assert nearest_each(circle((0.0, 0.0), 10.0), arc[3][None]).distances_mm[0] < 1e-12
