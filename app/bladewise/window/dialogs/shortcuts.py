"""All keys on one page, made from the actions themselves and from what the parts of the window declare."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QFrame, QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from bladewise.window import keys
from bladewise.window.controls import label, push_button, rule

if TYPE_CHECKING:
    from bladewise.window.actions import Actions
    from bladewise.window.preferences import Preferences


class ShortcutsDialog(QDialog):
    """Keys of the window, and of each part while it has the focus."""

    def __init__(self, actions: Actions, preferences: Preferences, parent: QWidget | None = None) -> None:
        """List the keys."""
        super().__init__(parent)
        self.setWindowTitle(self.tr("Keys"))
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 16)
        column.setSpacing(12)
        column.addWidget(label(self.tr("Keys"), "title", scale=1.15))
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setAccessibleName(self.tr("Keys"))
        area.setObjectName("page")
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        page = QWidget()
        page.setObjectName("scrolled")
        halves = QHBoxLayout(page)
        halves.setContentsMargins(8, 8, 12, 8)
        halves.setSpacing(24)
        form = QKeySequence.SequenceFormat.NativeText
        window = [
            (action.text().replace("&", "").rstrip("…"), ", ".join(key.toString(form) for key in typed))
            for action in actions.all.values()
            if (typed := keys.typed(action.shortcuts()))
        ]
        halves.addLayout(self._column([(self.tr("Anywhere"), window)]))
        halves.addLayout(self._column(self._parts(preferences)))
        area.setWidget(page)
        self.resize(max(900, page.sizeHint().width() + 72), 640)  # keys are longer words in some languages
        column.addWidget(area, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        self.close_button = push_button(self.tr("Close"), self.accept, kind="primary")
        self.close_button.setDefault(True)
        foot.addWidget(self.close_button)
        column.addLayout(foot)

    def _parts(self, preferences: Preferences) -> list[tuple[str, list[tuple[str, str]]]]:
        parts = (
            (self.tr("Canvas"), keys.canvas_keys(preferences)),
            (self.tr("Nodes on the canvas"), keys.node_keys()),
            (self.tr("Drawing and measuring"), keys.drawing_keys()),
            (self.tr("Materials"), keys.chip_keys()),
            (self.tr("Layers"), keys.layer_keys()),
            (self.tr("Find in layers"), keys.find_keys()),
            (self.tr("Command stack"), keys.stack_keys()),
            (self.tr("Make cut-ready"), keys.readying_keys()),
            (self.tr("Numbers"), keys.number_keys()),
        )
        return [(title, [(key.text, key.written) for key in declared]) for title, declared in parts]

    def _column(self, sections: list[tuple[str, list[tuple[str, str]]]]) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        for title, pairs in sections:
            column.addWidget(label(title, "title"))
            column.addWidget(rule())
            grid = QGridLayout()
            grid.setVerticalSpacing(4)
            for row, (what, written) in enumerate(pairs):
                called = label(what)
                called.setContentsMargins(0, 2, 0, 0)  # room for the dots of an Ö
                grid.addWidget(called, row, 0)
                grid.addWidget(label(written, "muted"), row, 1, Qt.AlignmentFlag.AlignRight)
            grid.setColumnStretch(0, 1)
            column.addLayout(grid)
            column.addSpacing(12)
        column.addStretch(1)
        return column
