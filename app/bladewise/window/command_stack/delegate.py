"""How a step is painted: its box, its words with the numbers standing out, what it reported or why it failed."""

from __future__ import annotations

import re
from enum import Enum, auto
from functools import lru_cache

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QMouseEvent, QPainter, QPen, QTextCharFormat, QTextLayout, QTextOption
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from bladewise.window import icons, theme
from bladewise.window.command_stack.model import ROW, Index, StackModel, StackRow
from bladewise.window.design import FINE_TYPE, RADIUS_SMALL

LEFT = 44
RIGHT = 30
BOX = 15
_NUMBER = re.compile(
    r"#[0-9a-fA-F]{6}\b"
    r"|(?<!\w)(?<!\w-)[-+]?\d+(?:\.\d+)?(?:\s?×\s?\d+(?:\.\d+)?)?(?:\s?(?:mm²|mm|°|%))?"  # none within a name
)
_QUOTED = re.compile(r"“[^”]*”|„[^“]*“")


def numbers_in(text: str, names: tuple[str, ...] = ()) -> list[tuple[int, int]]:
    """Return where the numbers of a step stand in its words: none within a name or within quotation marks."""
    kept = [match.span() for match in _QUOTED.finditer(text)]
    kept += [match.span() for name in names for match in re.finditer(re.escape(name), text)]
    found = [match.span() for match in _NUMBER.finditer(text)]
    return [(start, end) for start, end in found if not any(start < last and end > first for first, last in kept)]


class StackDelegate(QStyledItemDelegate):
    """Paints steps."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height of a step's words in the width there is."""
        asked = index.data(Qt.ItemDataRole.SizeHintRole)
        if isinstance(asked, QSize):
            return asked
        row: StackRow = index.data(ROW)
        view = option.widget
        width = (view.width() if view is not None else 260) - LEFT - RIGHT - 8
        return QSize(40, _row_height(row.text, row.names, row.failure or row.reports, option.font.toString(), width))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a step."""
        row: StackRow = index.data(ROW)
        rect = QRect(option.rect)
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        hovered = bool(option.state & QStyle.StateFlag.State_MouseOver)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if hovered or selected or row.is_here:
            painter.fillRect(rect, theme.colour("hover"))
        if row.is_here:
            painter.fillRect(rect.adjusted(0, 0, -rect.width() + 4, 0), theme.colour("accent"))
        self._paint_left(painter, rect, row)
        ink = "text" if row.is_done and row.enabled else "muted"
        width = rect.width() - LEFT - RIGHT
        font = QFont(option.font)
        font.setStrikeOut(not row.enabled)
        font.setItalic(not row.is_done)
        live = row.is_done and row.enabled and row.number > 0
        words = _layout(row.text, font, width, numbers=_Numbers.COLOURED if live else _Numbers.BOLD, names=row.names)
        top = QPointF(rect.left() + LEFT, rect.top() + 6)
        painter.setPen(theme.colour(ink))
        words.draw(painter, top)
        if note := row.failure or row.reports:
            painter.setPen(theme.colour("spoils" if row.failure else "muted"))
            _layout(note, _small(option.font), width).draw(painter, top + QPointF(0, _height(words) + 1))
        if (hovered or selected) and row.number:
            icons.paint(painter, "close", _cross(rect), "muted")
        if bool(option.state & QStyle.StateFlag.State_HasFocus):
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(rect).adjusted(2, 1, -2, -1), RADIUS_SMALL, RADIUS_SMALL)
        painter.restore()

    def editorEvent(self, event: QEvent, model: StackModel, option: QStyleOptionViewItem, index: Index) -> bool:  # type: ignore[override]
        """A click on the box switches the step."""
        if isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseButtonRelease:
            row: StackRow = index.data(ROW)
            if row.number and on_box(option.rect, event.position().toPoint().x()):
                model.switch_wanted.emit(row.number, not row.enabled)
                return True
        return False

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        """Let the open numbers cover the whole row."""
        editor.setGeometry(option.rect.adjusted(8, 3, -8, -3))

    def _paint_left(self, painter: QPainter, rect: QRect, row: StackRow) -> None:
        box = QRectF(rect.left() + 15, rect.top() + 7, BOX, BOX)
        if not row.number:
            icons.paint(painter, "picture", box, "muted")
            return
        if row.failure and row.enabled:
            icons.paint(painter, "mark-spoils", box, "spoils")
            return
        painter.setPen(QPen(theme.colour("accent" if row.enabled and row.is_done else "border"), 1))
        painter.setBrush(theme.colour("accent") if row.enabled and row.is_done else theme.colour("raised"))
        painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_SMALL, RADIUS_SMALL)
        if row.enabled:
            pen = QPen(theme.colour("on_accent" if row.is_done else "muted"), 1.8)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            x, y = box.left(), box.top()
            painter.drawPolyline([QPointF(x + 4, y + 7.8), QPointF(x + 6.6, y + 10.3), QPointF(x + 11, y + 4.8)])


def on_box(rect: QRect, x: int) -> bool:
    """Whether a place lies on the box that switches a step."""
    return x - rect.left() < LEFT - 8


def on_cross(rect: QRect, x: int) -> bool:
    """Whether a place lies on the cross that removes a step."""
    return rect.right() - x < RIGHT


def _cross(rect: QRect) -> QRectF:
    return QRectF(rect.right() - 22, rect.top() + 7, 14, 14)


def _small(font: QFont) -> QFont:
    small = QFont(font)
    small.setPointSizeF(font.pointSizeF() * FINE_TYPE)
    return small


@lru_cache(maxsize=4096)
def _row_height(text: str, names: tuple[str, ...], note: str, font: str, width: int) -> int:
    """Return the height of a row; kept, for the view asks for every row whenever one is added."""
    face = QFont()
    face.fromString(font)
    height = _height(_layout(text, face, width, numbers=_Numbers.BOLD, names=names))
    if note:
        height += _height(_layout(note, _small(face), width)) + 2
    return int(height) + 13


def _height(layout: QTextLayout) -> float:
    return layout.boundingRect().height()


class _Numbers(Enum):
    """How the numbers in a step's words stand out: always bold, so that a row has one height whatever its state."""

    PLAIN = auto()
    BOLD = auto()
    COLOURED = auto()


def _layout(
    text: str, font: QFont, width: float, *, numbers: _Numbers = _Numbers.PLAIN, names: tuple[str, ...] = ()
) -> QTextLayout:
    layout = QTextLayout(text, font)
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    layout.setTextOption(option)
    if numbers is not _Numbers.PLAIN:
        layout.setFormats([_number_format(start, end, numbers) for start, end in numbers_in(text, names)])
    layout.beginLayout()
    y = 0.0
    leading = QFontMetricsF(font).leading()
    while (line := layout.createLine()).isValid():
        line.setLineWidth(max(40.0, width))
        y += leading
        line.setPosition(QPointF(0, y))
        y += line.height()
    layout.endLayout()
    return layout


def _number_format(start: int, end: int, numbers: _Numbers) -> QTextLayout.FormatRange:
    form = QTextCharFormat()
    if numbers is _Numbers.COLOURED:
        form.setForeground(theme.colour("accent"))
    form.setFontWeight(QFont.Weight.DemiBold)
    result = QTextLayout.FormatRange()
    result.start, result.length, result.format = start, end - start, form
    return result
