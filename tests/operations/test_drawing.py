"""What is drawn comes out as it was asked for, and lines drawn across shapes part them.

Exact references: areas of regular polygons, n r² sin(2π/n) / 2.
"""

import math

import numpy as np
import pytest

from bladewise import operations
from bladewise.document import Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.distances import nearest_each
from bladewise.geometry.measures import area, length
from bladewise.geometry.path import circle, joined, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, shape


def drawn(do, /, **values):
    outcome = operations.apply(job_of(), operations.step(do, values))
    return outcome.job.element(outcome.made[0])


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def test_a_polygon_has_its_corners_on_the_circle_and_its_first_at_the_top():
    hexagon = drawn("draw-polygon", x_mm=50, y_mm=40, radius_mm=10)
    assert area(hexagon.path) == pytest.approx(3 * 100 * math.sin(math.pi / 3))  # positive: clockwise on the screen
    assert hexagon.path.points[0, 0] == pytest.approx([50, 30])
    turned = drawn("draw-polygon", x_mm=0, y_mm=0, radius_mm=10, sides=4, angle_deg=45)
    assert turned.bounds == pytest.approx((-math.sqrt(50), -math.sqrt(50), math.sqrt(50), math.sqrt(50)))


def test_a_star_goes_in_and_out():
    star = drawn("draw-star", x_mm=0, y_mm=0, radius_mm=20, inner_radius_mm=8, tips=7)
    far = np.hypot(*star.path.points[:, 0].T)
    assert far == pytest.approx([20, 8] * 7)
    assert star.path.points[0, 0] == pytest.approx([0, -20])
    assert area(star.path) == pytest.approx(7 * 20 * 8 * math.sin(math.pi / 7))


def test_a_line_has_a_thin_stroke_and_no_fill():
    line = drawn("draw-line", x1_mm=1, y1_mm=2, x2_mm=4, y2_mm=6, stroke="#0072b2")
    assert line.path == polygon([(1, 2), (4, 6)], closed=False)
    assert line.style == Style(stroke=Stroke(BLUE, 0.1, cap="round", join="round"))
    assert operations.summary(operations.step("draw-line", {"x2_mm": 13, "y2_mm": 14})) == "Line, 5 mm"


def test_a_path_takes_lines_and_curves_as_its_handles_say():
    nodes = [0, 0, 0, 0, 10, -5, 25, 5, 30, 0, 30, 0, 30, 20, 30, 20, 30, 20]
    path = drawn("draw-path", nodes_mm=nodes).path
    assert path.kinds.tolist() == [3, 1, 1]
    assert path.points[0].tolist() == [[0, 0], [10, -5], [25, 5], [30, 0]]
    assert path.closed.all()
    assert drawn("draw-path", nodes_mm=nodes).style.fill is not None
    open_ = drawn("draw-path", nodes_mm=nodes, closed=False)
    assert open_.path.kinds.tolist() == [3, 1]
    assert open_.style.fill is None
    assert open_.style.stroke.width_mm == 0.1
    assert drawn("draw-path", nodes_mm=nodes, fill="#e69f00", stroke="#0072b2").style.fill == ORANGE
    bent = drawn("draw-path", nodes_mm=[0, -5, 0, 0, 0, 0, 30, 0, 30, 0, 30, 0])
    assert bent.path.kinds.tolist() == [1, 3]


def test_a_freehand_line_becomes_few_curves_and_keeps_its_corner():
    t = np.linspace(0.0, math.pi, 120)
    wave = np.stack([40 * t, 30 * np.sin(t)], axis=1)
    back = np.stack([np.linspace(wave[-1, 0], 60.0, 60)[1:], np.linspace(0.0, 60.0, 60)[1:]], axis=1)
    hand = np.concatenate([wave, back]) + np.random.default_rng(4).normal(0.0, 0.05, (179, 2))
    step = operations.step("draw-freehand", {"points_mm": hand.ravel().tolist(), "tolerance_mm": 0.4})
    outcome = operations.apply(job_of(), step)
    path = outcome.job.element("freehand").path
    assert len(path) <= 6
    assert nearest_each(path, hand).distances_mm.max() <= 0.4
    corner = np.hypot(*(path.points[:, 3] - wave[-1]).T).min()
    assert corner < 1.0
    assert outcome.reports[0].startswith("179 points, smoothed to ")


