"""Nodes and handles of a path: where they are, of which kind, and how segments become cubics.

A node is a number over all subpaths in order: a closed subpath of n segments has n nodes, node k being
where its segment k begins; an open one has n + 1, the last being its end. A handle is a node and a
side. The kind of a node is read off the curves: handles in line make it smooth, equally long ones
balanced, everything else is a corner; a line gives a direction, but has no handle.

Quadratics and arcs show the handles of the cubics they would become, and become them when a handle of
theirs is moved. A quadratic is a cubic exactly; an arc is followed by one, two or four cubics within
`tolerances.FITTING_MM` (handle lengths of a third of four times the tangent of a quarter of the swept
angle: J. Stone and T. DeRose, from memory; its largest error on the unit circle is
2/27 · sin⁶(φ/4) / cos²(φ/4) for the swept angle φ: M. Goldapp 1991, from memory).

Lengths are mm, y down. Everything is a value, every function pure.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import cross, sub_segments
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.tolerances import EVEN_HANDLES_SHARE, FITTING_MM, SAME_POINT_MM, SMOOTH_JOINT_DEG

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats, Path

_MOST_CUBICS = 4
"""Cubics for one arc; four follow a quarter turn of 30 m radius within the tolerance."""


class NodeKind(StrEnum):
    """How a path goes through a node."""

    CORNER = "corner"
    SMOOTH = "smooth"
    BALANCED = "balanced"


class Side(StrEnum):
    """Which of a node's two handles: of the segment that arrives, or of the one that leaves."""

    BEFORE = "before"
    AFTER = "after"


class NodeTable(NamedTuple):
    """All nodes of a path, a row each."""

    points: Floats
    """Where they are, shape (m, 2)."""
    before: Floats
    """End of the handle on the arriving segment, shape (m, 2); NaN where there is none or it has no length."""
    after: Floats
    """End of the handle on the leaving segment, shape (m, 2); NaN where there is none or it has no length."""
    segment_before: NDArray[np.int64]
    """The arriving segment, shape (m,); −1 at the start of an open subpath."""
    segment_after: NDArray[np.int64]
    """The leaving segment, shape (m,); −1 at the end of an open subpath."""
    subpath: NDArray[np.int64]
    """The subpath, shape (m,)."""
    codes: NDArray[np.uint8]
    """0 corner, 1 smooth, 2 balanced, shape (m,)."""

    @property
    def is_end(self) -> NDArray[np.bool_]:
        """Whether a node is an end of an open subpath, shape (m,)."""
        ends: NDArray[np.bool_] = (self.segment_before < 0) | (self.segment_after < 0)
        return ends

    @property
    def kinds(self) -> list[NodeKind]:
        """The kind of each node."""
        return [_KINDS[code] for code in self.codes.tolist()]

    def kind(self, node: int) -> NodeKind:
        """Return the kind of one node."""
        return _KINDS[self.codes[node]]


_KINDS = (NodeKind.CORNER, NodeKind.SMOOTH, NodeKind.BALANCED)


class Ends(NamedTuple):
    """How nodes and segments of a path are numbered; shapes (m,) for nodes, (n,) for segments."""

    segment_before: NDArray[np.int64]
    segment_after: NDArray[np.int64]
    subpath: NDArray[np.int64]
    start_node: NDArray[np.int64]
    end_node: NDArray[np.int64]


def numbering(path: Path) -> Ends:
    """Return which segments meet at which nodes."""
    counts = path.ends - path.starts
    sizes = counts + ~path.closed
    subpath = np.repeat(np.arange(len(sizes)), sizes)
    first = np.cumsum(sizes) - sizes
    local = np.arange(len(subpath)) - first[subpath]
    after = np.where(local < counts[subpath], path.starts[subpath] + local, -1)
    before = np.where(local > 0, path.starts[subpath] + local - 1, np.where(path.closed, path.ends - 1, -1)[subpath])
    start_node = np.empty(len(path), np.int64)
    end_node = np.empty(len(path), np.int64)
    nodes = np.arange(len(subpath))
    start_node[after[after >= 0]] = nodes[after >= 0]
    end_node[before[before >= 0]] = nodes[before >= 0]
    return Ends(before, after, subpath, start_node, end_node)


