"""The layer tree: front at the top, in step with the canvas, changed by steps only."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QLineEdit

from bladewise.session import Session
from bladewise.window.layer_tree.model import LOCKED, NAME, SHOWN
from window.conftest import settle
from window.person import Ctrl, Key, Person


@pytest.fixture
def stack() -> Session:
    """Four shapes, the last in front: A, B, and a group of C and D."""
    session = Session.new("Stack", 200, 100)
    for number, name in enumerate("ABCD"):
        session.do("draw-rectangle", x_mm=10 + 30 * number, y_mm=10, width_mm=20, height_mm=20, name=name)
    ids = [shape.id for shape in session.job.shapes()]
    session.do("group", on=ids[2:], name="Pair")
    session._saved = session.history
    return session


@pytest.fixture
def person(make_window, stack, qtbot, monkeypatch) -> Person:
    window = make_window(stack)
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


def _tree(window, parent: QModelIndex | None = None) -> list:
    model = window.layers.model
    parent = parent or QModelIndex()
    rows = []
    for row in range(model.rowCount(parent)):
        index = model.index(row, 0, parent)
        below = _tree(window, index)
        rows.append((index.data(), below) if below else index.data())
    return rows


def _id(window, name: str) -> str:
    return next(element.id for element in window.desk.job.elements() if element.name == name)


def _drop(window, names: list[str], row: int, parent: QModelIndex) -> None:
    model = window.layers.model
    data = model.mimeData([model.index_of(_id(window, name)) for name in names])
    assert model.canDropMimeData(data, Qt.DropAction.MoveAction, row, 0, parent)
    assert model.dropMimeData(data, Qt.DropAction.MoveAction, row, 0, parent) is False


def test_the_front_is_at_the_top(person):
    assert _tree(person.window) == [("Art", [("Pair", ["D", "C"]), "B", "A"])]


def test_a_click_on_a_row_selects_on_the_canvas_and_the_other_way_round(person):
    window = person.window
    person.clicks_row(_id(window, "A"))
    assert window.canvas.selection == {_id(window, "A")}
    person.clicks_row(_id(window, "B"), Ctrl)
    assert window.canvas.selection == {_id(window, "A"), _id(window, "B")}
    person.clicks_art(50, 20)
    rows = window.layers.tree.selectionModel().selectedRows()
    assert [row.data() for row in rows] == ["B"]


def test_a_layer_selects_all_it_holds(person):
    layer = person.window.desk.job.layers[0]
    person.clicks_row(layer.id)
    assert person.window.desk.selection == {child.id for child in layer.children}


def test_dropping_between_rows_reorders(person):
    window = person.window
    layer = window.layers.model.index_of(window.desk.job.layers[0].id)
    _drop(window, ["A"], 0, layer)
    assert _tree(window) == [("Art", ["A", ("Pair", ["D", "C"]), "B"])]
    _drop(window, ["A"], 2, layer)
    assert _tree(window) == [("Art", [("Pair", ["D", "C"]), "A", "B"])]
    assert window.desk.session.history.rows[-1].entry.step.do == "reorder"


def test_dropping_on_a_group_regroups_and_out_of_it_again(person):
    window = person.window
    _drop(window, ["A"], -1, window.layers.model.index_of(_id(window, "Pair")))
    assert _tree(window) == [("Art", [("Pair", ["A", "D", "C"]), "B"])]
    _drop(window, ["D"], 2, window.layers.model.index_of(window.desk.job.layers[0].id))
    assert _tree(window) == [("Art", [("Pair", ["A", "C"]), "B", "D"])]


def test_a_group_cannot_be_dropped_into_itself(person):
    model = person.window.layers.model
    pair = model.index_of(_id(person.window, "Pair"))
    assert not model.canDropMimeData(model.mimeData([pair]), Qt.DropAction.MoveAction, -1, 0, pair)


def test_layers_are_reordered_among_layers_only(person):
    window = person.window
    window.desk.do_plain("reorder", on=[_id(window, "A")], into="Front layer")
    assert [row[0] for row in _tree(window)] == ["Front layer", "Art"]
    model = window.layers.model
    front, back = (layer.id for layer in reversed(window.desk.job.layers))
    data = model.mimeData([model.index_of(front)])
    assert not model.canDropMimeData(data, Qt.DropAction.MoveAction, 0, 0, model.index_of(back))
    model.dropMimeData(data, Qt.DropAction.MoveAction, 2, 0, QModelIndex())
    assert [row[0] for row in _tree(window)] == ["Art", "Front layer"]


def test_the_eye_hides_and_the_lock_locks_each_as_a_step(person):
    window = person.window
    a = _id(window, "A")
    person.clicks_row(a, column=SHOWN)
    assert not window.desk.job.element(a).visible
    person.clicks_row(a, column=SHOWN)
    assert window.desk.job.element(a).visible
    person.clicks_row(a, column=LOCKED)
    assert window.desk.job.element(a).locked
    assert [row.entry.step.do for row in window.desk.session.history.rows[-3:]] == ["show", "show", "lock"]


def test_keys_hide_lock_and_rename(person, qtbot):
    window = person.window
    a = _id(window, "A")
    person.clicks_row(a)
    tree = window.layers.tree
    qtbot.keyClick(tree, Key.Key_H)
    qtbot.keyClick(tree, Key.Key_L)
    assert (window.desk.job.element(a).visible, window.desk.job.element(a).locked) == (False, True)
    qtbot.keyClick(tree, Key.Key_F2)
    editor = tree.findChild(QLineEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, "Apron")
    qtbot.keyClick(editor, Key.Key_Return)
    qtbot.waitUntil(lambda: window.desk.job.element(a).name == "Apron")


def test_search_keeps_what_matches_and_what_leads_there(person):
    window = person.window
    person.types(window.layers.search, "pair")
    tree, model = window.layers.tree, window.layers.model
    shown = {
        name
        for name in ("A", "B", "C", "D", "Pair")
        if not tree.isRowHidden(model.index_of(_id(window, name)).row(), model.index_of(_id(window, name)).parent())
    }
    assert shown == {"Pair", "C", "D"}
    window.layers.search.clear()
    assert not tree.isRowHidden(model.index_of(_id(window, "A")).row(), model.index_of(_id(window, "A")).parent())


def test_what_is_folded_stays_folded_when_the_job_changes(person):
    window = person.window
    tree, model = window.layers.tree, window.layers.model
    tree.collapse(model.index_of(_id(window, "Pair")))
    window.desk.do_plain("move", on=[_id(window, "A")], dx_mm=5)
    window.desk.do_plain("reorder", on=[_id(window, "A")], to="front")
    assert not tree.isExpanded(model.index_of(_id(window, "Pair")))
    assert tree.isExpanded(model.index_of(window.desk.job.layers[0].id))


def test_a_row_says_what_it_is(person):
    window = person.window
    pair = window.layers.model.index_of(_id(window, "Pair"))
    assert pair.data(Qt.ItemDataRole.AccessibleTextRole) == "Pair, group, holds 2"
    a = window.layers.model.index_of(_id(window, "A"), NAME)
    assert a.data(Qt.ItemDataRole.AccessibleTextRole).startswith("A, shape, ")


def test_the_menu_sets_materials_and_order(person):
    window = person.window
    a = _id(window, "A")
    person.clicks_row(a)
    texts = {action.text(): action for action in window.layers.menu().actions()}
    texts["To the front"].trigger()
    assert _tree(window) == [("Art", ["A", ("Pair", ["D", "C"]), "B"])]
    window.layers._set_material("Gold foil")
    placed = window.desk.job.placed(a)
    assert window.desk.job.material_of(placed).name == "Gold foil"


def test_delete_takes_away_a_whole_layer(person, qtbot):
    window = person.window
    person.clicks_row(window.desk.job.layers[0].id)
    qtbot.keyClick(window.layers.tree, Key.Key_Delete)
    assert window.desk.job.layers == ()
    assert window.desk.session.history.rows[-1].entry.step.do == "delete"
