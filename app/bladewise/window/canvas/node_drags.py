"""What a drag does while nodes are shown: move nodes, move a handle, bend a segment, stretch a band."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

import numpy as np
from PySide6.QtCore import QCoreApplication, QPointF, QRectF, Qt

from bladewise import operations
from bladewise.geometry.node_edits import handle_moved, nodes_moved, segment_pulled
from bladewise.geometry.nodes import NodeKind
from bladewise.units import format_length, format_number
from bladewise.window.canvas import overlay
from bladewise.window.canvas.gestures import decimals_of, is_far
from bladewise.window.canvas.handiwork import at_45
from bladewise.window.canvas.node_shapes import nodes_in
from bladewise.window.measuring import angle_deg

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from bladewise.geometry.path import Floats
    from bladewise.window.canvas.handiwork import Modifiers
    from bladewise.window.canvas.node_editing import NodeEditing
    from bladewise.window.canvas.node_shapes import HandleAt, Node, SegmentAt

_Shift = Qt.KeyboardModifier.ShiftModifier
_Alt = Qt.KeyboardModifier.AltModifier

translate = QCoreApplication.translate


class Drag(Protocol):
    """From press to release."""

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Do it."""

    def paint(self, painter: QPainter) -> None:
        """Show numbers beside the pointer."""


class NodesDrag:
    """The picked nodes follow the hand by the one it holds; Shift keeps to 45°, Alt leaves snapping out."""

    def __init__(self, work: NodeEditing, node: Node, pixel: QPointF, *, lone_click: bool) -> None:
        """Take hold of a node."""
        self._work, self._node, self._from = work, node, pixel
        self._lone_click = lone_click
        x, y = work.shapes[node[0]].table.points[node[1]].tolist()
        self._start = x, y
        self._moved: tuple[float, float] | None = None

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Show the shapes as they would be."""
        if self._moved is None and not is_far(self._from, pixel):
            return
        work = self._work
        off = pixel - self._from
        start = work.canvas.view.to_px(*self._start)
        place = work.aim(
            start + off,
            modifiers,
            origin=self._start if modifiers & _Shift else None,
            extra=_standing(work),
            without=frozenset(work.shapes),
        )
        self._moved = place[0] - self._start[0], place[1] - self._start[1]
        work.say_spot(translate("Canvas", "Shift keeps to level, plumb and 45°, Alt leaves snapping out"))
        edited = {key: nodes_moved(work.shapes[key].path, rows, *self._moved) for key, rows in work.chosen.items()}
        work.show_preview(edited)

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step; a click picks only this node."""
        work = self._work
        work.canvas.say("")
        if self._moved is None:
            if self._lone_click:
                work.choose({self._node[0]: (self._node[1],)})
            return
        dx, dy = self._moved
        if not dx and not dy:
            work.show_preview({})
            return
        step = operations.step("move-nodes", {"nodes": work.chosen, "dx_mm": dx, "dy_mm": dy})
        work.ask(step, work.preview)

    def paint(self, painter: QPainter) -> None:
        """Tell how far it went."""
        if self._moved is not None:
            work = self._work
            work.paint_aim(painter, _moved_lines(work, self._moved))


