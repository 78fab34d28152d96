"""Nodes by hand and by keys: what is picked, what a drag makes, one step each. No source but our own design."""

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication

from bladewise import operations
from bladewise.geometry.nodes import NodeKind, Side
from bladewise.geometry.path import SegmentKind, polygon
from bladewise.window.canvas.node_editing import NodeEditing
from bladewise.window.canvas.snapping import SnapRules
from window.canvas_hand import ALT, BLOB, CTRL, SHIFT, SQUARE, shape, sheet

Key = Qt.Key


@pytest.fixture
def nodes(canvas, wanted):
    """Return the nodes of the square and the blob, with snapping off."""
    canvas.snap_rules = SnapRules(frozenset())
    canvas.set_selection(frozenset({"square", "blob"}))
    work = NodeEditing(canvas, ("square", "blob"))
    canvas.take_up(work)
    return work


def points(canvas, key):
    return canvas.job.element(key).path.points[:, 0].tolist()


def press_key(canvas, key, modifiers=Qt.KeyboardModifier.NoModifier):
    for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
        QApplication.sendEvent(canvas, QKeyEvent(kind, key, modifiers))


def test_a_node_is_dragged_in_one_step_and_shown_on_its_way(canvas, hand, nodes, wanted):
    hand.press(40, 10)
    hand.drag_to(50, 5)
    assert wanted == []
    assert nodes.preview["square"].path.points[1, 0].tolist() == [50.0, 5.0]
    canvas.grab()
    hand.release(50, 5)
    assert [operations.summary(each) for each in wanted] == ["Move a node by 10, -5 mm"]
    assert points(canvas, "square")[1] == [50.0, 5.0]
    assert nodes.chosen == {"square": [1]}
    assert not nodes.preview


def test_a_drag_that_is_given_up_changes_nothing(canvas, hand, nodes, wanted):
    before = canvas.grab().toImage()
    hand.press(40, 10)
    hand.drag_to(60, 30)
    press_key(canvas, Key.Key_Escape)
    hand.release(60, 30)
    press_key(canvas, Key.Key_Escape)
    assert wanted == []
    assert canvas.work is nodes
    canvas.finish_painting()
    assert canvas.grab().toImage().size() == before.size()
    assert points(canvas, "square")[1] == [40.0, 10.0]


def test_several_nodes_are_picked_by_a_band_and_by_shift_and_move_together(canvas, hand, nodes, wanted):
    hand.drag((5, 5), (45, 15))
    assert nodes.chosen == {"square": [0, 1]}
    hand.click(120, 50, SHIFT)
    assert nodes.chosen == {"square": [0, 1], "blob": [0]}
    hand.drag((10, 10), (12, 20))
    assert len(wanted) == 1
    assert points(canvas, "square")[:2] == [[12.0, 20.0], [42.0, 20.0]]
    assert canvas.job.element("blob").path.points[0, 0].tolist() == [122.0, 60.0]


def test_a_click_beside_lets_go_and_escape_leaves(canvas, hand, nodes):
    hand.click(40, 10)
    assert nodes.chosen
    hand.click(70, 90)
    assert not nodes.chosen
    assert canvas.work is nodes
    press_key(canvas, Key.Key_Escape)
    assert canvas.work is None


def test_dragging_a_segment_bends_it(canvas, hand, nodes, wanted):
    hand.drag((25, 10), (25, 4))
    assert [each.do for each in wanted] == ["pull-segment"]
    path = canvas.job.element("square").path
    assert path.kinds[0] == SegmentKind.CUBIC
    assert path.bounds()[1] == pytest.approx(4.0, abs=0.01)


def test_a_double_click_on_a_segment_adds_a_node_there_and_picks_it(canvas, hand, nodes, wanted):
    hand.double_click(20, 10)
    assert [each.do for each in wanted] == ["add-node"]
    assert len(canvas.job.element("square").path) == 5
    assert nodes.chosen == {"square": [1]}
    assert points(canvas, "square")[1] == pytest.approx([20.0, 10.0], abs=0.05)


