"""A path by points: a click makes a corner, a drag a smooth node; back at the first node it closes."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import QCoreApplication, QPointF, Qt
from PySide6.QtGui import QPen

from bladewise.document import Shape
from bladewise.geometry.path import PathBuilder
from bladewise.units import format_number
from bladewise.window.canvas.draw import Draw
from bladewise.window.canvas.gestures import is_far
from bladewise.window.canvas.handiwork import ENTER
from bladewise.window.drawing import Drawing
from bladewise.window.measuring import angle_deg
from bladewise.window.painting import paint_hairline

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QKeyEvent, QPainter

    from bladewise.geometry.path import Path, Point
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers

_Alt = Qt.KeyboardModifier.AltModifier
CLOSE_PX = 9.0
"""How near to the first node a click closes the path."""

translate = QCoreApplication.translate


class DrawPath(Draw):
    """A path by points; `curved` allows handles."""

    def __init__(
        self, canvas: Canvas, verb: str, numbers: Callable[[], dict[str, Any]], *, curved: bool = True
    ) -> None:
        """Begin with no node."""
        super().__init__(canvas, verb, numbers)
        self.curved = curved
        self.nodes: list[tuple[Point, Point, Point]] = []
        """Handle before, node, handle after; a handle on its node is none."""
        self._pressed: QPointF | None = None
        self._closing = False

    # --- pointer --------------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Set a node; on the first node: close."""
        self._pressed = pixel
        if len(self.nodes) >= 2 and self._on_first(pixel):
            self._closing = True
            return
        place = self._aim_node(pixel, modifiers)
        if self.nodes and math.dist(place, self.nodes[-1][1]) < 1e-6:
            return
        self.nodes.append((place, place, place))
        self._tell()

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Pull handles out of the node just set, or aim at the next."""
        if self._pressed is None:
            self._aim_node(pixel, modifiers)
            if len(self.nodes) >= 2 and self._on_first(pixel):
                self.canvas.say(translate("Canvas", "Click to close the path"))
            else:
                self._say(self._hint())
        elif self.curved and self.nodes and is_far(self._pressed, pixel):
            end = self.aim(pixel, modifiers | _Alt, origin=self._held_node())
            node = self._held_node()
            mirrored = (2.0 * node[0] - end[0], 2.0 * node[1] - end[1])
            index = 0 if self._closing else -1
            before, _, after = self.nodes[index]
            if self._closing:
                self.nodes[0] = (mirrored, node, after if modifiers & _Alt else end)
            else:
                self.nodes[-1] = (before if modifiers & _Alt else mirrored, node, end)
            self.canvas.say(translate("Canvas", "The node becomes smooth; Alt leaves the way it came as it is"))
        self.canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The node stands; closing, the path is done."""
        self._pressed = None
        if self._closing:
            self._finish(closed=True)
        self.canvas.update()

    def double_click(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """End here; the node of the first click stands already."""
        self._pressed = None
        self._finish(closed=False)

    # --- keys -----------------------------------------------------------------------------------------------------

    def wants(self, key: int, modifiers: Modifiers) -> bool:
        """Backspace and Delete take the last node away while there is one."""
        return bool(self.nodes) and key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete)

    def key(self, event: QKeyEvent) -> bool:
        """Enter sets a node at the aim of the keys; once more, or anywhere else, it ends the path."""
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete) and self.nodes:
            self.nodes.pop()
            self._tell()
            self.canvas.update()
            return True
        if key in ENTER and self.nodes:
            stands = self.aim_mm is not None and math.dist(self.aim_mm, self.nodes[-1][1]) < 1e-6
            if not self._by_keys or stands:
                self._finish(closed=False)
                return True
        return super().key(event)

    def escape(self) -> bool:
        """Give up the path."""
        had, self.nodes, self._pressed, self._closing = bool(self.nodes), [], None, False
        self.canvas.update()
        return had

    # --- the path -------------------------------------------------------------------------------------------------

    def values(self, *, closed: bool = False) -> dict[str, Any] | None:
        """Return the nodes as the verb takes them; None while there are not two."""
        if len(self.nodes) < 2:
            return None
        if not self.curved:
            return {"points_mm": [number for _, node, _ in self.nodes for number in node]}
        numbers = [round(number, 6) + 0.0 for node in self.nodes for point in node for number in point]
        return {"nodes_mm": numbers, "closed": closed}

    def lines(self) -> list[str]:
        """Return how far the next node is, and in which direction."""
        if not self.nodes or self.aim_mm is None or self._pressed is not None:
            return []
        last = self.nodes[-1][1]
        angle = format_number(angle_deg(last, self.aim_mm), 1)
        return [f"{self._length(math.dist(last, self.aim_mm))}, {angle}°"]

    def paint(self, painter: QPainter) -> None:
        """Show the path as far as it goes, on to the pointer, with its nodes and handles."""
        canvas = self.canvas
        painter.setRenderHint(painter.RenderHint.Antialiasing)
        path = self._sois_far()
        if path:
            for pen in (QPen(canvas.colours.halo, 1.0), QPen(canvas.colours.ghost, 1.0)):
                pen.setCosmetic(True)
                paint_hairline(painter, Drawing(Shape("path", path)), canvas.view, pen)
        for index, (before, node, after) in enumerate(self.nodes):
            place = canvas.view.to_px(*node)
            painter.setPen(QPen(canvas.colours.selection, 1.0))
            for end in (before, after):
                if end != node:
                    tip = canvas.view.to_px(*end)
                    painter.drawLine(place, tip)
                    painter.setBrush(canvas.colours.handle)
                    painter.drawEllipse(tip, 3.0, 3.0)
            size = 5.5 if index == 0 else 4.0
            painter.setBrush(canvas.colours.handle if index else canvas.colours.ghost)
            painter.drawRect(int(place.x() - size), int(place.y() - size), int(2 * size), int(2 * size))
        self.paint_aim(painter, self.lines())

    def _sois_far(self) -> Path | None:
        if not self.nodes:
            return None
        pen = PathBuilder()
        pen.move_to(self.nodes[0][1])
        nodes = list(self.nodes)
        if self._closing:
            nodes.append(self.nodes[0])
        elif self._pressed is None and self.aim_mm is not None:
            nodes.append((self.aim_mm, self.aim_mm, self.aim_mm))
        for (_, last, leaving), (arriving, node, _) in itertools.pairwise(nodes):
            if leaving == last and arriving == node:
                pen.line_to(node)
            else:
                pen.cubic_to(leaving, arriving, node)
        return pen.path() or None

    def _finish(self, *, closed: bool) -> None:
        values = self.values(closed=closed)
        self.nodes, self._pressed, self._closing = [], None, False
        self.spot = None
        if values is not None:
            if not self.curved:
                values["closed"] = closed or self._numbers().get("closed", True)
            self.drawn.emit(values)
        self.canvas.update()

    def _tell(self) -> None:
        if (values := self.values()) is not None:
            self.shaping.emit(values)

    def _aim_node(self, pixel: QPointF, modifiers: Modifiers) -> Point:
        own = np.array([node for _, node, _ in self.nodes]).reshape(-1, 2)
        return self.aim(pixel, modifiers, origin=self.nodes[-1][1] if self.nodes else None, extra=own)

    def _held_node(self) -> Point:
        return self.nodes[0 if self._closing else -1][1]

    def _on_first(self, pixel: QPointF) -> bool:
        place = self.canvas.view.to_px(*self.nodes[0][1])
        return math.hypot(place.x() - pixel.x(), place.y() - pixel.y()) <= CLOSE_PX

    def _hint(self) -> str:
        if not self.nodes:
            return translate("Canvas", "Click sets a corner, a drag a smooth node; Enter ends the path")
        return translate("Canvas", "Enter or a double-click ends here, Backspace takes the last node back")
