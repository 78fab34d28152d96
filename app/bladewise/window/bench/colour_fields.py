"""Fields for colours: a swatch that opens the colours of the job, or takes one typed as #rrggbb."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPoint, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from bladewise.document import Colour, Picture, colour_word
from bladewise.window import theme
from bladewise.window.bench.fields import Field, when_empty
from bladewise.window.controls import flat_button, label, push_button, restyle
from bladewise.window.dialogs.questions import ask_colour
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk

OKABE_ITO = ("#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#ffffff")
"""Okabe and Ito (2008), with white: colours that most eyes tell apart."""

MOST_OF_THE_JOB = 24


class Swatch(QAbstractButton):
    """A patch of one colour, or of none."""

    def __init__(self, colour: Colour | None, name: str = "", size: int = 22) -> None:
        """Show a colour."""
        super().__init__()
        self.colour = colour
        self.setFixedSize(size, size)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._name = name
        self.set_colour(colour)

    def set_colour(self, colour: Colour | None) -> None:
        """Show another colour."""
        self.colour = colour
        word = f"{colour_word(colour)} {colour.hex}" if colour is not None else self.tr("No colour")
        self.setAccessibleName(f"{self._name}: {word}" if self._name else word)
        self.setToolTip(word)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the patch, its edge and its focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_swatch(painter, QRectF(self.rect()).adjusted(3, 3, -3, -3), self.colour)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("focus"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 5, 5)
        painter.end()


def paint_swatch(painter: QPainter, box: QRectF, colour: Colour | None, radius: float = 3.5) -> None:
    """Paint a patch with an edge that shows on any ground; a struck-through one for no colour."""
    painter.setPen(QPen(theme.colour("border"), 1))
    if colour is None:
        painter.setBrush(theme.colour("raised"))
        painter.drawRoundedRect(box, radius, radius)
        painter.setPen(QPen(theme.colour("spoils"), 1.5))
        painter.drawLine(box.bottomLeft(), box.topRight())
        return
    painter.setBrush(QColor(*colour))
    painter.drawRoundedRect(box, radius, radius)


class ColourButton(QPushButton):
    """Shows the colour chosen and opens the choice."""

    picked = Signal()

    def __init__(self, desk: Desk, name: str, *, none_word: str | None) -> None:
        """Start with none; `none_word` says what none means, None that there must be one."""
        super().__init__()
        self._desk = desk
        self._name = name
        self._none_word = none_word
        self.colour: Colour | None = None
        self.setAutoDefault(False)
        self.clicked.connect(lambda _checked=False: self._open())
        self.set_colour(None)

    def set_colour(self, colour: Colour | None) -> None:
        """Show a colour."""
        self.colour = colour
        self.setText("       " + (colour.hex if colour is not None else self._none_word or "–"))
        self.setAccessibleName(f"{self._name}: {colour.hex if colour is not None else self._none_word or ''}")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the button with its swatch."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = min(16, self.height() - 10)
        paint_swatch(painter, QRectF(9.5, (self.height() - side) / 2, side, side), self.colour)
        painter.end()

    def _open(self) -> None:
        choice = ColourChoice(self._desk, self, self.colour, none_word=self._none_word)
        choice.picked.connect(self._pick)
        choice.open_at(self)

    def _pick(self, colour: object) -> None:
        self.set_colour(colour if isinstance(colour, Colour) else None)
        self.picked.emit()


class ColourChoice(QFrame):
    """The little sheet of colours: those of the job, those that most eyes tell apart, and any other."""

    picked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget, colour: Colour | None, *, none_word: str | None) -> None:
        """Lay out the colours."""
        super().__init__(parent, Qt.WindowType.Popup)
        self.setObjectName("card")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setAccessibleName(self.tr("Choose a colour"))
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 12)
        column.setSpacing(6)
        used = colours_of(desk)
        if used:
            column.addWidget(label(self.tr("In this job"), "muted", scale=0.9))
            column.addLayout(self._grid(used))
        column.addWidget(label(self.tr("Told apart by most eyes"), "muted", scale=0.9))
        column.addLayout(self._grid([Colour.from_hex(text) for text in OKABE_ITO]))
        row = QHBoxLayout()
        self.line = QLineEdit(colour.hex if colour is not None else "")
        self.line.setPlaceholderText("#rrggbb")
        self.line.setAccessibleName(self.tr("Colour as #rrggbb"))
        self.line.setFixedWidth(96)
        self.line.returnPressed.connect(self._typed)
        row.addWidget(self.line)
        row.addWidget(push_button(self.tr("Other…"), self._other))
        if none_word is not None:
            row.addWidget(push_button(none_word[:1].upper() + none_word[1:], lambda: self._pick(None)))
        column.addLayout(row)
        self._start = colour

    def open_at(self, widget: QWidget) -> None:
        """Open above or below a control, wherever there is room."""
        self.adjustSize()
        place = widget.mapToGlobal(QPoint(0, -self.height() - 4))
        screen = widget.screen().availableGeometry()
        if place.y() < screen.top():
            place = widget.mapToGlobal(QPoint(0, widget.height() + 4))
        place.setX(max(screen.left(), min(place.x(), screen.right() - self.width())))
        self.move(place)
        self.show()
        self.line.setFocus()
        self.line.selectAll()

    def _grid(self, colours: list[Colour]) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(2)
        for index, colour in enumerate(colours):
            swatch = Swatch(colour, size=26)
            swatch.clicked.connect(lambda _checked=False, colour=colour: self._pick(colour))
            grid.addWidget(swatch, index // 9, index % 9)
        grid.setColumnStretch(9, 1)
        return grid

    def _typed(self) -> None:
        try:
            self._pick(Colour.from_hex(self.line.text()))
        except ValueError as error:
            restyle(self.line, "wrong", "true")
            self.line.setToolTip(say(str(error)))
            self.line.setAccessibleDescription(say(str(error)))

    def _other(self) -> None:
        start = self._start if self._start is not None else Colour(0x88, 0x88, 0x88)
        chosen = ask_colour(start, self.parentWidget(), self.tr("Choose a colour"))
        if chosen is not None:
            self._pick(chosen)

    def _pick(self, colour: Colour | None) -> None:
        self.picked.emit(colour)
        self.close()


class ColourField(Field):
    """One colour; may be left out if its declaration says so."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the swatch."""
        super().__init__(parameter, desk)
        self.button = ColourButton(desk, self.title, none_word=when_empty(parameter) if parameter.optional else None)
        self.hold(self.button)
        self.button.setAccessibleName(f"{self.title}: {when_empty(parameter)}")
        self.button.picked.connect(self.changed)

    def value(self) -> Any:
        """Return the colour."""
        return self.parameter.parse(self.button.colour)

    def set_value(self, value: Any) -> None:
        """Show a colour."""
        self.button.set_colour(value)


