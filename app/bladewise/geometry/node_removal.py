"""Taking nodes out of a path so that its shape changes as little as it can.

The segments on both sides of a node that goes, or of several in a row, become one. Lines become the
line between what is left. Two halves of one curve become that curve again: where de Casteljau's rule
split a cubic or a quadratic at t, the handles beside the node stand to each other as t to 1 − t, and the
far handles grow by 1/t and 1/(1 − t) (G. Farin, *Curves and Surfaces for CAGD*, the chapter on Bézier
curves: subdivision read backwards); where an arc was split, its control point is where the outer
tangents meet and its weight follows from any point on it (the same book, the chapter on conics).
Whether they are such halves is seen by splitting the guess again. Everything else is followed by the
cubic that keeps the directions at both ends and lies nearest in the sense of least squares
(`one_cubic`).

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.curves import cross, sub_segments
from bladewise.geometry.node_parts import Edited, Part, assembled, checked, count_of, parts_of
from bladewise.geometry.one_cubic import nearest_cubic
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.tolerances import RECOMBINED_MM, SAME_POINT_MM

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats

_QUARTER = math.cos(math.pi / 4.0) - 1e-9
"""Weight of an arc of a quarter turn; longer arcs do not become one segment."""


def nodes_deleted(path: Path, nodes: Iterable[int]) -> Edited:
    """Take nodes out, keeping the shape as near as possible; see the head of this module.

    An end of an open subpath goes with its segment. A subpath left with one node and a line, or with
    none, is gone.

    Raises
    ------
    ValueError
        If a node is not there.
    """
    count = count_of(path)
    chosen = set(checked(nodes, count).tolist())
    parts = []
    for part in parts_of(path):
        if chosen.isdisjoint(part.nodes.tolist()):
            parts.append(part)
        elif (left := _without(part, chosen)) is not None:
            parts.append(left)
    return assembled(parts, count)


def _without(part: Part, chosen: set[int]) -> Part | None:
    kept = [local for local, node in enumerate(part.nodes.tolist()) if node not in chosen]
    if not kept or (len(kept) == 1 and not part.closed):
        return None
    if part.closed:
        begin = kept[0]
        part = part.turned(begin).opened()
        stops = [*(local - begin for local in kept), len(part)]
    else:
        part = part.cut(kept[0], kept[-1])
        stops = [local - kept[0] for local in kept]
    pieces = []
    for start, stop in pairwise(stops):
        piece = part.cut(start, stop)
        if stop - start > 1:
            piece = piece.exchanged(0, len(piece), _as_one(piece.path()))
        pieces.append(piece)
    whole = pieces[0]
    for piece in pieces[1:]:
        whole = whole.followed_by(piece)
    if len(stops) == len(kept) + 1:
        whole = whole.looped()
        if len(whole) == 1 and whole.kinds[0] == SegmentKind.LINE:
            return None
    return whole


def _as_one(path: Path) -> Rows:
    """Return an open path as one segment."""
    if (path.kinds == SegmentKind.LINE).all():
        start, end = path.points[0, 0], path.points[-1, 3]
        return _row(np.stack([start, start, end, end]), SegmentKind.LINE)
    whole: Path | None = path
    while whole is not None and len(whole) > 1:
        whole = _first_two_as_one(whole)
    if whole is not None:
        return whole.points, whole.kinds, whole.weights
    return _row(nearest_cubic(path), SegmentKind.CUBIC)


def _first_two_as_one(path: Path) -> Path | None:
    """Return an open path whose first two segments, halves of one, are that one; None if they are not."""
    kind = path.kinds[0]
    if path.kinds[1] != kind:
        return None
    one, two = path.points[0], path.points[1]
    found = _whole_arc(one, two) if kind == SegmentKind.ARC else _whole_curve(one, two, SegmentKind(kind))
    if found is None:
        return None
    points, weight, t = found
    if not 0.0 < t < 1.0:
        return None
    kinds, at = path.kinds[:1], np.array([t])
    first, weight1 = sub_segments(points[None], kinds, np.array([weight]), np.zeros(1), at)
    second, weight2 = sub_segments(points[None], kinds, np.array([weight]), at, np.ones(1))
    miss = max(np.abs(first[0] - one).max(), np.abs(second[0] - two).max())
    reach = float(np.ptp(points, axis=0).max())
    strain = max(abs(weight1[0] - path.weights[0]), abs(weight2[0] - path.weights[1])) * reach
    if max(miss, strain) > RECOMBINED_MM:
        return None
    return Path(
        np.concatenate([points[None], path.points[2:]]),
        path.kinds[1:],
        np.append(weight, path.weights[2:]),
        path.starts,
        path.closed,
    )


def _whole_curve(one: Floats, two: Floats, kind: SegmentKind) -> tuple[Floats, float, float] | None:
    """Return the control points, weight and parameter of the curve that these are halves of, if they are any's."""
    joint_in, joint_out = float(np.hypot(*(one[3] - one[2]))), float(np.hypot(*(two[1] - two[0])))
    if joint_in + joint_out > SAME_POINT_MM:
        t = joint_in / (joint_in + joint_out)
    else:  # handles of no length at the node: the outer hulls stand to each other in the same way
        outer = [float(np.hypot(*(one[1] - one[0]))), float(np.hypot(*(two[3] - two[2])))]
        t = outer[0] / sum(outer) if sum(outer) > 0.0 else 0.5
    if not 0.0 < t < 1.0:
        return None
    start, end = one[0], two[3]
    if kind == SegmentKind.LINE:
        return np.stack([start, start, end, end]), 1.0, t
    first, last = start + (one[1] - start) / t, end + (two[2] - end) / (1.0 - t)
    if kind == SegmentKind.QUADRATIC:
        last = first
    return np.stack([start, first, last, end]), 1.0, t


def _whole_arc(one: Floats, two: Floats) -> tuple[Floats, float, float] | None:
    """Return the same for two arcs of at most a quarter turn together."""
    start, end, middle = one[0], two[3], one[3]
    leaving, arriving = one[1] - start, end - two[2]
    det = float(cross(leaving, arriving))
    if abs(det) <= 1e-12 * float(np.hypot(*leaving) * np.hypot(*arriving)):
        return None
    control = start + leaving * (float(cross(end - start, arriving)) / det)
    # barycentric places of the node in the control triangle
    area = float(cross(control - start, end - start))
    if area == 0.0:
        return None
    at_end = float(cross(control - start, middle - start)) / area
    at_control = float(cross(middle - start, end - start)) / area
    at_start = 1.0 - at_end - at_control
    if min(at_end, at_control, at_start) <= 0.0:
        return None
    weight = at_control / (2.0 * math.sqrt(at_start * at_end))
    if not _QUARTER <= weight <= 1.0:
        return None
    t = math.sqrt(at_end) / (math.sqrt(at_start) + math.sqrt(at_end))
    return np.stack([start, control, control, end]), weight, t


def _row(points: Floats, kind: SegmentKind) -> Rows:
    return points[None], np.array([kind], np.uint8), np.ones(1)
