"""How far art reaches on the sheet: strokes at their width, dashes where they are."""

import pytest

from bladewise.document import Shape, Stroke, Style
from bladewise.geometry.path import circle, polygon
from bladewise.geometry.strokes import LineCap, stroke_to_shape
from bladewise.operations.marking import painted_box, painted_extent
from bladewise.operations.painted import stroke_geometry
from pieces import BLUE, ORANGE, shape


def dashed_line(dash, offset=0.0, cap=LineCap.BUTT, fill=None):
    stroke = Stroke(BLUE, 2.0, cap, dash=dash, dash_offset=offset)
    return Shape("dashes", polygon([(0, 0), (100, 0)], closed=False), Style(fill, stroke=stroke))


@pytest.mark.parametrize(
    ("dash", "offset", "cap", "right"),
    [
        ((30.0, 40.0), 0.0, LineCap.BUTT, 100.0),
        ((30.0, 50.0), 20.0, LineCap.BUTT, 90.0),
        ((10.0, 200.0), 0.0, LineCap.ROUND, 11.0),
        ((10.0, 45.0, 0.0, 500.0), 0.0, LineCap.ROUND, 56.0),
    ],
)
def test_a_dashed_stroke_reaches_as_far_as_its_dashes(dash, offset, cap, right):
    leaf = dashed_line(dash, offset, cap)
    assert painted_box(leaf)[2] == pytest.approx(right)
    assert painted_box(leaf) == pytest.approx(stroke_to_shape(leaf.path, stroke_geometry(leaf.style.stroke)).bounds())
    assert painted_extent([leaf]) == pytest.approx(painted_box(leaf))
    assert painted_extent([leaf, shape("disc", circle((5, 0), 6))])[2] == pytest.approx(max(right, 11.0))


def test_under_a_fill_the_whole_outline_counts_and_dashes_too_many_are_a_whole_line():
    assert painted_box(dashed_line((10.0, 200.0), fill=ORANGE))[2] == pytest.approx(100.0)
    assert painted_box(dashed_line((1e-5, 1e-5)))[2] >= 100.0


def test_where_a_gap_swallows_the_line_nothing_is_painted():
    assert painted_extent([dashed_line((10.0, 200.0), 50.0)]) is None
