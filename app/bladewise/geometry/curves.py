"""Questions to segments, answered for all of them at once.

Every function takes the arrays of a `Path` (control points, kinds, weights) or the path itself and
answers in arrays with one row a segment. Parameters run from 0 at a segment's start to 1 at its end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.path import SegmentKind, joined

if TYPE_CHECKING:
    from collections.abc import Sequence

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


def extents(paths: Sequence[Path]) -> Floats:
    """Return the exact extent (x min, y min, x max, y max) of each path in mm, shape (n, 4); none may be empty."""
    if not paths:
        return np.zeros((0, 4))
    boxes = segment_bounds(joined(paths))
    first = np.cumsum([0] + [len(path) for path in paths[:-1]])
    low, high = np.minimum.reduceat(boxes[:, :2], first), np.maximum.reduceat(boxes[:, 2:], first)
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
        inner = 3.0 * sc * tc * (sc * p1[cubic] + tc * p2[cubic])
        out[cubic] = sc * sc * sc * p0[cubic] + inner + tc * tc * tc * p3[cubic]
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


def turning_parameters(path: Path, axis: int) -> Floats:
    """Return up to two t a segment where x (axis 0) or y (axis 1) turns, shape (n, 2), NaN where none."""
    t = _extrema(path.points[:, :, axis], path.kinds, path.weights)
    t[path.kinds == SegmentKind.LINE] = np.nan
    return t


def derivative_at(points: Floats, kinds: NDArray[np.uint8], weights: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Return point and first derivative by t of each segment at its own t, two arrays of shape (n, 2)."""
    return rational_at(*homogeneous(points, kinds, weights), t)


