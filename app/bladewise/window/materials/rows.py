"""A list of materials: swatch, name, and under it what it is for, its roll and its price."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QListWidget, QListWidgetItem

from bladewise.window.job_strip.chip import paint_material
from bladewise.window.materials.said import line_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QKeyEvent

    from bladewise.document import Material

SWATCH = 26
KEY = int(Qt.ItemDataRole.UserRole) + 1


class Materials(QListWidget):
    """Materials to choose from."""

    chosen = Signal(object)
    """The id of another one, or None."""

    left = Signal()

    def __init__(self, name: str) -> None:
        """Start empty; `name` is what it is called aloud."""
        super().__init__()
        self.setAccessibleName(name)
        self.setIconSize(QSize(SWATCH, SWATCH))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.currentItemChanged.connect(self._changed)
        self._filling = False

    def show_materials(self, materials: Sequence[Material], unit: str, current: str | None) -> None:
        """Show materials, one of them current."""
        self._filling = True
        while self.count() > len(materials):
            self.takeItem(self.count() - 1)
        while self.count() < len(materials):
            self.addItem(QListWidgetItem())
        at = -1
        for row, material in enumerate(materials):
            item = self.item(row)
            item.setData(KEY, material.id)
            item.setText(f"{material.name}\n{line_of(material, unit)}")
            item.setIcon(swatch(material, SWATCH))
            item.setData(
                Qt.ItemDataRole.AccessibleTextRole, f"{material.name}, {material.colour.hex}, {line_of(material, unit)}"
            )
            if material.id == current:
                at = row
        self.setCurrentRow(at)
        self._filling = False
        if at >= 0:
            self.scrollToItem(self.item(at))

    def current(self) -> str | None:
        """Return the id of the current one."""
        item = self.currentItem()
        return None if item is None else str(item.data(KEY))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves the page; the rest is a list's."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _changed(self, _now: object, _before: object) -> None:
        if not self._filling:
            self.chosen.emit(self.current())


def swatch(material: Material, size: int) -> QIcon:
    """Return a material's swatch as an icon, sharp on fine screens too."""
    picture = QPixmap(2 * size, 2 * size)
    picture.fill(Qt.GlobalColor.transparent)
    picture.setDevicePixelRatio(2.0)
    painter = QPainter(picture)
    paint_material(painter, QRectF(1.0, 1.0, size - 2.0, size - 2.0), material)
    painter.end()
    icon = QIcon()
    for mode in (QIcon.Mode.Normal, QIcon.Mode.Selected):
        icon.addPixmap(picture, mode)
    return icon
