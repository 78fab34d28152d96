"""Which segments may meet, and which may go into GEOS as a single chord because nothing is near them.

A segment lies within the hull of its control points. Where that hull meets no other segment, bending
the segment straight changes nothing about what lies inside what, so one chord does for the topology.
Segments next to each other in a ring always share a node; for them a line through the node must part
the two hulls. A segment that could loop (its control polygon turns back on its chord) is never single.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.sources import Sources


def hull_boxes(points: Floats, slack_mm: float) -> tuple[Floats, Floats]:
    """Return the lower and upper corner of each segment's control points, widened by a slack, shapes (n, 2)."""
    p0, p1, p2, p3 = (points[:, row] for row in range(4))
    low = np.minimum(np.minimum(p0, p1), np.minimum(p2, p3)) - slack_mm
    high = np.maximum(np.maximum(p0, p1), np.maximum(p2, p3)) + slack_mm
    return low, high


class Meetings:
    """The tree of all hull boxes, and the pairs of segments that may meet.

    Parameters
    ----------
    sources
        The segments.
    slack_mm
        By which every box is widened.
    among
        The only segments that count, rising, shape (k,); all where none are named.
    """

    def __init__(self, sources: Sources, slack_mm: float, among: NDArray[np.int64] | None = None) -> None:
        """Build the tree."""
        low, high = hull_boxes(sources.points if among is None else sources.points[among], slack_mm)
        boxes: Any = shapely.linestrings(np.stack([low, high], axis=1))  # a diagonal has the box, and is quick
        self._boxes = boxes
        self._among = np.arange(len(sources)) if among is None else among
        self.tree = shapely.STRtree(boxes)

    def pairs(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs first < second of segments whose boxes meet."""
        first, second = self.tree.query(self._boxes)
        ahead = first < second
        return self._among[first[ahead]], self._among[second[ahead]]

    def at(self, places: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of a place (by its row) and a segment whose box holds it."""
        found = self.tree.query(shapely.points(places))
        return found[0], self._among[found[1]]


def neighbours(sources: Sources) -> NDArray[np.int64]:
    """Return the segment after each one round its ring, shape (m,); −1 past an open end."""
    count = len(sources)
    after = np.arange(1, count + 1)
    last = sources.ring_starts[1:] - 1
    after[last] = np.where(sources.ring_closed, sources.ring_starts[:-1], -1)
    return after


def lonely(
    sources: Sources, first: NDArray[np.int64], second: NDArray[np.int64], among: NDArray[np.int64] | None = None
) -> NDArray[np.bool_]:
    """Return which curves may stand as a single chord, shape (m,).

    Parameters
    ----------
    sources
        The segments.
    first, second
        All pairs whose boxes meet.
    among
        The only segments that are asked about, shape (k,); all where none are named.
    """
    points = sources.points
    asked = np.flatnonzero(sources.kinds != SegmentKind.LINE)
    if among is not None:
        asked = among[sources.kinds[among] != SegmentKind.LINE]
    alone = np.zeros(len(sources), np.bool_)
    alone[asked] = _onward(points[asked], sources.kinds[asked])
    if not alone.any():
        return alone
    after = neighbours(sources)
    adjacent = (after[first] == second) | (after[second] == first)
    apart = np.flatnonzero(~adjacent & (alone[first] | alone[second]))
    first, second = first[apart], second[apart]
    met = _hulls_meet(points[first], points[second])
    alone[first[met]] = False
    alone[second[met]] = False
    ahead = np.flatnonzero((after >= 0) & (alone | alone[after]))
    follower = after[ahead]
    crowded = ~_parted(points[ahead], points[follower])
    crowded |= ahead == follower
    alone[ahead[crowded]] = False
    alone[follower[crowded]] = False
    short = np.diff(sources.ring_starts) < 3
    alone[short[sources.ring]] = False
    return alone


def _onward(points: Floats, kinds: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Whether every leg of the control polygons goes on along the chord, shape (n,)."""
    x, y = points[:, 3, 0] - points[:, 0, 0], points[:, 3, 1] - points[:, 0, 1]
    onward = np.ones(len(points), np.bool_)
    for row in range(3):
        advance = (points[:, row + 1, 0] - points[:, row, 0]) * x + (points[:, row + 1, 1] - points[:, row, 1]) * y
        onward &= (advance > 0.0) | ((kinds != SegmentKind.CUBIC) & (row == 1))  # a conic's middle leg is none
    return onward


def _hulls_meet(one: Floats, two: Floats) -> NDArray[np.bool_]:
    """Whether no line along one of the two chords parts the hulls of control points, shape (n,)."""
    meet = np.ones(len(one), np.bool_)
    for base in (one, two):
        x, y = base[:, 3, 0] - base[:, 0, 0], base[:, 3, 1] - base[:, 0, 1]
        low, high = [], []
        for hull in (one, two):
            rise = [x * hull[:, row, 1] - y * hull[:, row, 0] for row in range(4)]
            low.append(np.minimum(np.minimum(rise[0], rise[1]), np.minimum(rise[2], rise[3])))
            high.append(np.maximum(np.maximum(rise[0], rise[1]), np.maximum(rise[2], rise[3])))
        slack = 1e-9 * (np.abs(high[0]) + np.abs(low[0]))
        meet &= (low[0] <= high[1] + slack) & (low[1] <= high[0] + slack)
    return meet


def _parted(before: Floats, after: Floats) -> NDArray[np.bool_]:
    """Whether a line through the common node parts the hulls of two segments, shape (n,)."""
    node = before[:, 3]
    come, go = node[:, None] - before[:, :3], after[:, 1:] - node[:, None]
    into, out = _first_way(come[:, ::-1]), _first_way(go)
    way = into + out
    ahead = ((_dots(come, way) > 0.0) | _still(come)) & ((_dots(go, way) > 0.0) | _still(go))
    parted: NDArray[np.bool_] = ahead[:, 0] & ahead[:, 1] & ahead[:, 2]
    return parted


def _first_way(legs: Floats) -> Floats:
    """Return the direction of the first leg that is not zero, as a unit vector, shape (n, 2)."""
    size = np.hypot(legs[..., 0], legs[..., 1])
    chosen = (size > 0.0).argmax(axis=1)
    rows = np.arange(len(legs))
    way: Floats = legs[rows, chosen] / np.maximum(size[rows, chosen], 1e-300)[:, None]
    return way


def _dots(legs: Floats, way: Floats) -> Floats:
    dots: Floats = legs[..., 0] * way[:, None, 0] + legs[..., 1] * way[:, None, 1]
    return dots


def _still(legs: Floats) -> NDArray[np.bool_]:
    """Whether a control point falls on the node itself."""
    still: NDArray[np.bool_] = (legs[..., 0] == 0.0) & (legs[..., 1] == 0.0)
    return still
