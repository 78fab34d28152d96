"""What goes into a boolean: the segments of all regions in one table, cleaned and closed.

Painting closes open subpaths with a line (SVG 2, section 13.2), so this does too. Segments without
extent vanish. Numbers that are not numbers are an error of the caller, said at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.path import EMPTY, SegmentKind, joined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path
    from bladewise.geometry.regions import Region


_STRAIGHT = 1e-12
"""Control points no farther aside than this share of their extent stand on one line."""

_ROUNDED = 8e-16
"""So far aside, as a share of the coordinates, points of a line may come to stand when it is turned or moved."""


class Sources(NamedTuple):
    """All segments of some regions, ring after ring.

    Parameters
    ----------
    points, kinds, weights
        As in `Path`.
    ring
        The ring of each segment, shape (m,).
    ring_starts
        First segment of each ring and, last, the number of segments, shape (r + 1,).
    ring_region
        The region each ring belongs to, shape (r,).
    ring_closed
        Whether the ring comes back to its start, shape (r,). False only in a table made for open paths.
    """

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats
    ring: NDArray[np.int64]
    ring_starts: NDArray[np.int64]
    ring_region: NDArray[np.int64]
    ring_closed: NDArray[np.bool_]

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.kinds)

    @property
    def region(self) -> NDArray[np.int64]:
        """The region each segment belongs to, shape (m,)."""
        return self.ring_region[self.ring]

    def next(self, segment: int, way: int) -> int:
        """Return the segment after (way 1) or before (way −1) one, round its ring; −1 past an open end."""
        ring = int(self.ring[segment])
        first, end = int(self.ring_starts[ring]), int(self.ring_starts[ring + 1])
        place = segment + way
        if not self.ring_closed[ring] and not first <= place < end:
            return -1
        return first + (place - first) % (end - first)


def gather(regions: Sequence[Region], *, close: bool = True) -> Sources:
    """Return the segments of all regions as one table.

    Parameters
    ----------
    regions
        Regions in order; their rules play no part here.
    close
        Close open subpaths with a line, as painting does.

    Raises
    ------
    ValueError
        If a coordinate or a weight is not a finite number.
    """
    path = joined([region.path for region in regions])
    if not (np.isfinite(path.points).all() and np.isfinite(path.weights).all()):
        for index, region in enumerate(regions):
            _check_finite(region.path, index)
    if not path:
        path = EMPTY
    owner = np.repeat(np.arange(len(regions)), [len(region.path.starts) for region in regions])
    subpath = np.repeat(np.arange(len(path.starts)), path.ends - path.starts)
    points, kinds, weights = path.points, path.kinds, path.weights
    closed = path.closed.copy()
    if len(path) and close:
        first, last = points[path.starts, 0], points[path.ends - 1, 3]
        gap = np.flatnonzero((first != last).any(axis=1))
        closed[:] = True
        if len(gap):
            at = path.ends[gap]
            lines = np.stack([last[gap], last[gap], first[gap], first[gap]], axis=1)
            points = np.insert(points, at, lines, axis=0)
            kinds = np.insert(kinds, at, int(SegmentKind.LINE))
            weights = np.insert(weights, at, 1.0)
            subpath = np.insert(subpath, at, gap)
        points, kinds = _unfolded(points, kinds)
        weights = np.where(kinds == SegmentKind.LINE, 1.0, weights)
    real = has_extent(points)
    points, kinds, weights, subpath = points[real], kinds[real], weights[real], subpath[real]
    used, ring = np.unique(subpath, return_inverse=True)
    starts = np.searchsorted(ring, np.arange(len(used) + 1))
    return Sources(points, kinds, weights, ring.astype(np.int64), starts.astype(np.int64), owner[used], closed[used])


def _unfolded(points: Floats, kinds: NDArray[np.uint8]) -> tuple[Floats, NDArray[np.uint8]]:
    """Return the segments with those that run back along one straight line replaced by the line itself.

    Such a fold encloses nothing, so the painted area is the same; a straight curve that only runs
    ahead stays as it is.
    """
    chord = points[:, 3] - points[:, 0]
    back = (chord[:, 0] == 0.0) & (chord[:, 1] == 0.0)
    for row in range(3):
        step = points[:, row + 1] - points[:, row]
        back |= step[:, 0] * chord[:, 0] + step[:, 1] * chord[:, 1] < 0.0
    rows = np.flatnonzero(back & (kinds != SegmentKind.LINE))
    if not len(rows):
        return points, kinds
    legs = points[rows, 1:] - points[rows, :1]
    way = legs[np.arange(len(rows)), np.abs(legs).sum(axis=2).argmax(axis=1)]
    aside = np.abs(way[:, None, 0] * legs[..., 1] - way[:, None, 1] * legs[..., 0]).max(axis=1)
    length = np.hypot(way[:, 0], way[:, 1])
    rows = rows[aside <= length * (_STRAIGHT * length + _ROUNDED * np.abs(points[rows]).max(axis=(1, 2)))]
    points, kinds = points.copy(), kinds.copy()
    points[rows, 1], points[rows, 2] = points[rows, 0], points[rows, 3]
    kinds[rows] = int(SegmentKind.LINE)
    return points, kinds


def has_extent(points: Floats) -> NDArray[np.bool_]:
    """Whether the control points of each segment are not all one point, shape (n,)."""
    moves: NDArray[np.bool_] = np.zeros(len(points), np.bool_)
    for row in (1, 2, 3):
        for axis in (0, 1):
            moves |= points[:, row, axis] != points[:, 0, axis]
    return moves


def _check_finite(path: Path, index: int) -> None:
    if not (np.isfinite(path.points).all() and np.isfinite(path.weights).all()):
        place = int(np.flatnonzero(~np.isfinite(path.points).all(axis=(1, 2)) | ~np.isfinite(path.weights))[0])
        message = f"segment {place} of region {index} has a coordinate that is not a finite number"
        raise ValueError(message)
