"""How deep a material is cut, or with what it is printed: in a word, and as it shows in a swatch and on a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QWidget

from bladewise.document import Colour, CutKind, Material, MaterialKind
from bladewise.window import theme
from bladewise.window.controls import label
from bladewise.window.design import FINE_TYPE, NEAR, SMALL
from bladewise.window.paints import CUT_DASHES, PRINT_DASHES, legible, qt_colour

if TYPE_CHECKING:
    from bladewise.document import Job

_PALE = 0.55
"""Luminance from which on a sign upon a swatch is dark."""


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Kinds", text)


def cut_words() -> dict[CutKind, str]:
    """Return what each depth of cut is called."""
    return {
        CutKind.KISS: tr("kiss cut"),
        CutKind.THROUGH: tr("through cut"),
        CutKind.PERFORATION: tr("perforation"),
        CutKind.CREASE: tr("crease"),
    }


def kind_word(material: Material) -> str:
    """Return what happens to a material, in a word or two."""
    if material.kind is MaterialKind.CUT:
        return cut_words()[material.cut]
    return {
        MaterialKind.PRINT: tr("print"),
        MaterialKind.WHITE: tr("white ink"),
        MaterialKind.VARNISH: tr("varnish"),
        MaterialKind.GUIDE: tr("guide"),
    }[material.kind]


def uncommon_word(material: Material) -> str:
    """Return the word for what is not plainly cut or printed; empty for what is."""
    is_plain = material.kind in (MaterialKind.PRINT, MaterialKind.GUIDE) or (
        material.kind is MaterialKind.CUT and material.cut is CutKind.KISS
    )
    return "" if is_plain else kind_word(material)


def paint_sign(painter: QPainter, box: QRectF, material: Material) -> None:
    """Paint upon a swatch how it is made: hatched for print, dotted for white, waved for varnish, dashed by the cut."""
    is_pale = material.colour.luminance > _PALE
    ink = QColor(0, 0, 0, 120) if is_pale else QColor(255, 255, 255, 160)
    width = max(1.0, box.width() * 0.07)
    match material.kind:
        case MaterialKind.PRINT:
            painter.setPen(QPen(QColor(0, 0, 0, 70) if is_pale else QColor(255, 255, 255, 150), width))
            x = box.left() - box.height()
            while x < box.right():
                painter.drawLine(QPointF(x, box.bottom()), QPointF(x + box.height(), box.top()))
                x += box.width() / 4.0
        case MaterialKind.WHITE:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink)
            step = box.width() / 4.0
            for row in range(3):
                for column in range(3):
                    at = QPointF(box.left() + (column + 1) * step, box.top() + (row + 1) * step)
                    painter.drawEllipse(at, width * 0.8, width * 0.8)
        case MaterialKind.VARNISH:
            painter.setPen(QPen(ink, width))
            for part in (0.3, 0.55, 0.8):
                y = box.top() + box.height() * part
                painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y - box.height() * 0.12))
        case MaterialKind.CUT if material.cut in CUT_DASHES:
            pen = QPen(QColor(0, 0, 0) if is_pale else QColor(255, 255, 255), width)
            shrink = box.width() / 28.0 * 0.6 / width
            pen.setDashPattern([max(length * shrink, 0.4) for length in CUT_DASHES[material.cut]])
            painter.setPen(pen)
            painter.drawLine(QPointF(box.left(), box.center().y()), QPointF(box.right(), box.center().y()))
        case _:
            pass


class LineSample(QWidget):
    """A short line as the outlines are drawn, on a bit of the sheet."""

    def __init__(self, colour: Colour, dashes: list[float], paper: Colour) -> None:
        """Show a colour and its dashes."""
        super().__init__()
        self._colour, self._dashes, self._paper = colour, dashes, paper
        self.setFixedSize(QSize(44, 14))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(qt_colour(self._paper))
        painter.setPen(QPen(theme.colour("line"), 1))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
        pen = QPen(qt_colour(legible(self._colour, self._paper)), 1.6)
        if self._dashes:
            pen.setDashPattern([length / 1.6 for length in self._dashes])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawLine(4, 7, 40, 7)
        painter.end()


def dashes_of(material: Material) -> list[float]:
    """Return the dashes of a material's outlines, in pixels; empty for an unbroken line."""
    if material.kind is MaterialKind.CUT:
        return CUT_DASHES.get(material.cut, [])
    return PRINT_DASHES if material.kind.is_printed else []


class DashLegend(QWidget):
    """Says what the dashes on the canvas stand for, where there is more than one kind of line."""

    PAPER = Colour(255, 255, 255)

    def __init__(self) -> None:
        """Start with nothing to tell apart."""
        super().__init__()
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(NEAR, 0, 0, 0)
        self._row.setSpacing(SMALL)
        self._shown: tuple[str, ...] = ()
        self.hide()

    @property
    def words(self) -> tuple[str, ...]:
        """What is told apart now."""
        return self._shown

    def show_job(self, job: Job, *, wanted: bool) -> None:
        """Show the kinds of line there are in a job; nothing where all are of one kind, or it is not wanted."""
        kinds: dict[str, Material] = {}
        if wanted:
            for material in job.materials_in_use():
                if material.kind is not MaterialKind.GUIDE:
                    kinds.setdefault(kind_word(material), material)
        shown = tuple(kinds) if len(kinds) > 1 else ()
        self.setVisible(bool(shown))
        if shown == self._shown:
            return
        self._shown = shown
        while (item := self._row.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for word in shown:
            self._row.addWidget(LineSample(Colour(0, 0, 0), dashes_of(kinds[word]), self.PAPER))
            self._row.addWidget(label(word, "muted", scale=FINE_TYPE))
            self._row.addSpacing(SMALL)
        self.setAccessibleName(tr("Lines: {kinds}").format(kinds=", ".join(shown)))
