"""Snapping while art is moved: its edges and middle to those of the sheet and of the art around it.

Whatever it snaps to is said in words and shown as a line; Alt leaves it out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import QLineF

if TYPE_CHECKING:
    from bladewise.document import Box
    from bladewise.geometry.path import Floats
    from bladewise.window.canvas.scene import Scene
    from bladewise.window.view import View

REACH_PX = 7.0
"""How near something must be to be snapped to."""

_MOST = 500
"""So many elements in view are snapped to at most, the nearest of them in painting order."""

_OWN = (("left edge", "middle", "right edge"), ("top edge", "middle", "bottom edge"))


class Snapped(NamedTuple):
    """A move after snapping: offsets in mm, the lines to show, and what to say."""

    dx_mm: float
    dy_mm: float
    lines: list[QLineF]
    hint: str


class Snapping:
    """The places that moved art can snap to, gathered once a drag."""

    def __init__(self, scene: Scene, view: View, window: Box, without: frozenset[str]) -> None:
        """Gather the edges and middles of the sheet and of what is in view, the moved leaves left out."""
        job = scene.job
        assert job is not None
        boxes: list[Box] = [(0.0, 0.0, job.width_mm, job.height_mm)]
        names = ["the sheet"]
        for index in scene.within(window).tolist():
            leaf = scene.rows[index].placed.leaf
            if leaf.id in without or leaf.bounds is None:
                continue
            boxes.append(leaf.bounds)
            names.append(f"“{leaf.name or leaf.id}”")
            if len(boxes) > _MOST:
                break
        self._boxes: Floats = np.array(boxes)
        self._names = names
        self._view = view
        self._places = [
            np.stack([self._boxes[:, axis], self._boxes[:, axis::2].mean(axis=1), self._boxes[:, axis + 2]], axis=1)
            for axis in (0, 1)
        ]

    def snap(self, box: Box, dx_mm: float, dy_mm: float) -> Snapped:
        """Return a move of a box, corrected to what is near."""
        offsets, lines, said = [dx_mm, dy_mm], [], []
        found: list[tuple[int, int, float]] = []
        for axis in (0, 1):
            own = np.array([box[axis], (box[axis] + box[axis + 2]) / 2.0, box[axis + 2]]) + offsets[axis]
            gaps = self._places[axis][:, :, None] - own[None, None, :]
            nearest = np.unravel_index(int(np.abs(gaps).argmin()), gaps.shape)
            gap = float(gaps[nearest])
            if abs(gap) * self._view.scale > REACH_PX:
                continue
            offsets[axis] += gap
            other, theirs, mine = (int(each) for each in nearest)
            found.append((axis, other, float(self._places[axis][other, theirs])))
            said.append(f"{_OWN[axis][mine]} to the {_OWN[axis][theirs]} of {self._names[other]}")
        for axis, other, place in found:
            low = min(box[1 - axis] + offsets[1 - axis], self._boxes[other, 1 - axis])
            high = max(box[3 - axis] + offsets[1 - axis], self._boxes[other, 3 - axis])
            ends = ((place, low), (place, high)) if axis == 0 else ((low, place), (high, place))
            lines.append(QLineF(self._view.to_px(*ends[0]), self._view.to_px(*ends[1])))
        return Snapped(offsets[0], offsets[1], lines, "; ".join(said))
