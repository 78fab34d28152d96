"""Lengths and areas against closed forms from handbooks and papers."""

import math

import numpy as np
import pytest

from bladewise.geometry.booleans import cut_out, keep_common
from bladewise.geometry.measures import (
    area,
    centroid,
    curvature_at,
    length,
    meetings,
    narrow_gaps,
    narrowest_gap,
    narrowest_width,
    nearest_each,
    perimeter,
    point_at_length,
)
from bladewise.geometry.path import PathBuilder, circle, ellipse, joined
from bladewise.geometry.regions import Region


def ellipse_perimeter(a, b):
    """Arithmetic-geometric mean (Gauss; Abramowitz and Stegun 17.6: E(k) from the scale of the mean)."""
    x, y, total, factor = a, b, (a * a + b * b) / 2.0, 0.5
    while abs(x - y) > 1e-15 * a:
        c = (x - y) / 2.0
        x, y = (x + y) / 2.0, math.sqrt(x * y)
        factor *= 2.0
        total -= factor * c * c
    return 2.0 * math.pi * total / x


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (50.0, 20.0), (100.0, 1.0), (300.0, 0.05)])
def test_an_ellipse_has_gauss_s_perimeter_and_area_pi_a_b(a, b):
    path = ellipse((3.0, -7.0), a, b)
    assert length(path) == pytest.approx(ellipse_perimeter(a, b), rel=1e-10)
    assert area(path) == pytest.approx(math.pi * a * b, rel=1e-13)
    # at the ends of the axes the curvature is a/b² and b/a² (any handbook)
    np.testing.assert_allclose(curvature_at(path, [0, 1], [0.0, 0.0]), [a / b**2, b / a**2], rtol=1e-10)


def test_the_perimeter_series_itself_gives_a_known_value():
    # complete elliptic integral E(m = 0.75) = 1.2110560275684595 (Abramowitz and Stegun, table 17.1)
    assert ellipse_perimeter(2.0, 1.0) == pytest.approx(8.0 * 1.2110560275684595, rel=1e-14)


def test_the_parabola_of_the_reference_list():
    """Parabola y = x² from (0, 0) to (1, 1): length √5/2 + asinh(2)/4, area under it 1/3 (Archimedes)."""
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.quadratic_to((0.5, 0.0), (1.0, 1.0))
    curve = pen.path()
    assert length(curve) == pytest.approx(1.4789428575, abs=1e-10)
    assert length(curve) == pytest.approx(math.sqrt(5.0) / 2.0 + math.asinh(2.0) / 4.0, rel=1e-13)
    pen.line_to((1.0, 0.0))
    pen.close()
    assert abs(area(pen.path())) == pytest.approx(1.0 / 3.0, rel=1e-15)


def test_the_centroid_of_a_half_disc_is_four_thirds_r_over_pi_away():
    pen = PathBuilder()
    pen.move_to((6.0, 0.0))
    pen.svg_arc_to(6.0, 6.0, 0.0, large=False, sweep=True, point=(-6.0, 0.0))
    pen.close()
    assert centroid(pen.path()) == pytest.approx((0.0, 24.0 / (3.0 * math.pi)), abs=1e-13)


def test_the_centroid_of_a_parabola_s_segment_is_two_fifths_up():
    """Archimedes, On the Equilibrium of Planes II: three fifths of the axis from the vertex."""
    pen = PathBuilder()
    pen.move_to((-1.0, 0.0))
    pen.cubic_to((-1 / 3, 4 / 3), (1 / 3, 4 / 3), (1.0, 0.0))
    pen.close()
    assert centroid(pen.path()) == pytest.approx((0.0, 0.4), abs=1e-14)


def test_the_cubic_quarter_circle_is_off_by_the_published_error():
    """κ = 0.5522847498: largest radial error 2.725e-4 r (T. Goldapp 1991; M. Dokken and others 1990; from memory)."""
    k = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)
    pen = PathBuilder()
    pen.move_to((1.0, 0.0))
    pen.cubic_to((1.0, k), (k, 1.0), (0.0, 1.0))
    curve = pen.path()
    places = point_at_length(curve, np.linspace(0.0, length(curve), 2001))
    radial = np.hypot(*places.points.T) - 1.0
    assert radial.max() == pytest.approx(2.725e-4, rel=1e-3)
    assert radial.min() > -1e-12
    # the true arc tells the same by nearest places
    assert nearest_each(circle((0.0, 0.0), 1.0), places.points).distances_mm.max() == pytest.approx(2.725e-4, rel=1e-3)


def test_points_at_equal_lengths_of_a_circle_are_at_equal_angles():
    path = circle((0.0, 0.0), 10.0)
    steps = np.arange(0.0, 20.0 * math.pi, math.pi / 3.0)
    angles = np.arctan2(*point_at_length(path, steps).points.T[::-1]) % (2.0 * math.pi)
    np.testing.assert_allclose(angles, steps / 10.0, atol=1e-11)


@pytest.mark.parametrize("apart", [0.5, 3.0, 9.9])
def test_the_lens_of_two_circles_has_the_handbook_s_area_and_rim(apart):
    """2r²·acos(d/2r) − (d/2)·√(4r² − d²), rim 4r·acos(d/2r): any handbook of geometry."""
    r = 5.0
    one, two = Region(circle((0.0, 0.0), r)), Region(circle((apart, 0.0), r))
    lens = keep_common([one, two])
    half = math.acos(apart / (2.0 * r))
    expected = 2.0 * r * r * half - apart / 2.0 * math.sqrt(4.0 * r * r - apart * apart)
    assert area(lens) == pytest.approx(expected, rel=1e-9)
    assert perimeter(lens) == pytest.approx(4.0 * r * half, rel=1e-9)
    corner = math.sqrt(r * r - apart * apart / 4.0)
    found = np.sort(meetings(one.path, two.path).points, axis=0)
    np.testing.assert_allclose(found, [[apart / 2.0, -corner], [apart / 2.0, corner]], atol=1e-9)


def test_a_ring_has_the_area_of_its_circles_difference_and_its_wall_s_width():
    ring = cut_out(Region(circle((0.0, 0.0), 7.0)), [Region(circle((0.0, 0.0), 6.4))])
    assert area(ring) == pytest.approx(math.pi * (49.0 - 6.4**2), rel=1e-12)
    assert narrowest_width(ring).width_mm == pytest.approx(0.6, abs=1e-9)
    assert narrow_gaps(ring, 12.0) == []
    assert narrowest_gap(ring).width_mm == pytest.approx(12.8, abs=1e-9)


def test_a_parabola_and_a_line_below_are_nearest_at_the_vertex():
    """Between y = x² + d and the line y = 0 the gap is d, at the vertex."""
    pen = PathBuilder()
    pen.move_to((-2.0, 4.3))
    pen.quadratic_to((0.0, -3.7), (2.0, 4.3))
    pen.close()
    below = PathBuilder()
    below.move_to((-3.0, 0.0))
    for point in ((3.0, 0.0), (3.0, -1.0), (-3.0, -1.0)):
        below.line_to(point)
    below.close()
    parts = joined([part if area(part) > 0.0 else part.reversed() for part in (pen.path(), below.path())])
    found = narrowest_gap(parts)
    assert found.width_mm == pytest.approx(0.3, abs=1e-9)
    assert found.place == pytest.approx((0.0, 0.15), abs=1e-6)
