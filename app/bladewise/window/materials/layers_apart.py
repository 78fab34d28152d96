"""The layers of a job drawn apart, in the order in which they are stuck: a way of looking that never edits.

Each vinyl is a sheet of its own with its number and name; a slider lifts them off one another. Up and down go through
the sheets, left and right move the slider, Escape leaves.
"""

from __future__ import annotations

import time
from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, QLineF, QObject, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QColor,
    QPainter,
    QPen,
)
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSlider, QVBoxLayout, QWidget

from bladewise.document.exploding import by_material, exploded_offsets
from bladewise.operations.application import applications_of
from bladewise.window import theme
from bladewise.window.controls import IconLabel, label, push_button
from bladewise.window.materials.sheets import PAD_PX, Painted, Sheet, paint_tag, painted
from bladewise.window.view import View
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent, QResizeEvent, QWheelEvent

    from bladewise.document import Box, Job
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk

_STEPS = 100
_MARGIN_PX = 40.0
_FAINT = 0.22
_SHARPEN_MS = 120
_SLICE_S = 0.012
"""So long sheets are painted anew in one frame; one always is."""

_CROWDED = 24
"""So many sheets have room for their names; of more only the chosen one is named."""


class LayersApart(QWidget):
    """Lies over the canvas while it is shown."""

    left = Signal()

    def __init__(self, canvas: Canvas, desk: Desk) -> None:
        """Show the job as it stands, apart."""
        super().__init__(canvas)
        self._canvas, self._desk = canvas, desk
        self._whole: Job = desk.job
        self.job: Job = by_material(desk.job)
        self.sheets: list[Sheet] = []
        self.turns: dict[str, int] = {}
        self.chosen = -1
        self._zoom = 1.0
        self._pan = QPointF()
        self._grabbed: QPointF | None = None
        self._pictures: dict[int, Painted] = {}
        self._sharpening = False
        self._spent = 0.0
        self._worker = Worker(self)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_SHARPEN_MS)
        self._rest.timeout.connect(self._sharpen)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(_tr("Layers apart"))
        self.setAccessibleDescription(
            _tr("The vinyls in the order they are stuck. Up and down choose one, left and right move them apart.")
        )
        self._lay_out()
        canvas.installEventFilter(self)
        desk.job_changed.connect(self._job_changed)
        desk.ghost_changed.connect(self._ghost_changed)
        self.setGeometry(canvas.rect())
        self._job_changed(None)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addStretch(1)
        bar = QFrame()
        bar.setObjectName("canvasFoot")
        row = QHBoxLayout(bar)
        row.setContentsMargins(12, 6, 12, 6)
        row.setSpacing(8)
        row.addWidget(IconLabel("layers-apart", "accent", 18))
        self.told = label(_tr("Layers apart"), "title")
        row.addWidget(self.told)
        row.addSpacing(8)
        together = label(_tr("together"), "muted", scale=0.9)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, _STEPS)
        self.slider.setPageStep(10)
        self.slider.setSingleStep(2)
        self.slider.setValue(60)
        self.slider.setMinimumWidth(90)
        self.slider.setAccessibleName(_tr("How far apart"))
        self.slider.valueChanged.connect(lambda _value: self._slid())
        together.setBuddy(self.slider)
        row.addWidget(together)
        row.addWidget(self.slider, 1)
        row.addWidget(label(_tr("apart"), "muted", scale=0.9))
        self.leave_button = push_button(_tr("Leave"), self.left.emit)
        self.leave_button.setToolTip(_tr("Escape"))
        row.addWidget(self.leave_button)
        self.bar = bar
        column.addWidget(bar)

    # --- what is shown --------------------------------------------------------------------------------------------

    @property
    def amount(self) -> float:
        """How far the layers are apart: 0 as they lie, 1 wholly."""
        return self.slider.value() / _STEPS

    def names(self) -> list[str]:
        """Return the sheets in the order in which they are stuck, with their numbers."""
        return [f"{self.number(row)}. {sheet.material.name}" for row, sheet in enumerate(self.sheets)]

    def number(self, row: int) -> int:
        """Return when a sheet is stuck, 1 first; sheets that nowhere meet go on at once."""
        return self.turns.get(self.sheets[row].material.id, row) + 1

    def end(self) -> None:
        """Stop, and go."""
        self._worker.close()
        self._canvas.removeEventFilter(self)
        self._desk.job_changed.disconnect(self._job_changed)
        self._desk.ghost_changed.disconnect(self._ghost_changed)
        self.hide()
        self.deleteLater()

    def _job_changed(self, _changes: object) -> None:
        self._take(self._desk.ghost_job or self._desk.job)

    def _ghost_changed(self, job: Job | None, _changed: object) -> None:
        """Show what the open verb would make of the job, and the job again when it is left."""
        self._take(job or self._desk.job)

    def _take(self, whole: Job) -> None:
        if whole is self._whole and self.sheets:
            return
        self._whole = whole
        job = self.job = by_material(whole)
        offsets = exploded_offsets(job)
        materials = {each.id: each for each in whole.materials_in_use()}
        self.sheets = [
            Sheet(materials[layer.id], box, offsets[layer.id], place)
            for place, layer in enumerate(job.layers)
            if (box := layer.bounds) is not None
        ]
        self.chosen = min(self.chosen, len(self.sheets) - 1)
        self._pictures = {}
        self.turns = {}
        self._worker.start(
            lambda _progress: applications_of(job), lambda found: self._numbered(job, found), instead=True
        )
        count = len(self.sheets)
        few = _tr("1 layer") if count else _tr("Layers apart")
        self.told.setText(_tr("{count} layers").format(count=count) if count > 1 else few)
        self.slider.setEnabled(count > 1)  # there is nothing to draw apart
        self.update()

    def _numbered(self, job: Job, found: dict[str, int]) -> None:
        if job is self.job:
            self.turns = found
            rounds = len(set(found.values()))
            if rounds and rounds < len(self.sheets):
                many = _tr("{count} layers, stuck in {rounds} goes")
                text = _tr("{count} layers, stuck all at once") if rounds == 1 else many
                self.told.setText(text.format(count=len(self.sheets), rounds=rounds))
            self.update()

    def room(self) -> QRectF:
        """Return the pixels above the bar."""
        return QRectF(0.0, 0.0, float(self.width()), max(float(self.height() - self.bar.sizeHint().height()), 40.0))

    def view(self) -> View:
        """Return where the sheets lie: all of them fitted, then as zoomed and pulled."""
        room = self.room()
        boxes = [self._lifted(sheet) for sheet in self.sheets] or [(0.0, 0.0, 1.0, 1.0)]
        low_x, low_y, high_x, high_y = zip(*boxes, strict=True)
        box = min(low_x), min(low_y), max(high_x), max(high_y)
        names = 120.0 if len(self.sheets) <= _CROWDED else 0.0
        view = View.fitted(box, max(room.width() - names, 60.0), room.height(), _MARGIN_PX)
        view = view.zoomed(self._zoom, room.center().x(), room.center().y())
        return view.panned(self._pan.x(), self._pan.y())

    def _lifted(self, sheet: Sheet) -> Box:
        dx, dy = sheet.lift[0] * self.amount, sheet.lift[1] * self.amount
        x0, y0, x1, y1 = sheet.box
        return x0 + dx, y0 + dy, x1 + dx, y1 + dy

    # --- painting -------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the sheets, lowest first."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.fillRect(self.rect(), self._canvas.colours.pasteboard)
        if not self.sheets:
            painter.setPen(theme.colour("text"))
            painter.drawText(self.room(), Qt.AlignmentFlag.AlignCenter, _tr("Nothing to take apart yet."))
            return
        self._spent = 0.0
        view = self.view()
        places = [view.rect(self._lifted(sheet)) for sheet in self.sheets]
        self._paint_lines(painter, places)
        for row, sheet in enumerate(self.sheets):
            faint = self.chosen >= 0 and row != self.chosen
            painter.setOpacity(_FAINT if faint else 1.0)
            self._paint_film(painter, places[row], chosen=row == self.chosen)
            self._paint_art(painter, row, sheet, view)
            painter.setOpacity(1.0)
        for row in range(len(self.sheets)):
            if row != self.chosen and (len(self.sheets) <= _CROWDED):
                self._paint_tag(painter, row, places[row])
        if self.chosen >= 0:
            self._paint_tag(painter, self.chosen, places[self.chosen])
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(QPen(theme.colour("focus"), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.room().adjusted(1.0, 1.0, -1.0, -1.0))
        painter.end()

    def _paint_lines(self, painter: QPainter, places: list[QRectF]) -> None:
        """Show where a sheet comes from: broken lines from corner to corner."""
        if self.amount == 0.0 or len(places) > _CROWDED:
            return
        pen = QPen(theme.colour("border"), 1.0, Qt.PenStyle.DashLine)
        painter.setPen(pen)
        for low, high in pairwise(places):
            for one, other in ((low.topLeft(), high.topLeft()), (low.bottomRight(), high.bottomRight())):
                painter.drawLine(QLineF(one, other))

    def _paint_film(self, painter: QPainter, place: QRectF, *, chosen: bool) -> None:
        film = QColor(*self._canvas.colours.sheet["fill"])
        film.setAlpha(190 if theme.current().dark else 120)
        box = place.adjusted(-PAD_PX, -PAD_PX, PAD_PX, PAD_PX)
        painter.setBrush(film if self.amount > 0.0 else Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.colour("accent" if chosen else "border"), 2.0 if chosen else 1.0))
        painter.drawRoundedRect(box, 5.0, 5.0)

    def _paint_art(self, painter: QPainter, row: int, sheet: Sheet, view: View) -> None:
        kept = self._pictures.get(row)
        if kept is None or (self._sharpening and kept.asked != view.scale):
            if self._spent < _SLICE_S:
                began = time.perf_counter()
                kept = self._pictures[row] = painted(
                    sheet, self.job.layers[sheet.layer].children, view, self.devicePixelRatioF()
                )
                self._spent += time.perf_counter() - began
            else:  # the next frame goes on, so that the hand is never held up
                QTimer.singleShot(0, self, self.update)
        if kept is None:
            return
        if kept.asked != view.scale and not self._rest.isActive() and not self._sharpening:
            self._rest.start()
        _, scale, picture, corner = kept
        ratio = picture.devicePixelRatio()
        factor = view.scale / scale
        at = view.rect(self._lifted(sheet)).topLeft() - corner * factor
        size = QPointF(picture.width() / ratio * factor, picture.height() / ratio * factor)
        painter.drawImage(QRectF(at, at + size), picture)

    def _paint_tag(self, painter: QPainter, row: int, place: QRectF) -> None:
        chosen = row == self.chosen
        paint_tag(painter, self.sheets[row], self.number(row), place, self.room(), chosen=chosen)

    def _sharpen(self) -> None:
        self._sharpening = True
        self.update()

    def _slid(self) -> None:
        self._sharpening = False
        self._rest.start()
        self.update()

    # --- the hand -------------------------------------------------------------------------------------------------

    def choose(self, row: int) -> None:
        """Let one sheet stand out, or none; it is said aloud too."""
        self.chosen = row if 0 <= row < len(self.sheets) else -1
        if self.chosen >= 0:
            name = self.names()[self.chosen]
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, name))
            self._canvas.say(name)
        else:
            self._canvas.say("")
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go through the sheets, move them apart, zoom, leave; no key reaches the canvas below."""
        key, count = event.key(), len(self.sheets)
        event.accept()
        if key == Qt.Key.Key_Escape:
            if self.chosen >= 0:
                self.choose(-1)
            else:
                self.left.emit()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.slider.setValue(self.slider.value() + (5 if key == Qt.Key.Key_Right else -5))
        elif key == Qt.Key.Key_Up and count:
            self.choose(min(self.chosen + 1, count - 1))
        elif key == Qt.Key.Key_Down and count:
            self.choose(max(self.chosen - 1, -1))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self._zoomed(1.25)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self._zoomed(0.8)
        elif key == Qt.Key.Key_0:
            self._zoom, self._pan = 1.0, QPointF()
            self._slid()
        elif event.modifiers() & ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier):
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the topmost sheet there, and begin to pull."""
        event.accept()
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        view = self.view()
        hit = [
            row for row, sheet in enumerate(self.sheets) if view.rect(self._lifted(sheet)).contains(event.position())
        ]
        self.choose(hit[-1] if hit and hit[-1] != self.chosen else -1)
        self._grabbed = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pull all of it about."""
        event.accept()
        if self._grabbed is not None:
            self._pan += event.position() - self._grabbed
            self._grabbed = event.position()
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        event.accept()
        self._grabbed = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Mean nothing: the canvas below is not to hear of it."""
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom."""
        event.accept()
        self._zoomed(1.25 ** (event.angleDelta().y() / 120.0))

    def _zoomed(self, factor: float) -> None:
        self._zoom = min(max(self._zoom * factor, 0.2), 40.0)
        self._slid()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit anew."""
        self._slid()

    def changeEvent(self, event: QEvent) -> None:
        """Wear another theme."""
        super().changeEvent(event)
        self.update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay as large as the canvas."""
        if event.type() == QEvent.Type.Resize:
            self.setGeometry(self._canvas.rect())
        return False


def _tr(text: str) -> str:
    return QCoreApplication.translate("LayersApart", text)
