"""The hand's works started from the window: keys, double-clicks, the bench's strip, the menu. Our own design."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QContextMenuEvent, QGuiApplication

from bladewise.window.canvas.measure import Measuring
from bladewise.window.canvas.node_editing import NodeEditing
from window.conftest import settle
from window.person import Ctrl, Key, Person


@pytest.fixture
def person(squares, qtbot, monkeypatch):
    return Person(squares, qtbot, monkeypatch)


def rows(window):
    return len(window.desk.session.history.rows)


def test_a_double_click_shows_the_nodes_and_the_strip_of_the_bench_places_one(squares, person, qtbot):
    button = Qt.MouseButton.LeftButton
    qtbot.mouseDClick(squares.canvas, button, pos=person.at(20, 20))
    work = squares.canvas.work
    assert isinstance(work, NodeEditing)
    strip = squares.bench._strip
    assert strip is not None
    assert strip.isVisible()
    assert not strip.buttons["smooth"].isEnabled()
    person.clicks_art(10, 10)
    assert strip.fields["x_mm"].line.text() == "10 mm"
    person.types(strip.fields["x_mm"].line, "1/2in")
    qtbot.keyClick(strip.fields["x_mm"].line, Key.Key_Return)
    path = next(each for each in squares.desk.job.shapes() if each.name == "Left").path
    assert path.points[0, 0].tolist() == pytest.approx([12.7, 10.0])
    assert rows(squares) == 3
    person.types(strip.fields["y_mm"].line, "nonsense")
    qtbot.keyClick(strip.fields["y_mm"].line, Key.Key_Return)
    assert rows(squares) == 3
    assert "nonsense" in squares.bench.strip.text.text()
    qtbot.keyClick(strip, Key.Key_Escape)
    qtbot.keyClick(squares.canvas, Key.Key_Escape)
    qtbot.keyClick(squares.canvas, Key.Key_Escape)
    assert squares.canvas.work is None
    assert squares.bench._strip is None


def test_delete_means_the_picked_nodes_while_nodes_are_shown(squares, person, qtbot):
    person.clicks_art(20, 20)
    person.presses(Key.Key_E, Ctrl)
    person.clicks_art(10, 10)
    person.presses(Key.Key_Delete)
    assert len(squares.desk.job.shapes()) == 2
    assert sorted(len(each.path) for each in squares.desk.job.shapes()) == [3, 4]
    person.presses(Key.Key_Z, Ctrl)
    assert sorted(len(each.path) for each in squares.desk.job.shapes()) == [4, 4]
    assert isinstance(squares.canvas.work, NodeEditing)


def test_every_node_action_is_a_button_with_a_name_and_in_the_menu(squares, person):
    person.clicks_art(20, 20)
    person.presses(Key.Key_E, Ctrl)
    strip = squares.bench._strip
    assert all(button.accessibleName() and button.toolTip() for button in strip.buttons.values())
    titles = [action.text() for action in squares.canvas_menu().actions() if not action.isSeparator()]
    assert titles[:3] == ["Add a node", "Delete", "Corner"]
    person.presses(Key.Key_A, Ctrl)
    person.clicks(strip.buttons["smooth"])
    assert squares.desk.session.history.rows[-1].entry.step.do == "node-kind"


def test_with_no_node_picked_a_click_on_another_shape_shows_its_nodes(squares, person, qtbot):
    person.clicks_art(20, 20)
    person.presses(Key.Key_E, Ctrl)
    left = next(iter(squares.canvas.work.shapes))
    person.clicks_art(10, 10)
    person.clicks_art(100, 80)
    assert set(squares.canvas.work.shapes) == {left}
    assert not squares.canvas.work.chosen
    person.clicks_art(100, 80)
    assert left not in squares.canvas.work.shapes
    assert squares.desk.selection == set(squares.canvas.work.shapes)


def test_the_menu_is_about_the_node_under_the_pointer(squares, person):
    person.clicks_art(20, 20)
    person.presses(Key.Key_E, Ctrl)
    place = squares.canvas.view.to_px(10, 10)
    event = QContextMenuEvent(
        QContextMenuEvent.Reason.Mouse, place.toPoint(), squares.canvas.mapToGlobal(place.toPoint())
    )
    squares.pane.menu_wanted.disconnect()
    squares.canvas.contextMenuEvent(event)
    assert list(squares.canvas.work.chosen.values()) == [[0]]


def test_what_was_measured_is_shown_and_copied(squares, person, qtbot):
    person.selects_all()
    person.presses(Key.Key_M, Ctrl)
    work = squares.canvas.work
    assert isinstance(work, Measuring)
    qtbot.waitUntil(lambda: work.measured is not None)
    strip = squares.bench._strip
    assert "Least gap 0 mm" in strip.selection.text()
    assert "Area 72 cm²" in strip.selection.text()
    person.clicks_art(10, 10)
    person.clicks_art(110, 30)
    assert "Distance 101.98 mm" in strip.distance.text()
    assert "Angle 11.31°" in strip.distance.text()
    person.clicks(strip.copy_button)
    assert "Distance 101.98 mm" in QGuiApplication.clipboard().text()
    qtbot.keyClick(squares.canvas, Key.Key_Escape)
    qtbot.keyClick(squares.canvas, Key.Key_Escape)
    assert squares.canvas.work is None


def test_a_measure_is_taken_by_keys_alone(squares, person, qtbot):
    person.presses(Key.Key_M, Ctrl)
    canvas = squares.canvas
    canvas.work._raw, canvas.work._by_keys = (120.0, 20.0), True
    for key in (Key.Key_Right, Key.Key_Return, Key.Key_Right, Key.Key_Right, Key.Key_Return):
        qtbot.keyClick(canvas, key)
    assert canvas.work.distance_lines()[0] == "Distance 2 mm"


def test_an_open_verb_ends_what_the_hand_is_about_and_the_other_way_round(squares, person, qtbot):
    person.selects_all()
    person.presses(Key.Key_M, Ctrl)
    squares.open_verb("rotate")
    assert squares.canvas.work is None
    assert squares.bench.operation is not None
    person.presses(Key.Key_M, Ctrl)
    assert squares.bench.operation is None
    settle(squares, qtbot)


def test_a_locked_shape_has_no_nodes_to_show_and_that_is_said(squares, person, qtbot):
    squares.desk.do_plain("lock", on="all", locked=True)
    settle(squares, qtbot)
    person.presses(Key.Key_E, Ctrl)
    assert squares.canvas.work is None
    assert "not locked" in squares.bench.strip.text.text()