def test_a_handle_is_dragged_and_its_partner_turns_along_unless_alt_frees_it(canvas, hand, nodes, wanted):
    hand.click(120, 50)  # the rightmost node of the blob: smooth
    _node, side, end = next(each for each in nodes.shapes["blob"].shown_handles() if each[:2] == (0, Side.AFTER))
    assert side is Side.AFTER
    hand.drag(tuple(end), (130.0, 61.0))
    assert wanted[-1].do == "move-handle"
    table = nodes.shapes["blob"].table
    assert table.kind(0) is not NodeKind.CORNER
    assert table.after[0] == pytest.approx([130.0, 61.0], abs=1e-6)
    hand.drag((130.0, 61.0), (118.0, 62.0), modifiers=ALT)
    assert nodes.shapes["blob"].table.kind(0) is NodeKind.CORNER


def test_tab_goes_from_node_to_node_and_arrows_nudge_in_one_step(canvas, nodes, wanted):
    press_key(canvas, Key.Key_Tab)
    assert nodes.chosen == {"square": [0]}
    press_key(canvas, Key.Key_Tab)
    assert nodes.chosen == {"square": [1]}
    press_key(canvas, Key.Key_Backtab, SHIFT)
    assert nodes.chosen == {"square": [0]}
    for _ in range(3):
        QApplication.sendEvent(canvas, QKeyEvent(QEvent.Type.KeyPress, Key.Key_Right, Qt.KeyboardModifier.NoModifier))
    assert wanted == []
    QApplication.sendEvent(canvas, QKeyEvent(QEvent.Type.KeyRelease, Key.Key_Right, Qt.KeyboardModifier.NoModifier))
    assert points(canvas, "square")[0] == pytest.approx([10.3, 10.0])
    press_key(canvas, Key.Key_Down, SHIFT)
    assert points(canvas, "square")[0] == pytest.approx([10.3, 11.0])
    assert len(wanted) == 2


def test_arrows_move_a_handle_after_h(canvas, nodes, wanted):
    nodes.choose({"blob": [0]})
    before = nodes.shapes["blob"].table.before[0].copy()
    press_key(canvas, Key.Key_H)
    press_key(canvas, Key.Key_Right, SHIFT)
    assert [each.do for each in wanted] == ["move-handle"]
    assert np.hypot(*(nodes.shapes["blob"].table.before[0] - before)) == pytest.approx(1.0, abs=0.05)


def test_the_kinds_and_the_rest_are_a_key_each(canvas, nodes, wanted):
    nodes.choose({"square": [0]})
    press_key(canvas, Key.Key_Left, SHIFT)  # the sides differ, so smooth is not by itself balanced
    wanted.clear()
    nodes.choose({"square": [1]})
    press_key(canvas, Key.Key_S)
    assert nodes.shapes["square"].table.kind(1) is NodeKind.SMOOTH
    press_key(canvas, Key.Key_B)
    assert nodes.shapes["square"].table.kind(1) is NodeKind.BALANCED
    press_key(canvas, Key.Key_C)
    assert nodes.shapes["square"].table.kind(1) is NodeKind.CORNER
    nodes.choose({"square": [0, 1]})
    press_key(canvas, Key.Key_L)
    assert canvas.job.element("square").path.kinds[0] == SegmentKind.LINE
    press_key(canvas, Key.Key_U)
    assert canvas.job.element("square").path.kinds[0] == SegmentKind.CUBIC
    nodes.choose({"square": [2]})
    press_key(canvas, Key.Key_Home)
    assert points(canvas, "square")[0] == pytest.approx([40.0, 40.0])
    press_key(canvas, Key.Key_R)
    nodes.choose({"square": [2]})
    press_key(canvas, Key.Key_Delete)
    assert len(canvas.job.element("square").path) == 3
    names = [each.do for each in wanted]
    assert names == [
        "node-kind", "node-kind", "node-kind", "straighten", "line-to-curve", "start-node", "reverse-path",
        "delete-nodes",
    ]  # fmt: skip


def test_a_path_is_broken_joined_and_closed_again(canvas, nodes, wanted):
    nodes.choose({"square": [1]})
    press_key(canvas, Key.Key_K)
    assert not canvas.job.element("square").path.closed[0]
    ends = np.flatnonzero(nodes.shapes["square"].table.is_end)
    nodes.choose({"square": ends.tolist()})
    press_key(canvas, Key.Key_M)
    assert canvas.job.element("square").path.closed[0]
    nodes.choose({"square": [0, 1]})
    press_key(canvas, Key.Key_X)
    assert not canvas.job.element("square").path.closed[0]
    press_key(canvas, Key.Key_O)
    assert canvas.job.element("square").path.closed[0]


