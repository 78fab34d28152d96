"""What the hand snaps to, and what is said of it. Places are worked out by hand; no source but our own design."""

import numpy as np
import pytest

from bladewise.document import Shape, Style
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.window.canvas import overlay
from bladewise.window.canvas.lining_up import LiningUp
from bladewise.window.canvas.scene import Scene
from bladewise.window.canvas.snapping import Landmarks, Magnet, SnapRules
from bladewise.window.preferences import Snap
from bladewise.window.view import View
from window.canvas_hand import ALT, SQUARE, crowd, shape, sheet

VIEW = View(10.0, 0.0, 0.0)  # a tenth of a millimetre a pixel: the reach is 0.7 mm
WINDOW = (0.0, 0.0, 200.0, 100.0)
CUP = shape("cup", circle((100, 50), 20))
BAR = shape("bar", rectangle(90, 45, 60, 10))


def scene_of(*shapes):
    scene = Scene()
    scene.set_job(sheet(*shapes), None)
    return scene


def magnet(*shapes, kinds=frozenset(Snap), without=frozenset(), grid_mm=10.0):
    return Magnet(scene_of(*shapes), VIEW, SnapRules(kinds, grid_mm), Landmarks(), without)


def at(spot):
    return (spot.x_mm, spot.y_mm)


@pytest.mark.parametrize(
    ("kind", "hand", "place", "said"),
    [
        (Snap.NODES, (150.4, 44.7), (150.0, 45.0), "a node of “Bar”"),
        (Snap.MIDPOINTS, (120.3, 45.5), (120.0, 45.0), "the middle of an edge of “Bar”"),
        (Snap.CENTRES, (100.4, 50.3), (100.0, 50.0), "the centre of “Cup”"),
        (Snap.EDGES, (130.3, 45.4), (130.3, 45.0), "an edge of “Bar”"),
        (
            Snap.INTERSECTIONS,
            (119.5, 45.3),
            (100 + np.sqrt(400 - 25), 45.0),
            "the crossing of “Bar” and “Cup”",
        ),
    ],
)
def test_each_kind_of_place_is_hit_exactly_and_said_in_words(kind, hand, place, said):
    spot = magnet(CUP, BAR).point(*hand)
    assert spot is not None
    assert spot.kind is kind
    assert at(spot) == pytest.approx(place, abs=1e-9)
    assert spot.text == said


def test_the_nearest_point_of_an_edge_lies_on_the_true_curve():
    spot = magnet(CUP, kinds=frozenset({Snap.EDGES})).point(100 + 20.4 * 0.6, 50 + 20.4 * 0.8)
    assert at(spot) == pytest.approx((112.0, 66.0), abs=1e-9)


def test_a_line_from_a_place_can_touch_a_curve_or_meet_an_edge_squarely():
    spot = magnet(CUP, kinds=frozenset({Snap.TANGENTS})).point(88.3, 66.2, origin=(66.666666666667, 50.0))
    assert at(spot) == pytest.approx((88.0, 66.0), abs=1e-6)
    assert spot.text == "touches “Cup”"
    spot = magnet(BAR, kinds=frozenset({Snap.TANGENTS})).point(120.4, 45.3, origin=(120.0, 10.0))
    assert at(spot) == pytest.approx((120.0, 45.0), abs=1e-9)
    assert spot.text == "square to “Bar”"


def test_the_sheet_has_corners_and_edges_too():
    assert magnet().point(0.3, 0.4).text == "a corner of the sheet"
    assert magnet().point(60.0, 0.4).text == "an edge of the sheet"


def test_a_guide_is_called_a_guide_and_can_be_left_out():
    guide = Shape("guide", polygon([(70, 0), (70, 100)], closed=False), Style(), name="Guide")
    spot = magnet(guide).point(70.3, 33.0)
    assert (spot.kind, spot.text, at(spot)) == (Snap.GUIDES, "a guide", (70.0, 33.0))
    assert magnet(guide, kinds=frozenset(Snap) - {Snap.GUIDES, Snap.GRID}).point(70.3, 33.0) is None


def test_the_grid_pulls_only_where_nothing_else_does():
    rules = frozenset(Snap)
    assert at(magnet(BAR, kinds=rules).point(30.4, 70.2)) == (30.0, 70.0)
    assert magnet(BAR, kinds=rules).point(90.4, 45.3).kind is Snap.NODES
    assert at(magnet(BAR, kinds=rules).point(30.4, 74.2)) == (30.0, 74.2)


