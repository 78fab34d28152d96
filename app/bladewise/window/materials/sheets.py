"""A vinyl as a sheet of its own, in the view of layers apart: its picture, its number and its name."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter, QPen

from bladewise.window import theme
from bladewise.window.job_strip.chip import paint_material
from bladewise.window.painting import paint_elements
from bladewise.window.view import View

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.document import Box, Element, Material

PAD_PX = 7.0
"""So far the film reaches beyond the art."""

_DISC_PX = 11.0


class Sheet(NamedTuple):
    """A vinyl as it is shown: its extent, how far it is lifted when all is apart, and its picture once painted."""

    material: Material
    box: Box
    lift: tuple[float, float]
    layer: int


class Painted(NamedTuple):
    """A sheet's picture: the scale it was asked for and the one it has, and where the sheet's extent begins in it."""

    asked: float
    scale: float
    picture: QImage
    corner: QPointF


def painted(sheet: Sheet, children: Iterable[Element], view: View, ratio: float) -> Painted:
    """Return a sheet's picture at the scale of a view; `ratio` is that of the screen's pixels."""
    scale, edge = view.scale, 4.0
    x0, y0, x1, y1 = sheet.box
    most = 4096.0
    scale = min(scale, most / max(x1 - x0, y1 - y0, 1e-6) / ratio)
    wide, high = (x1 - x0) * scale + 2.0 * edge, (y1 - y0) * scale + 2.0 * edge
    picture = QImage(
        max(1, round(wide * ratio)), max(1, round(high * ratio)), QImage.Format.Format_ARGB32_Premultiplied
    )
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    own = View(scale * ratio, x0 - edge / scale, y0 - edge / scale)
    paint_elements(painter, children, own)
    painter.end()
    picture.setDevicePixelRatio(ratio)
    return Painted(view.scale, scale, picture, QPointF(edge, edge))


def paint_tag(painter: QPainter, sheet: Sheet, number: int, place: QRectF, limit: QRectF, *, chosen: bool) -> None:
    """Write number and name beside the top right of a sheet, within limits."""
    font = QFont(painter.font())
    font.setWeight(QFont.Weight.DemiBold)
    metrics = QFontMetricsF(font)
    at = place.topRight() + QPointF(PAD_PX + 4.0, 2.0)
    name = metrics.elidedText(sheet.material.name, Qt.TextElideMode.ElideMiddle, 170.0)
    swatch = 14.0
    wide = 2.0 * _DISC_PX + 8.0 + swatch + 6.0 + metrics.horizontalAdvance(name) + 10.0
    box = QRectF(at, at + QPointF(wide, 2.0 * _DISC_PX + 4.0))
    box.moveLeft(min(max(box.left(), limit.left() + 4.0), max(limit.right() - wide - 4.0, limit.left() + 4.0)))
    box.moveTop(min(max(box.top(), limit.top() + 4.0), limit.bottom() - box.height() - 4.0))
    painter.setPen(QPen(theme.colour("accent" if chosen else "line"), 1.0))
    painter.setBrush(theme.colour("soft" if chosen else "raised"))
    painter.drawRoundedRect(box, box.height() / 2.0, box.height() / 2.0)
    disc = QRectF(box.left() + 2.0, box.top() + 2.0, 2.0 * _DISC_PX, 2.0 * _DISC_PX)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("accent"))
    painter.drawEllipse(disc)
    painter.setFont(font)
    painter.setPen(theme.colour("on_accent"))
    painter.drawText(disc, Qt.AlignmentFlag.AlignCenter, str(number))
    square = QRectF(disc.right() + 6.0, box.center().y() - swatch / 2.0, swatch, swatch)
    paint_material(painter, square, sheet.material)
    painter.setPen(theme.colour("on_soft" if chosen else "text"))
    words = QRectF(square.right() + 6.0, box.top(), box.right() - square.right() - 6.0, box.height())
    painter.drawText(words, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, name)
