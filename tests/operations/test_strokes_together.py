"""Many strokes at once paint what they paint one by one, over fills, beside them and across their edges."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry import booleans, measures, strokes
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, PathBuilder, circle, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_to_shape
from bladewise.operations import strokes_together as module
from bladewise.operations.strokes_together import Drawn, strokes_together

THIN = StrokeGeometry(0.6, LineCap.ROUND, LineJoin.ROUND)
SHARP = StrokeGeometry(0.8, LineCap.SQUARE, LineJoin.MITER, 6.0)
DASHED = StrokeGeometry(0.5, dash=(2.0, 1.0))
PEN = StrokeGeometry(1.0, LineCap.ROUND, pen=Affine(0.4, 0.0, 0.2, 1.5))


def curve(rng: np.random.Generator) -> Path:
    pen = PathBuilder()
    nodes = rng.uniform(0.0, 40.0, 2) + np.cumsum(rng.normal(0.0, 4.0, (7, 2)), axis=0)
    pen.move_to(tuple(nodes[0]))
    pen.cubic_to(tuple(nodes[1]), tuple(nodes[2]), tuple(nodes[3]))
    pen.line_to(tuple(nodes[4]))
    if rng.random() < 0.3:
        pen.close()
    return pen.path()


def one_by_one(drawn: list[Drawn], fills: list[Region]) -> Path:
    return booleans.merge([*fills, *(Region(stroke_to_shape(*each)) for each in drawn)])


def together(drawn: list[Drawn], fills: list[Region]) -> Path:
    return booleans.merge([*fills, *strokes_together(drawn, fills)])


@settings(max_examples=5)
@given(st.integers(0, 10_000))
def test_many_strokes_paint_what_they_paint_one_by_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    drawn = [Drawn(curve(rng), (THIN, SHARP, DASHED, PEN)[int(rng.integers(4))]) for _ in range(7)]
    move = Affine.moved(11.0, 7.0)
    drawn += [Drawn(each.path.transformed(move), each.stroke) for each in drawn[:4]]
    fills = [
        Region(circle((20.0, 20.0), 14.0)),
        Region(rectangle(5.0, 5.0, 30.0, 12.0), FillRule.EVEN_ODD),
    ]
    meant, found = one_by_one(drawn, fills), together(drawn, fills)
    astray = [booleans.cut_out(Region(one), [Region(two)]) for one, two in ((meant, found), (found, meant))]
    # an edge is promised to 0.005 mm; along all edges this is 2 in 1000 of that
    assert max(abs(measures.area(path)) for path in astray) < 1e-5 * measures.length(meant) + 0.01


@pytest.mark.parametrize(
    ("line", "stroke", "is_left_out"),
    [
        (polygon([(10, 10), (30, 12)], closed=False), THIN, True),
        (polygon([(10, 2.2), (30, 2.2)], closed=False), StrokeGeometry(1.0), True),
        (polygon([(10, 0.7), (30, 0.7)], closed=False), StrokeGeometry(1.5), False),
        (polygon([(10, 5), (20, 2), (10, 5.5)], closed=False), StrokeGeometry(1.0, miter_limit=60.0), False),
        (polygon([(-5, -5), (-9, -9)], closed=False), THIN, False),
        (polygon([(18, 20), (22, 20)], closed=False), THIN, False),
        (polygon([(10, 10), (50, 10)], closed=False), THIN, False),
    ],
    ids=["deep", "just inside", "over the edge", "a long point", "outside", "in a hole", "across"],
)
def test_strokes_wholly_under_a_fill_are_left_out_and_no_others(
    line: Path, stroke: StrokeGeometry, is_left_out: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    fills = [Region(booleans.cut_out(Region(rectangle(0, 0, 40, 30)), [Region(circle((20.0, 20.0), 4.0))]))]
    away = [Drawn(polygon([(100, 10 * n), (110, 10 * n)], closed=False), THIN) for n in range(8)]
    asked: list[float] = []

    def watched(path: Path, how: StrokeGeometry) -> Path:
        asked.extend(path.points[path.starts, 0, 0].tolist())
        return strokes.stroke_to_shape(path, how)

    monkeypatch.setattr(module, "stroke_to_shape", watched)
    strokes_together([*away, Drawn(line, stroke)], fills)
    assert (line.points[0, 0, 0] not in asked) == is_left_out


def test_copies_are_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    one = polygon([(0, 0), (4, 1), (2, 5)], closed=False)
    drawn = [Drawn(one.transformed(Affine.moved(10.0 * n, 3.0)), THIN) for n in range(9)]
    count = 0

    def counted(path: Path, how: StrokeGeometry) -> Path:
        nonlocal count
        count += 1
        return strokes.stroke_to_shape(path, how)

    monkeypatch.setattr(module, "stroke_to_shape", counted)
    found = strokes_together(drawn, [])
    assert count == 1
    assert len(found) == 9
    assert found[8].path.bounds() == pytest.approx(stroke_to_shape(*drawn[8]).bounds(), abs=1e-9)
