"""How tightly an outline bends, as a blade meets it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.flatten import flatten

if TYPE_CHECKING:
    from bladewise.geometry.path import Path


def tightest(path: Path, step_mm: float = 0.05) -> tuple[float, float]:
    """Return the least radii (convex, concave) of closed outlines that run clockwise around what they enclose.

    From the turn between chords of about `step_mm`: two units of a plotter, on which a blade tells bends apart.
    """
    convex = concave = math.inf
    for ring in path.subpaths():
        coords = flatten(ring, 1e-5).coords
        along = np.append(0.0, np.cumsum(np.hypot(*np.diff(coords, axis=0).T)))
        at = np.linspace(0.0, along[-1], max(round(along[-1] / step_mm), 3) + 1)[:-1]
        points = np.stack([np.interp(at, along, coords[:, axis]) for axis in (0, 1)], axis=1)
        ways = np.roll(points, -1, axis=0) - points
        following = np.roll(ways, -1, axis=0)
        cross = ways[:, 0] * following[:, 1] - ways[:, 1] * following[:, 0]
        turn = np.arctan2(cross, (ways * following).sum(axis=1)) / np.hypot(*ways.T)
        convex, concave = min(convex, 1.0 / max(turn.max(), 1e-9)), min(concave, 1.0 / max(-turn.min(), 1e-9))
    return convex, concave
