"""One file large: outlines cut one after the other as far as a slider says, and what each line stands for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSlider, QVBoxLayout, QWidget

from bladewise.layout.figures import travel_text
from bladewise.units import format_length
from bladewise.window.controls import ElidedLabel, label, push_button
from bladewise.window.design import APART, HEAD_TYPE, NEAR, SMALL
from bladewise.window.hand_off import said
from bladewise.window.hand_off.picture import FilePicture
from bladewise.window.kinds import LineSample, cut_words
from bladewise.window.paints import CUT_DASHES

if TYPE_CHECKING:
    from bladewise.window.hand_off.looks import Look, Row


class LargeLook(QWidget):
    """A page for one file."""

    left = Signal()

    def __init__(self, unit: str) -> None:
        """Start with nothing to show."""
        super().__init__()
        self._unit = unit
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(APART)
        head = QHBoxLayout()
        head.setSpacing(APART)
        self.back = push_button(self.tr("Back"), self.left.emit, icon="undo")
        self.title = ElidedLabel("", "title", Qt.TextElideMode.ElideMiddle)
        font = self.title.font()
        font.setPointSizeF(font.pointSizeF() * HEAD_TYPE)
        self.title.setFont(font)
        self.figures = label("", "muted")
        head.addWidget(self.back)
        head.addWidget(self.title)
        head.addWidget(self.figures)
        head.addStretch(1)
        column.addLayout(head)
        self.picture = FilePicture(is_large=True)
        column.addWidget(self.picture, 1)
        self._rows = QHBoxLayout()
        self._rows.setSpacing(NEAR)
        column.addLayout(self._rows)
        foot = QHBoxLayout()
        foot.setSpacing(APART)
        self.order = label(self.tr("Cut so far"))
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName(self.tr("Cut so far, in outlines"))
        self.order.setBuddy(self.slider)
        self.slider.valueChanged.connect(self._reach)
        self.reached = label("", "muted")
        self.reached.setMinimumWidth(150)
        foot.addWidget(self.order)
        foot.addWidget(self.slider, 1)
        foot.addWidget(self.reached)
        column.addLayout(foot)

    def show_look(self, look: Look) -> None:
        """Show a file."""
        self.look = look
        self.title.setText(look.file.name)
        parts = [said.figures(look, self._unit)]
        if look.outlines:
            parts.append(self.tr("{n} outlines").format(n=len(look.outlines)))
            parts.append(self.tr("lifted {travel}").format(travel=travel_text(look.lifted_mm, self._unit)))
        width, height = (abs(look.sheet[side + 2] - look.sheet[side]) for side in (0, 1))
        sheet = " × ".join(format_length(each, unit=self._unit) for each in (width, height))
        parts.append(self.tr("sheet {size}").format(size=sheet))
        self.figures.setText(said.SEPARATOR.join(parts))
        self.picture.show_look(look)
        self._fill_rows(look)
        count = len(look.outlines)
        for control in (self.order, self.slider, self.reached):
            control.setVisible(count > 0)
        self.slider.setRange(0, count)
        self.slider.setPageStep(max(1, count // 10))
        self.slider.setValue(count)
        self._reach(count)

    def _reach(self, count: int) -> None:
        self.picture.show_reached(count)
        self.reached.setText(said.reached(self.look, count))

    def _fill_rows(self, look: Look) -> None:
        while (item := self._rows.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        origin = label(self.tr("0, 0 and the machine's two directions"), "muted")
        self._rows.addWidget(OriginSample())
        self._rows.addWidget(origin)
        for row in dict.fromkeys(look.rows[:8]):
            self._rows.addSpacing(SMALL)
            self._rows.addWidget(LineSample(row.colour, CUT_DASHES.get(row.cut, []), FilePicture.paper()))
            self._rows.addWidget(ElidedLabel(self._words(row), "muted"))
        self._rows.addStretch(1)

    def _words(self, row: Row) -> str:
        words = row.name if row.is_marks else said.named(row.name, cut_words()[row.cut])
        return words if row.pen is None else self.tr("{what}, pen {pen}").format(what=words, pen=row.pen)


class OriginSample(QWidget):
    """The mark of the origin, for the legend."""

    def __init__(self) -> None:
        """Be as large as the mark."""
        super().__init__()
        self.setFixedSize(QSize(20, 18))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the mark as the picture does."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        FilePicture.paint_origin(painter, 5.0, 13.0, up=True, arrow=12.0)
        painter.end()
