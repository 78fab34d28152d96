"""The panel with the command stack: click to go to a point, double-click or Enter to change numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QModelIndex, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHBoxLayout, QListView, QMenu, QVBoxLayout

from bladewise import operations
from bladewise.errors import BladewiseError, Cancelled
from bladewise.window import keys
from bladewise.window.command_stack.delegate import StackDelegate, on_box, on_cross
from bladewise.window.command_stack.editor import StepEditor
from bladewise.window.command_stack.model import StackModel
from bladewise.window.controls import flat_button, label
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QMouseEvent, QResizeEvent

    from bladewise.history import History
    from bladewise.operations import Outcome, Step
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

GHOST_AFTER_MS = 60
_NOT_THE_ACTION = frozenset({"open", "switch", "remove"})
"""Keys of the stack that would otherwise be the window's."""


class StackPanel(QFrame):
    """The steps done to the job."""

    recipe_wanted = Signal()
    opened = Signal()

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self.setObjectName("panel")
        self._desk = desk
        self._editor: StepEditor | None = None
        self._shown: History | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(6)
        head = QHBoxLayout()
        head.setContentsMargins(12, 0, 8, 0)
        head.setSpacing(2)
        head.addWidget(label(self.tr("Command stack"), "title"))
        head.addStretch(1)
        self.undo = flat_button("undo", self.tr("Undo"), desk.undo)
        self.redo = flat_button("redo", self.tr("Redo"), desk.redo)
        self.recipe = flat_button("recipe", self.tr("Save as recipe"), self.recipe_wanted.emit)
        for button in (self.undo, self.redo, self.recipe):
            head.addWidget(button)
        column.addLayout(head)
        self.model = StackModel(self)
        self.list = _List(self)
        self.list.setModel(self.model)
        column.addWidget(self.list, 1)
        self.nothing = label(
            self.tr("What you do is listed here step by step, with its numbers. Double-click a step to change them."),
            "muted",
        )
        self.nothing.setWordWrap(True)
        self.nothing.setContentsMargins(12, 0, 12, 12)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        column.addWidget(self.nothing, 4)
        self.model.switch_wanted.connect(self.switch)
        desk.stack_changed.connect(self.refresh)
        desk.opened.connect(self.leave)
        self.refresh()

    def refresh(self) -> None:
        """Show the stack as it is."""
        session = self._desk.session
        self.undo.setEnabled(session.can_undo)
        self.redo.setEnabled(session.can_redo)
        self.recipe.setEnabled(bool(session.history.rows))
        self.nothing.setVisible(not session.history.rows)
        if session.history is self._shown:
            return
        self._shown = session.history
        if self._editor is not None:
            self.leave()
        self.model.set_history(session.history)
        here = self.model.index(session.history.position)
        self.list.setCurrentIndex(here)
        self.list.scrollTo(here)

    # --- what can be done with a step -----------------------------------------------------------------------------

    @property
    def position(self) -> int:
        """Where in the stack we stand."""
        return self._desk.session.history.position

    def jump(self, row: int) -> None:
        """Go to the point after a step; row 0 is the art as it came."""
        self._desk.jump(row)

    def switch(self, row: int, on: bool) -> None:  # noqa: FBT001 - connected to a signal
        """Switch a step on or off."""
        title = self.tr("Switching a step on") if on else self.tr("Switching a step off")
        self._desk.edit_stack(
            lambda history, progress: history.switched(row - 1, enabled=on, progress=progress), title=title
        )

    def remove(self, row: int) -> None:
        """Take a step out."""
        if row > 0:
            self._desk.edit_stack(
                lambda history, progress: history.removed(row - 1, progress), title=self.tr("Removing a step")
            )

    def edit(self, row: int) -> None:
        """Open a step's numbers in its row."""
        if not 0 < row < len(self.model.rows):
            return
        self.leave()
        self.opened.emit()
        step = self._desk.session.history.rows[row - 1].entry.step
        editor = StepEditor(step, self._desk)
        editor.applied.connect(lambda changed: self._apply(row, changed))
        editor.left.connect(self.leave)
        editor.changed.connect(lambda: self._numbers_changed(row))
        self._editor = editor
        self.fit_editor(row)
        self.list.setIndexWidget(self.model.index(row), editor)
        self.list.scrollTo(self.model.index(row), QAbstractItemView.ScrollHint.EnsureVisible)
        editor.start()
        self._desk.tell(Message(""))

    def fit_editor(self, row: int = -1) -> None:
        """Give the open row the height it needs."""
        row = row if row >= 0 else self.model.open_row
        if self._editor is not None and row >= 0:
            self.model.set_tall(row, self._editor.height_in(self.list.viewport().width()))

    def leave(self) -> None:
        """Close the open numbers; nothing is changed."""
        editor, self._editor = self._editor, None
        if editor is None:
            return
        row = self.model.open_row
        editor.form.leave()
        self._desk.ghosts.cancel()
        self._desk.show_ghost(None)
        self.model.set_tall(-1, 0)
        if 0 <= row < len(self.model.rows):
            self.list.setIndexWidget(self.model.index(row), None)  # type: ignore[arg-type]
        editor.hide()
        editor.deleteLater()
        self.list.setFocus()

    def menu(self, row: int) -> QMenu:
        """Return what can be done with a row."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if row > 0:
            menu.addAction(self.tr("Change its numbers\tEnter"), lambda: self.edit(row))
        menu.addAction(self.tr("Go to this point\tG"), lambda: self.jump(row))
        if row > 0:
            on = self.model.rows[row].enabled
            menu.addAction(
                (self.tr("Switch off") if on else self.tr("Switch on")) + "\t" + self.tr("Space"),
                lambda: self.switch(row, not on),
            )
            menu.addSeparator()
            menu.addAction(self.tr("Remove\tDel"), lambda: self.remove(row))
        return menu

    def _apply(self, row: int, step: Step) -> None:
        self.leave()
        self._desk.edit_stack(
            lambda history, progress: history.changed(row - 1, step, progress),
            title=self.tr("Changing a step"),
        )

    def _numbers_changed(self, row: int) -> None:
        editor = self._editor
        if editor is None:
            return
        self.fit_editor(row)
        try:
            step = editor.step()
        except ValueError as error:
            editor.apply_button.setEnabled(False)
            self._desk.ghosts.cancel()
            self._desk.show_ghost(None)
            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        editor.apply_button.setEnabled(True)
        history = self._desk.session.history

        def work(progress: Progress) -> Outcome:
            job = history.changed(row - 1, step, progress).job
            return operations.Outcome(job, history.job.changes_to(job))

        def finish(outcome: Outcome) -> None:
            if self._editor is editor and history is self._desk.session.history:
                self._desk.show_ghost(outcome)
                self._desk.tell(Message(""))

        def failed(error: BladewiseError) -> None:
            if self._editor is editor and not isinstance(error, Cancelled):
                self._desk.show_ghost(None)
                self._desk.tell_error(error)

        self._desk.ghosts.start(work, finish, failed, instead=True, after_ms=GHOST_AFTER_MS)


class _List(QListView):
    def __init__(self, panel: StackPanel) -> None:
        super().__init__()
        self._panel = panel
        self._before: int | None = None
        self._pressed: QModelIndex | None = None
        self.setAccessibleName(self.tr("Command stack"))
        self.setItemDelegate(StackDelegate(self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMouseTracking(True)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(self._open_menu)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click goes to the point, on the cross removes the step; the box is the delegate's."""
        index = self.indexAt(event.position().toPoint())
        super().mouseReleaseEvent(event)
        if event.button() is not Qt.MouseButton.LeftButton or not index.isValid():
            return
        rect, x = self.visualRect(index), event.position().toPoint().x()
        if index.row() > 0 and on_box(rect, x):
            return
        if index.row() > 0 and on_cross(rect, x):
            self._panel.remove(index.row())
            return
        self._before = self._panel.position
        self._panel.jump(index.row())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the numbers, standing where we stood before the first click of the two."""
        index = self.indexAt(event.position().toPoint())
        if not index.isValid() or event.button() is not Qt.MouseButton.LeftButton:
            return
        x = event.position().toPoint().x()
        if on_box(self.visualRect(index), x) or on_cross(self.visualRect(index), x):
            return
        if self._before is not None:
            self._panel.jump(self._before)
            self._before = None
        row = index.row()
        QTimer.singleShot(0, self, lambda: self._panel.edit(row))

    def event(self, event: QEvent) -> bool:
        """Keep the keys that mean a step here from meaning art elsewhere."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and keys.meant(keys.stack_keys(), event)
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the keys of the stack mean."""
        row = self.currentIndex().row()
        match keys.meant(keys.stack_keys(), event):
            case "open":
                self._panel.edit(row)
            case "switch" if row > 0:
                self._panel.switch(row, not self._panel.model.rows[row].enabled)
            case "remove":
                self._panel.remove(row)
            case "go" if row >= 0:
                self._panel.jump(row)
            case _:
                super().keyPressEvent(event)
                return
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wrap the words anew."""
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()
        self._panel.fit_editor()

    def _open_menu(self, place: QPoint) -> None:
        index = self.indexAt(place)
        if index.isValid():
            self._panel.menu(index.row()).exec(self.viewport().mapToGlobal(place))