def rational_at(numerator: Floats, denominator: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Return point and first derivative by t of curves in the form `homogeneous` gives, two arrays of shape (n, 2)."""
    t1 = t[:, None]
    top = ((numerator[:, 3] * t1 + numerator[:, 2]) * t1 + numerator[:, 1]) * t1 + numerator[:, 0]
    slope = (3.0 * numerator[:, 3] * t1 + 2.0 * numerator[:, 2]) * t1 + numerator[:, 1]
    low = ((denominator[:, 2] * t + denominator[:, 1]) * t + denominator[:, 0])[:, None]
    low_slope = (2.0 * denominator[:, 2] * t + denominator[:, 1])[:, None]
    place = top / low
    return place, (slope - place * low_slope) / low


def sub_segments(
    points: Floats, kinds: NDArray[np.uint8], weights: Floats, t0: Floats, t1: Floats
) -> tuple[Floats, Floats]:
    """Return the part of each segment from t0 to t1; backwards where t0 > t1.

    The control points are blossoms (de Casteljau's construction with two parameters; for arcs in
    homogeneous coordinates, brought back to the standard form with weights 1, w, 1: G. Farin,
    *Curves and Surfaces for CAGD*). A whole segment comes back with the same bits.

    Parameters
    ----------
    points, kinds, weights
        As in `Path`; shapes (n, 4, 2), (n,), (n,).
    t0, t1
        Parameters, shape (n,).

    Returns
    -------
    points, weights
        Shapes (n, 4, 2) and (n,); the kinds stay.
    """
    out = np.empty_like(points)
    new_weights = np.ones(len(points))
    a, b = t0[:, None], t1[:, None]
    p0, p1, p2, p3 = points[:, 0], points[:, 1], points[:, 2], points[:, 3]

    line = kinds == SegmentKind.LINE
    if line.any():
        start = _between(p0[line], p3[line], a[line])
        end = _between(p0[line], p3[line], b[line])
        out[line, 0] = out[line, 1] = start
        out[line, 2] = out[line, 3] = end
    cubic = kinds == SegmentKind.CUBIC
    if cubic.any():
        a_, b_ = a[cubic], b[cubic]
        c0, c1, c2, c3 = p0[cubic], p1[cubic], p2[cubic], p3[cubic]
        a01, a12, a23 = _between(c0, c1, a_), _between(c1, c2, a_), _between(c2, c3, a_)
        b01, b12, b23 = _between(c0, c1, b_), _between(c1, c2, b_), _between(c2, c3, b_)
        aa0, aa1 = _between(a01, a12, a_), _between(a12, a23, a_)
        bb0, bb1 = _between(b01, b12, b_), _between(b12, b23, b_)
        out[cubic, 0] = _between(aa0, aa1, a_)
        out[cubic, 1] = _between(aa0, aa1, b_)
        out[cubic, 2] = _between(bb0, bb1, a_)
        out[cubic, 3] = _between(bb0, bb1, b_)
    conic = (kinds == SegmentKind.QUADRATIC) | (kinds == SegmentKind.ARC)
    if conic.any():
        a_, b_, w = a[conic], b[conic], weights[conic][:, None]
        ones = np.ones_like(w)
        h0 = np.concatenate([p0[conic], ones], axis=1)
        h1 = np.concatenate([p1[conic] * w, w], axis=1)
        h2 = np.concatenate([p3[conic], ones], axis=1)
        a01, a12 = _between(h0, h1, a_), _between(h1, h2, a_)
        b01, b12 = _between(h0, h1, b_), _between(h1, h2, b_)
        q0, q1, q2 = _between(a01, a12, a_), _between(a01, a12, b_), _between(b01, b12, b_)
        out[conic, 0] = q0[:, :2] / q0[:, 2:]
        out[conic, 1] = out[conic, 2] = q1[:, :2] / q1[:, 2:]
        out[conic, 3] = q2[:, :2] / q2[:, 2:]
        new_weights[conic] = q1[:, 2] / np.sqrt(q0[:, 2] * q2[:, 2])
    new_weights[kinds != SegmentKind.ARC] = 1.0
    forward, backward = (t0 == 0.0) & (t1 == 1.0), (t0 == 1.0) & (t1 == 0.0)
    out[forward] = points[forward]
    out[backward] = points[backward][:, ::-1]
    whole = forward | backward
    new_weights[whole] = weights[whole]
    return out, new_weights


def segment_areas(points: Floats, kinds: NDArray[np.uint8], weights: Floats) -> Floats:
    """Return half the integral of x dy − y dx along each segment, shape (n,), exact.

    Summed over a closed subpath that is its signed area (Green's theorem): positive where it runs
    clockwise on the screen. For arcs it is the triangle to the origin plus the circular segment
    θ − sin θ cos θ in the frame of two conjugate half-diameters.
    """
    area: Floats = 0.5 * cross(points[:, 0], points[:, 3]) + bulge_areas(points, kinds, weights)
    return area


def bulge_areas(points: Floats, kinds: NDArray[np.uint8], weights: Floats) -> Floats:
    """Return the signed area between each segment and its chord, shape (n,); see `segment_areas`."""
    p0 = points[:, 0]
    p1, p2, p3 = points[:, 1] - p0, points[:, 2] - p0, points[:, 3] - p0
    area = np.zeros(len(points))
    cubic = kinds == SegmentKind.CUBIC
    if cubic.any():
        q1, q2, q3 = p1[cubic], p2[cubic], p3[cubic]
        area[cubic] = (3.0 * cross(q1, q2) + 3.0 * cross(q1, q3) + 6.0 * cross(q2, q3)) / 20.0
    quadratic = kinds == SegmentKind.QUADRATIC
    if quadratic.any():
        area[quadratic] = cross(p1[quadratic], p3[quadratic]) / 3.0
    arc = kinds == SegmentKind.ARC
    if arc.any():
        w = np.clip(weights[arc], -1.0, 1.0)
        theta = np.arccos(w)
        sin = np.sqrt(np.maximum((1.0 - w) * (1.0 + w), 1e-180))
        triangle = cross(p1[arc], p3[arc])  # twice the area of the control triangle
        # det(u, v) with u = chord/(2 sin), v = height·cos/sin²; cross(chord, height) = -triangle
        determinant = -triangle * w / (2.0 * sin**3)
        # θ − sin θ cos θ → ⅔ θ³ cancels where the arc is all but flat; there it is a parabola, a third of the triangle
        area[arc] = np.where(theta < 1e-4, triangle / 3.0, -(theta - sin * w) * determinant)
    return area


def _between(a: Floats, b: Floats, t: Floats) -> Floats:
    """Return (1 − t)·a + t·b; exact at both ends."""
    mixed: Floats = (1.0 - t) * a + t * b
    return mixed


def cross(a: Floats, b: Floats) -> Floats:
    """Return a.x·b.y − a.y·b.x over the last axis; positive if b lies clockwise of a on the screen."""
    product: Floats = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