def node_table(path: Path) -> NodeTable:
    """Return all nodes of a path with their handles and kinds; of an empty path, no rows."""
    ends = numbering(path)
    before, after = ends.segment_before, ends.segment_after
    points = np.where((after >= 0)[:, None], path.points[after, 0], path.points[before, 3])
    leaving, arriving = _handles(path)
    out = np.where((after >= 0)[:, None], leaving[after], np.nan)
    in_ = np.where((before >= 0)[:, None], arriving[before], np.nan)
    codes = _codes(path, ends, points, in_, out)
    return NodeTable(points, _shown(in_, points), _shown(out, points), before, after, ends.subpath, codes)


def directions(path: Path) -> tuple[Floats, Floats]:
    """Return in which direction each segment leaves its start and arrives at its end.

    Two arrays of shape (n, 2), of any length but 0; zero for a segment that is one point.
    """
    p = path.points
    leaving, arriving = p[:, 1] - p[:, 0], p[:, 3] - p[:, 2]
    line = path.kinds == SegmentKind.LINE
    leaving[line] = arriving[line] = (p[:, 3] - p[:, 0])[line]
    for further in (2, 3):
        short = _lengths(leaving) <= SAME_POINT_MM
        leaving[short] = (p[:, further] - p[:, 0])[short]
        short = _lengths(arriving) <= SAME_POINT_MM
        arriving[short] = (p[:, 3] - p[:, 3 - further])[short]
    return leaving, arriving


def cubic_rows(path: Path, segment: int, tolerance_mm: float = FITTING_MM, most: int = _MOST_CUBICS) -> Rows:
    """Return a segment as cubics that begin and end on the very points of the segment.

    A line gets its handles at its thirds. An arc becomes at most `most` cubics within the tolerance, a
    power of two of them; fewer are less exact.
    """
    kind = path.kinds[segment]
    points, weights = path.points[segment : segment + 1], path.weights[segment : segment + 1]
    if kind == SegmentKind.ARC:
        count = min(int(_arc_counts(points, weights, tolerance_mm)[0]), most)
        kinds = path.kinds[segment : segment + 1]
        while len(points) < count:
            half = np.full(len(points), 0.5)
            one, weight = sub_segments(points, kinds, weights, half * 0.0, half)
            two, _ = sub_segments(points, kinds, weights, half, half * 2.0)
            one[:, 3] = two[:, 0]
            points = np.stack([one, two], axis=1).reshape(-1, 4, 2)
            weights, kinds = np.repeat(weight, 2), np.repeat(kinds, 2)
        share = (4.0 / 3.0 * weights / (1.0 + weights))[:, None]
    elif kind == SegmentKind.QUADRATIC:
        share = np.full((1, 1), 2.0 / 3.0)
    elif kind == SegmentKind.LINE:
        (start, _, _, end) = points[0]
        thirds = np.stack([start, start + (end - start) / 3.0, end - (end - start) / 3.0, end])
        return thirds[None], _cubic(1), np.ones(1)
    else:
        return points.copy(), _cubic(1), np.ones(1)
    out = points.copy()
    out[:, 1] = points[:, 0] + share * (points[:, 1] - points[:, 0])
    out[:, 2] = points[:, 3] + share * (points[:, 2] - points[:, 3])
    return out, _cubic(len(out)), np.ones(len(out))


def _cubic(count: int) -> NDArray[np.uint8]:
    return np.full(count, SegmentKind.CUBIC, np.uint8)