class ColoursField(Field):
    """A row of colours, one a step; empty means the program's own."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the row."""
        super().__init__(parameter, desk)
        self._holder = QWidget()
        self._row = QHBoxLayout(self._holder)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(4)
        self.swatches: list[Swatch] = []
        self.more = flat_button("plus", self.tr("Add a colour"), self._add)
        self.less = flat_button("minus", self.tr("Remove the last colour"), self._remove)
        self._row.addWidget(self.more)
        self._row.addWidget(self.less)
        self.hold(self._holder)
        self.setFocusProxy(self.more)
        self.less.hide()

    def value(self) -> Any:
        """Return the colours."""
        return self.parameter.parse([swatch.colour for swatch in self.swatches])

    def set_value(self, value: Any) -> None:
        """Show colours."""
        for swatch in self.swatches:
            self._row.removeWidget(swatch)
            swatch.deleteLater()
        self.swatches = []
        for colour in value or ():
            self._put(colour)

    def _put(self, colour: Colour) -> Swatch:
        number = len(self.swatches) + 1
        swatch = Swatch(colour, self.tr("Colour %n", "", number), size=26)
        swatch.clicked.connect(lambda _checked=False: self._open(swatch))
        self._row.insertWidget(len(self.swatches), swatch)
        self.swatches.append(swatch)
        self.less.show()
        return swatch

    def _add(self) -> None:
        used = colours_of(self.desk)
        self._put(used[0] if used else Colour(255, 255, 255))
        self.changed.emit()

    def _remove(self) -> None:
        if self.swatches:
            swatch = self.swatches.pop()
            self._row.removeWidget(swatch)
            swatch.deleteLater()
            self.less.setVisible(bool(self.swatches))
            self.changed.emit()

    def _open(self, swatch: Swatch) -> None:
        choice = ColourChoice(self.desk, swatch, swatch.colour, none_word=None)
        choice.picked.connect(lambda colour: self._recolour(swatch, colour))
        choice.open_at(swatch)

    def _recolour(self, swatch: Swatch, colour: Colour) -> None:
        swatch.set_colour(colour)
        self.changed.emit()


def colours_of(desk: Desk) -> list[Colour]:
    """Return the flat colours of the job, the most used first."""
    counts: dict[Colour, int] = {}
    for placed in desk.job.walk():
        leaf = placed.leaf
        if not isinstance(leaf, Picture):
            stroke = leaf.style.stroke.paint if leaf.style.stroke else None
            for paint in (leaf.style.fill, stroke):
                if isinstance(paint, Colour):
                    counts[paint] = counts.get(paint, 0) + 1
    return sorted(counts, key=lambda colour: -counts[colour])[:MOST_OF_THE_JOB]