@pytest.mark.parametrize(
    ("do", "values", "message"),
    [
        ("draw-line", {"x2_mm": 10, "y2_mm": 10}, "begin where it ends"),
        ("draw-path", {"nodes_mm": [1, 2, 3, 4, 5, 6]}, "two nodes or more"),
        ("draw-path", {"nodes_mm": [0] * 13}, "six numbers each"),
        ("draw-freehand", {"points_mm": [1, 2, 1, 2]}, "two points or more"),
        ("draw-freehand", {"points_mm": [1, 2, 1, 2, 7]}, "two points or more"),
    ],
)
def test_what_is_no_line_is_refused(do, values, message):
    with pytest.raises(CannotApply, match=message):
        drawn(do, **values)


# ---------------------------------------------------------------------------- part along a line


def crossed():
    line = Shape("line", polygon([(0, 30), (100, 30)], closed=False), Style(stroke=Stroke(BLUE, 0.1)), "Seam")
    return job_of(shape("box", rectangle(10, 10, 40, 40)), shape("disc", circle((80, 30), 10)), line)


def test_shapes_come_apart_along_a_drawn_line_and_lines_are_cut():
    outcome = done(crossed(), "part-along-line", points_mm=[0, 20, 45, 20, 45, 60, 90, 0])
    assert [each.id for each in outcome.job.shapes()][:2] == ["box", "box-part"]
    assert [each.name for each in outcome.job.shapes()][:2] == ["Box", "Box 2"]
    pieces = [each for each in outcome.job.shapes() if each.id.startswith("box")]
    assert sum(area(each.path) for each in pieces) == pytest.approx(1600)
    stretches = [each for each in outcome.job.shapes() if each.id.startswith("line")]
    assert sum(length(each.path) for each in stretches) == pytest.approx(100)
    assert len(stretches) == 3
    ids = [each.id for each in outcome.job.elements()]
    assert len(ids) == len(set(ids))


def test_a_line_that_is_there_parts_and_is_used_up_unless_kept():
    outcome = done(crossed(), "part-along-line", along={"name": "Seam"})
    assert outcome.job.element("line") is None
    assert [area(each.path) for each in outcome.job.shapes()] == pytest.approx([800, 800, 50 * math.pi, 50 * math.pi])
    kept = done(crossed(), "part-along-line", on="box", along="line", keep_line=True)
    assert kept.job.element("line") == crossed().element("line")
    assert kept.job.element("disc") == crossed().element("disc")


def test_a_word_comes_apart_letter_by_letter_or_into_two_sides():
    word = joined([rectangle(0, 0, 10, 20), rectangle(20, 0, 10, 20), rectangle(40, 30, 10, 10)])
    job = job_of(shape("word", word))
    apart = done(job, "part-along-line", points_mm=[-5, 10, 35, 10]).job.shapes()
    assert [area(each.path) for each in apart] == pytest.approx([100] * 5)
    sides = done(job, "part-along-line", points_mm=[-5, 10, 35, 10], by_side=True).job.shapes()
    assert [area(each.path) for each in sides] == pytest.approx([300, 200])
    assert [len(each.path.starts) for each in sides] == [3, 2]


def test_what_stays_whole_is_said_and_a_line_through_nothing_is_refused():
    outcome = done(crossed(), "part-along-line", points_mm=[20, 0, 20, 60])
    assert outcome.reports == ("1 of 3 shapes stayed whole: the line does not go through them.",)
    for points in ([20, 0, 20, 30], [0, 0, 5, 5]):
        with pytest.raises(CannotApply, match="does not go all the way"):
            done(crossed(), "part-along-line", on=["box"], points_mm=points)
    with pytest.raises(CannotApply, match="two points or more"):
        done(crossed(), "part-along-line", points_mm=[20, 0, 20, 0])
    with pytest.raises(CannotApply, match="no shape here but the line"):
        done(crossed(), "part-along-line", on="line", along="line")
    with pytest.raises(CannotApply, match="Nothing in the job"):
        done(crossed(), "part-along-line", along="gone")
