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


def meeting_pairs(sources: Sources, slack_mm: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs first < second of segments whose hull boxes come within twice a slack of each other."""
    if not len(sources):
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    low = sources.points.min(axis=1) - slack_mm
    high = sources.points.max(axis=1) + slack_mm
    boxes: Any = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    first, second = shapely.STRtree(boxes).query(boxes)
    ahead = first < second
    return first[ahead], second[ahead]


def neighbours(sources: Sources) -> NDArray[np.int64]:
    """Return the segment after each one round its ring, shape (m,); −1 past an open end."""
    count = len(sources)
    after = np.arange(1, count + 1)
    last = sources.ring_starts[1:] - 1
    after[last] = np.where(sources.ring_closed, sources.ring_starts[:-1], -1)
    return after


def lonely(sources: Sources, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which curves may stand as a single chord, shape (m,).

    Parameters
    ----------
    sources
        The segments.
    first, second
        All pairs whose boxes meet.
    """
    points = sources.points
    chord = points[:, 3] - points[:, 0]
    legs = np.diff(points, axis=1)
    advance = (legs * chord[:, None]).sum(axis=2)
    conic = (sources.kinds == SegmentKind.QUADRATIC) | (sources.kinds == SegmentKind.ARC)
    advance[conic, 1] = 1.0
    alone = (advance > 0.0).all(axis=1) & (sources.kinds != SegmentKind.LINE)
    if not alone.any():
        return alone
    after = neighbours(sources)
    adjacent = (after[first] == second) | (after[second] == first)
    met = np.concatenate([first[~adjacent], second[~adjacent]])
    alone[met] = False
    ahead = np.flatnonzero(after >= 0)
    follower = after[ahead]
    crowded = ~_parted(points[ahead], points[follower])
    crowded |= ahead == follower
    alone[ahead[crowded]] = False
    alone[follower[crowded]] = False
    short = np.diff(sources.ring_starts) < 3  # noqa: PLR2004 - two chords enclose nothing
    alone[short[sources.ring]] = False
    return alone


def _parted(before: Floats, after: Floats) -> NDArray[np.bool_]:
    """Whether a line through the common node parts the hulls of two segments, shape (n,)."""
    node = before[:, 3]
    come, go = node[:, None] - before[:, :3], after[:, 1:] - node[:, None]
    into, out = _first_way(come[:, ::-1]), _first_way(go)
    way = into + out
    return ((_dots(come, way) > 0.0) | _still(come)).all(axis=1) & ((_dots(go, way) > 0.0) | _still(go)).all(axis=1)


def _first_way(legs: Floats) -> Floats:
    """Return the direction of the first leg that is not zero, as a unit vector, shape (n, 2)."""
    size = np.hypot(legs[..., 0], legs[..., 1])
    chosen = (size > 0.0).argmax(axis=1)
    rows = np.arange(len(legs))
    way: Floats = legs[rows, chosen] / np.maximum(size[rows, chosen], 1e-300)[:, None]
    return way


def _dots(legs: Floats, way: Floats) -> Floats:
    dots: Floats = (legs * way[:, None]).sum(axis=2)
    return dots


def _still(legs: Floats) -> NDArray[np.bool_]:
    """Whether a control point falls on the node itself."""
    still: NDArray[np.bool_] = (legs == 0.0).all(axis=2)
    return still
