"""How deep a material is cut, or with what it is printed: in a word, and as it shows in a swatch and on a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from bladewise.document import Colour, CutKind, Material, MaterialKind, is_cut_line
from bladewise.window import theme
from bladewise.window.design import FINE_TYPE, NEAR, SMALL
from bladewise.window.painting import ViewMode
from bladewise.window.paints import CUT_DASHES, PRINT_DASHES, legible, qt_colour

if TYPE_CHECKING:
    from bladewise.document import Job

_PALE = 0.55
"""Luminance from which on a sign upon a swatch is dark."""


_PERIOD = {CutKind.THROUGH: 0.5, CutKind.PERFORATION: 0.22, CutKind.CREASE: 0.55}
"""How much of a swatch one round of the dashes takes, so that they can be told apart in a small one."""


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
    """Return the word for a line about a print, and for what is not plainly cut or printed; empty for what is."""
    is_vinyl = material.kind is MaterialKind.CUT and material.cut is CutKind.KISS and not is_cut_line(material.id)
    is_plain = is_vinyl or material.kind in (MaterialKind.PRINT, MaterialKind.GUIDE)
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
            dashes = CUT_DASHES[material.cut]
            shrink = box.width() * _PERIOD[material.cut] / sum(dashes) / width
            pen.setDashPattern([length * shrink for length in dashes])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
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
        paint_sample(painter, QRectF(self.rect()), self._colour, self._dashes, self._paper)
        painter.end()


def paint_sample(painter: QPainter, box: QRectF, colour: Colour, dashes: list[float], paper: Colour) -> None:
    """Paint a short line on a bit of the sheet."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(qt_colour(paper))
    painter.setPen(QPen(theme.colour("line"), 1))
    painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
    pen = QPen(qt_colour(legible(colour, paper)), 1.6)
    if dashes:
        pen.setDashPattern([length / 1.6 for length in dashes])
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    middle = box.center().y()
    painter.drawLine(QPointF(box.left() + 4.0, middle), QPointF(box.right() - 4.0, middle))


def line_word(material: Material) -> str:
    """Return what a line on the canvas stands for: everything that is printed is dotted alike."""
    return tr("printed") if material.kind.is_printed else kind_word(material)


def dashes_of(material: Material) -> list[float]:
    """Return the dashes of a material's outlines, in pixels; empty for an unbroken line."""
    if material.kind is MaterialKind.CUT:
        return CUT_DASHES.get(material.cut, [])
    return PRINT_DASHES if material.kind.is_printed else []


class DashLegend(QWidget):
    """Says what the dashes on the canvas stand for, where there is more than one kind of line; as many as have room."""

    SAMPLE = 34

    def __init__(self) -> None:
        """Start with nothing to tell apart."""
        super().__init__()
        self._kinds: dict[str, list[float]] = {}
        font = self.font()
        font.setPointSizeF(font.pointSizeF() * FINE_TYPE)
        self.setFont(font)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.setMinimumWidth(0)
        self.hide()

    @property
    def words(self) -> tuple[str, ...]:
        """What is told apart now."""
        return tuple(self._kinds)

    def show_job(self, job: Job, *, wanted: bool) -> None:
        """Show the kinds of line there are in a job; nothing where all are of one kind, or it is not wanted."""
        kinds: dict[str, list[float]] = {}
        if wanted:
            for material in job.materials_in_use():
                if material.kind is not MaterialKind.GUIDE:
                    kinds.setdefault(line_word(material), dashes_of(material))
        self._kinds = kinds if len(kinds) > 1 else {}
        self.setVisible(bool(self._kinds))
        self.setAccessibleName(tr("Lines: {kinds}").format(kinds=", ".join(self._kinds)))
        self.setToolTip(self.accessibleName())
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Ask for room for all of them."""
        return QSize(round(sum(self._width(word) for word in self._kinds)), 20)

    def minimumSizeHint(self) -> QSize:
        """Be content with none: the tool tip has them all."""
        return QSize(0, 20)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint as many as fit."""
        from bladewise.window.canvas.colours import CanvasColours

        paper = CanvasColours.of(self.palette(), ViewMode.OUTLINE.value).paper(ViewMode.OUTLINE)
        ink = Colour(0, 0, 0) if paper.luminance > _PALE else Colour(255, 255, 255)
        painter = QPainter(self)
        x, high = 0.0, float(self.height())
        for word, dashes in self._kinds.items():
            wide = self._width(word)
            if x + wide > self.width() + 1.0:
                break
            sample = QRectF(x + NEAR, high / 2.0 - 7.0, self.SAMPLE, 14.0)
            paint_sample(painter, sample, ink, dashes, paper)
            painter.setPen(theme.colour("muted"))
            words = QRectF(sample.right() + SMALL, 0.0, wide, high)
            painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, word)
            x += wide
        painter.end()

    def _width(self, word: str) -> float:
        return NEAR + self.SAMPLE + SMALL + QFontMetricsF(self.font()).horizontalAdvance(word) + SMALL
