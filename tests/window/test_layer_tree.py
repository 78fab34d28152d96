"""The layer tree: front at the top, in step with the canvas, changed by steps only."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QLineEdit

from bladewise.document import Colour, Job, Layer, Shape, Style
from bladewise.geometry.path import rectangle
from bladewise.history import History
from bladewise.session import Session
from bladewise.window import theme
from bladewise.window.layer_tree import thumbnails as thumbnails_of
from bladewise.window.layer_tree.model import LOCKED, NAME, SHOWN
from bladewise.window.theme import Scheme
from pieces import shape
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
    assert _tree(window) == [("Art", [("Pair", ["D", "C"])])]
    assert window.layers.count.text() == "1 found"
    window.desk.do_plain("rename", on=[_id(window, "C")], name="Crest")
    person.types(window.layers.search, "res")
    assert _tree(window) == [("Art", [("Pair", ["Crest"])])]
    window.layers.search.clear()
    assert _tree(window) == [("Art", [("Pair", ["D", "Crest"]), "B", "A"])]


def test_what_is_made_of_a_material_is_found_by_its_first_letters(person):
    window = person.window
    window.desk.do_plain("set-material", on=[_id(window, "A")], material="Gold foil")
    for typed in ("gold", "foil"):
        person.types(window.layers.search, typed)
        assert _tree(window) == [("Art", ["A"])]


def test_what_is_found_can_be_selected_and_what_is_not_there_is_said(person, qtbot):
    window = person.window
    person.types(window.layers.search, "pair")
    qtbot.keyClick(window.layers.search, Key.Key_Return)
    assert window.desk.selection == {_id(window, "Pair")}
    person.types(window.layers.search, "zebra")
    assert "Nothing is called so" in window.layers.nothing.text()
    assert not window.layers.nothing.isHidden()
    qtbot.keyClick(window.layers.search, Key.Key_Escape)
    assert window.layers.nothing.isHidden()
    assert len(_tree(window)[0][1]) == 3


def test_search_leaves_folded_groups_folded(person):
    window = person.window
    tree, model = window.layers.tree, window.layers.model
    tree.collapse(model.index_of(_id(window, "Pair")))
    person.types(window.layers.search, "D")
    assert tree.isExpanded(model.index_of(_id(window, "Pair")))
    window.layers.search.clear()
    assert not tree.isExpanded(model.index_of(_id(window, "Pair")))
    assert tree.isExpanded(model.index_of(window.desk.job.layers[0].id))


def test_a_change_shows_in_the_rows_that_search_left(person):
    window = person.window
    person.types(window.layers.search, "apron")
    assert _tree(window) == []
    window.desk.do_plain("rename", on=[_id(window, "A")], name="Apron")
    assert _tree(window) == [("Art", ["Apron"])]


@pytest.fixture
def many(make_window, qtbot, monkeypatch) -> Person:
    """Person at a job of 120 shapes."""
    shapes = tuple(shape(f"s{number}", rectangle(number, 0, 1, 1)) for number in range(120))
    window = make_window(Session(History(Job("Many", 200.0, 100.0, (Layer("layer", "Layer", shapes),)))))
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


def _shown_as_selected(window) -> set[str]:
    return set(window.layers.selected_ids())


def test_a_selection_scattered_over_many_rows_is_in_step_with_the_canvas_both_ways(many, qtbot):
    window = many.window
    every_other = {f"s{number}" for number in range(0, 120, 2)}
    window.canvas.selection_changed.emit(frozenset(every_other))
    assert _shown_as_selected(window) == every_other
    assert "selected" in window.layers.model.index_of("s2").data(Qt.ItemDataRole.AccessibleTextRole)
    many.clicks_row("s1", Ctrl)
    assert window.desk.selection == every_other | {"s1"}
    many.clicks_row("s2", Ctrl)
    assert window.desk.selection == (every_other | {"s1"}) - {"s2"}
    qtbot.waitUntil(lambda: _shown_as_selected(window) == window.desk.selection)
    many.clicks_row("s7")
    assert window.desk.selection == {"s7"}
    qtbot.waitUntil(lambda: _shown_as_selected(window) == {"s7"})
    assert not window.layers.model.scattered


def test_a_scattered_selection_goes_all_together_when_it_is_moved_in_the_tree(many):
    window = many.window
    window.desk.select({f"s{number}" for number in range(0, 120, 2)})
    model = window.layers.model
    data = model.mime_of(sorted(model.scattered))
    model.dropMimeData(data, Qt.DropAction.MoveAction, 0, 0, model.index_of("layer"))
    names = [leaf.id for leaf in window.desk.job.shapes()]
    assert all(int(name[1:]) % 2 for name in names[:60])
    assert not any(int(name[1:]) % 2 for name in names[60:])


def test_rows_show_what_their_shapes_look_like_in_either_theme(person, qtbot):
    window = person.window
    a = window.desk.job.element(_id(window, "A"))
    thumbnails = window.layers.tree.thumbnails
    for scheme in (Scheme.LIGHT, Scheme.DARK):
        window.choose_theme(scheme)
        qtbot.waitUntil(lambda: thumbnails.picture(a, 1.0) is not None)
        picture = thumbnails.picture(a, 1.0).toImage()
        middle = picture.pixelColor(picture.width() // 2, picture.height() // 2).name()
        assert middle == a.style.fill.hex
        assert picture.pixelColor(2, picture.height() // 2).name() in (theme.current().raised, theme.current().border)
    window.choose_theme(Scheme.SYSTEM)


def test_white_art_stands_out_in_its_row(qapp):
    white = Shape("w", rectangle(0, 0, 10, 10), Style(fill=Colour(255, 255, 255)))
    picture = thumbnails_of.draw(white, 2.0).toImage()
    assert picture.pixelColor(8, 18).name() != picture.pixelColor(24, 18).name()


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