def _handles(path: Path) -> tuple[Floats, Floats]:
    """Return where each segment's two handles end, NaN for lines, two arrays of shape (n, 2)."""
    p = path.points
    leaving, arriving = p[:, 1].copy(), p[:, 2].copy()
    line = path.kinds == SegmentKind.LINE
    leaving[line] = arriving[line] = np.nan
    conic = (path.kinds == SegmentKind.QUADRATIC) | (path.kinds == SegmentKind.ARC)
    if conic.any():
        share = np.full(len(path), 2.0 / 3.0)
        arc = path.kinds == SegmentKind.ARC
        if arc.any():
            share[arc] = _arc_shares(p[arc], path.weights[arc])
        of = share[conic][:, None]
        leaving[conic] = p[conic, 0] + of * (p[conic, 1] - p[conic, 0])
        arriving[conic] = p[conic, 3] + of * (p[conic, 2] - p[conic, 3])
    return leaving, arriving


def _arc_shares(points: Floats, weights: Floats) -> Floats:
    """Return the first handle's share of the way to the arc's control point, once the arc is cubics."""
    half = np.arccos(np.clip(weights, 0.0, 1.0))
    parts = _arc_counts(points, weights, FITTING_MM)
    whole = np.maximum(np.tan(half), 1e-300)
    reach = np.where(half > 1e-6, np.tan(half / parts) / whole, 1.0 / parts)
    weight = np.cos(half / parts)
    share: Floats = reach * 4.0 / 3.0 * weight / (1.0 + weight)
    return share


def _arc_counts(points: Floats, weights: Floats, tolerance_mm: float) -> NDArray[np.int64]:
    """Return how many cubics follow each arc within the tolerance: 1, 2 or 4, shape (n,)."""
    half = np.arccos(np.clip(weights, 0.0, 1.0))
    sine = np.maximum(np.sin(half), 1e-9)[:, None]
    chord = (points[:, 3] - points[:, 0]) / (2.0 * sine)
    rise = (points[:, 1] - (points[:, 0] + points[:, 3]) / 2.0) * np.cos(half)[:, None] / (sine * sine)
    # the longer half axis from two conjugate half-diameters
    total = (chord * chord).sum(axis=1) + (rise * rise).sum(axis=1)
    det = cross(chord, rise)
    radius = np.sqrt((total + np.sqrt(np.maximum(total * total - 4.0 * det * det, 0.0))) / 2.0)
    counts = np.full(len(points), _MOST_CUBICS, np.int64)
    for count in (2, 1):
        angle = half / (2.0 * count)
        error = radius * 2.0 / 27.0 * np.sin(angle) ** 6 / np.cos(angle) ** 2
        counts[error <= tolerance_mm] = count
    return counts


def _codes(path: Path, ends: Ends, points: Floats, in_: Floats, out: Floats) -> NDArray[np.uint8]:
    """Return the kind of each node as a number, shape (m,)."""
    leaving, arriving = directions(path)
    inner = (ends.segment_before >= 0) & (ends.segment_after >= 0)
    come, go = arriving[ends.segment_before], leaving[ends.segment_after]
    turn = np.abs(np.arctan2(cross(come, go), (come * go).sum(axis=1)))
    moving = (_lengths(come) > 0.0) & (_lengths(go) > 0.0)
    line = path.kinds == SegmentKind.LINE
    lines = line[ends.segment_before] & line[ends.segment_after]
    smooth = inner & moving & ~lines & (turn <= math.radians(SMOOTH_JOINT_DEG))
    one, two = _lengths(points - in_), _lengths(out - points)
    longer = np.fmax(one, two)
    both = (one > SAME_POINT_MM) & (two > SAME_POINT_MM)
    balanced = smooth & both & (np.abs(one - two) <= EVEN_HANDLES_SHARE * longer)
    codes: NDArray[np.uint8] = smooth.astype(np.uint8) + balanced.astype(np.uint8)
    return codes


def _shown(handles: Floats, points: Floats) -> Floats:
    """Return the handles with those of no length as NaN."""
    shown: Floats = np.where((_lengths(handles - points) > SAME_POINT_MM)[:, None], handles, np.nan)
    return shown


def _lengths(vectors: Floats) -> Floats:
    far: Floats = np.hypot(vectors[:, 0], vectors[:, 1])
    return far
