"""Stutter taken out: traced stairs and shaky lines become few calm curves."""

import functools
import math

import numpy as np
import pytest
import shapely

from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, nearest_each, tangent_at
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.smoothing import smooth

PIXEL_MM = 0.5


@functools.cache
def traced(inside, size_mm=100.0):
    """Return the outlines of the pixels whose middles lie inside, as a trace without any smoothing gives them."""
    middles = (np.arange(int(size_mm / PIXEL_MM)) + 0.5) * PIXEL_MM
    x, y = np.meshgrid(middles, middles)
    found = inside(x, y)
    half = PIXEL_MM / 2.0
    whole = shapely.union_all(shapely.box(x[found] - half, y[found] - half, x[found] + half, y[found] + half))
    rings = [whole.exterior, *whole.interiors]
    return joined(polygon(map(tuple, shapely.get_coordinates(ring)[:-1].tolist())) for ring in rings)


def kinks_deg(path):
    index = np.arange(len(path))
    a = tangent_at(path, index, np.ones(len(path)))
    b = tangent_at(path, np.roll(index, -1), np.zeros(len(path)))
    turn = np.abs(np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))))
    return turn if path.closed[0] else turn[:-1]


def disc(x, y):
    return (x - 50.0) ** 2 + (y - 50.0) ** 2 < 40.0**2


def leaning_bar(x, y):
    return (np.abs((x - 50) * 0.96 - (y - 50) * 0.28) < 30) & (np.abs((x - 50) * 0.28 + (y - 50) * 0.96) < 20)


def ring(x, y):
    far = np.hypot(x - 50.0, y - 50.0)
    return (far < 40.0) & (far > 15.0)


def shaky_wave():
    s = np.linspace(0.0, 2.0 * math.pi, 400)
    true = np.stack([10.0 * s, 10.0 * np.sin(s)], axis=1)
    return true, true + np.random.default_rng(2).normal(size=true.shape) * 0.05


def test_a_traced_disc_becomes_a_few_curves_near_the_true_circle():
    stairs = traced(disc)
    path = smooth(stairs, 1.2 * PIXEL_MM)
    assert len(stairs) == 640
    assert len(path) <= 6
    assert kinks_deg(path).max() < 1.0
    assert area(path) == pytest.approx(area(stairs), rel=0.005)
    spots = flatten(path, 0.01).coords
    assert np.abs(np.hypot(*(spots - 50.0).T) - 40.0).max() < PIXEL_MM


def test_a_traced_bar_keeps_its_corners_and_gets_straight_sides():
    stairs = traced(leaning_bar)
    path = smooth(stairs, 1.5 * PIXEL_MM)
    assert len(path) <= 8
    sharp = kinks_deg(path) > 60.0
    assert sharp.sum() == 4
    true = np.array(
        [(0.96 * u + 0.28 * v + 50, -0.28 * u + 0.96 * v + 50) for u, v in [(-30, -20), (30, -20), (30, 20), (-30, 20)]]
    )
    corners = path.points[sharp, 3]
    assert np.hypot(*(corners[:, None] - true[None]).transpose(2, 0, 1)).min(axis=0).max() < 2.0 * PIXEL_MM
    assert abs(area(path)) == pytest.approx(2400.0, rel=0.01)


def test_nothing_moves_farther_than_the_amount():
    for picture in (disc, leaning_bar):
        stairs = traced(picture)
        path = smooth(stairs, 0.7)
        assert nearest_each(stairs, flatten(path, 0.01).coords).distances_mm.max() <= 0.7 * 1.05
        assert nearest_each(path, stairs.points[:, 0]).distances_mm.max() <= 0.7 * 1.05


def test_holes_are_smoothed_and_stay_holes():
    stairs = traced(ring)
    path = smooth(stairs, 0.6)
    outer, inner = path.subpaths()
    assert area(outer) * area(inner) < 0.0
    assert abs(area(outer)) == pytest.approx(1600.0 * math.pi, rel=0.01)
    assert abs(area(inner)) == pytest.approx(225.0 * math.pi, rel=0.02)
    assert crossings([outer, inner]) == []


def test_a_shaky_line_gets_steady_and_keeps_its_ends():
    true, drawn = shaky_wave()
    path = smooth(polygon(map(tuple, drawn.tolist()), closed=False), 0.25)
    np.testing.assert_array_equal(path.points[[0, -1], [0, 3]], drawn[[0, -1]])
    assert len(path) <= 5
    assert kinks_deg(path).max(initial=0.0) <= 1.0
    assert nearest_each(path, true[5:-5]).distances_mm.max() < 0.1


@pytest.mark.parametrize(
    "path",
    [
        circle((0.0, 0.0), 10.0),
        ellipse((0.0, 0.0), 20.0, 7.0),
        rectangle(0.0, 0.0, 20.0, 10.0),
        rectangle(0.0, 0.0, 20.0, 10.0, 2.0, 2.0),
        EMPTY,
    ],
)
def test_what_is_smooth_keeps_its_bits(path):
    assert smooth(path, 0.2) == path


def test_what_is_smaller_than_the_steps_stays():
    speck = rectangle(0.0, 0.0, 1.0, 1.0)
    assert smooth(speck, 0.5) == speck


def test_two_edges_close_together_never_come_to_cross():
    """Teeth 0.6 mm high on both sides of a gap of 0.2 mm."""
    x = np.arange(0.0, 40.0, 1.0)
    tooth = np.where(np.arange(len(x)) % 2, 0.6, 0.0)
    upper = polygon([*zip(x, tooth, strict=True), (40.0, -8.0), (-1.0, -8.0)])
    lower = polygon([*zip(x, tooth + 0.2, strict=True), (40.0, 9.0), (-1.0, 9.0)])
    path = smooth(joined([upper, lower]), 0.8)
    assert crossings(list(path.subpaths())) == []


def test_a_star_with_shaky_sides_keeps_its_points():
    angles = np.arange(10) * math.pi / 5.0
    tips = np.stack([np.cos(angles), np.sin(angles)], axis=1) * np.where(np.arange(10) % 2, 15.0, 40.0)[:, None]
    chance = np.random.default_rng(5)
    drawn = np.concatenate(
        [
            a + np.linspace(0.0, 1.0, 60, endpoint=False)[:, None] * (b - a) + chance.normal(size=(60, 2)) * 0.08
            for a, b in zip(tips, np.roll(tips, -1, axis=0), strict=True)
        ]
    )
    path = smooth(polygon(map(tuple, drawn.tolist())), 0.4)
    assert len(path) <= 14
    ends = path.points[:, 0]
    assert np.hypot(*(ends[:, None] - tips[None]).transpose(2, 0, 1)).min(axis=0).max() < 0.8


def test_curves_that_stutter_are_smoothed_as_well_as_lines():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    for step in range(40):
        x = float(step)
        pen.cubic_to((x + 0.3, 0.3), (x + 0.7, 0.3), (x + 1.0, 0.0))
    path = smooth(pen.path(), 0.4)
    assert len(path) <= 2
    assert SegmentKind.QUADRATIC not in path.kinds


@pytest.mark.parametrize("amount", [0.0, -1.0, math.nan])
def test_the_amount_must_be_above_nothing(amount):
    with pytest.raises(ValueError, match="above 0 mm"):
        smooth(circle((0.0, 0.0), 1.0), amount)
