"""Arcs and lines as rows of a path.

An arc is a rational quadratic of at most a quarter turn; a longer one becomes several. Lengths are
mm, y down; a positive sweep runs clockwise on the screen.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

Rows: TypeAlias = "tuple[Floats, NDArray[np.uint8], Floats]"
"""Control points, kinds and weights, as in `Path`."""


def line_rows(ends: Floats) -> Rows:
    """Return the line between two points, shape (2, 2)."""
    return ends[None, [0, 0, 1, 1]], np.array([SegmentKind.LINE], np.uint8), np.ones(1)


def arc_rows(start: Floats, end: Floats, centre: Floats, sweep: float) -> Rows:
    """Return an arc of a circle as pieces of a quarter turn or less; both ends to the last bit."""
    spoke = start - centre
    return elliptic_rows(start, end, centre, np.stack([spoke, np.array([-spoke[1], spoke[0]])]), sweep)


def elliptic_rows(start: Floats, end: Floats, centre: Floats, halves: Floats, sweep: float) -> Rows:
    """Return an arc of an ellipse as pieces of a quarter turn or less; both ends to the last bit.

    Parameters
    ----------
    start, end
        Where it begins and ends, shape (2,); within rounding of the ellipse.
    centre
        The ellipse's centre, shape (2,).
    halves
        Two conjugate half-diameters, shape (2, 2): the arc is centre + cos φ · first + sin φ · second,
        with φ from 0 to the sweep.
    sweep
        Radians, in the frame of the half-diameters.
    """
    count = max(1, math.ceil(abs(sweep) / (math.pi / 2.0) - 1e-9))
    angles = sweep * np.arange(2 * count + 1) / (2 * count)
    weight = math.cos(sweep / (2 * count))
    spokes = np.stack([np.cos(angles), np.sin(angles)], axis=1) @ halves
    ring = centre + spokes
    ring[0], ring[-1] = start, end
    control = centre + spokes[1::2] / weight
    points = np.stack([ring[:-1:2], control, control, ring[2::2]], axis=1)
    return points, np.full(count, SegmentKind.ARC, np.uint8), np.full(count, weight)
