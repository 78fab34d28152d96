"""Pulling the ghost: a distance of the open verb follows the hand on the canvas, and the grip follows the number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import QMouseEvent

from bladewise.document import CUT_LINE
from bladewise.operations.outlines import Side
from bladewise.units import format_length
from bladewise.window.canvas.gestures import decimals_of
from bladewise.window.canvas.grip import Grip, grip_on

if TYPE_CHECKING:
    from bladewise.document import Job, Leaf
    from bladewise.geometry.path import Path
    from bladewise.operations import Parameter
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk

_NUMBERS = {
    **dict.fromkeys(("stepped-outline", "cut-line", "bleed"), "distance_mm"),
    "sticker-cuts": "kiss_distance_mm",
    "white-underprint": "choke_mm",
    "varnish": "inset_mm",
}
"""The distance of each verb that is pulled."""
_INWARD = frozenset({"white-underprint", "varnish"})
"""Verbs whose outline goes inwards as the distance grows."""


class Pulling(QObject):
    """Puts a grip on the ghost of verbs that outline art at a distance."""

    def __init__(self, canvas: Canvas, bench: Bench, desk: Desk, parent: QObject) -> None:
        """Watch canvas and ghost."""
        super().__init__(parent)
        self._canvas, self._bench, self._desk = canvas, bench, desk
        self._outline: Path | None = None
        self._pulled: tuple[Grip, float, float] | None = None
        canvas.installEventFilter(self)
        canvas.view_changed.connect(self._put_grip)
        desk.ghost_changed.connect(self._ghost_changed)
        bench.left.connect(self._let_go)

    # --- the hand -------------------------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the presses on the grip; everything else is the canvas's."""
        if not isinstance(event, QMouseEvent):
            return False
        kind, pixel, grip = event.type(), event.position(), self._canvas.grip
        if kind == QEvent.Type.MouseButtonPress and event.button() is Qt.MouseButton.LeftButton:
            number = self._number()
            if grip is None or number is None or not grip.is_at(self._canvas.view, pixel):
                return False
            offset = self._along(grip, pixel)
            self._pulled = grip, number, offset
            return True
        if kind == QEvent.Type.MouseMove:
            if self._pulled is not None:
                self._pull(pixel)
                return True
            return self._hover(grip, pixel, event)
        if kind == QEvent.Type.MouseButtonRelease and self._pulled is not None:
            self._pulled = None
            self._canvas.say("")
            self._put_grip()
            return True
        return False

    def _hover(self, grip: Grip | None, pixel: QPointF, event: QMouseEvent) -> bool:
        if grip is None or event.buttons() != Qt.MouseButton.NoButton or not grip.is_at(self._canvas.view, pixel):
            return False
        self._canvas.setCursor(grip.cursor)
        self._canvas.say(self.tr("Pull the outline to its distance"))
        return True

    def _pull(self, pixel: QPointF) -> None:
        assert self._pulled is not None
        grip, before, offset = self._pulled
        form, parameter = self._bench.form, self._parameter()
        if form is None or parameter is None:
            return
        moved = self._along(grip, pixel) - offset
        decimals = max(decimals_of(self._canvas.view.scale) - 1, 1)
        number = round(before + moved / self._factor(), decimals)
        number = min(max(number, parameter.minimum or -1e6), parameter.maximum or 1e6)
        label = format_length(number, unit=self._desk.unit, decimals=max(decimals, 2))
        self._canvas.set_grip(grip.pulled((number - before) * self._factor(), label))
        if number != self._number():
            form.fields[parameter.name].set_value(number)
            form.fields[parameter.name].changed.emit()

    def _along(self, grip: Grip, pixel: QPointF) -> float:
        """Return how far along a grip's way a pixel is, in mm."""
        gap = pixel - grip.place(self._canvas.view)
        return (gap.x() * grip.across + gap.y() * grip.down) / self._canvas.view.scale

    # --- the number -----------------------------------------------------------------------------------------------

    def _parameter(self) -> Parameter | None:
        operation = self._bench.operation
        if operation is None or operation.name not in _NUMBERS:
            return None
        return next((each for each in operation.parameters if each.name == _NUMBERS[operation.name]), None)

    def _record(self) -> object | None:
        form = self._bench.form
        if form is None or self._parameter() is None:
            return None
        try:
            return form.step(self._desk.on_selection()).record
        except ValueError:
            return None

    def _number(self) -> float | None:
        parameter = self._parameter()
        number = None if parameter is None else getattr(self._record(), parameter.name, None)
        return None if number is None else float(number)

    def _factor(self) -> float:
        """Return how far the outline with the grip moves for a millimetre of the number: the outermost of several."""
        return float(getattr(self._record(), "steps", 1))

    # --- the ghost ------------------------------------------------------------------------------------------------

    def _ghost_changed(self, job: Job | None, changed: frozenset[str] | None) -> None:
        self._outline = None
        if job is not None and changed and self._parameter() is not None:
            inward = self._is_inward()
            sizes = [
                ((box[2] - box[0]) * (box[3] - box[1]), leaf.path)
                for key in changed
                if (placed := job.placed(key)) is not None
                and hasattr(leaf := placed.leaf, "path")
                and key not in self._known
                and self._is_pulled(leaf)
                and (box := leaf.bounds) is not None
            ]
            if sizes:
                pick = min if inward else max
                self._outline = pick(sizes, key=lambda each: each[0])[1]
        self._put_grip()

    @property
    def _known(self) -> frozenset[str]:
        """Ids of what is there already: the ghost's own are new."""
        return frozenset(self._canvas.elements())

    def _is_inward(self) -> bool:
        operation = self._bench.operation
        return (operation is not None and operation.name in _INWARD) or (
            getattr(self._record(), "side", None) is Side.INSIDE
        )

    def _is_pulled(self, leaf: Leaf) -> bool:
        """Whether an outline of the ghost goes by the distance: of sticker cuts, the kiss cut alone."""
        operation = self._bench.operation
        return operation is None or operation.name != "sticker-cuts" or leaf.material == CUT_LINE

    def _put_grip(self) -> None:
        if self._pulled is not None:
            return
        canvas = self._canvas
        if self._outline is None or self._number() is None:
            canvas.set_grip(None)
            return
        canvas.set_grip(grip_on(self._outline, canvas.view, QRectF(canvas.window_box()), inward=self._is_inward()))

    def _let_go(self) -> None:
        self._pulled = None
        self._outline = None
        self._canvas.set_grip(None)
