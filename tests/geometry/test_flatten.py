"""Chords: close to their curve, the same both ways round, each vertex knowing where it came from."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from bladewise.geometry.curves import point_at, segment_areas, sub_segments
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import EMPTY, Path, PathBuilder, circle, ellipse


def wave() -> Path:
    pen = PathBuilder()
    pen.move_to((0.1, 0.2))
    pen.cubic_to((13.3, 31.7), (20.9, -27.1), (31.3, 7.7))
    pen.quadratic_to((44.4, 12.1), (35.5, 23.3))
    pen.svg_arc_to(30, 11, 17, large=False, sweep=True, point=(2.2, 9.9))
    pen.close()
    return pen.path()


@pytest.mark.parametrize("path", [wave(), circle((1, 2), 300), ellipse((0, 0), 90, 3)])
@pytest.mark.parametrize("tolerance", [0.05, 0.005])
def test_every_curve_stays_within_the_tolerance_of_its_chords(path: Path, tolerance: float) -> None:
    flat = flatten(path, tolerance)
    for segment in range(len(path)):
        t = np.append(flat.t[flat.segment == segment], 1.0)
        for a, b in pairwise(t.tolist()):
            if b <= a:
                continue
            at = np.linspace(a, b, 17)
            rows = np.full(17, segment)
            places = point_at(path.points[rows], path.kinds[rows], path.weights[rows], at)
            way = places[-1] - places[0]
            away = np.abs((places - places[0]) @ np.array([-way[1], way[0]])) / np.hypot(*way)
            assert away.max() <= tolerance * 1.0001


def test_a_curve_gives_the_same_vertices_whichever_way_it_was_drawn() -> None:
    there, back = flatten(wave()).coords, flatten(wave().reversed()).coords
    assert {tuple(point) for point in there.tolist()} == {tuple(point) for point in back.tolist()}


def test_every_vertex_lies_on_its_segment_at_its_parameter() -> None:
    path = wave()
    flat = flatten(path)
    places = point_at(path.points[flat.segment], path.kinds[flat.segment], path.weights[flat.segment], flat.t)
    assert np.allclose(places, flat.coords, atol=1e-12)
    assert (flat.coords[0] == flat.coords[-1]).all()


def test_nothing_flattens_to_nothing() -> None:
    assert len(flatten(EMPTY).coords) == 0


def test_a_part_of_a_segment_lies_on_it_in_either_direction() -> None:
    path = wave()
    rng = np.random.default_rng(1)
    t0, t1 = rng.random((2, len(path)))
    points, weights = sub_segments(path.points, path.kinds, path.weights, t0, t1)
    whole = point_at(path.points, path.kinds, path.weights, t0)
    assert np.allclose(points[:, 0], whole, atol=1e-12)
    # a part of a part: the same curve again, so its own middle lies on the source
    rows = np.flatnonzero(path.kinds != 4)
    middle = point_at(points[rows], path.kinds[rows], weights[rows], np.full(len(rows), 0.5))
    source = point_at(path.points[rows], path.kinds[rows], path.weights[rows], (t0 + t1)[rows] / 2)
    assert np.allclose(middle, source, atol=1e-12)


def test_area_is_exact_for_a_circle_an_ellipse_and_a_parabola() -> None:
    """Closed forms: pi r squared, pi a b, two thirds of base times height (Archimedes)."""
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.quadratic_to((5, -10), (10, 0))
    pen.close()
    known = ((circle((7, -3), 10), 100 * np.pi), (ellipse((1, 1), 4, 9), 36 * np.pi), (pen.path(), 100 / 3))
    for path, expected in known:
        assert abs(segment_areas(path.points, path.kinds, path.weights).sum()) == pytest.approx(expected, rel=1e-13)


def test_area_of_a_cubic_agrees_with_its_finest_chords() -> None:
    """Green's theorem on a Bézier curve against the shoelace formula on 4,096 chords."""
    pen = PathBuilder()
    pen.move_to((1, 2))
    pen.cubic_to((13, 31), (20, -27), (31, 7))
    pen.close()
    path = pen.path()
    t = np.linspace(0, 1, 4097)
    rows = np.zeros(4097, int)
    x, y = point_at(path.points[rows], path.kinds[rows], path.weights[rows], t).T
    shoelace = 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    assert float(segment_areas(path.points, path.kinds, path.weights).sum()) == pytest.approx(shoelace, abs=1e-4)
