"""Questions to segments, answered for all of them at once.

Every function takes the arrays of a `Path` (control points, kinds, weights) or the path itself and
answers in arrays with one row a segment. Parameters run from 0 at a segment's start to 1 at its end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path


def homogeneous(points: Floats, kinds: NDArray[np.uint8], weights: Floats) -> tuple[Floats, Floats]:
    """Return every segment as a rational cubic in power form.

    Parameters
    ----------
    points, kinds, weights
        As in `Path`; shapes (n, 4, 2), (n,), (n,).

    Returns
    -------
    numerator
        Coefficients of x·w and y·w by rising power of t, shape (n, 4, 2).
    denominator
        Coefficients of w by rising power of t, shape (n, 3). (1, 0, 0) but for arcs.
    """
    p0, p1, p2, p3 = points[:, 0], points[:, 1], points[:, 2], points[:, 3]
    numerator = np.zeros_like(points)
    denominator = np.zeros((len(points), 3))
    denominator[:, 0] = 1.0
    numerator[:, 0] = p0
    line = kinds == SegmentKind.LINE
    conic = (kinds == SegmentKind.QUADRATIC) | (kinds == SegmentKind.ARC)
    cubic = kinds == SegmentKind.CUBIC
    numerator[line, 1] = (p3 - p0)[line]
    w = weights[conic][:, None]
    q0, q1, q2 = p0[conic], p1[conic], p3[conic]
    numerator[conic, 1] = 2.0 * (w * q1 - q0)
    numerator[conic, 2] = q0 - 2.0 * w * q1 + q2
    w = weights[conic]
    denominator[conic, 1] = 2.0 * (w - 1.0)
    denominator[conic, 2] = 2.0 - 2.0 * w
    numerator[cubic, 1] = (3.0 * (p1 - p0))[cubic]
    numerator[cubic, 2] = (3.0 * (p0 - 2.0 * p1 + p2))[cubic]
    numerator[cubic, 3] = (p3 - p0 + 3.0 * (p1 - p2))[cubic]
    return numerator, denominator


def segment_bounds(path: Path) -> Floats:
    """Return the exact box of each segment: x min, y min, x max, y max in mm, shape (n, 4)."""
    points = path.points
    ends = points[:, [0, 3]]
    low, high = ends.min(axis=1), ends.max(axis=1)
    curved = np.flatnonzero(path.kinds != SegmentKind.LINE)
    if len(curved):
        for axis in range(2):
            t = _extrema(points[curved, :, axis], path.kinds[curved], path.weights[curved])
            for column in range(t.shape[1]):
                at = point_at(points[curved], path.kinds[curved], path.weights[curved], t[:, column])[:, axis]
                inside = np.isfinite(at)
                rows = curved[inside]
                low[rows, axis] = np.minimum(low[rows, axis], at[inside])
                high[rows, axis] = np.maximum(high[rows, axis], at[inside])
    return np.concatenate([low, high], axis=1)


def point_at(points: Floats, kinds: NDArray[np.uint8], weights: Floats, t: Floats) -> Floats:
    """Return the point of each segment at its own t, shape (n, 2); exact control points at 0 and 1."""
    s = (1.0 - t)[:, None]
    t = t[:, None]
    p0, p1, p2, p3 = points[:, 0], points[:, 1], points[:, 2], points[:, 3]
    out = s * p0 + t * p3
    conic = (kinds == SegmentKind.QUADRATIC) | (kinds == SegmentKind.ARC)
    if conic.any():
        sc, tc, w = s[conic], t[conic], weights[conic][:, None]
        b0, b1, b2 = sc * sc, 2.0 * w * sc * tc, tc * tc
        out[conic] = (b0 * p0[conic] + b1 * p1[conic] + b2 * p3[conic]) / (b0 + b1 + b2)
    cubic = kinds == SegmentKind.CUBIC
    if cubic.any():
        sc, tc = s[cubic], t[cubic]
        out[cubic] = sc * sc * sc * p0[cubic] + 3.0 * sc * tc * (sc * p1[cubic] + tc * p2[cubic]) + tc * tc * tc * p3[cubic]
    return out


def _extrema(values: Floats, kinds: NDArray[np.uint8], weights: Floats) -> Floats:
    """Return up to two t a segment where one coordinate turns, shape (n, 2), NaN where none.

    For a cubic the derivative is a quadratic in t; for a conic N/D the numerator N'D − ND' is a
    quadratic too.
    """
    v0, v1, v2, v3 = values.T
    a = 3.0 * (v3 - v0) + 9.0 * (v1 - v2)
    b = 6.0 * (v0 - 2.0 * v1 + v2)
    c = 3.0 * (v1 - v0)
    conic = kinds != SegmentKind.CUBIC
    w = weights
    if conic.any():  # N'D - ND' with N = n0 + n1 t + n2 t², D = 1 + d1 t + d2 t²
        n0, n1, n2 = v0, 2.0 * (w * v1 - v0), v0 - 2.0 * w * v1 + v3
        d1, d2 = 2.0 * (w - 1.0), 2.0 - 2.0 * w
        a = np.where(conic, n2 * d1 - n1 * d2, a)
        b = np.where(conic, 2.0 * (n2 - n0 * d2), b)
        c = np.where(conic, n1 - n0 * d1, c)
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(b * b - 4.0 * a * c)
        q = -0.5 * (b + np.where(b < 0.0, -root, root))
        t = np.stack([q / a, c / q], axis=1)
    t[~((t > 0.0) & (t < 1.0))] = np.nan
    return t
