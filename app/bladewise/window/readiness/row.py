"""A finding as a row, and the headings over the findings of one severity and of one rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from bladewise.units import format_length
from bladewise.window import icons, theme
from bladewise.window.bench.fields import words
from bladewise.window.controls import IconLabel, label, push_button, restyle
from bladewise.window.design import RADIUS_SMALL
from bladewise.window.language import say
from bladewise.window.readiness.severity import SEVERITY_COLOURS, SEVERITY_ICONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.findings import Finding, Severity


class SeverityHeading(QFrame):
    """How much harm what follows does, with its own mark, and how many findings do it."""

    def __init__(self, severity: Severity, count: int) -> None:
        """Head the findings of one severity."""
        super().__init__()
        self.severity, self.count = severity, count
        text = words(severity.text)
        self.setAccessibleName(f"{text}: {count}")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 12, 12, 2)
        row.setSpacing(8)
        colour = SEVERITY_COLOURS[severity]
        row.addWidget(IconLabel(SEVERITY_ICONS[severity], colour, 15))
        name = label(text)
        name.setStyleSheet(f"color: {getattr(theme.current(), colour)}; font-weight: 600;")
        row.addWidget(name)
        row.addStretch(1)
        number = label(str(count), "muted")
        row.addWidget(number)


class RuleHeading(QFrame):
    """Which rule, how many; it opens to its findings; and one button that mends them all where one step can."""

    toggled = Signal(bool)

    def __init__(self, title: str, rule: str, mend_all: tuple[str, Callable[[], None]] | None, tip: str) -> None:
        """Head the findings of one rule; `mend_all` is the button's words and what it does."""
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 2)
        row.setSpacing(4)
        self.fold = _Fold(title, rule)
        self.fold.clicked.connect(lambda _checked=False: self.toggled.emit(self.fold.is_open))
        row.addWidget(self.fold, 1)
        if mend_all is not None:
            self.mend = push_button(*mend_all, kind="link")
            self.mend.setToolTip(tip)
            self.mend.setAccessibleName(f"{mend_all[0]}: {title}")
            row.addWidget(self.mend)

    def stops(self) -> list[QWidget]:
        """Return what can have the focus, in order."""
        return [self.fold, *([self.mend] if hasattr(self, "mend") else [])]


class _Fold(QAbstractButton):
    """The heading itself: an angle that points down when it is open, the rule's mark, its name."""

    def __init__(self, title: str, rule: str) -> None:
        super().__init__()
        self.setText(title)
        self._rule = rule
        self.is_open = True
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.clicked.connect(lambda _checked=False: self.set_open(on=not self.is_open))
        self._name()

    def set_open(self, *, on: bool) -> None:
        """Show whether the findings are in view."""
        if on != self.is_open:
            self.is_open = on
            self._name()
            self.update()

    def _name(self) -> None:
        state = self.tr("open") if self.is_open else self.tr("closed")
        self.setAccessibleName(f"{self.text()}, {state}")

    def sizeHint(self) -> QSize:
        """Return the room for one line."""
        return QSize(120, self.fontMetrics().height() + 10)

    def minimumSizeHint(self) -> QSize:
        """Be content with little width."""
        return QSize(60, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and Space open and close; so do right and left."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        elif key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
            if self.is_open != (key == Qt.Key.Key_Right):
                self.click()
        elif key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self.focusNextPrevChild(key == Qt.Key.Key_Down)
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint angle, mark and name."""
        from bladewise.window.canvas import look_of, paint_mark_shape

        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.height() / 2.0
        if self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("hover"))
            painter.drawRoundedRect(QRectF(self.rect()), RADIUS_SMALL, RADIUS_SMALL)
        angle = QPen(theme.colour("muted"), 1.6)
        angle.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(angle)
        x, size = 9.0, 3.4
        if self.is_open:
            points = [QPointF(x - size, middle - 1.7), QPointF(x, middle + 1.7), QPointF(x + size, middle - 1.7)]
        else:
            points = [QPointF(x - 1.7, middle - size), QPointF(x + 1.7, middle), QPointF(x - 1.7, middle + size)]
        painter.drawPolyline(points)
        paint_mark_shape(painter, QPointF(27, middle), look_of(self._rule), theme.colour("panel"), 6.0)
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        painter.setFont(font)
        painter.setPen(theme.colour("text"))
        room = self.width() - 46
        text = painter.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, room)
        painter.drawText(QRectF(42, 0, room, self.height()), Qt.AlignmentFlag.AlignVCenter, text)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), RADIUS_SMALL, RADIUS_SMALL)
        painter.end()


class FindingRow(QFrame):
    """One finding: what it says, where, and its remedy. A click or Enter goes there."""

    chosen = Signal()

    def __init__(self, finding: Finding, unit: str, mend: Callable[[Finding], None]) -> None:
        """Show a finding; `mend` does its remedy."""
        super().__init__()
        self.finding = finding
        self.is_current = False
        self.is_stale = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(f"{words(finding.severity.text)}: {say(finding.message)}")
        self.take(finding, unit)
        column = QVBoxLayout(self)
        column.setContentsMargins(36, 4, 12, 4)
        column.setSpacing(2)
        self._message = Wrapped(say(finding.message))
        self._message.setContentsMargins(4, 0, 0, 0)
        column.addWidget(self._message)
        if finding.remedy.do is not None:
            self.remedy = WrappedButton(say(finding.remedy.text))
            self.remedy.clicked.connect(lambda _checked=False: None if self.is_stale else mend(self.finding))
            self.remedy.setAccessibleDescription(say(finding.message))
            column.addWidget(self.remedy)
        else:
            word = Wrapped(say(finding.remedy.text), "muted")
            word.setContentsMargins(4, 0, 0, 2)
            column.addWidget(word)

    def take(self, finding: Finding, unit: str) -> None:
        """Stand for a finding that says the same, perhaps of another place."""
        self.finding = finding
        x, y = (format_length(each, unit=unit, decimals=1) for each in (finding.x_mm, finding.y_mm))
        self.setToolTip(self.tr("At {x}, {y}; click to go there").format(x=x, y=y))

    def set_stale(self, *, on: bool) -> None:
        """Stand back while what it is about is checked again: it may no longer hold."""
        if on != self.is_stale:
            self.is_stale = on
            restyle(self._message, "role", "muted" if on else "")

    def stops(self) -> list[QWidget]:
        """Return what can have the focus, in order."""
        return [self, *([self.remedy] if hasattr(self, "remedy") else [])]

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


class Wrapped(QLabel):
    """Words that run over as many lines as they need."""

    def __init__(self, text: str, role: str = "") -> None:
        """Show words; `role` as for a label."""
        super().__init__(text)
        self.setWordWrap(True)
        if role:
            self.setProperty("role", role)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def minimumSizeHint(self) -> QSize:
        """Let the width be whatever there is; the height follows from it."""
        return QSize(60, self.fontMetrics().height())
