"""Curves as chords, each vertex knowing the segment and the parameter it came from.

The chords decide topology only; the curves themselves are put back afterwards. For that, two things
must hold to the last bit: a curve gives the same vertices whichever way round it was drawn (every
curve is sampled in one canonical direction), and the last vertex of a segment is the first of the
next.

How many chords: Wang's bound for polynomial curves (G.-Z. Wang 1984; from memory), n² ≥
d(d−1)/8 · max|Δ²P| / tolerance; for arcs the height of a chord over the larger half-axis, the
parameter's unevenness (at most 5.5 % on a quarter turn) included.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.path import SegmentKind
from bladewise.geometry.tolerances import FLATTENING_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_ARC_UNEVENNESS = 1.055
"""Largest over mean angular speed of a quarter turn as a rational quadratic: 4 tan(π/8) / (π/2)."""

_MOST_CHORDS = 16384
"""No curve is cut finer than this: enough for 0.002 mm on a curve of a kilometre."""


class Flattening(NamedTuple):
    """A path as polylines.

    Parameters
    ----------
    coords
        Vertices in mm, shape (v, 2). Every subpath carries its last point too, so a closed one ends
        with its first vertex again.
    segment
        The segment of the path each vertex came from, shape (v,); at a node the segment that begins there.
    t
        The parameter on that segment, shape (v,).
    starts
        Index of the first vertex of each subpath, shape (s,).
    """

    coords: Floats
    segment: NDArray[np.int64]
    t: Floats
    starts: NDArray[np.int64]


def flatten(path: Path, tolerance_mm: float = FLATTENING_MM) -> Flattening:
    """Return the path as polylines that stay within a tolerance of it.

    Parameters
    ----------
    path
        Any path; an empty one gives empty arrays.
    tolerance_mm
        Largest distance between curve and chord, in mm.
    """
    counts = chord_counts(path.points, path.kinds, path.weights, tolerance_mm)
    coords, segment, t = chord_vertices(path.points, path.kinds, path.weights, counts)
    if not len(path):
        return Flattening(coords, segment, t, np.zeros(0, np.int64))
    last = path.ends - 1
    after = np.cumsum(counts)[last]  # where, among the vertices, each subpath's last point belongs
    coords = np.insert(coords, after, path.points[last, 3], axis=0)
    segment = np.insert(segment, after, last)
    t = np.insert(t, after, 1.0)
    starts = np.concatenate([[0], after[:-1]]) + np.arange(len(after))
    return Flattening(coords, segment, t, starts.astype(np.int64))


def chord_counts(
    points: Floats, kinds: NDArray[np.uint8], weights: Floats, tolerance_mm: float | Floats
) -> NDArray[np.int64]:
    """Return how many chords each segment needs, shape (n,): 1 for a line, at least 2 for a curve."""
    counts = np.ones(len(kinds), np.int64)
    flipped = runs_backwards(points)
    tolerance = np.broadcast_to(np.asarray(tolerance_mm, dtype=np.float64), (len(kinds),))
    need = np.ones(len(kinds))
    for kind, factor in ((SegmentKind.QUADRATIC, 0.25), (SegmentKind.CUBIC, 0.75)):
        rows = np.flatnonzero(kinds == kind)
        if not len(rows):
            continue
        p0, p1, p2, p3 = (_oriented(points[rows], flipped[rows], row) for row in range(4))
        if kind is SegmentKind.QUADRATIC:
            bend = np.hypot(*(p0 - 2.0 * p1 + p3).T)
        else:
            bend = np.maximum(np.hypot(*(p0 - 2.0 * p1 + p2).T), np.hypot(*(p1 - 2.0 * p2 + p3).T))
        need[rows] = np.maximum(np.sqrt(factor * bend / tolerance[rows]), 2.0)
    rows = np.flatnonzero(kinds == SegmentKind.ARC)
    if len(rows):
        p0, p1, p3 = (_oriented(points[rows], flipped[rows], row) for row in (0, 1, 3))
        theta = np.arccos(np.clip(weights[rows], 1e-9, 1.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            sin = np.maximum(np.sin(theta), 1e-9)[:, None]
            u = (p3 - p0) / (2.0 * sin)
            v = (p1 - 0.5 * (p0 + p3)) * weights[rows][:, None] / sin**2
            uu, vv, uv = (u * u).sum(1), (v * v).sum(1), (u * v).sum(1)
            axis = np.sqrt(0.5 * (uu + vv + np.sqrt((uu - vv) ** 2 + 4.0 * uv * uv)))
            step = 2.0 * np.arccos(np.clip(1.0 - tolerance[rows] / axis, 0.0, 1.0))
            chords = 2.0 * theta * _ARC_UNEVENNESS / step
        need[rows] = np.maximum(np.where(np.isfinite(chords), chords, 2.0), 2.0)
    loop = (points[:, 0] == points[:, 3]).all(axis=1) & (kinds != SegmentKind.LINE)
    need[loop] = np.maximum(need[loop], 4.0)  # two chords there and back would enclose nothing
    counts[:] = np.ceil(np.minimum(need, _MOST_CHORDS))
    return counts


def chord_vertices(
    points: Floats, kinds: NDArray[np.uint8], weights: Floats, counts: NDArray[np.int64]
) -> tuple[Floats, NDArray[np.int64], Floats]:
    """Return start and inner vertices of every segment, cut evenly in t into `counts` chords.

    Returns
    -------
    coords, segment, t
        Shapes (v, 2), (v,), (v,) with v = sum of counts. The end of a segment is not among its vertices.
    """
    total = int(counts.sum())
    offsets = np.cumsum(counts) - counts
    segment = np.repeat(np.arange(len(kinds)), counts)
    step = np.arange(total) - offsets[segment]
    t = step / counts[segment]
    coords = np.empty((total, 2))
    coords[offsets] = points[:, 0]
    flipped = runs_backwards(points)
    for kind in (SegmentKind.LINE, SegmentKind.QUADRATIC, SegmentKind.CUBIC, SegmentKind.ARC):
        for count in np.unique(counts[(kinds == kind) & (counts > 1)]).tolist():
            rows = np.flatnonzero((kinds == kind) & (counts == count))
            inner = np.arange(1, count)
            places = _sampled(points[rows], kind, weights[rows], flipped[rows], inner / count)
            at = np.where(flipped[rows, None], count - inner, inner) + offsets[rows, None]
            coords[at] = places
            del places
    return coords + 0.0, segment, t


def runs_backwards(points: Floats) -> NDArray[np.bool_]:
    """Whether each segment is drawn against its canonical direction (the smaller end first), shape (n,)."""
    ahead = np.zeros(len(points), np.bool_)
    decided = np.zeros(len(points), np.bool_)
    for first, second in ((0, 3), (1, 2)):
        for axis in range(2):
            a, b = points[:, first, axis], points[:, second, axis]
            ahead |= ~decided & (a > b)
            decided |= a != b
    return ahead


def _oriented(points: Floats, flipped: NDArray[np.bool_], row: int) -> Floats:
    oriented: Floats = np.where(flipped[:, None], points[:, 3 - row], points[:, row])
    return oriented


def _sampled(points: Floats, kind: SegmentKind, weights: Floats, flipped: NDArray[np.bool_], t: Floats) -> Floats:
    """Return points of one kind of segment at common parameters of the canonical direction, (n, k, 2).

    Plain products and sums only: a matrix product may round differently with the size of the batch.
    """
    p0, p1, p2, p3 = (_oriented(points, flipped, row)[:, None, :] for row in range(4))
    t = t[None, :, None]
    s = 1.0 - t
    if kind is SegmentKind.LINE:
        return s * p0 + t * p3
    if kind is SegmentKind.CUBIC:
        return s * s * s * p0 + 3.0 * s * s * t * p1 + 3.0 * s * t * t * p2 + t * t * t * p3
    w = weights[:, None, None]
    b0, b1, b2 = s * s, 2.0 * w * s * t, t * t
    return (b0 * p0 + b1 * p1 + b2 * p3) / (b0 + b1 + b2)
