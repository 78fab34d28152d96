"""How often a path runs around a point, by rays against the true curves.

A ray goes from each point in the direction of +x. Every segment is parted where its y turns, so
that each part meets a ray at most once; a part counts for rays in the half-open range of its end
ordinates, and neighbouring parts share those numbers to the last bit. So a ray through a node or a
turning point is counted exactly once, with no tolerance (the crossing-number rule for polygons,
e.g. M. Shimrat, "Algorithm 112", 1962, carried over to curves). Which side of the point the crossing
lies on is settled by the hull where that suffices, otherwise by solving for it on the curve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.bernstein import basis, rational_cubics
from bladewise.geometry.curves import point_at, turning_parameters
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.regions import FillRule

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.regions import Region

_AT_ONCE = 2_000_000
"""Pairs of ray and part held at one time; bounds memory to some 100 MB."""


def contains(region: Region, points: ArrayLike) -> NDArray[np.bool_]:
    """Return whether the region paints each point.

    Parameters
    ----------
    region
        Path and fill rule; open subpaths are closed by a line.
    points
        Shape (m, 2) in mm; a single point (2,) counts as one row.

    Returns
    -------
    NDArray
        Shape (m,). A point on the outline itself may be told either way. All false for an empty path.
    """
    turns = winding_numbers(region.path, points)
    inside: NDArray[np.bool_] = turns % 2 == 1 if region.rule == FillRule.EVEN_ODD else turns != 0
    return inside


def winding_numbers(path: Path, points: ArrayLike) -> NDArray[np.int64]:
    """Return how often the path runs around each point, clockwise on the screen positive, shape (m,).

    Open subpaths are closed by a line. On the outline itself either neighbour's number may come.
    """
    at = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    turns = np.zeros(len(at), np.int64)
    if not path or not len(at):
        return turns
    path = _closed_up(path)
    segment, t0, t1, y0, y1 = _monotone_parts(path)
    order = np.argsort(at[:, 1], kind="stable")
    ordinates = at[order, 1]
    low = np.searchsorted(ordinates, np.minimum(y0, y1), side="left")
    high = np.searchsorted(ordinates, np.maximum(y0, y1), side="left")
    met = np.flatnonzero(high > low)
    counts = (high - low)[met]
    if not len(met):
        return turns
    blocks = np.cumsum(counts) // _AT_ONCE
    for chunk in np.split(met, np.flatnonzero(np.diff(blocks)) + 1):
        many = (high - low)[chunk]
        part = np.repeat(chunk, many)
        within = np.arange(len(part)) - np.repeat(np.cumsum(many) - many, many)
        ray = order[low[part] + within]
        beyond = _crosses_beyond(path, segment[part], t0[part], t1[part], y0[part] < y1[part], at[ray])
        sign = np.where(y0[part] < y1[part], 1, -1)
        turns += np.bincount(ray, weights=np.where(beyond, sign, 0), minlength=len(at)).astype(np.int64)
    return turns


def _closed_up(path: Path) -> Path:
    """Return the path with a line from the end of each open subpath to its start."""
    ends = path.ends - 1
    start, end = path.points[path.starts, 0], path.points[ends, 3]
    gap = (start != end).any(axis=1)
    if not gap.any():
        return path
    count = int(gap.sum())
    closing = np.stack([end[gap], end[gap], start[gap], start[gap]], axis=1)
    # the order of segments does not matter to a ray
    return Path(
        np.concatenate([path.points, closing]),
        np.concatenate([path.kinds, np.full(count, SegmentKind.LINE, np.uint8)]),
        np.concatenate([path.weights, np.ones(count)]),
        path.starts,
        path.closed,
    )


def _monotone_parts(path: Path) -> tuple[NDArray[np.int64], Floats, Floats, Floats, Floats]:
    """Return segment, first t, last t, first y, last y of every part on which y does not turn."""
    cuts = np.zeros((len(path), 4))
    cuts[:, 1:] = 1.0
    cuts[:, 1:3] = np.nan_to_num(turning_parameters(path, 1), nan=1.0)
    cuts.sort(axis=1)
    y = np.stack(
        [
            path.points[:, 0, 1],
            *(point_at(path.points, path.kinds, path.weights, cuts[:, column])[:, 1] for column in (1, 2)),
            path.points[:, 3, 1],
        ],
        axis=1,
    )
    y[cuts == 1.0] = np.broadcast_to(path.points[:, 3, 1:], (len(path), 4))[cuts == 1.0]
    segment = np.repeat(np.arange(len(path)), 3)
    return segment, cuts[:, :3].ravel(), cuts[:, 1:].ravel(), y[:, :3].ravel(), y[:, 1:].ravel()


def _crosses_beyond(
    path: Path,
    segment: NDArray[np.int64],
    t0: Floats,
    t1: Floats,
    downward: NDArray[np.bool_],
    points: Floats,
) -> NDArray[np.bool_]:
    """Return whether each part, known to meet its ray's line, meets it to the right of the point."""
    left, right = path.points[..., 0].min(axis=1), path.points[..., 0].max(axis=1)
    x = points[:, 0]
    beyond: NDArray[np.bool_] = left[segment] > x
    unsure = np.flatnonzero(~beyond & (right[segment] > x))
    if not len(unsure):
        return beyond
    segment, t0, t1, points, downward = segment[unsure], t0[unsure], t1[unsure], points[unsure], downward[unsure]
    line = path.kinds[segment] == SegmentKind.LINE
    found = np.zeros(len(unsure), np.bool_)
    if line.any():
        start = path.points[segment[line], 0] - points[line]
        end = path.points[segment[line], 3] - points[line]
        side = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
        found[line] = np.where(downward[line], side > 0.0, side < 0.0)
    curve = ~line
    if curve.any():
        control = rational_cubics(path)[segment[curve]]
        control[..., :2] -= points[curve][:, None, :] * control[..., 2:]
        t = _where_level(control[..., 1], t0[curve], t1[curve], downward[curve])
        found[curve] = (basis(t) * control[..., 0]).sum(axis=1) > 0.0
    beyond[unsure] = found
    return beyond


def _where_level(ordinate: Floats, low: Floats, high: Floats, downward: NDArray[np.bool_]) -> Floats:
    """Return where a monotone part's ordinate passes 0: regula falsi and bisection by turns."""
    low, high = low.copy(), high.copy()
    sign = np.where(downward, 1.0, -1.0)
    f_low, f_high = sign * (basis(low) * ordinate).sum(axis=1), sign * (basis(high) * ordinate).sum(axis=1)
    active = np.arange(len(low))
    for turn in range(110):
        here, there = low[active], high[active]
        middle = (here + there) / 2.0
        if turn % 3 != 2:
            drop = f_high[active] - f_low[active]
            guess = here - f_low[active] * np.divide(there - here, drop, out=np.zeros_like(drop), where=drop > 0.0)
            # a hair towards the middle, so that both ends of the bracket move
            guess += (middle - guess) * 1e-3
            middle = np.where((guess > here) & (guess < there), guess, middle)
        value = sign[active] * (basis(middle) * ordinate[active]).sum(axis=1)
        above = value > 0.0
        high[active[above]], f_high[active[above]] = middle[above], value[above]
        low[active[~above]], f_low[active[~above]] = middle[~above], value[~above]
        active = active[high[active] - low[active] > 1e-16]
        if not len(active) or turn > 100:
            break
    return (low + high) / 2.0
