"""How a row of the layer tree is painted: icon or thumbnail, name, what it is made of, and the two toggles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from bladewise.document import Group, Layer, Shape
from bladewise.operations.painted import is_hairline
from bladewise.window import icons, theme
from bladewise.window.design import FINE_TYPE, RADIUS_SMALL, ROW_HEIGHT
from bladewise.window.job_strip.chip import paint_material
from bladewise.window.kinds import uncommon_word
from bladewise.window.layer_tree.model import LOCKED, NAME, NODE, SHOWN, Index, LayerModel
from bladewise.window.layer_tree.thumbnails import SIZE, Thumbnails

if TYPE_CHECKING:
    from PySide6.QtCore import QObject
    from PySide6.QtWidgets import QWidget

    from bladewise.document import Leaf, Material
    from bladewise.window.layer_tree.node import Node

INDENT = 24
LEAF_INDENT = 36


class LayerDelegate(QStyledItemDelegate):
    """Paints the rows."""

    def __init__(self, thumbnails: Thumbnails, parent: QObject | None = None) -> None:
        """Take thumbnails from where they are kept."""
        super().__init__(parent)
        self._thumbnails = thumbnails

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return a row's height; all are alike."""
        return QSize(40, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a cell."""
        node: Node = index.data(NODE)
        rect = QRect(option.rect)
        model = index.model()
        assert isinstance(model, LayerModel)
        selected = bool(option.state & QStyle.StateFlag.State_Selected) or node.id in model.scattered
        hovered = bool(option.state & QStyle.StateFlag.State_MouseOver)
        painter.save()
        if selected:
            painter.fillRect(rect, theme.colour("soft"))
        elif hovered:
            painter.fillRect(rect, theme.colour("hover"))
        if index.column() == NAME:
            self._paint_name(painter, rect, node, model.material(node), selected=selected)
        else:
            self._paint_toggle(painter, rect, node, index.column(), hovered=hovered)
        if bool(option.state & QStyle.StateFlag.State_HasFocus) and index.column() == NAME:
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(rect).adjusted(1, 1, -1, -1), RADIUS_SMALL, RADIUS_SMALL)
        painter.restore()

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        """Let the editor cover the name only."""
        node: Node = index.data(NODE)
        editor.setGeometry(option.rect.adjusted(INDENT if node.holds else LEAF_INDENT, 0, 0, 0))

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """Return the line in which a name is typed."""
        editor = super().createEditor(parent, option, index)
        editor.setAccessibleName(self.tr("New name"))
        return editor

    def _paint_name(
        self, painter: QPainter, rect: QRect, node: Node, material: Material | None, *, selected: bool
    ) -> None:
        dim = not node.shown
        self._paint_look(painter, rect, node, material, dim=dim)
        font = QFont(painter.font())
        if isinstance(node.what, Layer):
            font.setWeight(QFont.Weight.DemiBold)
        font.setItalic(dim)
        painter.setFont(font)
        painter.setPen(theme.colour("on_soft" if selected else "muted" if dim else "text"))
        words = rect.adjusted(INDENT if node.holds else LEAF_INDENT, 0, -4, 0)
        metrics = QFontMetrics(font)
        name = metrics.elidedText(node.name, Qt.TextElideMode.ElideMiddle, words.width())
        painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, name)
        tail = _tail(node, material)
        used = metrics.horizontalAdvance(name) + 10
        if tail and words.width() - used > 26:
            small = QFont(font)
            small.setWeight(QFont.Weight.Normal)
            small.setPointSizeF(font.pointSizeF() * FINE_TYPE)
            painter.setFont(small)
            painter.setPen(theme.colour("on_soft" if selected else "muted"))
            rest = words.adjusted(used, 0, 0, 0)
            painter.drawText(
                rest,
                Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight,
                QFontMetrics(small).elidedText(tail, Qt.TextElideMode.ElideRight, rest.width()),
            )

    def _paint_look(self, painter: QPainter, rect: QRect, node: Node, material: Material | None, *, dim: bool) -> None:
        """Paint the icon of a layer or group, the thumbnail of a leaf; its material until that is drawn."""
        if node.holds or node.what is None or material is None:
            box = QRectF(rect.left() + 3, rect.top() + (rect.height() - 16) / 2, 16, 16)
            icons.paint(painter, node.icon, box, "border" if dim else "muted")
            return
        box = QRectF(rect.left() + 4, rect.top() + (rect.height() - SIZE.height()) / 2, SIZE.width(), SIZE.height())
        assert not isinstance(node.what, Layer)
        assert not isinstance(node.what, Group)
        painter.setOpacity(0.45 if dim else 1.0)
        if _is_followed(node.what):  # a hairline shows nothing in a picture so small; its material and its dashes do
            paint_material(painter, box.adjusted(1, 2, -1, -2), material)
            painter.setOpacity(1.0)
            return
        picture = self._thumbnails.picture(node.what, painter.device().devicePixelRatio())
        if picture is None:
            paint_material(painter, QRectF(box.center().x() - 7, box.center().y() - 7, 14, 14), material)
        else:
            painter.drawPixmap(box.topLeft(), picture)
        painter.setOpacity(1.0)

    def _paint_toggle(self, painter: QPainter, rect: QRect, node: Node, column: int, *, hovered: bool) -> None:
        what = node.what
        if what is None:
            return
        box = QRectF(rect.center().x() - 6.5, rect.center().y() - 6.5, 15, 15)
        if column == SHOWN:
            icons.paint(painter, "show" if what.visible else "hidden", box, "muted" if what.visible else "text")
        elif column == LOCKED and (what.locked or hovered):
            icons.paint(painter, "lock" if what.locked else "free", box, "text" if what.locked else "border")


def _is_followed(leaf: Leaf) -> bool:
    """Whether a leaf is no more than a line for the knife."""
    if not isinstance(leaf, Shape) or leaf.style.fill is not None or leaf.style.stroke is None:
        return False
    return is_hairline(leaf.style.stroke)


def _tail(node: Node, material: Material | None) -> str:
    if node.holds:
        return str(len(node.children))
    if material is None:
        return ""
    word = uncommon_word(material)
    name = material.name
    if material.id.startswith("colour-"):
        name = name.removesuffix(f" {material.colour.hex}")
    if word and name.casefold() == node.name.casefold():
        return word
    return f"{name}, {word}" if word and word.casefold() not in name.casefold() else name
