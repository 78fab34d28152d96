"""A material chip: swatch, name, pieces, knife travel, area, and a count with a mark when the check found something.

The swatch says what happens to the material without colour: plain to cut, a dashed line across for other depths of
cut, hatched for print, dotted for white, striped for varnish, dashed for guides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QAbstractButton

from bladewise.document import Material, MaterialKind
from bladewise.window import icons, keys, theme
from bladewise.window.design import FINE_TYPE, RADIUS_LARGE
from bladewise.window.job_strip.figures import Figures, area_text, travel_text
from bladewise.window.kinds import kind_word, paint_sign, uncommon_word
from bladewise.window.language import say
from bladewise.window.readiness.severity import SEVERITY_COLOURS, SEVERITY_ICONS

if TYPE_CHECKING:
    from bladewise.findings import Severity

WIDTH_MOST, HEIGHT = 232, 46
_SWATCH = 28


class MaterialChip(QAbstractButton):
    """One material; click: only that material on the canvas."""

    menu_wanted = Signal(object)
    rename_wanted = Signal(object)

    def __init__(self, material: Material) -> None:
        """Show a material whose figures are not known yet."""
        super().__init__()
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.material = material
        self._figures: Figures | None = None
        self._found: dict[Severity, int] = {}
        self._unit = "mm"
        self.title = material.name

    def show_material(
        self, material: Material, figures: Figures | None, found: dict[Severity, int], *, unit: str, title: str
    ) -> None:
        """Show what is known now.

        `found` counts the findings of each severity there is; `title` is the name as short as it can be among the
        others.
        """
        shown = self.material, self._figures, self._found, self._unit, self.title
        if shown == (material, figures, found, unit, title) and self.toolTip():
            return  # most edits leave most materials as they are
        self.material, self._figures, self._found, self._unit = material, figures, found, unit
        self.title = title
        self.setAccessibleName(self.spoken())
        self.setToolTip(self.spoken() + "\n" + self.tr("Click: only this material on the canvas"))
        self.updateGeometry()
        self.update()

    def figures_text(self) -> str:
        """Return the line under the name."""
        figures = self._figures
        if figures is None:
            return "…"
        pieces = self.tr("1 piece") if figures.pieces == 1 else self.tr("{n} pieces").format(n=figures.pieces)
        area = area_text(figures.area_mm2, self._unit)
        if self.material.kind is MaterialKind.CUT:
            word = uncommon_word(self.material)
            parts = [*([word] if word else []), pieces, travel_text(figures.travel_mm, self._unit), area]
            return " · ".join(parts)
        if self.material.kind.is_printed:
            return f"{self.kind_text()} · {area}"
        return self.tr("guide, reaches no machine")

    def kind_text(self) -> str:
        """Return what happens to the material, in a word or two."""
        is_plain_cut = self.material.kind is MaterialKind.CUT and not uncommon_word(self.material)
        return self.tr("to cut") if is_plain_cut else kind_word(self.material)

    def spoken(self) -> str:
        """Return all the chip says in words."""
        text = f"{self.material.name}, {self.kind_text()}"
        if self._figures is not None and self.material.kind is MaterialKind.CUT:
            text += self.tr(", {pieces} pieces, knife travel {travel}, {area}").format(
                pieces=self._figures.pieces,
                travel=travel_text(self._figures.travel_mm, self._unit),
                area=area_text(self._figures.area_mm2, self._unit),
            )
        return text + "".join(f", {count} × {say(harm.text)}" for harm, count in sorted(self._found.items()))

    def sizeHint(self) -> QSize:
        """Return the room the two lines need."""
        name, small = self._fonts()
        wide = max(
            QFontMetricsF(name).horizontalAdvance(self.title) + (30 if self._found else 0),
            QFontMetricsF(small).horizontalAdvance(self.figures_text()),
        )
        return QSize(int(min(max(wide, 60.0), WIDTH_MOST)) + _SWATCH + 34, HEIGHT)

    def minimumSizeHint(self) -> QSize:
        """Return the same: chips scroll, they do not shrink."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the chip."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        on = self.isChecked()
        painter.setBrush(theme.colour("soft" if on else "hover" if self.underMouse() else "raised"))
        if self.hasFocus():
            painter.setPen(QPen(theme.colour("focus"), 2))
        else:
            painter.setPen(QPen(theme.colour("accent" if on else "line"), 1))
        painter.drawRoundedRect(box, RADIUS_LARGE, RADIUS_LARGE)
        swatch = QRectF(10, (self.height() - _SWATCH) / 2, _SWATCH, _SWATCH)
        paint_material(painter, swatch, self.material)
        self._paint_words(painter, swatch.right() + 10, on=on)
        painter.end()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for the menu."""
        self.menu_wanted.emit(event.globalPos())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Ask for a new name."""
        self.rename_wanted.emit(self.material)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """F2 renames, the menu key opens the menu; the rest is a button's."""
        meant = keys.meant(keys.chip_keys(), event)
        if meant == "rename":
            self.rename_wanted.emit(self.material)
        elif meant == "alone":
            self.click()
        else:
            super().keyPressEvent(event)

    def _fonts(self) -> tuple[QFont, QFont]:
        name, small = QFont(self.font()), QFont(self.font())
        name.setWeight(QFont.Weight.DemiBold)
        small.setPointSizeF(small.pointSizeF() * FINE_TYPE)
        return name, small

    def _paint_words(self, painter: QPainter, left: float, *, on: bool) -> None:
        name, small = self._fonts()
        room = self.width() - left - 10
        badge = 0.0
        if self._found:
            badge = self._paint_badge(painter, small)
        metrics = QFontMetricsF(name)
        painter.setFont(name)
        painter.setPen(theme.colour("on_soft" if on else "text"))
        text = metrics.elidedText(self.title, Qt.TextElideMode.ElideMiddle, room - badge)
        painter.drawText(QRectF(left, 6, room - badge, 18), Qt.AlignmentFlag.AlignVCenter, text)
        painter.setFont(small)
        painter.setPen(theme.colour("on_soft" if on else "muted"))
        text = QFontMetricsF(small).elidedText(self.figures_text(), Qt.TextElideMode.ElideRight, room)
        painter.drawText(QRectF(left, 23, room, 17), Qt.AlignmentFlag.AlignVCenter, text)

    def _paint_badge(self, painter: QPainter, font: QFont) -> float:
        """Paint how many findings there are, with the mark of the worst of them."""
        text = str(sum(self._found.values()))
        worst = min(self._found)
        colour = SEVERITY_COLOURS[worst]
        wide = QFontMetricsF(font).horizontalAdvance(text) + 17.0
        right = self.width() - 10.0
        icons.paint(painter, SEVERITY_ICONS[worst], QRectF(right - wide, 9, 13, 13), colour)
        painter.setFont(font)
        painter.setPen(theme.colour(colour))
        painter.drawText(QRectF(right - wide + 16, 6, wide, 18), Qt.AlignmentFlag.AlignVCenter, text)
        return wide + 6.0


def paint_material(painter: QPainter, box: QRectF, material: Material) -> None:
    """Paint a material's swatch, with the sign of how it is made; dashed for guides."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    radius = box.width() * 0.2
    ink = QColor(*material.colour)
    outline = QPainterPath()
    outline.addRoundedRect(box, radius, radius)
    if material.kind is MaterialKind.GUIDE:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        pen = QPen(ink, 2)
        pen.setDashPattern([2.0, 2.0])
        painter.setPen(pen)
        painter.drawPath(outline)
    else:
        painter.fillPath(outline, ink)
        painter.setClipPath(outline)
        paint_sign(painter, box, material)
        painter.setClipping(False)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if material.kind is not MaterialKind.GUIDE:
        painter.setPen(QPen(theme.colour("border"), 1))
        painter.drawPath(outline)
    painter.restore()
