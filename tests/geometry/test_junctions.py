"""Where curves cross, meet in one point or all but touch, a result ends exactly there and loses nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bladewise.geometry.booleans import cut_out, merge, pieces, trim_open
from bladewise.geometry.curves import point_at, segment_areas
from bladewise.geometry.distances import nearest_each
from bladewise.geometry.junctions import Runs, settle
from bladewise.geometry.path import Path, PathBuilder, circle, polygon
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import Sources, gather


def areas(path: Path) -> list[float]:
    return [float(segment_areas(ring.points, ring.kinds, ring.weights).sum()) for ring in path.subpaths()]


def test_a_corner_that_touches_the_outline_from_inside_makes_a_hole_not_a_ring_that_meets_itself() -> None:
    """The corner (−2, −4) stands on the circle round (1, 0): 3, 4 and 5."""
    rest = cut_out(Region(circle((1, 0), 5)), [Region(polygon([(-2, -4), (-1, -4), (-2, -3)]))])
    assert areas(rest) == pytest.approx([25 * math.pi, -0.5], abs=1e-9)
    assert len(pieces(rest)) == 1
    for ring in rest.subpaths():
        assert len(np.unique(ring.points[:, 0], axis=0)) == len(ring)


@pytest.mark.parametrize(
    ("one_mm", "two_mm", "apart_mm"), [(43159.0, 6853.0, 43159.0 - 6853.0 + 1e-6), (5e4, 8e4, 1.3e5 - 1e-3)]
)
def test_huge_circles_that_all_but_touch_cross_where_circles_do(one_mm: float, two_mm: float, apart_mm: float) -> None:
    """Closed form: circles of radii r and s, d apart, cross at x = (d² + r² − s²) / 2d."""
    tally = Tally()
    circles = circle((0.0, 0.0), one_mm), circle((apart_mm, 0.0), two_mm)
    merged = merge([Region(path) for path in circles], tally=tally)
    assert tally.kept == 0
    assert tally.crossings == 2
    for path in circles:
        assert nearest_each(path, merged.points[:, 0]).distances_mm.min() < 1e-9
    ends = merged.points[:, 0]
    on_both = np.max([np.abs(np.hypot(*ends.T) - one_mm), np.abs(np.hypot(*(ends - (apart_mm, 0)).T) - two_mm)], axis=0)
    assert np.sort(on_both)[1] < 1e-7


def traced(sources: Sources, segments: list[int], t0: list[float], t1: list[float]) -> Runs:
    """Return runs of one ring as chords give them: each ends where its curve is, not where the next begins."""
    rows = np.array(segments)

    def places(t: list[float]) -> np.ndarray:
        return point_at(sources.points[rows], sources.kinds[rows], sources.weights[rows], np.array(t))

    start = places(t0)
    node0 = np.isin(t0, [0.0, 1.0])
    node1 = np.isin(t1, [0.0, 1.0])
    none = np.zeros(len(rows), np.int64)
    return Runs(rows, np.array(t0), np.array(t1), start, np.roll(start, -1, axis=0), none, node0, node1)


def test_a_needle_cut_beside_the_place_where_its_sides_cross_keeps_both_sides() -> None:
    pen = PathBuilder()
    pen.move_to((2.745802, 0.117826))
    pen.cubic_to((2.120612, -0.024021), (-2.301857, -0.864678), (-2.510571, -0.86461))
    pen.cubic_to((-2.719285, -0.864542), (1.276865, -0.349215), (1.315067, 0.118293))
    pen.close()
    needle = pen.path()
    pen.move_to((-1.119169, -0.261436))
    pen.quadratic_to((-1.116448, -0.574491), (-0.966178, -0.881335))
    pen.line_to((3.0, -0.881335))
    pen.close()
    cut = Path(*(column[3:] for column in (pen.path().points, pen.path().kinds, pen.path().weights)), *_one_ring())
    sources = gather([Region(needle), Region(cut)])
    runs = traced(sources, [0, 3, 1], [1.0, 0.5730095, 0.43511306], [0.6471252, 0.57300596, 0.0])
    tally = Tally()
    left = settle(runs, sources, 0.002, tally)
    assert not len(left)
    assert runs.segment.tolist() == [0, 1]
    assert runs.end[0].tolist() == runs.start[1].tolist()
    assert tally.kept == 0


def _one_ring() -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(1, np.int64), np.ones(1, np.bool_)


def test_a_line_that_all_but_touches_a_large_circle_is_parted_where_the_circle_is() -> None:
    """Closed form: a chord a micrometre's thousandth below the top is √(2 r h) to either side."""
    line = polygon([(-50.0, -1e4 + 1e-6), (50.0, -1e4 + 1e-6)], closed=False)
    inside = trim_open(line, [Region(circle((0.0, 0.0), 1e4))], inside=True)
    assert np.abs(inside.points[0, [0, 3], 0]) == pytest.approx([math.sqrt(2e-6 * 1e4)] * 2, abs=1e-5)
