"""A grip on the ghost: pulled along its arrow it changes the number the ghost is made from.

It sits on the outline the step would make, where that is seen, and points the way the outline goes when
the number grows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from bladewise.geometry.measures import area
from bladewise.window.canvas import overlay
from bladewise.window.paths import near_polylines

if TYPE_CHECKING:
    from bladewise.geometry.path import Path
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

RADIUS_PX = 7.0
GRAB_PX = 12.0

_INSET_PX = 46.0
"""So far inside the window it is kept, so that there is room to pull it."""


class Grip(NamedTuple):
    """Where a grip is on the sheet, and the unit vector of the way it is pulled to make the number grow."""

    x_mm: float
    y_mm: float
    across: float
    down: float
    label: str = ""

    def place(self, view: View) -> QPointF:
        """Return its pixel."""
        return view.to_px(self.x_mm, self.y_mm)

    def is_at(self, view: View, pixel: QPointF) -> bool:
        """Whether a pixel is on it."""
        gap = self.place(view) - pixel
        return bool(np.hypot(gap.x(), gap.y()) <= GRAB_PX)

    def pulled(self, distance_mm: float, label: str) -> Grip:
        """Return the grip as far along its way, with what is written beside it."""
        return self._replace(
            x_mm=self.x_mm + distance_mm * self.across, y_mm=self.y_mm + distance_mm * self.down, label=label
        )

    @property
    def cursor(self) -> Qt.CursorShape:
        """The pointer's shape over it: the two ways it goes, to the nearest eighth of a turn."""
        turn = round(np.arctan2(self.down, self.across) / (np.pi / 4.0)) % 4
        return (
            Qt.CursorShape.SizeHorCursor,
            Qt.CursorShape.SizeFDiagCursor,
            Qt.CursorShape.SizeVerCursor,
            Qt.CursorShape.SizeBDiagCursor,
        )[turn]


def grip_on(path: Path, view: View, window: QRectF, *, inward: bool) -> Grip | None:
    """Return a grip on the outline of an area, far to the right of what is seen of it, or None where none is.

    Parameters
    ----------
    path
        What is painted lies to the right of its outlines if its area is positive, as the kernel makes them.
    view, window
        What is seen.
    inward
        Whether the outline goes into the area as the number grows.
    """
    if not path:
        return None
    inset = window.adjusted(_INSET_PX, _INSET_PX, -_INSET_PX, -_INSET_PX)
    low, high = (inset.left(), inset.top()), (inset.right(), inset.bottom())
    coords, starts = near_polylines(path, view, (*low, *high))
    same = np.ones(len(coords) - 1, np.bool_)
    same[starts[1:] - 1] = False
    begin, along = coords[:-1][same], np.diff(coords, axis=0)[same]
    length = np.hypot(*along.T)
    begin, along, length = begin[length > 0.0], along[length > 0.0], length[length > 0.0]
    with np.errstate(divide="ignore", invalid="ignore"):  # where each chord enters the window and leaves it
        ways = np.sort(np.stack([(low - begin) / along, (high - begin) / along]), axis=0)
    ways = np.where(np.isnan(ways), [[[-np.inf]], [[np.inf]]], ways)
    enters, leaves = np.clip(ways[0].max(axis=1), 0.0, 1.0), np.clip(ways[1].min(axis=1), 0.0, 1.0)
    seen = (ways[0].max(axis=1) <= 1.0) & (ways[1].min(axis=1) >= 0.0) & (enters <= leaves)
    if not seen.any():
        return None
    pixels = begin + along * (0.5 * (enters + leaves))[:, None]
    sign = np.copysign(1.0, area(path)) * (-1.0 if inward else 1.0)
    out = along[:, ::-1] * (sign, -sign) / length[:, None]
    facing = out[:, 0] * (-1.0 if inward else 1.0)
    reach = np.where(seen, pixels[:, 0] + 0.25 * window.width() * facing, -np.inf)
    best = int(reach.argmax())
    return Grip(*view.to_mm(*pixels[best].tolist()), *out[best].tolist())


def paint_grip(painter: QPainter, grip: Grip, view: View, window: QRectF, colours: CanvasColours) -> None:
    """Paint a grip: a disc with an arrow either way."""
    place = grip.place(view)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colours.halo, 2.0))
    painter.setBrush(colours.ghost)
    painter.drawEllipse(place, RADIUS_PX, RADIUS_PX)
    for way in (1.0, -1.0):
        ahead = QPointF(way * grip.across, way * grip.down)
        aside = QPointF(-ahead.y(), ahead.x())
        base = place + ahead * (RADIUS_PX + 4.0)
        painter.drawPolygon(QPolygonF([base + ahead * 9.0, base + aside * 6.0, base - aside * 6.0]))
    if grip.label:
        overlay.paint_label(painter, place, [grip.label], window, colours)
