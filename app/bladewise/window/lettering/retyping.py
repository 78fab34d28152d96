"""Retyping: live lettering is typed anew and the canvas shows it as it will be; leaving makes one step of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QPlainTextEdit

from bladewise import operations
from bladewise.document import Changes, Lettering
from bladewise.errors import BladewiseError, Cancelled
from bladewise.window.bench.hand_strips import HandStrip
from bladewise.window.canvas.handiwork import Handiwork
from bladewise.window.desk import Message
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QKeyEvent

    from bladewise.document import Job
    from bladewise.operations import Outcome, Step
    from bladewise.window.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers
    from bladewise.window.desk import Desk

translate = QCoreApplication.translate


class Retyping(Handiwork):
    """One lettering is being typed anew."""

    name = "retype"
    aims_by_keys = False
    hides_selection = True
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: Canvas, desk: Desk, lettering: Lettering) -> None:
        """Begin with what it says."""
        super().__init__(canvas)
        self.desk = desk
        self.lettering = lettering
        self.text = lettering.text
        self._ready: tuple[Step, Job, Outcome] | None = None
        self._shown: Job | None = None
        self._ended = False

    # --- typing ---------------------------------------------------------------------------------------------------

    def type(self, text: str) -> None:
        """Show what the lettering would look like."""
        self.text = text
        if not text.strip():
            self.desk.ghosts.cancel()
            self._show(None)
            self.desk.tell(Message(translate("Retyping", "Type a word; lettering that says nothing stays as it was.")))
            return
        job, step = self.desk.job, self._step()

        def finish(outcome: Outcome) -> None:
            if not self._ended and job is self.desk.job and self.text == text:
                self._ready = (step, job, outcome)
                self._show(outcome.job)
                self.desk.tell(Message(" ".join(say(each) for each in outcome.reports)))

        def failed(error: BladewiseError) -> None:
            if not self._ended and not isinstance(error, Cancelled):
                self._show(None)
                self.desk.tell_error(error)

        self.desk.ghosts.start(lambda progress: operations.apply(job, step, progress), finish, failed, instead=True)

    def take(self) -> None:
        """Take what was typed."""
        self.canvas.put_down()

    def give_up(self) -> None:
        """Leave it as it was."""
        self.text = self.lettering.text
        self.canvas.put_down()

    # --- the hand -------------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """A click elsewhere takes what was typed."""
        self.take()

    def key(self, event: QKeyEvent) -> bool:
        """Enter takes it from the canvas too."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.take()
            return True
        return False

    def escape(self) -> bool:
        """Escape leaves it as it was."""
        self.text = self.lettering.text
        return False

    def selection_changed(self) -> None:
        """Whoever selects something else takes what was typed."""
        if not self._ended and self.lettering.id not in self.canvas.selection:
            self.take()

    def job_changed(self) -> None:
        """Lettering that was changed in another way meanwhile is not typed over."""
        if not self._ended and self.desk.job.element(self.lettering.id) is not self.lettering:
            self._shown = None
            self.give_up()

    def leave(self) -> None:
        """End; what was typed becomes a step."""
        self._ended = True
        self.desk.ghosts.cancel()
        is_new = self.text != self.lettering.text and bool(self.text.strip())
        if not is_new:
            self._show(None)
            self.desk.tell(Message(""))
            return
        step = self._step()
        ready = self._ready[1:] if self._ready is not None and self._ready[0] == step else None
        self.desk.do(step, ready=ready, failed=self._refused)

    def _refused(self, error: BladewiseError) -> None:
        self._show(None)
        self.desk.tell_error(error)

    def _step(self) -> Step:
        return operations.step("retype", {"on": [self.lettering.id], "text": self.text})

    def _show(self, job: Job | None) -> None:
        """Show a job on the canvas in place of the one on the desk; None shows that again."""
        if job is None and self._shown is None:
            return
        self._shown = job
        none: frozenset[str] = frozenset()
        changes = Changes(none, none, frozenset({self.lettering.id}), structure=False)
        self.canvas.set_job(job if job is not None else self.desk.job, changes)


class RetypeStrip(HandStrip):
    """Where it is typed."""

    def __init__(self, work: Retyping, desk: Desk) -> None:
        """Make the field."""
        help_ = translate("RetypeStrip", "Enter takes it, Shift+Enter begins a new line, Escape leaves it as it was.")
        super().__init__(work, translate("RetypeStrip", "Retype"), help_, "retype")
        self.editor = _Editor(work)
        self.editor.setAccessibleName(translate("RetypeStrip", "What the lettering says"))
        self.editor.setAccessibleDescription(help_)
        font = self.editor.font()
        font.setPointSizeF(font.pointSizeF() * 1.3)
        self.editor.setFont(font)
        self.editor.setPlainText(work.lettering.text)
        self.editor.selectAll()
        self.editor.setTabChangesFocus(True)
        self.editor.textChanged.connect(lambda: work.type(self.editor.toPlainText()))
        self.middle.addWidget(self.editor, 1)
        self._desk = desk

    def first_stop(self) -> QPlainTextEdit:
        """Return the field."""
        return self.editor


class _Editor(QPlainTextEdit):
    def __init__(self, work: Retyping) -> None:
        super().__init__()
        self._work = work
        self.setMaximumHeight(96)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes it, Escape leaves it; with Shift, Enter begins a line."""
        if event.key() == Qt.Key.Key_Escape:
            self._work.give_up()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                self.insertPlainText("\n")
            else:
                self._work.take()
        else:
            super().keyPressEvent(event)
