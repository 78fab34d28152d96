"""The page of a verb that is open: its name and what it is for, its numbers, and the two ways out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout

from bladewise.window import icons
from bladewise.window.bench.fields import words
from bladewise.window.bench.verbs import dress
from bladewise.window.controls import IconLabel, KeyFrame, label, push_button, rule

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.operations import Operation
    from bladewise.window.bench.form import StepForm


class OpenPage(KeyFrame):
    """What the bench shows while a verb is open."""

    def __init__(
        self, operation: Operation, form: StepForm, apply: Callable[[], None], leave: Callable[[], None]
    ) -> None:
        """Show the numbers of an operation; `apply` does it, `leave` closes it."""
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(16)
        name = QVBoxLayout()
        name.setSpacing(2)
        title = QHBoxLayout()
        title.setSpacing(8)
        title.addWidget(IconLabel(operation.name if icons.exists(operation.name) else "dot", "accent", 18))
        title.addWidget(label(words(operation.title), "title", scale=1.15))
        title.addStretch(1)
        name.addLayout(title)
        help_ = label(words(operation.help), "muted", scale=0.9)
        help_.setWordWrap(True)
        help_.setFixedWidth(210)
        name.addWidget(help_)
        name.addStretch(1)
        row.addLayout(name)
        row.addWidget(rule(upright=True))
        row.addWidget(_scrolling(form), 1)
        buttons = QVBoxLayout()
        buttons.setSpacing(6)
        self.apply_button = push_button(self.tr("Apply"), apply, kind="primary")
        self.apply_button.setToolTip(self.tr("Enter"))
        self.leave_button = push_button(self.tr("Leave"), leave)
        self.leave_button.setToolTip(self.tr("Escape"))
        buttons.addWidget(self.apply_button)
        buttons.addWidget(self.leave_button)
        buttons.addStretch(1)
        row.addLayout(buttons)


def _scrolling(form: StepForm) -> QScrollArea:
    area = QScrollArea()
    dress(area)
    area.setWidget(form)
    return area
