"""How the readiness panel is laid out: a head, what can be done about all findings, the list, or words in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from bladewise.window.controls import ElidedLabel, FlowLayout, IconLabel, label, push_button

if TYPE_CHECKING:
    from bladewise.window.readiness.row import FindingRow


class PanelFrame(QFrame):
    """The panel without what it knows of findings."""

    export_wanted = Signal()
    readying_wanted = Signal()

    def __init__(self) -> None:
        """Begin with nothing laid out."""
        super().__init__()
        self.setObjectName("panel")
        self.rows: list[FindingRow] = []
        self._kept: dict[tuple[Any, ...], QWidget] = {}

    def mend_safe(self) -> None:
        """Do every step that changes nothing a customer would see; the panel does."""
        raise NotImplementedError

    def show_all_materials(self) -> None:
        """List the findings of all materials again; the panel does."""
        raise NotImplementedError

    def build(self) -> None:
        """Lay out the panel."""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.setContentsMargins(12, 0, 12, 0)
        head.addWidget(label(self.tr("Readiness"), "title"))
        head.addStretch(1)
        self.state = ElidedLabel("", "muted")
        head.addWidget(self.state)
        column.addLayout(head)
        column.addWidget(self._make_deeds())
        column.addWidget(self._make_filter())
        self._page = QWidget()
        self._page.setObjectName("scrolled")
        self._list = QVBoxLayout(self._page)
        self._list.setContentsMargins(0, 0, 0, 8)
        self._list.setSpacing(0)
        self._said: QWidget | None = None
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setAccessibleName(self.tr("Findings"))
        self.area.setWidget(self._page)
        column.addWidget(self.area, 1)

    def _make_deeds(self) -> QWidget:
        """Return what can be done about all findings at once."""
        self.deeds = QWidget()
        margin = QHBoxLayout(self.deeds)
        margin.setContentsMargins(12, 2, 8, 2)
        row = FlowLayout(gap=6, row_gap=2)
        margin.addLayout(row)
        self.ready_button = push_button(
            self.tr("Make cut-ready…"), self.readying_wanted.emit, kind="verb", icon="make-cut-ready"
        )
        self.ready_button.setToolTip(self.tr("See every step that is proposed, with its reason, before it is done"))
        self.mend_all = push_button("", self.mend_safe, kind="link")
        self.mend_all.setToolTip(
            self.tr("Do every step that changes nothing a customer would see; each can be undone by itself")
        )
        row.addWidget(self.ready_button)
        row.addWidget(self.mend_all)
        self.deeds.hide()
        return self.deeds

    def _make_filter(self) -> QWidget:
        """Return the line that says that only one material's findings are listed."""
        self.filter = QWidget()
        row = QHBoxLayout(self.filter)
        row.setContentsMargins(12, 0, 8, 0)
        row.setSpacing(6)
        self.filter_text = ElidedLabel("", "muted")
        self.show_all = push_button(self.tr("Show all"), self.show_all_materials, kind="link")
        row.addWidget(self.filter_text)
        row.addWidget(self.show_all)
        row.addStretch(1)
        self.filter.hide()
        return self.filter

    def _say_ready(self) -> None:
        self._say("mark-good", "good", self.tr("Ready to cut"), self.tr("Nothing stands in the way of a clean cut."))
        assert self._said is not None
        layout = self._said.layout()
        assert isinstance(layout, QVBoxLayout)
        row = QHBoxLayout()
        self.export_button = push_button(self.tr("Hand off…"), self.export_wanted.emit, kind="primary", icon="export")
        row.addStretch(1)
        row.addWidget(self.export_button)
        row.addStretch(1)
        layout.insertSpacing(layout.count() - 1, 6)
        layout.insertLayout(layout.count() - 1, row)
        self.export_button.show()  # Qt would wait for its next round

    def _say(self, icon: str, colour: str, title: str, text: str) -> None:
        """Say something in place of the list."""
        had_focus = any(has_focus(row) for row in self.rows) or (
            self._said is not None and has_focus(self._said.findChild(QPushButton) or self._said)
        )
        self._say_nothing()
        while self._list.count():
            self._list.takeAt(0)
        for widget in self._kept.values():
            self._drop(widget)
        self._kept, self.rows = {}, []
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(24, 12, 24, 12)
        column.setSpacing(6)
        column.addStretch(1)
        column.addWidget(IconLabel(icon, colour, 30), 0, Qt.AlignmentFlag.AlignHCenter)
        head = label(title, "good" if colour == "good" else "title", scale=1.15)
        head.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        head.setWordWrap(True)
        column.addWidget(head)
        if text:
            body = label(text, "muted")
            body.setAlignment(Qt.AlignmentFlag.AlignHCenter)
            body.setWordWrap(True)
            column.addWidget(body)
        column.addStretch(2)
        self._said = page
        self._list.addWidget(page, 1)
        page.show()
        if had_focus:
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _say_nothing(self) -> None:
        if self._said is not None:
            self._list.removeWidget(self._said)
            self._drop(self._said)
            self._said = None

    def _drop(self, widget: QWidget) -> None:
        widget.hide()
        widget.setParent(None)
        widget.deleteLater()


def has_focus(widget: QWidget) -> bool:
    """Whether a widget has the focus, or something in it."""
    focus = widget.focusWidget()
    return widget.hasFocus() or (focus is not None and focus.hasFocus() and widget.isAncestorOf(focus))
