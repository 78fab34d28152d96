"""What holds for every pair of outlines, whatever they are."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, keep_common, merge, resolve, split_at_overlaps, visible_parts
from bladewise.geometry.curves import segment_areas
from bladewise.geometry.path import EMPTY, Path, PathBuilder, circle, ellipse, joined, rectangle
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import Region

NEAR_MM2 = 0.05
"""Slivers of 0.002 mm by some 25 mm of outline may go either way."""

places = st.tuples(st.floats(-8, 8), st.floats(-8, 8))


@st.composite
def blobs(draw: st.DrawFn) -> Path:
    """Draw a smooth closed outline of cubics, quadratics, lines and arcs, corners included."""
    count = draw(st.integers(3, 7))
    x, y = draw(places)
    reach = draw(st.lists(st.floats(3, 9), min_size=count, max_size=count))
    kinds = draw(st.lists(st.integers(0, 3), min_size=count, max_size=count))
    angle = np.arange(count) * 2 * np.pi / count + draw(st.floats(0, 6))
    nodes = np.c_[x + np.array(reach) * np.cos(angle), y + np.array(reach) * np.sin(angle)]
    slope = (np.roll(nodes, -1, axis=0) - np.roll(nodes, 1, axis=0)) / 6
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for index, kind in enumerate(kinds):
        after = (index + 1) % count
        here, there = nodes[index], nodes[after]
        if kind == 0:
            pen.line_to(tuple(there))
        elif kind == 1:
            pen.quadratic_to(tuple(here + 1.5 * slope[index]), tuple(there))
        elif kind == 2:
            pen.cubic_to(tuple(here + slope[index]), tuple(there - slope[after]), tuple(there))
        else:
            radius = float(np.hypot(*(there - here)))
            pen.svg_arc_to(radius, 0.8 * radius, 30, large=False, sweep=True, point=tuple(there))
    pen.close()
    return pen.path()


@st.composite
def shapes(draw: st.DrawFn) -> Path:
    """Draw an outline as artwork has it: blobs, circles, ellipses, rounded rectangles on a grid, rings."""
    kind = draw(st.sampled_from(["blob", "circle", "ellipse", "rectangle", "ring"]))
    if kind == "blob":
        return draw(blobs())
    x, y = draw(st.integers(-6, 6)), draw(st.integers(-6, 6))
    size = draw(st.integers(2, 8))
    if kind == "circle":
        return circle((x, y), size)
    if kind == "ellipse":
        return ellipse((x, y), size, size / 2).transformed(Affine.rotated(draw(st.sampled_from([0.0, 30.0, 45.0]))))
    if kind == "ring":
        return joined([circle((x, y), size), circle((x, y), size / 2).reversed()])
    return rectangle(x, y, size, draw(st.integers(2, 8)), draw(st.sampled_from([0.0, 1.0])), 1.0)


def area(path: Path) -> float:
    return float(segment_areas(path.points, path.kinds, path.weights).sum())


@settings(max_examples=40, deadline=None)
@given(st.lists(shapes(), min_size=2, max_size=4), st.randoms())
def test_the_order_of_shapes_does_not_matter_to_a_merge(paths: list[Path], random: object) -> None:
    regions = [Region(path) for path in paths]
    shuffled = list(regions)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert abs(area(merge(regions)) - area(merge(shuffled))) < NEAR_MM2


@settings(max_examples=40, deadline=None)
@given(shapes(), shapes())
def test_cutting_out_and_keeping_common_share_the_subject_between_them(one: Path, two: Path) -> None:
    subject, cutter = Region(one), Region(two)
    rest, common = cut_out(subject, [cutter]), keep_common([subject, cutter])
    assert abs(area(rest) + area(common) - area(resolve(subject))) < NEAR_MM2


@settings(max_examples=40, deadline=None)
@given(st.lists(shapes(), min_size=2, max_size=4))
def test_every_curve_of_a_result_joins_the_next_and_none_is_left_as_chords(paths: list[Path]) -> None:
    tally = Tally()
    merged = merge([Region(path) for path in paths], tally=tally)
    assert tally.chorded_rings == 0
    assert tally.astray == 0
    assert len(merged) <= sum(len(path) for path in paths) + 2 * tally.crossings
    for ring in merged.subpaths():
        assert (ring.points[:, 0] == np.roll(ring.points[:, 3], 1, axis=0)).all()


@settings(max_examples=30, deadline=None)
@given(st.lists(shapes(), min_size=2, max_size=4))
def test_pieces_cut_from_one_another_merge_back_without_a_hairline(paths: list[Path]) -> None:
    rest, parts = Region(paths[0]), []
    for path in paths[1:]:
        parts.append(Region(keep_common([rest, Region(path)])))
        rest = Region(cut_out(rest, [Region(path)]))
    back, whole = merge([rest, *parts]), resolve(Region(paths[0]))
    assert len(back.starts) == len(whole.starts)
    assert abs(area(back) - area(whole)) < NEAR_MM2  # a remainder thinner than a sliver is left out of both parts


@settings(max_examples=30, deadline=None)
@given(st.lists(shapes(), min_size=2, max_size=4))
def test_what_is_seen_and_what_is_split_both_make_up_the_merge(paths: list[Path]) -> None:
    regions = [Region(path) for path in paths]
    whole = area(merge(regions))
    assert abs(sum(area(part) for part in visible_parts(regions)) - whole) < NEAR_MM2
    assert abs(sum(area(piece.path) for piece in split_at_overlaps(regions)) - whole) < NEAR_MM2


@settings(max_examples=40, deadline=None)
@given(shapes())
def test_an_outline_drawn_twice_merges_into_itself(path: Path) -> None:
    assert merge([Region(path), Region(path)]) == resolve(Region(path))
    back = merge([Region(path), Region(path.reversed())])
    assert abs(area(back) - area(resolve(Region(path)))) < 1e-9
    assert merge([Region(EMPTY), Region(path)]) == resolve(Region(path))
