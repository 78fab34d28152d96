"""What of an outline lies on other outlines, and what is left when that is not cut again.

Two curves that lie on one another part only where one of them has a node: the outline is split where the others' nodes
lie on it, and each part is judged at places along it. Lengths are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.curves import point_at, sub_segments
from bladewise.geometry.distances import nearest_each
from bladewise.geometry.measures import length
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.geometry.tolerances import COINCIDENT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

_LOOKS = (0.125, 0.375, 0.5, 0.625, 0.875)
"""Where along a part it is looked at."""
_END = 1e-6
"""A split nearer than this to a segment's end, as a parameter, is the end itself."""


def without_shared(path: Path, others: Path, *, tolerance_mm: float = COINCIDENT_MM) -> tuple[Path, float]:
    """Return what of an outline lies on no other one, and the length of what does.

    Parameters
    ----------
    path
        The outline; its subpaths are taken as lines.
    others
        The outlines that are cut already.
    tolerance_mm
        How far from another outline still counts as on it.

    Returns
    -------
    path
        What is left: open parts in the direction of the source; an outline that shares nothing stays to the last bit.
    shared_mm
        The length of what is left out.

    Examples
    --------
    >>> from bladewise.geometry.path import rectangle
    >>> left, shared = without_shared(rectangle(0, 0, 10, 10), rectangle(10, 2, 10, 5))
    >>> round(shared, 6), left.closed.tolist()
    (5.0, [False])
    """
    if not path or not others:
        return path, 0.0
    made = [_left(ring, others, tolerance_mm) for ring in path.subpaths()]
    if not any(shared for _, shared in made):
        return path, 0.0
    return joined(left for left, _ in made), sum(shared for _, shared in made)


def _left(ring: Path, others: Path, tolerance_mm: float) -> tuple[Path, float]:
    nodes = np.concatenate([others.points[:, 0], others.points[:, 3]])
    low, high = ring.points.min(axis=(0, 1)) - tolerance_mm, ring.points.max(axis=(0, 1)) + tolerance_mm
    nodes = np.unique(nodes[((nodes >= low) & (nodes <= high)).all(axis=1)], axis=0)
    on = nearest_each(ring, nodes)
    near = on.distances_mm <= tolerance_mm
    row, start, stop = _spans(len(ring), on.segments[near], on.parameters[near])
    source = ring.points[row], ring.kinds[row], ring.weights[row]
    shared = np.ones(len(row), np.bool_)
    for look in _LOOKS:
        places = point_at(*source, start + (stop - start) * look)
        shared[shared] = nearest_each(others, places[shared]).distances_mm <= tolerance_mm
    if not shared.any():
        return ring, 0.0
    points, weights = sub_segments(*source, start, stop)
    begins = np.zeros(len(row), np.bool_)
    begins[0] = True
    every = Path(points, ring.kinds[row], weights, np.flatnonzero(begins), np.zeros(1, np.bool_))
    gone = _chosen(every, np.flatnonzero(shared))
    kept = np.flatnonzero(~shared)
    if bool(ring.closed[0]) and len(kept) and not shared[0] and not shared[-1]:
        kept = np.roll(kept, -int(np.searchsorted(kept, np.flatnonzero(shared)[0])))  # over the closing point
    return _chosen(every, kept), length(gone)


def _spans(
    count: int, segments: NDArray[np.int64], parameters: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the parts into which segments fall at some places: the segment, from, to."""
    inner = (parameters > _END) & (parameters < 1.0 - _END)
    row = np.concatenate([np.arange(count), segments[inner]])
    start = np.concatenate([np.zeros(count), parameters[inner]])
    order = np.lexsort((start, row))
    row, start = row[order], start[order]
    last = np.append(row[1:] != row[:-1], True)
    stop = np.where(last, 1.0, np.append(start[1:], 1.0))
    wide = stop - start > _END
    return row[wide], start[wide], stop[wide]


def _chosen(every: Path, rows: NDArray[np.int64]) -> Path:
    """Return some segments of a run as open subpaths, a new one wherever the run is broken."""
    if not len(rows):
        return EMPTY
    broken = np.append(True, (every.points[rows[1:], 0] != every.points[rows[:-1], 3]).any(axis=1))
    points = every.points[rows].copy()
    starts = np.flatnonzero(broken).astype(np.int64)
    return Path(points, every.kinds[rows], every.weights[rows], starts, np.zeros(len(starts), np.bool_))
