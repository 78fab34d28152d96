"""A finding as a row, and the heading over the findings of one rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from bladewise.findings import Severity
from bladewise.units import format_length
from bladewise.window import icons, theme
from bladewise.window.bench.fields import words
from bladewise.window.controls import ElidedLabel, push_button
from bladewise.window.design import RADIUS_SMALL
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.findings import Finding

SEVERITY_COLOURS = {Severity.SPOILS: "spoils", Severity.MAY_SPOIL: "may_spoil", Severity.WASTES: "wastes"}


class RuleMark(QWidget):
    """The mark that a rule's findings bear on the canvas."""

    def __init__(self, rule: str) -> None:
        """Show a rule's mark."""
        super().__init__()
        self._rule = rule
        self.setFixedSize(18, 18)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it as the canvas does."""
        from bladewise.window.canvas import look_of, paint_mark_shape

        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_mark_shape(painter, QPointF(9, 9), look_of(self._rule), theme.colour("panel"), 6.0)
        painter.end()


class RuleHeading(QFrame):
    """Which rule, how much harm, how many; and one button that mends them all where one step can."""

    def __init__(self, findings: list[Finding], mend_all: tuple[str, Callable[[], None]] | None) -> None:
        """Head the findings of one rule; `mend_all` is the button's words and what it does."""
        super().__init__()
        first = findings[0]
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 8, 2)
        row.setSpacing(8)
        row.addWidget(RuleMark(first.rule))
        title = ElidedLabel(words(first.rule.replace("-", " ")), "title")  # it gives way where the panel is narrow
        row.addWidget(title)
        harm = ElidedLabel(words(first.severity.text))
        smaller = harm.font()
        smaller.setPointSizeF(0.9 * smaller.pointSizeF())
        harm.setFont(smaller)
        harm.setStyleSheet(f"color: {getattr(theme.current(), SEVERITY_COLOURS[first.severity])};")
        row.addWidget(harm)
        row.addStretch(1)
        if mend_all is not None:
            self.mend = push_button(*mend_all, kind="link")
            self.mend.setToolTip(say(first.remedy.text))
            self.mend.setAccessibleName(f"{mend_all[0]}: {words(first.rule.replace('-', ' '))}")
            row.addWidget(self.mend)


class FindingRow(QFrame):
    """One finding: what it says, where, and its remedy. A click or Enter goes there."""

    chosen = Signal()

    def __init__(self, finding: Finding, unit: str, mend: Callable[[], None]) -> None:
        """Show a finding."""
        super().__init__()
        self.finding = finding
        self.is_current = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(f"{words(finding.severity.text)}: {say(finding.message)}")
        x, y = (format_length(each, unit=unit, decimals=1) for each in (finding.x_mm, finding.y_mm))
        self.setToolTip(self.tr("At {x}, {y}; click to go there").format(x=x, y=y))
        column = QVBoxLayout(self)
        column.setContentsMargins(36, 4, 12, 4)
        column.setSpacing(2)
        message = _Wrapped(say(finding.message))
        message.setContentsMargins(4, 0, 0, 0)
        column.addWidget(message)
        if finding.remedy.do is not None:
            self.remedy = WrappedButton(say(finding.remedy.text))
            self.remedy.clicked.connect(lambda _checked=False: mend())
            self.remedy.setAccessibleDescription(say(finding.message))
            column.addWidget(self.remedy)
        else:
            word = _Wrapped(say(finding.remedy.text), "muted")
            word.setContentsMargins(4, 0, 0, 2)
            column.addWidget(word)

    def set_current(self, *, on: bool) -> None:
        """Show that the canvas points at this finding."""
        if on != self.is_current:
            self.is_current = on
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go there."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.chosen.emit()
            event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes there; up and down go through the findings."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit()
        elif event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self.focusNextPrevChild(event.key() == Qt.Key.Key_Down)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus."""
        super().focusInEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground, and the focus."""
        painter = QPainter(self)
        if self.is_current or self.underMouse():
            painter.fillRect(self.rect(), theme.colour("soft" if self.is_current else "hover"))
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 1, -2, -1), RADIUS_SMALL, RADIUS_SMALL)
        painter.end()


class WrappedButton(QAbstractButton):
    """A button whose words run over as many lines as they need."""

    def __init__(self, text: str) -> None:
        """Show words."""
        super().__init__()
        self.setText(text)
        self.setAccessibleName(text)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def hasHeightForWidth(self) -> bool:
        """Say that its height follows from its width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height its words need."""
        box = QRect(0, 0, max(40, width - 24), 10_000)
        return self.fontMetrics().boundingRect(box, Qt.TextFlag.TextWordWrap, self.text()).height() + 8

    def sizeHint(self) -> QSize:
        """Ask for the height at the width there is."""
        return QSize(120, self.heightForWidth(max(120, self.width())))

    def minimumSizeHint(self) -> QSize:
        """Be content with little width."""
        return QSize(60, self.heightForWidth(max(60, self.width())))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the words, the ground under the pointer, and the focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRect(24, 4, self.width() - 24, self.height() - 8)
        words_box = self.fontMetrics().boundingRect(box, Qt.TextFlag.TextWordWrap, self.text())
        ground = QRectF(0.5, 0.5, words_box.right() + 7.0, self.height() - 1.0)
        painter.setPen(QPen(theme.colour("focus"), 2) if self.hasFocus() else QPen(Qt.PenStyle.NoPen))
        painter.setBrush(theme.colour("hover") if self.underMouse() else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(ground, RADIUS_SMALL, RADIUS_SMALL)
        icons.paint(painter, "mend", QRectF(4, (self.fontMetrics().height() - 14) / 2 + 4, 14, 14), "accent")
        painter.setPen(theme.colour("accent"))
        painter.drawText(box, Qt.TextFlag.TextWordWrap, self.text())
        painter.end()


class _Wrapped(QLabel):
    def __init__(self, text: str, role: str = "") -> None:
        super().__init__(text)
        self.setWordWrap(True)
        if role:
            self.setProperty("role", role)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def minimumSizeHint(self) -> QSize:
        """Let the width be whatever there is."""
        return QSize(60, self.heightForWidth(max(60, self.width())))
