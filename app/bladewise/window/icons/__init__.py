"""The window's own icons: one small SVG a file, drawn on a 16 × 16 grid in the colour of the text around them.

A file's `currentColor` becomes the colour asked for, and its white the ground it lies on. A verb's icon bears the
name of its operation, so a new operation brings its icon by a file of that name; without one it gets the plain dot.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QByteArray, QDir, QPoint, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QIconEngine, QImage, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from bladewise.window import theme

FOLDER = Path(__file__).parent
QDir.addSearchPath("icon", str(FOLDER))


def exists(name: str) -> bool:
    """Whether there is an icon of this name."""
    return (FOLDER / f"{name}.svg").is_file()


def icon(name: str, colour: str = "text") -> QIcon:
    """Return an icon that takes the theme's colour at the moment it is painted."""
    return QIcon(_Engine(name if exists(name) else "dot", colour))


def paint(painter: QPainter, name: str, rect: QRect | QRectF, colour: QColor | str) -> None:
    """Paint an icon into a rectangle."""
    ink = QColor(colour).name() if isinstance(colour, QColor) or colour.startswith("#") else theme.colour(colour).name()
    ground = theme.colour("raised").name()
    _renderer(name if exists(name) else "dot", ink, ground).render(painter, QRectF(rect))


@lru_cache(maxsize=512)
def _renderer(name: str, ink: str, ground: str) -> QSvgRenderer:
    text = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    text = text.replace("currentColor", ink).replace("#ffffff", ground)
    return QSvgRenderer(QByteArray(text.encode()))


class _Engine(QIconEngine):
    def __init__(self, name: str, colour: str) -> None:
        super().__init__()
        self._name = name
        self._colour = colour

    def clone(self) -> QIconEngine:
        return _Engine(self._name, self._colour)

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        name = self._colour
        if mode is QIcon.Mode.Disabled:
            name = "border"
        elif state is QIcon.State.On and self._colour == "text":
            name = "on_soft"
        paint(painter, self._name, rect, name)

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        image = QImage(size, QImage.Format.Format_ARGB32_Premultiplied)
        image.fill(Qt.GlobalColor.transparent)
        painter = QPainter(image)
        self.paint(painter, QRect(QPoint(0, 0), size), mode, state)
        painter.end()
        return QPixmap.fromImage(image)
