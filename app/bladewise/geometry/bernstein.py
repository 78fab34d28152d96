"""Every segment as one rational cubic, so that measuring never asks for its kind.

A line, a quadratic and an arc are raised to the cubic degree (G. Farin, *Curves and Surfaces for
CAGD*, degree elevation of rational curves); a segment is then four homogeneous control points
(x·w, y·w, w) and every question becomes one matrix product over all segments. Points are taken
relative to an origin of the caller's choice, so that a small shape far from the page's corner keeps
its digits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path


def rational_cubics(path: Path, origins: Floats | None = None) -> Floats:
    """Return each segment's homogeneous cubic control points.

    Parameters
    ----------
    path
        The path; n segments.
    origins
        What to subtract from the points first, shape (2,) or (n, 2), in mm; nothing if left out.

    Returns
    -------
    Floats
        Rows (x·w, y·w, w), shape (n, 4, 3). All w are 1 but for arcs.
    """
    points = path.points if origins is None else path.points - np.broadcast_to(origins, (len(path), 2))[:, None, :]
    control = np.ones((len(path), 4, 3))
    control[:, :, :2] = points
    line = path.kinds == SegmentKind.LINE
    if line.any():
        start, end = points[line, 0], points[line, 3]
        control[line, 1, :2] = start + (end - start) / 3.0
        control[line, 2, :2] = end - (end - start) / 3.0
    conic = (path.kinds == SegmentKind.QUADRATIC) | (path.kinds == SegmentKind.ARC)
    if conic.any():
        middle = control[conic, 1] * path.weights[conic][:, None]
        control[conic, 1] = (control[conic, 0] + 2.0 * middle) / 3.0
        control[conic, 2] = (control[conic, 3] + 2.0 * middle) / 3.0
    return control


def basis(t: Floats) -> Floats:
    """Return the four cubic Bernstein polynomials at t, one more axis of length 4."""
    s = 1.0 - t
    return np.stack([s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t], axis=-1)


def basis_first(t: Floats) -> Floats:
    """Return the first derivatives of `basis` by t."""
    s = 1.0 - t
    return np.stack([-3.0 * s * s, 3.0 * s * (s - 2.0 * t), 3.0 * t * (2.0 * s - t), 3.0 * t * t], axis=-1)


def _basis_second(t: Floats) -> Floats:
    s = 1.0 - t
    return np.stack([6.0 * s, 6.0 * t - 12.0 * s, 6.0 * s - 12.0 * t, 6.0 * t], axis=-1)


def points_on(control: Floats, t: Floats) -> Floats:
    """Return points of each curve.

    Parameters
    ----------
    control
        As from `rational_cubics`, shape (k, 4, 3).
    t
        Parameters, shape (m,) for the same ones on every curve, or (k, m).

    Returns
    -------
    Floats
        Shape (k, m, 2).
    """
    at = basis(t) @ control
    return at[..., :2] / at[..., 2:]


def derivatives(control: Floats, t: Floats) -> tuple[Floats, Floats, Floats]:
    """Return points, first and second derivatives by t; shapes as in `points_on`."""
    at, first, second = basis(t) @ control, basis_first(t) @ control, _basis_second(t) @ control
    w, w1, w2 = at[..., 2:], first[..., 2:], second[..., 2:]
    point = at[..., :2] / w
    velocity = (first[..., :2] - point * w1) / w
    acceleration = (second[..., :2] - 2.0 * velocity * w1 - point * w2) / w
    return point, velocity, acceleration


def speeds(control: Floats, t: Floats) -> Floats:
    """Return the speed |dr/dt| in mm, shape (k, m)."""
    at, first = basis(t) @ control, basis_first(t) @ control
    velocity = (first[..., :2] - at[..., :2] * (first[..., 2:] / at[..., 2:])) / at[..., 2:]
    speed: Floats = np.hypot(velocity[..., 0], velocity[..., 1])
    return speed


def halves(control: Floats) -> tuple[Floats, Floats]:
    """Return the two halves of each curve, split at t = 1/2 by de Casteljau's rule."""
    a, b, c, d = control[:, 0], control[:, 1], control[:, 2], control[:, 3]
    ab, bc, cd = (a + b) / 2.0, (b + c) / 2.0, (c + d) / 2.0
    abc, bcd = (ab + bc) / 2.0, (bc + cd) / 2.0
    middle = (abc + bcd) / 2.0
    return np.stack([a, ab, abc, middle], axis=1), np.stack([middle, bcd, cd, d], axis=1)


def split(control: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Return both parts of each curve cut at its own t, shape (k,), by de Casteljau's rule."""
    u = t[:, None]
    a, b, c, d = control[:, 0], control[:, 1], control[:, 2], control[:, 3]
    ab, bc, cd = a + u * (b - a), b + u * (c - b), c + u * (d - c)
    abc, bcd = ab + u * (bc - ab), bc + u * (cd - bc)
    middle = abc + u * (bcd - abc)
    return np.stack([a, ab, abc, middle], axis=1), np.stack([middle, bcd, cd, d], axis=1)
