"""The open numbers of a step in the stack: the fields of the bench, what it acts on, and a live ghost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout

from bladewise import operations
from bladewise.operations import Selection
from bladewise.window.bench.fields import words
from bladewise.window.bench.form import ACTS_ON, StepForm
from bladewise.window.controls import ElidedLabel, KeyFrame, label, push_button
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.operations import Step
    from bladewise.window.desk import Desk


class StepEditor(KeyFrame):
    """Lies over a step's row while its numbers are changed."""

    changed = Signal()
    applied = Signal(object)
    left = Signal()

    def __init__(self, step: Step, desk: Desk) -> None:
        """Show a step's numbers."""
        super().__init__()
        self.setObjectName("card")
        self.setAutoFillBackground(True)
        self._desk = desk
        self._on: Any = step.on
        operation = operations.operation(step.do)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label(words(operation.title), "title"))
        head.addStretch(1)
        column.addLayout(head)
        self.has_on = any(parameter.name == ACTS_ON for parameter in operation.parameters)
        self.acts_on = ElidedLabel("", "muted")
        if self.has_on:
            row = QHBoxLayout()
            row.addWidget(self.acts_on, 1)
            self.take = push_button(self.tr("Use what is selected"), self._take_selection, kind="link")
            row.addWidget(self.take)
            column.addLayout(row)
            self._describe()
        self.form = StepForm(operation, desk, step.record)
        self.form.changed.connect(self.changed)
        column.addWidget(self.form)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(push_button(self.tr("Leave"), self.left.emit))
        self.apply_button = push_button(self.tr("Apply"), self.apply, kind="primary")
        buttons.addWidget(self.apply_button)
        column.addLayout(buttons)
        self.entered.connect(self.apply)
        self.escaped.connect(self.left)

    def step(self) -> Step:
        """Return the step for what is typed.

        Raises
        ------
        ValueError
            With the reason why not.
        """
        return self.form.step(self._on)

    def apply(self) -> None:
        """Hand on the changed step, or say why not."""
        try:
            step = self.step()
        except ValueError as error:
            from bladewise.window.desk import Message, Tone

            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self.applied.emit(step)

    def start(self) -> None:
        """Put the cursor where typing begins."""
        first = self.form.first_field()
        (first or self.apply_button).setFocus(Qt.FocusReason.OtherFocusReason)
        line = first.focusProxy() if first is not None else None
        if isinstance(line, QLineEdit):
            line.selectAll()

    def height_in(self, width: int) -> int:
        """Return the height it needs in a width."""
        inner = width - 16 - 24
        flow = self.form.layout()
        form = flow.heightForWidth(inner) if flow is not None and self.form.fields else 0
        lines = self.fontMetrics().height() + 4
        return 9 + lines + (8 + lines + 6 if self.has_on else 0) + 8 + form + 8 + 32 + 18

    def _take_selection(self) -> None:
        plain = self._desk.on_selection()
        self._on = Selection.from_plain(plain) if self._desk.selection else self._on
        self._describe()
        self.changed.emit()

    def _describe(self) -> None:
        self.acts_on.setText(self.tr("Acts on {what}").format(what=say(self._on.describe(self._desk.job))))
