"""How nodes and handles look: every kind has a shape of its own, picked ones are filled.

Corner: a square. Smooth: a round. Balanced: a diamond. The ends of an open path have a bar beside them,
and where a subpath begins a small arrow tells which way it runs. Handle ends are the same shapes, small.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF, QTransform

from bladewise.document import Shape
from bladewise.geometry.landmarks import segments_of
from bladewise.geometry.nodes import NodeKind, directions
from bladewise.window.canvas.node_shapes import MOST_WITH_HANDLES, HandleAt, NodeShape
from bladewise.window.drawing import Drawing
from bladewise.window.painting import paint_hairline

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

_NODE_PX, _HANDLE_PX = 4.5, 3.4
_MOST_WITH_HALO = 800
"""A wide pen takes ten times as long as a hairline; longer outlines go without a halo."""
_MOST_SHAPED = 1_500
"""With more nodes than this in view they are shown as plain points."""


def paint_outline(painter: QPainter, drawing: Drawing, view: View, colours: CanvasColours) -> None:
    """Paint the outline that is edited as a hairline."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    halo, line = QPen(colours.handle, 3.0), QPen(colours.selection, 1.0)
    for pen in (halo, line) if len(drawing.path) <= _MOST_WITH_HALO else (line,):
        pen.setCosmetic(True)
        paint_hairline(painter, drawing, view, pen)


def paint_changed(painter: QPainter, before: Path, after: Path, view: View, colours: CanvasColours) -> None:
    """Paint the segments of a long outline that an edit changes, over the outline as it is."""
    if len(before) == len(after):
        rows = np.flatnonzero((before.points != after.points).any(axis=(1, 2)))
    else:  # an arc became several cubics: the rows behind it have moved on
        old, new = (np.ascontiguousarray(each.points).reshape(len(each), -1) for each in (before, after))
        rows = np.flatnonzero(~np.isin(new.view("V64").ravel(), old.view("V64").ravel()))
    if len(rows):
        pen = QPen(colours.ghost, 1.0)
        pen.setCosmetic(True)
        paint_hairline(painter, Drawing(Shape("changed", segments_of(after, rows))), view, pen)


def paint_nodes(
    painter: QPainter,
    shape: NodeShape,
    view: View,
    window: QRectF,
    colours: CanvasColours,
    *,
    held: HandleAt | None = None,
    lone_segment: int | None = None,
) -> None:
    """Paint the nodes of a shape that are in the window, and the handles that are shown."""
    table = shape.table
    if not len(table.points):
        return
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    places = (table.points - (view.x_mm, view.y_mm)) * view.scale
    low, high = (window.left() - 9.0, window.top() - 9.0), (window.right() + 9.0, window.bottom() + 9.0)
    seen = np.flatnonzero(((places >= low) & (places <= high)).all(axis=1))
    if lone_segment is not None and lone_segment < len(shape.path):
        _paint_segment(painter, shape, lone_segment, view, colours)
    if len(seen) > _MOST_SHAPED:
        _paint_points(painter, shape, places, seen, colours)
        return
    if len(shape.chosen) <= MOST_WITH_HANDLES:
        _paint_handles(painter, shape, view, colours, held)
    _paint_starts(painter, shape, places, window, colours)
    ends = table.is_end
    for node in seen.tolist():
        x, y = places[node].tolist()
        picked = node in shape.chosen
        size = _NODE_PX + (1.0 if picked else 0.0)
        painter.setPen(QPen(colours.selection, 1.5))
        painter.setBrush(colours.ghost if picked else colours.handle)
        if table.kind(node) is NodeKind.SMOOTH:
            painter.drawEllipse(QPointF(x, y), size, size)
        else:
            painter.drawPolygon(_mark(table.kind(node), x, y, size))
        if ends[node]:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(x - size - 3.0, y - size - 3.0, 2.0 * size + 6.0, 2.0 * size + 6.0))


def _mark(kind: NodeKind, x: float, y: float, size: float) -> QPolygonF:
    if kind is NodeKind.BALANCED:
        reach = size * 1.3
        return QPolygonF([QPointF(x, y - reach), QPointF(x + reach, y), QPointF(x, y + reach), QPointF(x - reach, y)])
    return QPolygonF([QPointF(x + dx * size, y + dy * size) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1))])


def _paint_handles(
    painter: QPainter, shape: NodeShape, view: View, colours: CanvasColours, held: HandleAt | None
) -> None:
    for node, side, end in shape.shown_handles():
        start = view.to_px(*shape.table.points[node].tolist())
        place = view.to_px(float(end[0]), float(end[1]))
        painter.setPen(QPen(colours.halo, 3.0))
        painter.drawLine(QLineF(start, place))
        painter.setPen(QPen(colours.selection, 1.0))
        painter.drawLine(QLineF(start, place))
        is_held = held is not None and (held.shape, held.node, held.side) == (shape.id, node, side)
        size = _HANDLE_PX + (1.5 if is_held else 0.0)
        painter.setPen(QPen(colours.selection, 1.3))
        painter.setBrush(colours.ghost if is_held else colours.handle)
        kind = shape.table.kind(node)
        if kind is NodeKind.SMOOTH:
            painter.drawEllipse(place, size, size)
        else:
            painter.drawPolygon(_mark(kind, place.x(), place.y(), size))


def _paint_points(
    painter: QPainter, shape: NodeShape, places: Floats, seen: NDArray[np.int64], colours: CanvasColours
) -> None:
    picked = np.zeros(len(places), np.bool_)
    picked[shape.rows()] = True
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    for which, colour, size in (
        (seen[~picked[seen]], colours.selection, 4.0),
        (seen[picked[seen]], colours.ghost, 6.0),
    ):
        pen = QPen(colour, size)
        painter.setPen(pen)
        painter.drawPoints(QPolygonF([QPointF(x, y) for x, y in places[which].tolist()]))


def _paint_starts(painter: QPainter, shape: NodeShape, places: Floats, window: QRectF, colours: CanvasColours) -> None:
    """Paint an arrow beside each node where a subpath begins, along the way it runs."""
    path = shape.path
    if len(path.starts) > 400:
        return
    leaving, _ = directions(path)
    first = np.searchsorted(shape.table.subpath, np.arange(len(path.starts)))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.selection)
    for node, segment in zip(first.tolist(), path.starts.tolist(), strict=True):
        x, y = places[node].tolist()
        if not window.contains(QPointF(x, y)):
            continue
        angle = math.atan2(float(leaving[segment, 1]), float(leaving[segment, 0]))
        turn = QTransform().translate(x, y).rotateRadians(angle)
        painter.drawPolygon(turn.map(QPolygonF([QPointF(20.0, -9.0), QPointF(11.0, -13.0), QPointF(11.0, -5.0)])))


def _paint_segment(painter: QPainter, shape: NodeShape, segment: int, view: View, colours: CanvasColours) -> None:
    pen = QPen(colours.ghost, 2.5)
    pen.setCosmetic(True)
    part = segments_of(shape.path, np.array([segment]))
    paint_hairline(painter, Drawing(Shape("segment", part)), view, pen)
