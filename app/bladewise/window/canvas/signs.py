"""What the knife does, said on the outlines themselves: open ends, where it begins, which way it goes.

Solid is what a knife follows; whatever no knife follows is broken: guides dashed, print short-dashed, art
that is hidden dotted. Signs are part of the outline-only picture, so that a frame costs no more with them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QColor, QPen, QPolygonF

from bladewise.document import MaterialKind
from bladewise.geometry.curves import derivative_at
from bladewise.window.painting import hairline_in_pieces

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from PySide6.QtGui import QPainter

    from bladewise.document import Box
    from bladewise.geometry.path import Floats, Path
    from bladewise.window.canvas.scene import Scene
    from bladewise.window.view import View

REACH_PX = 9.0
"""No sign reaches farther from its outline."""

_RING_PX = 3.5
_WEDGE_PX = 8.0
_BARB_PX = 4.5
_APART_PX = 70.0
"""About how far apart the arrows along an outline are."""

_LEAST_PX = 64.0
"""Outlines shorter than this on the screen get no arrows: those would hide them."""


@dataclass(frozen=True, slots=True)
class Signs:
    """Which signs are shown besides open ends, which always are; sizes in pixels count `ratio` times."""

    direction: bool = False
    hidden: bool = False
    ratio: float = 1.0


def paint_signs(
    painter: QPainter,
    scene: Scene,
    indices: NDArray[np.int64],
    view: View,
    signs: Signs,
    colours: tuple[QColor, QColor],
    without: frozenset[str],
) -> Iterator[None]:
    """Paint the signs of some rows, pausing now and then; the colours are those of open ends and of directions."""
    open_ends: list[Floats] = []
    painter.resetTransform()
    for index in indices.tolist():
        row = scene.rows[index]
        if row.material.kind is not MaterialKind.CUT or row.placed.leaf.id in without or scene.is_faint(row):
            continue
        path = row.drawing.path
        if len(ends := row.drawing.open_ends):
            open_ends.append(ends)
        if signs.direction and path:
            _paint_direction(painter, path, view, signs.ratio, colours[1])
            yield
    if open_ends:
        places = (np.concatenate(open_ends) - (view.x_mm, view.y_mm)) * view.scale
        pen = QPen(colours[0], 1.6 * signs.ratio)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        reach = _RING_PX * signs.ratio
        window = painter.window()
        near = (places > -reach).all(axis=1) & (places < (window.width() + reach, window.height() + reach)).all(axis=1)
        for number, (x, y) in enumerate(places[near].tolist()):
            painter.drawEllipse(QPointF(x, y), reach, reach)
            if number % 100 == 99:
                yield
                painter.setPen(pen)
                painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_hidden(painter: QPainter, scene: Scene, around: Box, view: View, colour: QColor) -> Iterator[None]:
    """Paint art that is hidden as dots; nothing else is drawn so."""
    pen = QPen(colour, 1.0)
    pen.setCosmetic(True)
    pen.setDashPattern([1.0, 4.0])
    for drawing in scene.hidden():
        box = drawing.bounds
        if box and box[0] <= around[2] and box[2] >= around[0] and box[1] <= around[3] and box[3] >= around[1]:
            yield from hairline_in_pieces(painter, drawing, view, pen)


def _paint_direction(painter: QPainter, path: Path, view: View, ratio: float, colour: QColor) -> None:
    """Paint a wedge where each subpath begins, and barbs along it."""
    window = painter.window()
    reach = REACH_PX * ratio
    chosen, first = _arrow_segments(path, view.scale / ratio)
    if not len(chosen):
        return
    t = np.where(first, 0.0, 0.5)
    points, kinds, weights = path.points[chosen], path.kinds[chosen], path.weights[chosen]
    at, along = derivative_at(points, kinds, weights, t)
    still = np.hypot(*along.T) < 1e-12  # a handle that lies on its node: take the chord
    along[still] = points[still, 3] - points[still, 0]
    length = np.hypot(*along.T)
    at = (at - (view.x_mm, view.y_mm)) * view.scale
    near = (at > -reach).all(axis=1) & (at < (window.width() + reach, window.height() + reach)).all(axis=1)
    near &= length > 0.0
    along = along / np.where(length > 0.0, length, 1.0)[:, None]
    across = along[:, ::-1] * (-1.0, 1.0)
    painter.setPen(QPen(colour, 1.3 * ratio))
    barb = _BARB_PX * ratio
    here, ahead, aside = (each[near & ~first] for each in (at, along, across))
    tips, tails = here + 0.5 * barb * ahead, here - 0.5 * barb * ahead
    ends = np.concatenate([tips, tails + 0.8 * barb * aside, tips, tails - 0.8 * barb * aside], axis=1).reshape(-1, 4)
    if len(ends):
        painter.drawLines([QLineF(*each) for each in ends.tolist()])
    painter.setBrush(colour)
    wedge = _WEDGE_PX * ratio
    for (x, y), (dx, dy), (nx, ny) in zip(*(each[near & first].tolist() for each in (at, along, across)), strict=True):
        base = 0.45 * wedge
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(x + wedge * dx, y + wedge * dy),
                    QPointF(x + base * nx, y + base * ny),
                    QPointF(x - base * nx, y - base * ny),
                ]
            )
        )


def _arrow_segments(path: Path, scale: float) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return the segments that get a sign, and whether it is the one for the start of a subpath."""
    chord = path.points[:, 3] - path.points[:, 0]
    length = np.hypot(*chord.T) * scale
    total = np.cumsum(length)
    starts, last = path.starts, path.ends - 1
    before = total[starts] - length[starts]
    large = total[last] - before >= _LEAST_PX
    size = path.ends - starts
    along = total - np.repeat(before, size) - 0.5 * length
    cell = np.floor(along / _APART_PX + 0.5)
    fresh = np.append([False], cell[1:] != cell[:-1])
    fresh[starts] = False
    fresh &= np.repeat(large, size)
    few = large & (np.add.reduceat(fresh, starts) == 0)
    middle = starts[few] + size[few] // 2
    barbs = np.concatenate([np.flatnonzero(fresh), middle])
    wedges = starts[large]
    return np.concatenate([barbs, wedges]), np.repeat([False, True], [len(barbs), len(wedges)])
