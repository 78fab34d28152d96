"""Whatever is done in whatever order, document, tree, canvas, stack and selection stay in step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from PySide6.QtCore import QEventLoop, QModelIndex
from PySide6.QtWidgets import QApplication

from bladewise.document import Group, Layer
from bladewise.session import Session
from bladewise.window.dialogs.questions import Answer
from bladewise.window.layer_tree.model import NODE

if TYPE_CHECKING:
    from pathlib import Path

    from bladewise.window.main_window import MainWindow

NAMES = st.sampled_from(["Cup", "Bird", "Tail", "Puddle"])
PLACES = st.integers(0, 150)
PICK = st.integers(0, 1000)


def structure(children: Any) -> list[Any]:
    """Return a job's tree, the front first."""
    rows: list[Any] = []
    for child in reversed(children):
        below = structure(child.children) if isinstance(child, (Layer, Group)) else []
        rows.append((child.id, child.name or child.id, child.visible, child.locked, below))
    return rows


def rows_of(window: MainWindow, parent: QModelIndex | None = None) -> list[Any]:
    """Return what the tree shows, the same way."""
    model, parent = window.layers.model, parent or QModelIndex()
    rows: list[Any] = []
    for row in range(model.rowCount(parent)):
        index = model.index(row, 0, parent)
        assert model.parent(index) == parent
        node = index.data(NODE)
        assert node.what is not None
        rows.append((node.id, index.data(), node.what.visible, node.what.locked, rows_of(window, index)))
    return rows


