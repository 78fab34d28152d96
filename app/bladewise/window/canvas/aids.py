"""Guides and the grid: lines to place by, which no machine ever sees.

A guide is a shape of one straight line without paint, so it is of the material that reaches no machine,
and can be moved, locked, hidden and deleted as any shape. In fill view it would not show; here it does.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from bladewise.window.painting import ViewMode
from bladewise.window.preferences import Snap

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.window.canvas.surface import Surface

_LEAST_GRID_PX = 7.0
"""A grid finer than this on the screen shows every second, fifth or tenth line only."""


def paint_aids(painter: QPainter, surface: Surface) -> None:
    """Paint the guides in view, and the grid if it is snapped to."""
    job = surface.job
    if job is None:
        return
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    rules = surface.snap_rules
    if Snap.GRID in rules.kinds:
        _paint_grid(painter, surface, rules.grid_mm)
    if surface.shown_mode is ViewMode.FILL:
        _paint_guides(painter, surface)


def _paint_guides(painter: QPainter, surface: Surface) -> None:
    view = surface.view
    lines = []
    for row in surface.landmarks.guides(surface.scene):
        (x0, y0), _, _, (x1, y1) = row.drawing.path.points[0].tolist()
        lines.append(QLineF(view.to_px(x0, y0), view.to_px(x1, y1)))
    paint_guide_lines(painter, lines, surface.colours.ghost)


def paint_guide_lines(painter: QPainter, lines: Iterable[QLineF], colour: QColor) -> None:
    """Paint guides: dash and dot, unlike every other line."""
    pen = QPen(colour, 1.0, Qt.PenStyle.DashDotLine)
    painter.setPen(pen)
    painter.drawLines(list(lines))


def _paint_grid(painter: QPainter, surface: Surface, size_mm: float) -> None:
    view, job = surface.view, surface.job
    assert job is not None
    step = size_mm
    for factor in (2.0, 2.5, 2.0) * 6:
        if step * view.scale >= _LEAST_GRID_PX:
            break
        step *= factor
    else:
        return
    window = surface.window_box()
    x0, y0, x1, y1 = view.box(window)
    x0, y0, x1, y1 = max(x0, 0.0), max(y0, 0.0), min(x1, job.width_mm), min(y1, job.height_mm)
    if x0 >= x1 or y0 >= y1:
        return
    colour = QColor(surface.colours.ruler_tick)
    colour.setAlpha(70)
    painter.setPen(QPen(colour, 1.0, Qt.PenStyle.DotLine))
    lines = [
        QLineF(view.to_px(number * step, y0), view.to_px(number * step, y1))
        for number in range(math.ceil(x0 / step), math.floor(x1 / step) + 1)
    ]
    lines += [
        QLineF(view.to_px(x0, number * step), view.to_px(x1, number * step))
        for number in range(math.ceil(y0 / step), math.floor(y1 / step) + 1)
    ]
    painter.drawLines(lines)
