"""All keys on one page, made from the actions themselves and from what the panels declare."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QFrame, QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from bladewise.window.controls import label, push_button, rule

if TYPE_CHECKING:
    from bladewise.window.actions import Actions


class ShortcutsDialog(QDialog):
    """Keys of the window, and of each panel while it has the focus."""

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        """List the keys."""
        super().__init__(parent)
        self.setWindowTitle(self.tr("Keys"))
        self.resize(720, 560)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 18)
        column.setSpacing(12)
        column.addWidget(label(self.tr("Keys"), "title", scale=1.2))
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setAccessibleName(self.tr("Keys"))
        page = QWidget()
        page.setObjectName("scrolled")
        halves = QHBoxLayout(page)
        halves.setContentsMargins(0, 0, 12, 0)
        halves.setSpacing(36)
        window = [
            (
                action.text().replace("&", "").rstrip("…"),
                action.shortcut().toString(QKeySequence.SequenceFormat.NativeText),
            )
            for action in actions.all.values()
            if not action.shortcut().isEmpty()
        ]
        halves.addLayout(self._column([(self.tr("Anywhere"), window)]))
        halves.addLayout(self._column(self._panels()))
        area.setWidget(page)
        column.addWidget(area, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        self.close_button = push_button(self.tr("Close"), self.accept, kind="primary")
        self.close_button.setDefault(True)
        foot.addWidget(self.close_button)
        column.addLayout(foot)

    def _panels(self) -> list[tuple[str, list[tuple[str, str]]]]:
        return [
            (
                self.tr("Canvas"),
                [
                    (self.tr("Next, previous shape"), self.tr("Tab, Shift+Tab")),
                    (self.tr("Move by 0.1 mm, by 1 mm"), self.tr("arrows, Shift+arrows")),
                    (self.tr("Zoom in, out, whole job"), "+  –  0"),
                    (self.tr("Peek at the outlines"), self.tr("hold E")),
                    (self.tr("Pan"), self.tr("Space and drag")),
                    (self.tr("Let go"), self.tr("Escape")),
                ],
            ),
            (
                self.tr("Layers"),
                [
                    (self.tr("Rename"), "F2"),
                    (self.tr("Hide or show"), "H"),
                    (self.tr("Lock or free"), "L"),
                ],
            ),
            (
                self.tr("Command stack"),
                [
                    (self.tr("Change the numbers"), self.tr("Enter")),
                    (self.tr("Switch on or off"), self.tr("Space")),
                    (self.tr("Go to this point"), "G"),
                    (self.tr("Remove"), self.tr("Delete")),
                ],
            ),
            (
                self.tr("Numbers"),
                [
                    (self.tr("One more, one less"), self.tr("up, down")),
                    (self.tr("A tenth of that"), self.tr("Shift+up, Shift+down")),
                    (self.tr("Apply, leave"), self.tr("Enter, Escape")),
                ],
            ),
        ]

    def _column(self, sections: list[tuple[str, list[tuple[str, str]]]]) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        for title, pairs in sections:
            column.addWidget(label(title, "title"))
            column.addWidget(rule())
            grid = QGridLayout()
            grid.setVerticalSpacing(6)
            for row, (what, keys) in enumerate(pairs):
                grid.addWidget(label(what), row, 0)
                grid.addWidget(label(keys, "muted"), row, 1, Qt.AlignmentFlag.AlignRight)
            grid.setColumnStretch(0, 1)
            column.addLayout(grid)
            column.addSpacing(12)
        column.addStretch(1)
        return column
