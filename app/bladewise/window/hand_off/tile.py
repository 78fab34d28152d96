"""Small parts of the hand-off: a file as a tile, and a material that goes or stays."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QVBoxLayout, QWidget

from bladewise.window import theme
from bladewise.window.canvas import look_of, paint_mark_shape
from bladewise.window.design import FINE_TYPE, NEAR, RADIUS, RADIUS_LARGE, SMALL, TIGHT
from bladewise.window.hand_off import said
from bladewise.window.hand_off.picture import FilePicture
from bladewise.window.job_strip.chip import paint_material
from bladewise.window.kinds import kind_word

if TYPE_CHECKING:
    from bladewise.document import Material
    from bladewise.window.hand_off.looks import Look

TILE = QSize(194, 186)
_WORDS = 44
_TICK, _SWATCH = 16, 20


class FileTile(QAbstractButton):
    """A file that will be written: its picture, its name, what it holds. A press shows it large."""

    def __init__(self, look: Look, unit: str, *, replaces: bool) -> None:
        """Show a file; `replaces` says that one of that name is there already."""
        super().__init__()
        self.look = look
        self._figures = said.figures(look, unit)
        self._replaces = replaces
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFixedSize(TILE)
        column = QVBoxLayout(self)
        column.setContentsMargins(NEAR, NEAR, NEAR, _WORDS)
        picture = FilePicture()
        picture.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        picture.show_look(look)
        column.addWidget(picture)
        more = self.tr("replaces the one there") if replaces else ""
        spoken = ", ".join(each for each in (look.file.name, self._figures, more) if each)
        self.setAccessibleName(spoken)
        self.setToolTip(spoken + "\n" + self.tr("Click: large, outline after outline"))

    def sizeHint(self) -> QSize:
        """Return the one size there is."""
        return TILE

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setBrush(theme.colour("hover" if self.underMouse() else "panel"))
        painter.setPen(QPen(theme.colour("focus"), 2) if self.hasFocus() else QPen(theme.colour("line"), 1))
        painter.drawRoundedRect(box, RADIUS_LARGE, RADIUS_LARGE)
        font, small = QFont(self.font()), QFont(self.font())
        small.setPointSizeF(small.pointSizeF() * FINE_TYPE)
        room = QRectF(NEAR + TIGHT, TILE.height() - _WORDS + SMALL, TILE.width() - 2 * (NEAR + TIGHT), 18)
        painter.setFont(font)
        painter.setPen(theme.colour("text"))
        name = QFontMetricsF(font).elidedText(self.look.file.name, Qt.TextElideMode.ElideLeft, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, name)
        painter.setFont(small)
        painter.setPen(theme.colour("muted"))
        room.translate(0, 18)
        text = f"{self._figures} ↻" if self._replaces else self._figures
        painter.drawText(
            room,
            Qt.AlignmentFlag.AlignVCenter,
            QFontMetricsF(small).elidedText(text, Qt.TextElideMode.ElideRight, room.width()),
        )
        painter.end()


class MaterialTick(QAbstractButton):
    """A material that goes along while it is ticked."""

    def __init__(self, material: Material, title: str) -> None:
        """Show a material, ticked; `title` is its name as short as it can be among the others."""
        super().__init__()
        self.material, self._title = material, title
        self.setCheckable(True)
        self.setChecked(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(f"{material.name}, {kind_word(material)}")
        self.setToolTip(self.accessibleName() + "\n" + self.tr("Ticked: it goes into the files"))

    def sizeHint(self) -> QSize:
        """Return the room for tick, swatch and words."""
        name, small = self._fonts()
        wide = QFontMetricsF(name).horizontalAdvance(self._title)
        wide += QFontMetricsF(small).horizontalAdvance(kind_word(self.material))
        return QSize(int(min(wide, 260)) + _TICK + _SWATCH + 46, 34)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        on = self.isChecked()
        painter.setBrush(theme.colour("raised" if on else "panel"))
        painter.setPen(QPen(theme.colour("focus"), 2) if self.hasFocus() else QPen(theme.colour("line"), 1))
        painter.drawRoundedRect(box, RADIUS_LARGE, RADIUS_LARGE)
        tick = QRectF(NEAR, (self.height() - _TICK) / 2, _TICK, _TICK)
        painter.setPen(QPen(theme.colour("accent" if on else "border"), 1))
        painter.setBrush(theme.colour("accent" if on else "raised"))
        painter.drawRoundedRect(tick, RADIUS - 2, RADIUS - 2)
        if on:
            painter.setPen(QPen(theme.colour("on_accent"), 2, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            stroke = [(0.24, 0.54), (0.44, 0.72), (0.78, 0.30)]
            painter.drawPolyline([QPointF(tick.x() + x * _TICK, tick.y() + y * _TICK) for x, y in stroke])
        if not on:
            painter.setOpacity(0.55)
        swatch = QRectF(tick.right() + NEAR, (self.height() - _SWATCH) / 2, _SWATCH, _SWATCH)
        paint_material(painter, swatch, self.material)
        painter.setOpacity(1.0)
        name, small = self._fonts()
        left = swatch.right() + NEAR
        kind = kind_word(self.material)
        kind_width = QFontMetricsF(small).horizontalAdvance(kind)
        room = QRectF(left, 0, self.width() - left - NEAR - kind_width - NEAR, self.height())
        painter.setFont(name)
        painter.setPen(theme.colour("text" if on else "muted"))
        text = QFontMetricsF(name).elidedText(self._title, Qt.TextElideMode.ElideMiddle, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, text)
        painter.setFont(small)
        painter.setPen(theme.colour("muted"))
        painter.drawText(
            QRectF(self.width() - kind_width - NEAR - TIGHT, 0, kind_width + TIGHT, self.height()),
            Qt.AlignmentFlag.AlignVCenter,
            kind,
        )
        painter.end()

    def _fonts(self) -> tuple[QFont, QFont]:
        name, small = QFont(self.font()), QFont(self.font())
        small.setPointSizeF(small.pointSizeF() * FINE_TYPE)
        return name, small


class TroubleMark(QWidget):
    """The mark that the findings of a rule bear on the canvas."""

    def __init__(self, rule: str) -> None:
        """Show a rule's mark."""
        super().__init__()
        self._rule = rule
        self.setFixedSize(18, 18)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it as the canvas does."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_mark_shape(painter, QPointF(9, 9), look_of(self._rule), theme.colour("panel"), 6.0)
        painter.end()
