"""The plane divided by the nearest labelled place, held against what it means (G. Voronoi 1908)."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.territories import territories

SITES = st.lists(
    st.tuples(st.integers(0, 40), st.integers(0, 40), st.integers(0, 3)),
    min_size=1,
    max_size=40,
    unique_by=lambda s: s[:2],
)


def parted(sites):
    rows = np.array(sites, np.float64)
    return rows[:, :2], rows[:, 2].astype(np.int64)


@settings(max_examples=50, deadline=None)
@given(SITES)
def test_every_place_belongs_to_the_label_of_its_nearest_site(some):
    points, labels = parted(some)
    parts = territories(points, labels, around_mm=50.0, tolerance_mm=0.001)
    at = np.random.default_rng(3).uniform(-5.0, 45.0, (200, 2))
    far = np.hypot(*(at[:, None] - points[None]).transpose(2, 0, 1))
    for place, distances in zip(at, far, strict=True):
        best = distances.min()
        rivals = labels[distances < best + 0.01]
        holders = {part.label for part in parts if shapely.contains_xy(part.polygon, *place)}
        if len(set(rivals.tolist())) == 1:
            assert holders == {int(rivals[0])}


def test_the_parts_abut_and_leave_nothing_out():
    angle = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    points = np.stack([30.0 * np.cos(angle), 20.0 * np.sin(angle)], axis=1)
    parts = territories(points, np.arange(200) // 50, around_mm=10.0, tolerance_mm=0.02)
    whole = shapely.union_all([part.polygon for part in parts])
    assert shapely.area(whole) == pytest.approx(sum(part.polygon.area for part in parts), rel=1e-12)
    assert len(shapely.get_coordinates(whole)) >= 4
    assert sorted({part.label for part in parts}) == [0, 1, 2, 3]
    assert sum(shapely.get_num_coordinates(part.polygon) for part in parts) < 40  # few lines, not one a site


def test_sites_in_rows_and_one_on_the_other_are_no_trouble():
    grid = np.stack(np.meshgrid(np.arange(8.0), np.arange(8.0)), axis=-1).reshape(-1, 2)
    points = np.concatenate([grid, grid])
    labels = np.concatenate([(grid[:, 0] >= 4).astype(np.int64)] * 2)
    left = shapely.union_all(
        [part.polygon for part in territories(points, labels, around_mm=10.0, tolerance_mm=0.001) if not part.label]
    )
    assert shapely.contains_xy(left, 3.49, 3.5)
    assert not shapely.contains_xy(left, 3.51, 3.5)


def test_one_label_has_it_all_and_none_is_nothing():
    assert [part.label for part in territories(np.zeros((1, 2)), np.array([7]), around_mm=10.0, tolerance_mm=0.1)] == [
        7
    ]
    assert territories(np.zeros((0, 2)), np.zeros(0, np.int64), around_mm=10.0, tolerance_mm=0.1) == []
