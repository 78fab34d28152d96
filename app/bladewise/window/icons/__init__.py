"""The window's own icons: one small SVG a file, drawn on a 16 × 16 grid in the colour of the text around them.

A file's `currentColor` becomes the colour asked for, and its white the ground it lies on. A verb's icon bears the
name of its operation, so a new operation brings its icon by a file of that name; without one it gets the plain dot.
"""

from __future__ import annotations

import weakref
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QByteArray, QDir, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QImage, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from bladewise.window import theme

if TYPE_CHECKING:
    from collections.abc import MutableMapping

FOLDER = Path(__file__).parent
SIZES_PX = (16, 32)
"""An icon is 16 wide; the larger one is for screens of two pixels a point."""

QDir.addSearchPath("icon", str(FOLDER))


class _Bearer(Protocol):
    def setIcon(self, icon: QIcon) -> None: ...


_dressed: MutableMapping[_Bearer, tuple[str, str]] = weakref.WeakKeyDictionary()


@lru_cache(maxsize=512)
def exists(name: str) -> bool:
    """Whether there is an icon of this name."""
    return (FOLDER / f"{name}.svg").is_file()


def put(bearer: _Bearer, name: str, colour: str = "text") -> None:
    """Give a button or an action an icon, and again whenever the theme changes."""
    _listen()
    bearer.setIcon(icon(name, colour))
    _dressed[bearer] = (name, colour)


def icon(name: str, colour: str = "text") -> QIcon:
    """Return an icon in the theme's colours as they are now."""
    current = theme.current()
    on = current.on_soft if colour == "text" else getattr(current, colour)
    return _icon(name if exists(name) else "dot", getattr(current, colour), current.border, on, current.raised)


def paint(painter: QPainter, name: str, rect: QRect | QRectF, colour: QColor | str) -> None:
    """Paint an icon into a rectangle."""
    ink = QColor(colour).name() if isinstance(colour, QColor) or colour.startswith("#") else theme.colour(colour).name()
    box = QRectF(rect)
    ratio = painter.device().devicePixelRatio()
    pixels = max(1, round(max(box.width(), box.height()) * ratio))
    picture = _pixmap(name if exists(name) else "dot", ink, theme.current().raised, pixels)
    painter.drawPixmap(box, picture, QRectF(picture.rect()))


@lru_cache(maxsize=1)
def _listen() -> None:
    theme.keeper().changed.connect(_dress_again)


def _dress_again() -> None:
    for bearer, (name, colour) in list(_dressed.items()):
        try:
            bearer.setIcon(icon(name, colour))
        except RuntimeError:  # Qt has taken it away already
            _dressed.pop(bearer, None)


@lru_cache(maxsize=512)
def _icon(name: str, ink: str, off: str, on: str, ground: str) -> QIcon:
    result = QIcon()
    for size in SIZES_PX:
        result.addPixmap(_pixmap(name, ink, ground, size), QIcon.Mode.Normal, QIcon.State.Off)
        if on != ink:
            result.addPixmap(_pixmap(name, on, ground, size), QIcon.Mode.Normal, QIcon.State.On)
        result.addPixmap(_pixmap(name, off, ground, size), QIcon.Mode.Disabled, QIcon.State.Off)
    return result


@lru_cache(maxsize=1024)
def _pixmap(name: str, ink: str, ground: str, size: int) -> QPixmap:
    image = QImage(size, size, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    _renderer(name, ink, ground).render(painter, QRectF(0, 0, size, size))
    painter.end()
    return QPixmap.fromImage(image)


@lru_cache(maxsize=512)
def _renderer(name: str, ink: str, ground: str) -> QSvgRenderer:
    text = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    text = text.replace("currentColor", ink).replace("#ffffff", ground)
    return QSvgRenderer(QByteArray(text.encode()))
