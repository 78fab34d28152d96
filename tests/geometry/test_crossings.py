"""The nearest place on a curve is found, also where the curve comes by twice or turns back on itself.

Reference: the least distance of 2,001 places along each curve.
"""

from __future__ import annotations

import numpy as np
import pytest

from bladewise.geometry.crossings import Curves, project
from bladewise.geometry.curves import point_at
from bladewise.geometry.path import SegmentKind


def test_the_foot_lies_on_the_strand_that_is_nearest_and_not_at_the_start() -> None:
    points = np.array([[[36.09895, 94.71003], [33.38653, 99.43511], [19.83363, 92.84327], [44.22695, 92.44716]]])
    t, away = project(
        Curves(points, np.array([SegmentKind.CUBIC], np.uint8), np.ones(1)), np.array([[34.504466, 93.153484]])
    )
    assert t[0] == pytest.approx(0.82124, abs=1e-5)
    assert away[0] < 1e-6


@pytest.mark.parametrize(
    ("kind", "weight"), [(SegmentKind.CUBIC, 1.0), (SegmentKind.QUADRATIC, 1.0), (SegmentKind.ARC, 0.8)]
)
@pytest.mark.parametrize("off_mm", [0.001, 0.5, 10.0])
def test_hardly_any_wild_curve_is_nearer_than_its_foot_says(kind: SegmentKind, weight: float, off_mm: float) -> None:
    rng = np.random.default_rng(5)
    count = 2000
    points = 20.0 * rng.random((count, 4, 2))
    if kind is not SegmentKind.CUBIC:
        points[:, 2] = points[:, 1]
    curves = Curves(points, np.full(count, kind, np.uint8), np.full(count, weight))
    places = point_at(*curves, rng.random(count)) + off_mm * (rng.random((count, 2)) - 0.5)
    _, away = project(curves, places)
    least = np.full(count, np.inf)
    for t in np.linspace(0.0, 1.0, 2001).tolist():
        least = np.minimum(least, np.hypot(*(point_at(*curves, np.full(count, t)) - places).T))
    assert (away > least + 1e-3).mean() <= 0.004


@pytest.mark.parametrize("handle", [0.0, 1e-6, 0.01, 0.3])
def test_a_place_beside_a_node_without_a_handle_is_found_where_it_lies(handle: float) -> None:
    # without a handle a curve sets off from standing still: of 90 t² mm about 36 µm are gone at t = 0.02
    one = [[0.0, 0.0], [handle, 0.0], [30.0, 20.0], [60.0, -10.0]]
    points = np.array([one, one[::-1]])
    curves = Curves(points, np.full(2, SegmentKind.CUBIC, np.uint8), np.ones(2))
    for wanted in (1e-4, 1e-3, 5e-3, 0.02, 0.04):
        there = np.array([wanted, 1.0 - wanted])
        t, away = project(curves, point_at(*curves, there))
        assert away.max() < 1e-9
        assert t == pytest.approx(there, abs=1e-6)
