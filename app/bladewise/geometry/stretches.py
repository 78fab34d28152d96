"""Paths cut into stretches that hardly turn, so that two of them meet or face each other in one simple way.

A stretch knows the fan of its tangents: the directions of a Bézier curve's control legs bound those of
the curve (for a rational curve with positive weights too, as long as the legs stay within half a turn:
G. Farin, *Curves and Surfaces for CAGD*). Stretches whose fans leave out each other's directions need
no further look, and on the others Newton's method finds what there is to find.

Cutting is by halves of the parameter and depends on the curve alone, not on where it lies.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.bernstein import derivatives, halves, rational_cubics
from bladewise.geometry.curves import cross

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_DEEPEST = 12
"""Halvings of a segment at most; what still turns is a cusp, and its two sides meet like a corner."""
_NO_LEG = 1e-12
"""Control legs shorter than this part of their segment give no direction."""


class Stretches(NamedTuple):
    """Stretches of a path's segments in the path's order, one row each."""

    segment: NDArray[np.int64]
    """The segment each is part of, shape (k,)."""
    start: Floats
    end: Floats
    """Its parameters on that segment, shape (k,)."""
    control: Floats
    """Homogeneous cubic control points, shape (k, 4, 3), relative to the origin asked for."""
    heading: Floats
    """Middle of the fan of tangents, radians from +x towards +y, shape (k,)."""
    swing: Floats
    """Half the width of that fan, radians, shape (k,)."""
    first: Floats
    last: Floats
    """Direction at either end, radians, shape (k,)."""

    def taken(self, rows: Any) -> Stretches:
        """Return some of the stretches."""
        return Stretches(*(column[rows] for column in self))

    def parameters(self, rows: NDArray[np.int64], t: Floats) -> Floats:
        """Return parameters on the segments from parameters 0 to 1 on the stretches."""
        at: Floats = np.where(t >= 1.0, self.end[rows], self.start[rows] + t * (self.end[rows] - self.start[rows]))
        return at


def stretches(path: Path, origin: Floats, *, most_turn: float, longest_mm: float = np.inf) -> Stretches:
    """Return a path's segments cut until none turns by more than an angle or is longer than a length.

    Parameters
    ----------
    path
        Any path; segments without length are left out.
    origin
        What to subtract from the points first, shape (2,), mm.
    most_turn
        In radians.
    longest_mm
        Longest control polygon of a stretch; held only as far as twelve halvings go.
    """
    control = rational_cubics(path, origin)
    size = _legs(control)[1].sum(axis=1)
    rows = np.flatnonzero(size > 0.0)
    segment, start, control, least = rows, np.zeros(len(rows)), control[rows], _NO_LEG * size[rows]
    done: list[Stretches] = []
    width = 1.0
    for depth in range(_DEEPEST + 1):
        heading, swing, first, last, long = fan(control, least)
        fit = (swing * 2.0 <= most_turn) & (long <= longest_mm)
        if depth == _DEEPEST:
            fit[:] = True
        done.append(Stretches(segment, start, start + width, control, heading, swing, first, last).taken(fit))
        cut = np.flatnonzero(~fit)
        if not len(cut):
            break
        width /= 2.0
        segment, start, least = segment[cut], start[cut], least[cut]
        control = np.concatenate(halves(control[cut]))
        segment, least = np.concatenate([segment, segment]), np.concatenate([least, least])
        start = np.concatenate([start, start + width])
    whole = Stretches(*(np.concatenate(columns) for columns in zip(*done, strict=True)))
    return whole.taken(np.lexsort((whole.start, whole.segment)))


def _legs(control: Floats) -> tuple[Floats, Floats]:
    flat = control[..., :2] / control[..., 2:]
    legs = np.diff(flat, axis=1)
    return legs, np.hypot(legs[..., 0], legs[..., 1])


def fan(control: Floats, least: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return heading, swing, first and last direction of curves and the lengths of their control polygons.

    Parameters
    ----------
    control
        Homogeneous cubic control points, shape (k, 4, 3).
    least
        Legs up to this long give no direction, shape (k,), mm.
    """
    legs, long = _legs(control)
    rows = np.arange(len(legs))
    chord = legs.sum(axis=1)
    tiny = np.hypot(chord[:, 0], chord[:, 1]) <= least
    chord[tiny] = legs[rows, np.argmax(long, axis=1)][tiny]
    off = np.arctan2(cross(chord[:, None], legs), (chord[:, None] * legs).sum(axis=2))
    counts = long > least[:, None]
    low = np.where(counts, off, np.inf).min(axis=1)
    high = np.where(counts, off, -np.inf).max(axis=1)
    none = ~counts.any(axis=1)  # below all digits: a point, whose direction nobody will ask for
    low[none] = high[none] = 0.0
    high[high - low >= np.pi] += np.pi  # the legs no longer bound the tangents: to be cut
    way = np.arctan2(chord[:, 1], chord[:, 0])
    first = way + off[rows, np.argmax(counts, axis=1)]
    last = way + off[rows, 2 - np.argmax(counts[:, ::-1], axis=1)]
    return way + (low + high) / 2.0, (high - low) / 2.0, first, last, long.sum(axis=1)


def hulls(control: Floats, margin_mm: float = 0.0) -> Floats:
    """Return the boxes of the control points, grown by a margin: x min, y min, x max, y max, shape (k, 4)."""
    flat = control[..., :2] / control[..., 2:]
    return np.concatenate([flat.min(axis=1) - margin_mm, flat.max(axis=1) + margin_mm], axis=1)


def box_pairs(first: Floats, second: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return every pair of boxes, as from `hulls`, that meet: indexes into both, two arrays of shape (m,)."""
    boxes: Any = shapely.box(*first.T)
    others: Any = boxes if second is first else shapely.box(*second.T)
    one, two = shapely.STRtree(others).query(boxes)
    return one.astype(np.int64), two.astype(np.int64)


def wrapped(angle: Floats) -> Floats:
    """Return angles in radians brought into −π to π."""
    within: Floats = (angle + np.pi) % (2.0 * np.pi) - np.pi
    return within


def feet(control: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Return where each stretch is nearest to its own point, and how near: two arrays of shape (k,).

    The chord gives the start, Newton's method the place; a stretch that hardly turns has no other
    minimum unless the point lies beyond its centre of curvature, and then an end is nearest.
    """
    control = control.copy()
    control[..., :2] -= points[:, None, :] * control[..., 2:]
    a, b = control[:, 0, :2] / control[:, 0, 2:], control[:, 3, :2] / control[:, 3, 2:]
    way = b - a
    long = (way * way).sum(axis=1)
    t = np.clip(np.divide(-(way * a).sum(axis=1), long, out=np.zeros(len(a)), where=long > 0.0), 0.0, 1.0)
    for _ in range(6):
        place, first, second = (values[:, 0] for values in derivatives(control, t[:, None]))
        slope, speed = (place * first).sum(axis=1), (first * first).sum(axis=1)
        bend = speed + (place * second).sum(axis=1)
        bend = np.where(bend > 0.1 * speed, bend, speed)
        t = np.clip(t - np.divide(slope, bend, out=np.zeros_like(t), where=bend > 0.0), 0.0, 1.0)
    place = derivatives(control, t[:, None])[0][:, 0]
    away = np.hypot(place[:, 0], place[:, 1])
    for at, end in ((0.0, a), (1.0, b)):
        other = np.hypot(end[:, 0], end[:, 1])
        nearer = other < away
        t[nearer], away[nearer] = at, other[nearer]
    return t, away