def test_nothing_is_snapped_to_where_no_kind_is_chosen_nor_to_what_is_moved():
    assert magnet(CUP, BAR, kinds=frozenset()).point(150.0, 45.0) is None
    assert magnet(BAR, without=frozenset({"bar"}), kinds=frozenset({Snap.NODES})).point(150.0, 45.0) is None


def lining(box, held, *shapes, without, kinds=frozenset(Snap) - {Snap.GRID}):
    return LiningUp(scene_of(*shapes), VIEW, WINDOW, without, SnapRules(kinds), Landmarks(), box, held)


def test_art_held_by_a_node_puts_that_node_exactly_on_another():
    found = lining((10, 10, 40, 40), (40.1, 40.2), SQUARE, BAR, without=frozenset({"square"})).snap(50.3, 5.4)
    assert (found.dx_mm, found.dy_mm) == pytest.approx((50.0, 5.0))
    assert found.hint == "the node held on a node of “Bar”"


def test_the_middle_of_art_finds_the_centre_of_other_art():
    found = lining((10, 10, 40, 40), (25.0, 25.0), SQUARE, CUP, without=frozenset({"square"})).snap(75.4, 24.7)
    assert (found.dx_mm, found.dy_mm) == pytest.approx((75.0, 25.0))
    assert found.hint == "the middle on the centre of “Cup”"


def test_gaps_are_made_equal_between_neighbours_and_in_a_row():
    left, right = shape("l", rectangle(0, 13, 20, 23)), shape("r", rectangle(100, 14, 30, 21))
    kinds = frozenset({Snap.EQUAL_GAPS})
    between = lining((10, 10, 40, 40), (25, 25), SQUARE, left, right, without=frozenset({"square"}), kinds=kinds).snap(
        34.6, 0.0
    )
    assert between.dx_mm == pytest.approx(35.0)
    assert between.hint == "equal gaps of 25 mm"
    pair = shape("l", rectangle(100, 13, 20, 23)), shape("r", rectangle(130, 14, 30, 21))
    row = lining((10, 10, 40, 40), (25, 25), SQUARE, *pair, without=frozenset({"square"}), kinds=kinds).snap(50.3, 0.0)
    assert row.dx_mm == pytest.approx(50.0)  # its right edge at 90, ten before 100, as 130 is after 120
    assert row.hint == "equal gaps of 10 mm"


def test_alt_leaves_snapping_out(canvas, hand, wanted):
    hand.press(20, 20)
    hand.drag_to(10.7, 70, modifiers=ALT)
    hand.release(10.7, 70, modifiers=ALT)
    assert canvas.job.element("square").bounds[0] == pytest.approx(0.7, abs=0.3)
    assert canvas.job.element("square").bounds[0] != 0.0


def test_what_is_snapped_to_stands_at_the_pointer_in_words(canvas, hand, monkeypatch):
    said = []
    monkeypatch.setattr(overlay, "paint_label", lambda _painter, _at, lines, *_rest: said.extend(lines))
    hand.press(20, 20)
    hand.drag_to(10.7, 70)
    canvas.grab()
    assert "left edge to the left edge of the sheet" in said


def test_a_shape_that_changed_is_looked_at_anew():
    store, rules = Landmarks(), SnapRules(frozenset({Snap.NODES}))
    Magnet(scene_of(BAR), VIEW, rules, store).point(150, 45)
    moved = shape("bar", rectangle(30, 45, 60, 10))
    assert Magnet(scene_of(moved), VIEW, rules, store).point(150, 45) is None
    assert Magnet(scene_of(moved), VIEW, rules, store).point(30, 45) is not None


def test_a_crowd_is_snapped_to_by_what_is_near_and_nothing_breaks_in_the_thick_of_it():
    scene = Scene()
    scene.set_job(crowd(1000), None)
    near = Magnet(scene, View(40.0, 0.0, 0.0), SnapRules(), Landmarks())
    spot = near.point(2.0 + 3.2 * 7 + 0.1, 2.0 + 3.2 * 3)
    assert spot.text == "the centre of “Dot-187”"
    far = Magnet(scene, View(0.05, 0.0, 0.0), SnapRules(), Landmarks())
    assert far.point(100.0, 50.0) is not None