class HandleDrag:
    """A handle follows the hand; Alt frees it from the other one, Shift keeps it to multiples of 45°."""

    def __init__(self, work: NodeEditing, handle: HandleAt, pixel: QPointF) -> None:
        """Take hold of a handle."""
        self._work, self._handle, self._from = work, handle, pixel
        shape = work.shapes[handle.shape]
        x, y = shape.table.points[handle.node].tolist()
        self._node = x, y
        self._to: tuple[float, float] | None = None
        self._keep: NodeKind | None = None

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Show the shape as it would be."""
        if self._to is None and not is_far(self._from, pixel):
            return
        work, handle = self._work, self._handle
        view = work.canvas.view
        raw = view.to_mm(pixel.x(), pixel.y())
        decimals = decimals_of(view.scale)
        to = at_45(self._node, raw) if modifiers & _Shift else raw
        self._to = round(to[0], decimals), round(to[1], decimals)
        if modifiers & _Shift:
            self._to = round(to[0], 6), round(to[1], 6)
        self._keep = NodeKind.CORNER if modifiers & _Alt else None
        work.aim_mm, work.spot = self._to, None
        work._at = pixel  # noqa: SLF001 - one work in two modules
        work.canvas.say(translate("Canvas", "Alt frees the handle from the other one, Shift keeps to 45°"))
        path = work.shapes[handle.shape].path
        work.show_preview({handle.shape: handle_moved(path, handle.node, handle.side, self._to, self._keep)})

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        work, handle = self._work, self._handle
        work.canvas.say("")
        if self._to is None:
            return
        values = {
            "nodes": {handle.shape: [handle.node]},
            "side": handle.side.value,
            "x_mm": self._to[0],
            "y_mm": self._to[1],
        }
        if self._keep is not None:
            values["keep"] = self._keep.value
        work.ask(operations.step("move-handle", values), work.preview)

    def paint(self, painter: QPainter) -> None:
        """Tell its length and direction."""
        if self._to is None:
            return
        work = self._work
        long = math.hypot(self._to[0] - self._node[0], self._to[1] - self._node[1])
        decimals = max(decimals_of(work.canvas.view.scale), 2)
        length = format_length(long, unit=work.canvas.unit, decimals=decimals)
        angle = format_number(angle_deg(self._node, self._to), 1)
        work.paint_aim(painter, [f"{length}, {angle}°"])


class SegmentDrag:
    """A segment bends after the hand that holds it."""

    def __init__(self, work: NodeEditing, segment: SegmentAt, pixel: QPointF) -> None:
        """Take hold of a segment."""
        self._work, self._segment, self._from = work, segment, pixel
        self._moved: tuple[float, float] | None = None

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Show the shape as it would be."""
        if self._moved is None and not is_far(self._from, pixel):
            return
        work, segment = self._work, self._segment
        start = work.canvas.view.to_px(segment.x_mm, segment.y_mm)
        place = work.aim(start + (pixel - self._from), modifiers, without=frozenset(work.shapes))
        self._moved = place[0] - segment.x_mm, place[1] - segment.y_mm
        work.say_spot(translate("Canvas", "The segment bends after the hand; Alt leaves snapping out"))
        path = work.shapes[segment.shape].path
        work.show_preview({segment.shape: segment_pulled(path, segment.segment, segment.t, *self._moved)})

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        work, segment = self._work, self._segment
        work.canvas.say("")
        if self._moved is None:
            return
        values = {
            "segments": {segment.shape: [segment.segment]},
            "at": segment.t,
            "dx_mm": self._moved[0],
            "dy_mm": self._moved[1],
        }
        work.ask(operations.step("pull-segment", values), work.preview)

    def paint(self, painter: QPainter) -> None:
        """Tell how far it went."""
        if self._moved is not None:
            self._work.paint_aim(painter, _moved_lines(self._work, self._moved))


class BandDrag:
    """A rubber band picks the nodes in it; a click beside everything lets go of all."""

    def __init__(self, work: NodeEditing, pixel: QPointF, *, adding: bool) -> None:
        """Begin at a pixel."""
        self._work, self._adding = work, adding
        self._from = self._to = pixel
        self._is_band = False

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Stretch."""
        self._to = pixel
        self._is_band = self._is_band or is_far(self._from, pixel)

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Pick."""
        work = self._work
        if not self._is_band:
            if not self._adding:
                work.beside(pixel)
            return
        rect = QRectF(self._from, self._to).normalized()
        x0, y0, x1, y1 = work.canvas.view.box(rect)
        work.choose(
            {key: nodes_in(shape, (x0, y0), (x1, y1)) for key, shape in work.shapes.items()}, adding=self._adding
        )

    def paint(self, painter: QPainter) -> None:
        """Show the band."""
        if self._is_band:
            rect = QRectF(self._from, self._to).normalized()
            overlay.paint_band(painter, rect, self._work.canvas.colours, touching=False)


def _standing(work: NodeEditing) -> Floats:
    """Return the nodes that do not move: the others may be snapped to."""
    found = [
        np.delete(shape.table.points, shape.rows(), axis=0)
        for shape in work.shapes.values()
        if len(shape.table.points) <= 5_000
    ]
    return np.concatenate(found) if found else np.zeros((0, 2))


def _moved_lines(work: NodeEditing, moved: tuple[float, float]) -> list[str]:
    decimals = max(decimals_of(work.canvas.view.scale), 2)
    unit = work.canvas.unit
    return [
        f"{sign} {format_length(abs(value), unit=unit, decimals=decimals)}"
        for sign, value in (("→" if moved[0] >= 0.0 else "←", moved[0]), ("↓" if moved[1] >= 0.0 else "↑", moved[1]))
    ]