def test_ends_of_two_shapes_are_joined_by_a_line(canvas, wanted):
    lines = [
        shape("one", polygon([(10, 80), (60, 80)], closed=False)),
        shape("two", polygon([(80, 80), (140, 80)], closed=False)),
    ]
    canvas.set_job(sheet(*lines))
    canvas.set_selection(frozenset({"one", "two"}))
    work = NodeEditing(canvas, ("one", "two"))
    canvas.take_up(work)
    work.choose({"one": [1], "two": [0]})
    press_key(canvas, Key.Key_J)
    assert [each.do for each in wanted] == ["join-ends"]
    assert canvas.job.element("two") is None
    assert len(canvas.job.element("one").path) == 3


def test_what_does_not_fit_says_what_it_needs_and_does_nothing(canvas, nodes, wanted):
    said = []
    canvas.hint_changed.connect(said.append)
    press_key(canvas, Key.Key_J)
    press_key(canvas, Key.Key_S)
    assert wanted == []
    assert said == ["Pick two ends of open outlines first", "Pick one or several nodes first"]


def test_nodes_snap_to_other_art_and_to_nodes_that_stand(canvas, hand, nodes, wanted):
    canvas.snap_rules = SnapRules()
    hand.press(40, 10)
    hand.drag_to(79.8, 50.1)
    assert "Blob" in (nodes.spot.text if nodes.spot else "") or nodes.spot is not None
    hand.release(79.8, 50.1)
    assert points(canvas, "square")[1] == pytest.approx([80.0, 50.0])
    hand.drag((80, 50), (40.2, 39.9))
    assert points(canvas, "square")[1] == pytest.approx([40.0, 40.0])


def test_ctrl_a_picks_all_nodes_and_is_not_the_windows_key_then(canvas, nodes):
    event = QKeyEvent(QEvent.Type.ShortcutOverride, Key.Key_A, CTRL)
    event.ignore()
    QApplication.sendEvent(canvas, event)
    assert event.isAccepted()
    press_key(canvas, Key.Key_A, CTRL)
    assert {key: len(rows) for key, rows in nodes.chosen.items()} == {"square": 4, "blob": 4}


def test_a_step_that_takes_the_shape_away_leaves_the_nodes(canvas, nodes):
    canvas.set_job(sheet(BLOB), canvas.job.changes_to(sheet(BLOB)))
    assert set(nodes.shapes) == {"blob"}
    canvas.set_job(sheet(), canvas.job.changes_to(sheet()))
    assert canvas.work is None


def test_every_kind_of_node_has_its_own_look(canvas, nodes):
    pictures = []
    nodes.choose({"square": [2, 3]})
    press_key(canvas, Key.Key_Down, SHIFT)  # the sides differ, so smooth is not by itself balanced
    for kind in (Key.Key_C, Key.Key_S, Key.Key_B):
        nodes.choose({"square": [1]})
        press_key(canvas, kind)
        nodes.choose({})
        canvas.finish_painting()
        place = canvas.view.to_px(*nodes.shapes["square"].table.points[1].tolist()).toPoint()
        pictures.append(canvas.grab().toImage().copy(place.x() - 5, place.y() - 5, 11, 11))
    assert pictures[0] != pictures[1]
    assert pictures[1] != pictures[2]
    assert pictures[0] != pictures[2]


def test_a_double_click_on_a_shape_asks_for_its_nodes_and_so_does_enter(canvas, hand, wanted):
    asked = []
    canvas.opened_leaf.connect(asked.append)
    hand.double_click(25, 25)
    canvas.set_selection(frozenset({"blob"}))
    press_key(canvas, Key.Key_Return)
    assert asked == ["square", "blob"]


def test_a_node_that_cannot_be_moved_is_laid_back(canvas, hand):
    nodes = NodeEditing(canvas, ("square",))
    canvas.take_up(nodes)
    hand.press(40, 10)
    hand.drag_to(50, 5)
    hand.release(50, 5)
    canvas.settle()
    assert not nodes.preview
    assert points(canvas, "square")[1] == [40.0, 10.0]
    assert SQUARE.path == canvas.job.element("square").path
    hand.send(QEvent.Type.MouseMove, QPointF(3, 3))
