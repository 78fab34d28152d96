"""How a row of the layer tree is painted: icon or material swatch, name, and the two toggles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from bladewise.document import Layer, MaterialKind
from bladewise.window import icons, theme
from bladewise.window.job_strip.chip import paint_material
from bladewise.window.layer_tree.model import LOCKED, NAME, NODE, SHOWN, Index, Node

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

ROW_HEIGHT = 26


class LayerDelegate(QStyledItemDelegate):
    """Paints the rows."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return a row's height; all are alike."""
        return QSize(40, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a cell."""
        node: Node = index.data(NODE)
        rect = QRect(option.rect)
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        hovered = bool(option.state & QStyle.StateFlag.State_MouseOver)
        painter.save()
        if selected:
            painter.fillRect(rect, theme.colour("soft"))
        elif hovered:
            painter.fillRect(rect, theme.colour("hover"))
        if index.column() == NAME:
            self._paint_name(painter, rect, node, selected=selected)
        else:
            self._paint_toggle(painter, rect, node, index.column(), hovered=hovered)
        if bool(option.state & QStyle.StateFlag.State_HasFocus) and index.column() == NAME:
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(rect).adjusted(1, 1, -1, -1), 4, 4)
        painter.restore()

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        """Let the editor cover the name only."""
        editor.setGeometry(option.rect.adjusted(24, 0, 0, 0))

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """Return the line in which a name is typed."""
        editor = super().createEditor(parent, option, index)
        editor.setAccessibleName(self.tr("New name"))
        return editor

    def _paint_name(self, painter: QPainter, rect: QRect, node: Node, *, selected: bool) -> None:
        box = QRectF(rect.left() + 4, rect.top() + (rect.height() - 14) / 2, 14, 14)
        dim = not node.shown
        if node.material is not None and node.icon == "shape":
            painter.setOpacity(0.45 if dim else 1.0)
            paint_material(painter, box, node.material)
            painter.setOpacity(1.0)
        else:
            icons.paint(painter, node.icon, box.adjusted(-1, -1, 1, 1), "border" if dim else "muted")
        font = QFont(painter.font())
        if isinstance(node.what, Layer):
            font.setWeight(QFont.Weight.DemiBold)
        font.setItalic(dim)
        painter.setFont(font)
        painter.setPen(theme.colour("on_soft" if selected else "muted" if dim else "text"))
        words = rect.adjusted(24, 0, -4, 0)
        metrics = QFontMetrics(font)
        name = metrics.elidedText(node.name, Qt.TextElideMode.ElideMiddle, words.width())
        painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, name)
        tail = _tail(node)
        used = metrics.horizontalAdvance(name) + 10
        if tail and words.width() - used > 26:
            small = QFont(font)
            small.setWeight(QFont.Weight.Normal)
            small.setPointSizeF(font.pointSizeF() * 0.88)
            painter.setFont(small)
            painter.setPen(theme.colour("on_soft" if selected else "muted"))
            rest = words.adjusted(used, 0, 0, 0)
            painter.drawText(
                rest,
                Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight,
                QFontMetrics(small).elidedText(tail, Qt.TextElideMode.ElideRight, rest.width()),
            )

    def _paint_toggle(self, painter: QPainter, rect: QRect, node: Node, column: int, *, hovered: bool) -> None:
        what = node.what
        if what is None:
            return
        box = QRectF(rect.center().x() - 6.5, rect.center().y() - 6.5, 15, 15)
        if column == SHOWN:
            icons.paint(painter, "show" if what.visible else "hidden", box, "muted" if what.visible else "text")
        elif column == LOCKED and (what.locked or hovered):
            icons.paint(painter, "lock" if what.locked else "free", box, "text" if what.locked else "border")


def _tail(node: Node) -> str:
    if node.children:
        return str(len(node.children))
    if node.material is None:
        return ""
    if node.material.kind is MaterialKind.CUT and node.material.id.startswith("colour-"):
        return node.material.name.split(" ", 1)[0]
    return node.material.name