class Sequence(RuleBasedStateMachine):
    """Anybody at the window."""

    window: MainWindow
    folder: Path

    # --- hands ----------------------------------------------------------------------------------------------------

    def rest(self) -> None:
        """Let the work that is under way end; the check may go on."""
        desk = self.window.desk
        while desk.steps.is_busy or desk.writer.is_busy:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 5)
        QApplication.processEvents()

    def any_of(self, pick: int, things: list[Any]) -> Any:
        return things[pick % len(things)]

    @property
    def ids(self) -> list[str]:
        return [element.id for element in self.window.desk.job.elements()]

    def do(self, name: str, /, **values: Any) -> None:
        self.window.desk.do_plain(name, **values)
        self.rest()

    @initialize()
    def begin(self) -> None:
        (self.folder / "job.svg").unlink(missing_ok=True)
        self.window.layers.search.clear()
        self.window.files.take(Session.new("Sheet", 200, 150), None)
        self.rest()

    # --- edits ----------------------------------------------------------------------------------------------------

    @rule(x=PLACES, y=PLACES, name=NAMES, red=st.booleans())
    def draw(self, x: int, y: int, name: str, red: bool) -> None:
        fill = "#cc3311" if red else "#0077bb"
        self.do("draw-rectangle", x_mm=x, y_mm=y, width_mm=20, height_mm=10, name=name, fill=fill)

    @precondition(lambda self: self.window.desk.selection)
    @rule(
        what=st.sampled_from(["move", "delete", "group", "ungroup", "front", "back", "hide", "lock", "merge", "vinyl"]),
        name=NAMES,
    )
    def edit(self, what: str, name: str) -> None:
        on = self.window.desk.on_selection()
        values: dict[str, tuple[str, dict[str, Any]]] = {
            "move": ("move", {"dx_mm": 7, "dy_mm": -3}),
            "group": ("group", {"name": name}),
            "front": ("reorder", {"to": "front"}),
            "back": ("reorder", {"to": "back"}),
            "hide": ("show", {"visible": False}),
            "lock": ("lock", {"locked": True}),
            "vinyl": ("set-material", {"material": name}),
        }
        step, rest = values.get(what, (what, {}))
        self.do(step, on=on, **rest)

    @precondition(lambda self: self.ids)
    @rule(pick=PICK, name=NAMES)
    def rename_in_the_tree(self, pick: int, name: str) -> None:
        self.window.layers.model.rename_wanted.emit(self.any_of(pick, self.ids), name)
        self.rest()

    @precondition(lambda self: self.ids)
    @rule(pick=PICK, onto=PICK)
    def drag_in_the_tree(self, pick: int, onto: int) -> None:
        model = self.window.layers.model
        data = model.mime_of([self.any_of(pick, self.ids)])
        target = model.index_of(self.any_of(onto, [*self.ids, *(layer.id for layer in self.window.desk.job.layers)]))
        if model.canDropMimeData(data, model.supportedDropActions(), -1, 0, target):
            model.dropMimeData(data, model.supportedDropActions(), -1, 0, target)
        self.rest()

    # --- selecting ------------------------------------------------------------------------------------------------

    @precondition(lambda self: self.ids)
    @rule(picks=st.lists(PICK, max_size=4))
    def select_on_the_canvas(self, picks: list[int]) -> None:
        ids = frozenset(self.any_of(pick, self.ids) for pick in picks)
        self.window.canvas.set_selection(ids)

    @precondition(lambda self: self.ids)
    @rule(pick=PICK)
    def select_in_the_tree(self, pick: int) -> None:
        index = self.window.layers.model.index_of(self.any_of(pick, self.ids))
        if index.isValid():
            self.window.layers.tree.setCurrentIndex(index)

    @rule()
    def select_all(self) -> None:
        self.window.desk.select_all()

    @rule(text=st.sampled_from(["", "cup", "zebra", "red"]))
    def search(self, text: str) -> None:
        self.window.layers.search.setText(text)

    @rule(pick=PICK)
    def show_one_material(self, pick: int) -> None:
        chips = [*self.window.strip.chips, None]
        self.window.desk.filter_material(self.any_of(pick, chips))

    # --- the stack ------------------------------------------------------------------------------------------------

    @rule()
    def undo(self) -> None:
        self.window.desk.undo()
        self.rest()

    @rule()
    def redo(self) -> None:
        self.window.desk.redo()
        self.rest()

    @rule(pick=PICK)
    def jump(self, pick: int) -> None:
        self.window.stack.jump(pick % (len(self.window.desk.session.history.rows) + 1))
        self.rest()

    @precondition(lambda self: self.window.desk.session.history.rows)
    @rule(pick=PICK)
    def switch_a_step(self, pick: int) -> None:
        row = pick % len(self.window.desk.session.history.rows) + 1
        self.window.stack.switch(row, not self.window.stack.model.rows[row].enabled)
        self.rest()

    @precondition(lambda self: self.window.desk.session.history.rows)
    @rule(pick=PICK)
    def remove_a_step(self, pick: int) -> None:
        self.window.stack.remove(pick % len(self.window.desk.session.history.rows) + 1)
        self.rest()

    # --- files ----------------------------------------------------------------------------------------------------

    @rule()
    def save(self) -> None:
        self.window.files.save_to(self.folder / "job.svg")
        self.rest()
        assert not self.window.isWindowModified()

    @precondition(lambda self: (self.folder / "job.svg").exists())
    @rule()
    def open(self) -> None:
        self.window.files.open(self.folder / "job.svg")
        self.rest()
        assert not self.window.isWindowModified()

    @precondition(lambda self: (self.folder / "job.svg").exists())
    @rule()
    def save_and_open_gives_the_same(self) -> None:
        before = structure(self.window.desk.job.layers)
        self.save()
        self.open()
        assert structure(self.window.desk.job.layers) == before

    @rule()
    def new(self) -> None:
        self.window.files.new()

    # --- what must hold -------------------------------------------------------------------------------------------

    @invariant()
    def everything_is_in_step(self) -> None:
        window, desk, job = self.window, self.window.desk, self.window.desk.job
        assert window.canvas.job is job
        if not window.layers.model.is_filtered:
            assert rows_of(window) == structure(job.layers)
        assert all(job.has_id(each) for each in desk.selection)
        shown = {each for each in desk.selection if window.layers.model.index_of(each).isValid()}
        assert set(window.layers.selected_ids()) == shown
        assert set(window.canvas.selection) == set(desk.selection)
        assert {placed.leaf.id for placed in desk.selected_leaves()} == {
            placed.leaf.id
            for placed in job.walk()
            if desk.selection & {placed.leaf.id, placed.layer.id, *(group.id for group in placed.groups)}
        }

    @invariant()
    def strip_stack_and_title_tell_of_this_job(self) -> None:
        window, desk = self.window, self.window.desk
        history = desk.session.history
        assert len(window.stack.model.rows) == len(history.rows) + 1
        assert [row.number for row in window.stack.model.rows if row.is_here] == [history.position]
        assert set(window.strip.chips) == {material.id for material in desk.job.materials_in_use()}
        assert desk.material_filter is None or desk.material_filter in window.strip.chips
        assert window.isWindowModified() == desk.session.is_modified
        assert window.actions_["undo"].isEnabled() == desk.session.can_undo
        assert window.actions_["redo"].isEnabled() == desk.session.can_redo
        assert desk.leaf_count == sum(1 for _ in desk.job.walk())


@pytest.mark.timeout(300)
def test_document_tree_canvas_and_selection_stay_in_step(make_window, tmp_path, monkeypatch):
    monkeypatch.setattr("bladewise.window.files.ask_unsaved", lambda *_args: Answer.DISCARD)
    window_, folder_ = make_window(), tmp_path

    class Here(Sequence):
        window, folder = window_, folder_

    run_state_machine_as_test(Here, settings=settings(max_examples=25, stateful_step_count=20, deadline=None))
