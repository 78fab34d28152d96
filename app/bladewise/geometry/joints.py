"""Lines and arcs that were fitted each for itself made to touch where they meet, within the tolerance.

An arc between two lines becomes the circle that touches both: its radius is fitted to the points
again, and the lines are drawn out or cut back to where they are touched, which leaves their
directions. Any other arc that meets a neighbour at a hair of an angle takes over the neighbour's
direction; it is then an arc of an ellipse that is all but a circle. A ring whose points would then be
too far away keeps its kinks.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from bladewise.geometry.arcs import arc_rows
from bladewise.geometry.curves import cross
from bladewise.geometry.measures import nearest_each
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.tolerances import NO_KINK_DEG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats

_HAIR = math.radians(1.5)
"""Turns of more than this, in radians, are corners."""
_NO_KINK = math.radians(NO_KINK_DEG)
"""Turns of less than this are none: arcs stay arcs of circles."""
_WIDEST = math.radians(170.0)
"""An arc that turns by more than this between two lines has no circle near it that touches both."""
_ROUNDS = 8
"""Gauss-Newton rounds for the radius."""
_LOOKED_AT = np.linspace(0.0, 1.0, 17)
"""Where an arc is held against the chords."""


def touching(
    parts: Sequence[Rows], straight: Sequence[bool], points: Floats, tolerance_mm: float, *, closed: bool
) -> list[Rows]:
    """Return the parts of a subpath, lines and fitted runs in order, with their joints made tangent.

    Parameters
    ----------
    parts
        Control points, kinds and weights of each part.
    straight
        Which of them are lines between corners or runs.
    points
        The polyline they were fitted to, shape (n, 2).
    tolerance_mm
        How far the result may be from it.
    closed
        Whether the last part meets the first.
    """
    before = list(parts)
    if not any((kinds == SegmentKind.ARC).any() for _, kinds, _ in before):
        return before
    line = np.concatenate([points, points[:1]]) if closed else points
    after = _filleted(before, straight, line, tolerance_mm, closed=closed)
    whole, kinds, weights = (np.concatenate(column) for column in zip(*after, strict=True))
    turned = _turned(whole, kinds, weights, line, tolerance_mm, closed=closed)
    if turned is None and all(one is other for one, other in zip(after, before, strict=True)):
        return before
    for points_, weights_ in (turned, (whole, weights)) if turned is not None else ((whole, weights),):
        path = Path(points_, kinds, weights_, np.zeros(1, np.int64), np.array([closed]))
        if nearest_each(path, points).distances_mm.max() <= tolerance_mm:
            return [(points_, kinds, weights_)]
    return before


def _filleted(
    parts: list[Rows], straight: Sequence[bool], line: Floats, tolerance_mm: float, *, closed: bool
) -> list[Rows]:
    """Return the parts with each arc of a circle between two lines made to touch them."""
    out = list(parts)
    count = len(parts)
    for place in range(count):
        if straight[place] or (not closed and place in (0, count - 1)) or count < 3:
            continue
        one, two = (place - 1) % count, (place + 1) % count
        if not (straight[one] and straight[two]) or not (parts[place][1] == SegmentKind.ARC).all():
            continue
        between = _between(line, parts[one][0][0, 3], parts[two][0][0, 0], closed=closed)
        if between is None:
            continue
        found = _fillet(out[one][0][0, [0, 3]], out[place], out[two][0][0, [0, 3]], between, tolerance_mm)
        if found is None:
            continue
        rows, start, end = found
        out[place] = rows
        for other, row, spot in ((one, slice(2, 4), start), (two, slice(0, 2), end)):
            drawn, kinds, weights = out[other]
            moved = drawn.copy()
            moved[0, row] = spot
            out[other] = (moved, kinds, weights)
    return out


def _between(line: Floats, start: Floats, end: Floats, *, closed: bool) -> Floats | None:
    """Return the points of a polyline from one of its vertices to another; None if they are none."""
    ring = line[:-1] if closed else line
    first, last = (np.flatnonzero((ring == place).all(axis=1)) for place in (start, end))
    if len(first) != 1 or len(last) != 1:
        return None
    i, j = int(first[0]), int(last[0])
    found: Floats = ring[np.arange(i, (j if j > i else j + len(ring)) + 1) % len(ring)]
    return found


def _fillet(
    first: Floats, arc: Rows, last: Floats, at: Floats, tolerance_mm: float
) -> tuple[Rows, Floats, Floats] | None:
    """Return the arc between two lines that touches both and lies nearest to points, and where it does."""
    into, out = first[1] - first[0], last[1] - last[0]
    into, out = into / np.hypot(*into), out / np.hypot(*out)
    turn = math.atan2(float(cross(into, out)), float(into @ out))
    old = arc[0]
    mine = [old[0, 1] - old[0, 0], old[-1, 3] - old[-1, 2]]
    kinks = [abs(math.atan2(float(cross(a, b)), float(a @ b))) for a, b in ((into, mine[0]), (mine[1], out))]
    if max(kinks) > _HAIR or max(kinks) < 1e-9 or not _NO_KINK < abs(turn) < _WIDEST:
        return None
    gap = last[0] - first[1]
    apex = first[1] + into * (float(cross(gap, out)) / float(cross(into, out)))
    reach = math.tan(abs(turn) / 2.0)
    # centre = apex + radius · way
    way = np.array([-into[1], into[0]]) * math.copysign(1.0, turn) - into * reach
    radius = float(np.hypot(*(apex - first[1]))) / reach
    for _ in range(_ROUNDS):
        spoke = at - apex - radius * way
        far = np.maximum(np.hypot(spoke[:, 0], spoke[:, 1]), 1e-300)
        slope = -(spoke @ way) / far - 1.0
        radius -= float(slope @ (far - radius)) / max(float(slope @ slope), 1e-300)
    if not radius > 0.0:
        return None
    start, end = apex - radius * reach * into, apex + radius * reach * out
    ahead = float((start - first[0]) @ into), float((last[1] - end) @ out)
    if min(ahead) <= 0.0:
        return None
    if (
        shapely.distance(
            shapely.linestrings(np.concatenate([first[:1], at, last[1:]])), shapely.points([start, end])
        ).max()
        > tolerance_mm
    ):
        return None
    return arc_rows(start, end, apex + radius * way, turn), start, end


def _turned(
    points: Floats, kinds: Floats, weights: Floats, line: Floats, tolerance_mm: float, *, closed: bool
) -> tuple[Floats, Floats] | None:
    """Return control points and weights with the arcs turned into their neighbours' directions; None if none was."""
    count = len(points)
    after = np.roll(np.arange(count), -1)
    leaving = _units(np.where((points[:, 1] == points[:, 0]), points[:, 3], points[:, 1]) - points[:, 0])
    arriving = _units(points[:, 3] - np.where((points[:, 2] == points[:, 3]), points[:, 0], points[:, 2]))
    turn = np.arctan2(cross(arriving, leaving[after]), (arriving * leaving[after]).sum(axis=1))
    kink = (np.abs(turn) > _NO_KINK) & (np.abs(turn) < _HAIR)
    kink &= (kinds == SegmentKind.ARC) | (kinds[after] == SegmentKind.ARC)
    if not closed:
        kink[-1] = False
    if not kink.any():
        return None
    new_points, new_weights = points.copy(), weights.copy()
    between = _units(arriving + leaving[after])
    arc = kinds == SegmentKind.ARC
    ahead = np.where((arc & arc[after])[:, None], between, np.where(arc[after][:, None], arriving, leaving[after]))
    ends = np.where(kink[:, None], ahead, arriving)
    starts = np.where(np.roll(kink, 1)[:, None], np.roll(ahead, 1, axis=0), leaving)
    changed = False
    for row in np.flatnonzero(arc & (kink | np.roll(kink, 1))).tolist():
        start, end, first, last = points[row, 0], points[row, 3], starts[row], ends[row]
        det = float(cross(first, last))
        if abs(det) < 1e-9:
            continue
        gap = end - start
        s, u = float(cross(gap, last)) / det, float(cross(first, gap)) / det
        if min(s, u) <= 0.0:
            continue
        control = start + s * first
        middle = (start + end) / 2.0
        rise, old_rise = control - middle, points[row, 1] - middle
        share = weights[row] / (1.0 + weights[row]) * float(old_rise @ rise) / float(rise @ rise)
        weight = share / (1.0 - share)
        if not 0.5 < weight < 1.0:
            continue
        t = _LOOKED_AT[:, None]
        b0, b1, b2 = (1.0 - t) ** 2, 2.0 * weight * (1.0 - t) * t, t**2
        at = (b0 * start + b1 * control + b2 * end) / (b0 + b1 + b2)
        if shapely.distance(shapely.linestrings(line), shapely.points(at)).max() > tolerance_mm:
            continue
        new_points[row, 1:3], new_weights[row], changed = control, weight, True
    return (new_points, new_weights) if changed else None


def _units(vectors: Floats) -> Floats:
    unit: Floats = vectors / np.maximum(np.hypot(vectors[..., 0], vectors[..., 1]), 1e-300)[..., None]
    return unit
