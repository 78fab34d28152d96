"""What is known of outlines goes along with them when they are moved: no area or width is another for it.

Two outlines are one moved where they are of the same segments and all their control points are off by one shift, to
rounding. A fact then moves by the functions below; which of them fits is said where the fact is worked out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.affine import Affine
from bladewise.geometry.regions import Region

if TYPE_CHECKING:
    from bladewise.geometry.path import Path

ROUNDING_MM = 1e-9
"""Control points that are off one shift by more than this were not only moved."""


class Shift(NamedTuple):
    """By how much something moved, in mm."""

    dx: float
    dy: float

    def then(self, other: Shift) -> Shift:
        """Return both shifts as one."""
        return Shift(self.dx + other.dx, self.dy + other.dy)

    def is_like(self, other: Shift) -> bool:
        """Whether two shifts are one, to rounding."""
        return abs(self.dx - other.dx) <= ROUNDING_MM and abs(self.dy - other.dy) <= ROUNDING_MM


def shift_between(before: Path, after: Path) -> Shift | None:
    """Return by how much a path was moved; None where something else happened to it."""
    if (
        len(before) != len(after)
        or not len(before)
        or not np.array_equal(before.kinds, after.kinds)
        or not np.array_equal(before.starts, after.starts)
        or not np.array_equal(before.closed, after.closed)
        or not np.array_equal(before.weights, after.weights)
    ):
        return None
    off = (after.points - before.points).reshape(-1, 2)
    if (np.ptp(off, axis=0) > ROUNDING_MM).any():
        return None
    return Shift(float(off[0, 0]), float(off[0, 1]))


def stays(fact: Any, _: Shift) -> Any:
    """Return a fact that has no place."""
    return fact


def place(fact: Any, by: Shift) -> Any:
    """Return a record with fields x and y, moved; or None."""
    return None if fact is None else fact._replace(x=fact.x + by.dx, y=fact.y + by.dy)


def places(fact: Any, by: Shift) -> Any:
    """Return a tuple of records with fields x and y, moved."""
    return tuple(place(each, by) for each in fact)


def points(fact: Any, by: Shift) -> Any:
    """Return a tuple of points, moved."""
    return tuple((x + by.dx, y + by.dy) for x, y in fact)


def polylines(fact: Any, by: Shift) -> Any:
    """Return a list of arrays of vertices, moved."""
    return [each + np.array(by) for each in fact]


def outline(fact: Any, by: Shift) -> Any:
    """Return a path, moved."""
    return fact.transformed(Affine.moved(*by))


def regions(fact: Any, by: Shift) -> Any:
    """Return a tuple of regions, moved."""
    return tuple(Region(outline(each.path, by), each.rule) for each in fact)


def polygon(fact: Any, by: Shift) -> Any:
    """Return a shapely geometry, moved; or None."""
    return None if fact is None else shapely.transform(fact, lambda coords: coords + np.array(by))
