"""What a merge never shows is found for certain: leaving it coarse changes nothing."""

from __future__ import annotations

import numpy as np
import pytest

from bladewise.geometry.booleans import merge
from bladewise.geometry.hidden import hidden_in_union
from bladewise.geometry.kernel import curve_true, union
from bladewise.geometry.measures import area, contains
from bladewise.geometry.path import Path, PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.sources import gather


def rings(seed: int, count: int) -> list[Region]:
    """Return rings, discs and stars that cross themselves, thrown on a heap."""
    rng = np.random.default_rng(seed)
    out = []
    for number in range(count):
        x, y = 60.0 * rng.random(2)
        radius = 4.0 + 8.0 * rng.random()
        disc = circle((x, y), radius)
        if number % 3 == 0:
            hole = circle((x, y), radius * (0.4 + 0.5 * rng.random()))
            out.append(Region(joined([disc, hole]), FillRule.EVEN_ODD))
        elif number % 3 == 1:
            turn = np.arange(5) * 2 * 2 * np.pi / 5
            star = np.stack([x + 2.0 * radius * np.cos(turn), y + 2.0 * radius * np.sin(turn)], axis=1)
            out.append(Region(polygon(star), FillRule.EVEN_ODD if rng.random() < 0.5 else FillRule.NONZERO))
        else:
            out.append(Region(disc))
    return out


def hidden(regions: list[Region]) -> np.ndarray:
    """Return which segments of regions are hidden."""
    source = gather(regions)
    found = hidden_in_union(source, [region.rule for region in regions], 0.002)
    return np.zeros(len(source), np.bool_) if found is None else found.segments


@pytest.mark.parametrize("seed", range(6))
def test_a_merge_gives_the_same_curves_whether_or_not_the_hidden_ones_are_left_coarse(seed: int) -> None:
    regions = rings(seed, 160)
    quick = merge(regions)
    thorough = curve_true(regions, lambda polygons: [union(polygons)])[0]
    assert hidden(regions).mean() > 0.05
    assert len(quick) == len(thorough)
    assert area(quick) == pytest.approx(area(thorough), abs=1e-9)
    assert np.abs(quick.points - thorough.points).max() < 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_every_hidden_segment_lies_inside_the_merged_area(seed: int) -> None:
    regions = rings(seed, 200)
    source = gather(regions)
    rows = np.flatnonzero(hidden(regions))
    merged = curve_true(regions, lambda polygons: [union(polygons)])[0]
    places = source.points[rows].mean(axis=1)
    assert len(rows)
    assert contains(Region(merged), places).all()


def test_the_edge_of_a_hole_that_only_its_own_ring_surrounds_is_never_hidden() -> None:
    ring = [circle((0.0, 0.0), 50.0), circle((0.0, 0.0), 20.0)]
    many: list[Path] = [circle((x, y), 0.5) for x in range(-60, 61, 6) for y in range(-60, 61, 6)]
    regions = [Region(joined(ring), FillRule.EVEN_ODD), *(Region(path) for path in many)]
    found = hidden(regions)
    assert not found[: len(ring[0]) + len(ring[1])].any()
    middles = np.array([path.points.reshape(-1, 2).mean(axis=0) for path in many])
    away = np.hypot(*middles.T)
    inside = np.repeat((away > 22.0) & (away < 48.0), [len(path) for path in many])
    outside = np.repeat((away < 20.0) | (away > 50.0), [len(path) for path in many])
    assert not found[len(ring[0]) + len(ring[1]) :][outside].any()
    assert found[len(ring[0]) + len(ring[1]) :][inside].mean() > 0.5


def test_two_shapes_that_cover_each_other_both_stay() -> None:
    tile = [rectangle(x, y, 3.0, 3.0) for x in range(12) for y in range(12)]
    twice = [Region(path) for path in tile for _ in range(2)]
    assert merge(twice).bounds() == (0.0, 0.0, 14.0, 14.0)
    assert area(merge(twice)) == pytest.approx(196.0)


def test_a_long_hidden_arc_whose_chord_would_leave_the_art_stays_an_arc() -> None:
    """A band with a hollow edge, a narrower one on it, and enough small art to be worth a grid."""

    def hollow(inset: float) -> Path:
        pen = PathBuilder()
        pen.move_to((inset, 0.0))
        pen.line_to((100.0 - inset, 0.0))
        pen.line_to((100.0 - inset, 60.0 - 2.0 * inset))
        pen.svg_arc_to(130.0, 130.0, 0.0, large=False, sweep=False, point=(inset, 60.0 - 2.0 * inset))
        pen.close()
        return pen.path()

    dots = [Region(circle((20.0 + 5.0 * (n % 12), 4.0 + 3.0 * (n // 12)), 1.0)) for n in range(120)]
    heap = [Region(hollow(0.0)), Region(hollow(3.0)), *dots]
    merged = merge(heap)
    assert len(merged.starts) == 1
    assert area(merged) == pytest.approx(area(hollow(0.0)), abs=1e-6)


def test_dots_on_a_disc_near_its_rim_leave_the_disc_whole() -> None:
    """What lies between a curve and its one chord must not make the chord the edge."""
    turn = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    dots = [Region(circle((46.0 * np.cos(each), 46.0 * np.sin(each)), 1.0)) for each in turn]
    merged = merge([Region(circle((0.0, 0.0), 50.0)), *dots])
    assert len(merged.starts) == 1
    assert area(merged) == pytest.approx(np.pi * 2500.0, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_a_few_large_shapes_under_much_small_art_merge_to_what_all_of_them_paint(seed: int) -> None:
    rng = np.random.default_rng(seed)

    def blob(x: float, y: float, reach: float, count: int) -> Region:
        turn = np.sort(rng.uniform(0.0, 2.0 * np.pi, count))
        far = reach * rng.uniform(0.4, 1.0, count)
        nodes = np.stack([x + far * np.cos(turn), y + far * np.sin(turn)], axis=1)
        pen = PathBuilder()
        pen.move_to((nodes[0, 0], nodes[0, 1]))
        for here, there in zip(nodes, np.roll(nodes, -1, axis=0), strict=True):
            one, two = here + rng.normal(0.0, 0.25 * reach, 2), there + rng.normal(0.0, 0.25 * reach, 2)
            pen.cubic_to((one[0], one[1]), (two[0], two[1]), (there[0], there[1]))
        pen.close()
        return Region(pen.path())

    heap = [blob(*rng.uniform(30.0, 70.0, 2), rng.uniform(20.0, 60.0), 5) for _ in range(4)]
    heap += [blob(*rng.uniform(0.0, 100.0, 2), rng.uniform(0.5, 4.0), 4) for _ in range(110)]
    places = rng.uniform(-40.0, 140.0, (6_000, 2))
    painted = np.zeros(len(places), np.bool_)
    for region in heap:
        painted |= contains(region, places)
    differs = contains(Region(merge(heap)), places) != painted
    assert differs.sum() <= 1  # a place may lie on an edge
