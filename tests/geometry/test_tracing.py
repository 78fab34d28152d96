"""Outlines of masks of pixels.

Drawn shapes are rendered by resvg, an independent renderer, and traced; what comes back is held against the
shape that was drawn. The first example counts pixels by hand.
"""

import io
import math

import numpy as np
import pytest
import resvg_py
from PIL import Image

from bladewise.geometry import tracing
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, nearest_each, ring_areas
from bladewise.geometry.path import EMPTY, circle, polygon
from bladewise.geometry.tracing import level_rings, traced


def rendered(size, body):
    """Return how much of each pixel of a square picture some drawing covers."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}" height="{size}">{body}</svg>'
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg)))).convert("RGBA")
    return np.asarray(image)[..., 3] / 255.0


def hausdorff(one, two):
    """Return the largest distance of either outline's points from the other."""
    ways = [(one, two), (two, one)]
    return max(float(nearest_each(b, flatten(a, 0.01).coords).distances_mm.max()) for a, b in ways)


def test_one_pixel_gives_a_diamond_through_the_middles_of_its_sides():
    mask = np.zeros((3, 3))
    mask[1, 1] = 1.0
    (ring,) = level_rings(mask, 0.5)
    assert {tuple(point) for point in ring.tolist()} == {(1.5, 1.0), (2.0, 1.5), (1.5, 2.0), (1.0, 1.5)}
    x, y = ring.T
    assert 0.5 * (np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) == pytest.approx(0.5)


@pytest.mark.parametrize(("value", "loops"), [(1.0, 1), (0.0, 2)])
def test_a_saddle_is_told_by_its_mean(value, loops):
    mask = np.array([[1.0, value * 0.4], [0.0 + value * 0.4, 1.0]]) if value else np.array([[0.8, 0.0], [0.0, 0.8]])
    assert len(level_rings(mask, 0.5)) == loops


@pytest.mark.parametrize(("size", "radius"), [(40, 15.3), (200, 80.7), (600, 280.2)])
@pytest.mark.parametrize("hard", [False, True])
def test_a_rendered_disc_comes_back_as_four_arcs_within_a_fifth_of_a_pixel(size, radius, hard):
    middle = (size / 2 + 0.3, size / 2 - 0.2)
    mask = rendered(size, f'<circle cx="{middle[0]}" cy="{middle[1]}" r="{radius}"/>')
    path = traced((mask > 0.5).astype(float) if hard else mask)
    assert len(path) == 4
    assert hausdorff(path, circle(middle, radius)) < 0.2


def test_a_ring_has_a_hole_that_runs_the_other_way():
    mask = rendered(120, '<circle cx="60" cy="60" r="40" fill="none" stroke="#000" stroke-width="20"/>')
    path = traced(mask)
    assert sorted(ring_areas(path)) == pytest.approx([-math.pi * 900, math.pi * 2500], rel=5e-3)


def test_straight_edges_at_a_slant_come_back_as_lines_and_corners_within_a_pixel():
    corners = [(12.3, 20.1), (110.7, 34.9), (71.2, 105.4)]
    points = " ".join(f"{x},{y}" for x, y in corners)
    path = traced(rendered(120, f'<polygon points="{points}"/>'))
    assert hausdorff(path, polygon(corners)) < 1.0
    assert len(path) <= 9


def test_what_the_picture_cuts_off_ends_at_its_box_with_square_corners():
    path = traced(rendered(100, '<rect x="-9" y="50" width="200" height="100"/>'))
    assert path.bounds() == pytest.approx((0.0, 50.0, 100.0, 100.0), abs=1e-6)
    assert area(path) == pytest.approx(5000.0, abs=1e-6)
    assert traced(np.ones((3, 5))).bounds() == (0.0, 0.0, 5.0, 3.0)


def test_a_soft_shadow_counts_or_not_by_the_level():
    body = '<circle cx="50" cy="50" r="40" fill-opacity="0.3"/><circle cx="50" cy="50" r="20"/>'
    mask = rendered(100, body)
    assert area(traced(mask, 0.5)) == pytest.approx(math.pi * 400, rel=0.05)
    assert area(traced(mask, 0.2)) == pytest.approx(math.pi * 1600, rel=0.03)


def test_specks_and_pinholes_are_dropped_and_nothing_gives_nothing():
    mask = np.zeros((40, 40))
    mask[10:30, 10:30] = 1.0
    mask[20, 20] = 0.0
    mask[3, 3] = 1.0
    assert len(traced(mask).starts) == 1
    assert traced(np.zeros((4, 4))) == EMPTY
    assert traced(np.zeros((0, 4))) == EMPTY


def test_grain_is_traced_coarsely_but_is_traced(monkeypatch):
    monkeypatch.setattr(tracing, "MOST_TRACED_POINTS", 2000)
    grain = (np.random.default_rng(5).random((91, 92)) > 0.5).astype(float)
    grain[:, :30] = 1.0
    path = traced(grain)
    assert path.closed.all()
    low_x, low_y, high_x, high_y = path.bounds()
    assert (low_x, low_y, high_y) == pytest.approx((0.0, 0.0, 91.0), abs=1e-6)
    assert 30.0 <= high_x <= 92.0
    assert area(path) >= 30 * 91
