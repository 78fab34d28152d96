"""The rows of the page: a step with its reason and a tick, and what is left for a person with the way to see it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout

from bladewise.window import keys, theme
from bladewise.window.controls import IconLabel, label, push_button
from bladewise.window.design import RADIUS
from bladewise.window.language import say
from bladewise.window.readiness.row import Wrapped
from bladewise.window.readiness.severity import SEVERITY_COLOURS, SEVERITY_ICONS
from bladewise.window.readying.chain import NO_CHANGE

if TYPE_CHECKING:
    from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPaintEvent

    from bladewise.findings import Finding
    from bladewise.window.readying.chain import Link


class _Chosen(QFrame):
    """A row that can be the current one: its ground tells, and a bar at its edge."""

    chosen = Signal()
    stepped = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.is_current = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def set_current(self, *, on: bool) -> None:
        """Show whether the pictures show this row."""
        if on != self.is_current:
            self.is_current = on
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose it."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.chosen.emit()
            event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter chooses it; up and down go on to the next."""
        match keys.meant(keys.readying_keys(), event):
            case "show":
                self.chosen.emit()
            case "next" | "previous" as way:
                self.stepped.emit(1 if way == "next" else -1)
            case _:
                super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus; who comes by keys sees at once what the row does."""
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.chosen.emit()
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that it is gone."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(4.0, 1.0, -4.0, -1.0)
        if self.is_current or self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("soft" if self.is_current else "hover"))
            painter.drawRoundedRect(box, RADIUS, RADIUS)
        if self.is_current:
            painter.setBrush(theme.colour("accent"))
            painter.drawRoundedRect(QRectF(box.left(), box.top() + 4.0, 3.0, box.height() - 8.0), 1.5, 1.5)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.drawRoundedRect(box, RADIUS, RADIUS)
        painter.end()


class WholeRow(_Chosen):
    """All steps at once: the job as it is, and what would come of it."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 8, 12, 8)
        row.addWidget(label(self.tr("All steps together")))
        self.setAccessibleName(self.tr("All steps together"))


class StepRow(_Chosen):
    """One step: a tick, its number, what it does, why."""

    ticked = Signal()

    def __init__(self, number: int, link: Link) -> None:
        """Show a proposed step."""
        super().__init__()
        self.number = number
        proposal = link.proposal
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 12, 8)
        row.setSpacing(6)
        self.tick = QCheckBox(f"{number}")
        self.tick.setChecked(link.ticked)
        self.tick.setAccessibleName(self.tr("Do step {n}: {what}").format(n=number, what=say(proposal.summary)))
        self.tick.toggled.connect(lambda _on: self.ticked.emit())
        row.addWidget(self.tick, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout()
        column.setSpacing(2)
        self._what = Wrapped(say(proposal.summary))
        font = self._what.font()
        font.setWeight(font.Weight.DemiBold)
        self._what.setFont(font)
        column.addWidget(self._what)
        self._reason = say(proposal.reason)
        self._why = Wrapped(self._reason, "muted")
        column.addWidget(self._why)
        row.addLayout(column, 1)
        self.show_link(link)

    def set_ticked(self, *, on: bool) -> None:
        """Tick it or not, without asking for anything."""
        self.tick.blockSignals(True)  # noqa: FBT003 - Qt's own
        self.tick.setChecked(on)
        self.tick.blockSignals(False)  # noqa: FBT003 - Qt's own

    def show_link(self, link: Link) -> None:
        """Show what is known now: whether it would be done, and if not, why."""
        if link.refusal:
            told = self.tr("It would change nothing now.") if link.refusal == NO_CHANGE else say(link.refusal)
            text = self.tr("Left out, because a step before it is: {why}").format(why=told)
        else:
            text = self._reason
        self._why.setText(text)
        state = self.tr("left out") if not link.ticked or link.refusal else self.tr("to be done")
        self.setAccessibleName(f"{self.number}. {self._what.text()}, {state}. {text}")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space ticks it."""
        if keys.meant(keys.readying_keys(), event) == "tick":
            self.tick.toggle()
        else:
            super().keyPressEvent(event)


class LeftRow(QFrame):
    """What a person must decide, and the way to see it."""

    wanted = Signal()

    def __init__(self, finding: Finding) -> None:
        """Show a finding that no safe step mends."""
        super().__init__()
        self.finding = finding
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 6, 8, 6)
        row.setSpacing(8)
        mark = IconLabel(SEVERITY_ICONS[finding.severity], SEVERITY_COLOURS[finding.severity], 15)
        row.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout()
        column.setSpacing(2)
        column.addWidget(Wrapped(say(finding.message)))
        column.addWidget(Wrapped(say(finding.remedy.text), "muted"))
        row.addLayout(column, 1)
        self.show_button = push_button(self.tr("Show me"), self.wanted.emit, kind="link")
        self.show_button.setAccessibleName(self.tr("Show me: {what}").format(what=say(finding.message)))
        self.show_button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        row.addWidget(self.show_button, 0, Qt.AlignmentFlag.AlignTop)
