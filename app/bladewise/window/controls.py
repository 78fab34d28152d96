"""Small controls the panels share: labels with a role, buttons, rules, segmented choices, a layout that flows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLayoutItem,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from bladewise.window import icons

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


def label(text: str, role: str = "", *, scale: float = 1.0) -> QLabel:
    """Return a label; `role` is "muted", "title", "trouble", "good" or "badge", `scale` that of its type."""
    result = QLabel(text)
    if role:
        result.setProperty("role", role)
    if scale != 1.0:
        font = result.font()
        font.setPointSizeF(font.pointSizeF() * scale)
        result.setFont(font)
    return result


def flat_button(icon: str, name: str, clicked: Callable[[], object] | None = None, *, tip: str = "") -> QToolButton:
    """Return a button that is only an icon; `name` is what it is called for those who cannot see it."""
    result = QToolButton()
    result.setProperty("kind", "flat")
    icons.put(result, icon)
    result.setIconSize(QSize(16, 16))
    result.setAccessibleName(name)
    result.setToolTip(tip or name)
    result.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    if clicked is not None:
        result.clicked.connect(lambda _checked=False: clicked())
    return result


def push_button(
    text: str, clicked: Callable[[], object] | None = None, *, kind: str = "", icon: str = ""
) -> QPushButton:
    """Return a button with a word; `kind` is "primary", "verb", "link" or "flat"."""
    result = QPushButton(text)
    if kind:
        result.setProperty("kind", kind)
    if icon:
        icons.put(result, icon, "on_accent" if kind == "primary" else "text")
        result.setIconSize(QSize(16, 16))
    result.setAutoDefault(False)
    if clicked is not None:
        result.clicked.connect(lambda _checked=False: clicked())
    return result


def rule(*, upright: bool = False) -> QFrame:
    """Return a hairline."""
    result = QFrame()
    result.setObjectName("rule")
    result.setProperty("upright", upright)
    result.setFrameShape(QFrame.Shape.NoFrame)
    return result


def restyle(widget: QWidget, name: str, value: object) -> None:
    """Set a property that the style sheet looks at, and let it look again."""
    if widget.property(name) != value:
        widget.setProperty(name, value)
        widget.style().unpolish(widget)
        widget.style().polish(widget)


class ElidedLabel(QLabel):
    """A label that shortens its text to the room there is; the whole of it is in the tool tip."""

    def __init__(self, text: str = "", role: str = "", mode: Qt.TextElideMode = Qt.TextElideMode.ElideRight) -> None:
        """Start with a text."""
        super().__init__()
        self._whole = text
        self._mode = mode
        if role:
            self.setProperty("role", role)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        self.setMinimumWidth(1)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Show a text."""
        self._whole = text
        self.setAccessibleName(text)
        self._fit()
        self.updateGeometry()

    def text(self) -> str:
        """Return the whole text."""
        return self._whole

    def sizeHint(self) -> QSize:
        """Ask for room for the whole text."""
        metrics = QFontMetrics(self.font())
        return QSize(metrics.horizontalAdvance(self._whole) + 6, metrics.height() + 2)

    def minimumSizeHint(self) -> QSize:
        """Be content with little."""
        return QSize(1, QFontMetrics(self.font()).height() + 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Shorten anew."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        shown = QFontMetrics(self.font()).elidedText(self._whole, self._mode, max(0, self.width()))
        super().setText(shown)
        self.setToolTip(self._whole if shown != self._whole else "")


class Segments(QWidget):
    """A choice among a few words, all in view; left and right arrows go through them."""

    chosen = Signal(str)

    def __init__(self, choices: Sequence[tuple[str, str]], value: str, name: str) -> None:
        """Take (value, word) pairs, the value to start with, and the control's accessible name."""
        super().__init__()
        self.setAccessibleName(name)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self._buttons: dict[str, QPushButton] = {}
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        for index, (each, word) in enumerate(choices):
            button = QPushButton(word)
            button.setProperty("kind", "segment")
            button.setProperty("place", "first" if index == 0 else "last" if index == len(choices) - 1 else "middle")
            button.setCheckable(True)
            button.setAutoDefault(False)
            button.setAccessibleName(f"{name}: {word}")
            self._group.addButton(button)
            self._buttons[each] = button
            row.addWidget(button)
        self.setFocusProxy(next(iter(self._buttons.values()), None))  # type: ignore[arg-type]
        self.set_value(value)
        self._group.buttonToggled.connect(self._toggled)

    def value(self) -> str:
        """Return the value chosen."""
        return next((each for each, button in self._buttons.items() if button.isChecked()), "")

    def set_value(self, value: str) -> None:
        """Choose a value."""
        if value in self._buttons:
            self._buttons[value].setChecked(True)
            self.setFocusProxy(self._buttons[value])

    def button(self, value: str) -> QPushButton:
        """Return the button of a value."""
        return self._buttons[value]

    def _toggled(self, button: QAbstractButton, on: bool) -> None:  # noqa: FBT001 - Qt's signature
        if on:
            self.setFocusProxy(button)
            self.chosen.emit(self.value())


class FlowLayout(QLayout):
    """Lays its items in rows, as words in a text."""

    def __init__(self, parent: QWidget | None = None, *, gap: int = 6, row_gap: int = 6) -> None:
        """Start empty."""
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self._row_gap = row_gap
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Take an item at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Return how many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return an item."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Remove an item."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """Say that it wants nothing beyond what it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Say that its height follows from its width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height it needs."""
        return self._arrange(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, rect: QRect) -> None:
        """Place the items."""
        super().setGeometry(rect)
        self._arrange(rect, move=True)

    def sizeHint(self) -> QSize:
        """Return the least size."""
        return self.minimumSize()

    def minimumSize(self) -> QSize:
        """Return the size of the largest item."""
        size = QSize()
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        return size

    def _arrange(self, rect: QRect, *, move: bool) -> int:
        x, y, high = rect.x(), rect.y(), 0
        row: list[tuple[QLayoutItem, int]] = []
        for item in self._items:
            widget = item.widget()
            if widget is not None and widget.isHidden():
                continue
            hint = item.sizeHint()
            if x > rect.x() and x + hint.width() > rect.right() + 1:
                if move:
                    _place(row, y, high)
                row = []
                x, y, high = rect.x(), y + high + self._row_gap, 0
            row.append((item, x))
            x += hint.width() + self._gap
            high = max(high, hint.height())
        if move:
            _place(row, y, high)
        return y + high - rect.y()


def _place(row: list[tuple[QLayoutItem, int]], top: int, high: int) -> None:
    """Stand the items of a row on one line."""
    for item, x in row:
        hint = item.sizeHint()
        item.setGeometry(QRect(QPoint(x, top + high - hint.height()), hint))


class KeyFrame(QFrame):
    """A frame that hands Enter and Escape pressed within it to whoever asks."""

    entered = Signal()
    escaped = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Tell of Enter and Escape."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.entered.emit()
            event.accept()
        elif event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
            event.accept()
        else:
            super().keyPressEvent(event)


class IconLabel(QWidget):
    """An icon beside words; it says nothing for itself."""

    def __init__(self, icon: str, colour: str = "text", size: int = 16) -> None:
        """Show an icon in one of the theme's colours."""
        super().__init__()
        self._icon, self._colour = icon, colour
        self.setFixedSize(size, size)

    def show_icon(self, icon: str, colour: str) -> None:
        """Show another icon."""
        self._icon, self._colour = icon, colour
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the icon."""
        from PySide6.QtGui import QPainter

        painter = QPainter(self)
        icons.paint(painter, self._icon, self.rect(), self._colour)
        painter.end()
