"""What the reader of a file could not take in, or had to assume: shown once after opening, afterwards from the menu."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from bladewise.window.controls import IconLabel, label, push_button
from bladewise.window.language import say


class NotesDialog(QDialog):
    """A readable list, one sentence a kind."""

    def __init__(self, notes: tuple[str, ...], name: str, parent: QWidget | None = None) -> None:
        """List the notes of a job."""
        super().__init__(parent)
        self.setWindowTitle(self.tr("Notes on the artwork"))
        self.setMinimumWidth(480)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 16)
        column.setSpacing(12)
        title = (
            self.tr("All of “{name}” was understood")
            if not notes
            else self.tr("“{name}” was opened; this is to be known of it")
        )
        head = label(title.format(name=name), "title", scale=1.15)
        head.setWordWrap(True)
        column.addWidget(head)
        if notes:
            lead = label(
                self.tr("Look whether any of it matters for the cut. The file itself was not touched."), "muted"
            )
            lead.setWordWrap(True)
            column.addWidget(lead)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setAccessibleName(self.tr("Notes"))
        area.setObjectName("page")
        page = QWidget()
        page.setObjectName("scrolled")
        rows = QVBoxLayout(page)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        for note in notes:
            row = QHBoxLayout()
            row.setSpacing(8)
            row.addWidget(IconLabel("mark-note", "muted"), 0, Qt.AlignmentFlag.AlignTop)
            text = QLabel(say(note))
            text.setWordWrap(True)
            text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            row.addWidget(text, 1)
            rows.addLayout(row)
        rows.addStretch(1)
        area.setWidget(page)
        if notes:
            column.addWidget(area, 1)
        else:
            column.addStretch(1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        self.close_button = push_button(self.tr("Close"), self.accept, kind="primary")
        self.close_button.setDefault(True)
        foot.addWidget(self.close_button)
        column.addLayout(foot)
