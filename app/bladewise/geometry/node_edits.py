"""Editing a path by its nodes, handles and segments; every edit is a pure function.

Each takes a path and the numbers of nodes or segments (see `nodes`) and gives `Edited`: the new path,
and where each node of the old one went. Segments that an edit does not touch keep their bits; those it
must bend become cubics first (`nodes.cubic_rows`). Taking nodes out is `node_removal`; opening, joining
and turning subpaths about is `outline_edits`.

Lengths are mm, y down. Numbers that are not there raise ValueError.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.curves import sub_segments
from bladewise.geometry.node_parts import Edited, assembled, checked, count_of, parts_of
from bladewise.geometry.nodes import NodeKind, Side, cubic_rows, directions, node_table, numbering
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats, Point

_EDGE = 0.08
"""A segment is pulled as if taken hold of at least so far from its ends, or its handles would leap."""


# ---------------------------------------------------------------------------- nodes


def nodes_moved(path: Path, nodes: Iterable[int], dx_mm: float, dy_mm: float) -> Edited:
    """Move nodes, their handles with them; a segment with both ends moved moves whole and keeps its kind."""
    chosen = checked(nodes, count_of(path))
    return moved_each(path, chosen, np.broadcast_to(np.array([dx_mm, dy_mm]), (len(chosen), 2)), None)


def nodes_placed(path: Path, nodes: Iterable[int], x_mm: float | None, y_mm: float | None) -> Edited:
    """Put nodes at an x, a y or both, exactly; their handles go along."""
    chosen = checked(nodes, count_of(path))
    old = node_table(path).points[chosen]
    new = old.copy()
    for axis, value in enumerate((x_mm, y_mm)):
        if value is not None:
            new[:, axis] = value
    return moved_each(path, chosen, new - old, new)


def handle_moved(path: Path, node: int, side: Side, to: Point, keep: NodeKind | None = None) -> Edited:
    """Move the end of a handle; what the node's other handle does depends on the node's kind.

    Parameters
    ----------
    path, node, side
        Which handle. A line there becomes a curve.
    to
        Where its end goes, mm.
    keep
        As which kind the node is treated, left out: as the kind it is of. Corner: the other handle
        stays. Smooth: it turns to lie in line and keeps its length. Balanced: it takes the same length.
        With a line on the other side of a smooth node, the handle stays in line with it.

    Raises
    ------
    ValueError
        If there is no segment on that side.
    """
    table = node_table(path)
    (node,) = checked([node], len(table.points)).tolist()
    own, other = table.segment_before[node], table.segment_after[node]
    if side is Side.AFTER:
        own, other = other, own
    if own < 0:
        message = f"node {node} has no segment {side} it"
        raise ValueError(message)
    kind = keep if keep is not None else table.kind(node)
    at, target = table.points[node], np.array(to, dtype=np.float64)
    bends = [int(own)]
    opposite = None
    if kind is not NodeKind.CORNER and other >= 0:
        leaving, arriving = directions(path)
        if path.kinds[other] == SegmentKind.LINE:
            ahead = _unit(arriving[other] if side is Side.AFTER else -leaving[other])
            target = at + ahead * max(float((target - at) @ ahead), 0.0)
        else:
            bends.append(int(other))
            handle = (table.before if side is Side.AFTER else table.after)[node]
            reach = float(np.hypot(*(target - at)))
            long = reach if kind is NodeKind.BALANCED else float(np.hypot(*(handle - at)))
            if reach > SAME_POINT_MM and math.isfinite(long):
                opposite = at - (target - at) * (long / reach)
    edited = _with_cubics(path, bends)
    points = edited.path.points.copy()
    after = numbering(edited.path)
    here = edited.now[node]
    ends = {Side.BEFORE: (after.segment_before[here], 2), Side.AFTER: (after.segment_after[here], 1)}
    points[ends[side]] = target
    if opposite is not None:
        points[ends[Side.AFTER if side is Side.BEFORE else Side.BEFORE]] = opposite
    return Edited(_with_points(edited.path, points), edited.now)


def nodes_made(path: Path, nodes: Iterable[int], kind: NodeKind) -> Edited:
    """Make nodes corner, smooth or balanced; ends of open subpaths and nodes of that kind stay as they are.

    Smooth: both handles turn to lie in line half way between their directions, their lengths stay; next
    to a line the handle turns to lie in line with it. Balanced: so do their lengths, to the mean. Where
    two lines meet, both become curves. Corner: each handle turns to look at the far handle of its own
    segment, so that a corner shows.
    """
    table = node_table(path)
    chosen = [
        node
        for node in checked(nodes, len(table.points)).tolist()
        if not table.is_end[node] and table.kind(node) is not kind
    ]
    bends: list[int] = []
    for node in chosen:
        both = [int(table.segment_before[node]), int(table.segment_after[node])]
        lines = [path.kinds[each] == SegmentKind.LINE for each in both]
        stay = kind is NodeKind.CORNER or (kind is NodeKind.SMOOTH and not all(lines))
        bends += [each for each, line in zip(both, lines, strict=True) if not (line and stay)]
    edited = _with_cubics(path, sorted(set(bends)))
    points, kinds = edited.path.points.copy(), edited.path.kinds
    order = numbering(edited.path)
    for node in chosen:
        here = edited.now[node]
        before, after = int(order.segment_before[here]), int(order.segment_after[here])
        if kind is NodeKind.CORNER:
            _sharpen(points, kinds, before, after)
        else:
            _smooth(points, kinds, before, after, balanced=kind is NodeKind.BALANCED)
    return Edited(_with_points(edited.path, points), edited.now)


def node_added(path: Path, segment: int, t: float) -> Edited:
    """Put a node on a segment at parameter t (0 to 1, both excluded); the shape stays as it is.

    The new node is the one after the segment's start.
    """
    (segment,) = checked([segment], len(path)).tolist()
    if not 0.0 < t < 1.0:
        message = f"a node lies between the ends of a segment, not at {t}"
        raise ValueError(message)
    row = slice(segment, segment + 1)
    at, zero, one = np.array([t]), np.zeros(1), np.ones(1)
    first, weight1 = sub_segments(path.points[row], path.kinds[row], path.weights[row], zero, at)
    second, weight2 = sub_segments(path.points[row], path.kinds[row], path.weights[row], at, one)
    first[0, 0], second[0, 3] = path.points[segment, 0], path.points[segment, 3]
    second[0, 0] = first[0, 3]
    if path.kinds[segment] == SegmentKind.LINE:
        first[0, 1], first[0, 2], second[0, 1], second[0, 2] = first[0, 0], first[0, 3], second[0, 0], second[0, 3]
    new = (np.concatenate([first, second]), np.repeat(path.kinds[row], 2), np.concatenate([weight1, weight2]))
    return _spliced(path, {segment: new})


# ---------------------------------------------------------------------------- segments


def segments_straightened(path: Path, segments: Iterable[int]) -> Edited:
    """Make segments lines between their ends, exactly."""
    chosen = checked(segments, len(path))
    points, kinds, weights = path.points.copy(), path.kinds.copy(), path.weights.copy()
    points[chosen, 1], points[chosen, 2] = points[chosen, 0], points[chosen, 3]
    kinds[chosen], weights[chosen] = SegmentKind.LINE, 1.0
    new = Path(points, kinds, weights, path.starts, path.closed)
    return Edited(new, np.arange(count_of(path)))


def segments_curved(path: Path, segments: Iterable[int]) -> Edited:
    """Make segments cubics that lie where they lay; lines get their handles at their thirds."""
    return _with_cubics(path, checked(segments, len(path)).tolist())


def segment_pulled(path: Path, segment: int, t: float, dx_mm: float, dy_mm: float) -> Edited:
    """Take hold of a curve at parameter t and pull: that point moves by so much, its ends stay.

    Both handles share the pull so that they move least. A line becomes a curve, an arc one cubic. Smooth
    nodes at its ends stay smooth: the neighbours' handles turn along. Next to a line the handle stays
    in line with it, and the point follows only as far as that allows.
    """
    (segment,) = checked([segment], len(path)).tolist()
    table = node_table(path)
    order = numbering(path)
    start, end = int(order.start_node[segment]), int(order.end_node[segment])
    kinds = [table.kind(start), table.kind(end)]
    edited = _spliced(path, {segment: cubic_rows(path, segment, most=1)})
    control = edited.path.points[segment]
    t = min(max(t, _EDGE), 1.0 - _EDGE)
    one, two = 3.0 * (1.0 - t) ** 2 * t, 3.0 * (1.0 - t) * t * t
    pull = np.array([dx_mm, dy_mm]) / (one * one + two * two)
    first, second = control[1] + one * pull, control[2] + two * pull
    edited = handle_moved(edited.path, start, Side.AFTER, (float(first[0]), float(first[1])), kinds[0])
    new = handle_moved(edited.path, int(edited.now[end]), Side.BEFORE, (float(second[0]), float(second[1])), kinds[1])
    return edited.then(new)


# ---------------------------------------------------------------------------- below


def _with_points(path: Path, points: Floats) -> Path:
    return Path(points, path.kinds, path.weights, path.starts, path.closed)


def _spliced(path: Path, rows: dict[int, Rows]) -> Edited:
    """Put other rows, one or several, in the place of segments; they begin and end where those did."""
    if not rows:
        return Edited(path, np.arange(count_of(path)))
    if all(len(new[0]) == 1 for new in rows.values()):
        points, kinds, weights = path.points.copy(), path.kinds.copy(), path.weights.copy()
        for segment, new in rows.items():
            points[segment], kinds[segment], weights[segment] = new[0][0], new[1][0], new[2][0]
        return Edited(Path(points, kinds, weights, path.starts, path.closed), np.arange(count_of(path)))
    parts = []
    for start, part in zip(path.starts.tolist(), parts_of(path), strict=True):
        inside = sorted((each - start for each in rows if start <= each < start + len(part)), reverse=True)
        for local in inside:
            part = part.exchanged(local, local + 1, rows[start + local])
        parts.append(part)
    return assembled(parts, count_of(path))


def _with_cubics(path: Path, segments: Sequence[int]) -> Edited:
    return _spliced(path, {each: cubic_rows(path, each) for each in segments if path.kinds[each] != SegmentKind.CUBIC})


def moved_each(path: Path, nodes: NDArray[np.int64], shifts: Floats, exactly: Floats | None) -> Edited:
    """Move nodes by a shift each, shape (k, 2), to where `exactly` says to the last bit."""
    count = count_of(path)
    shift = np.zeros((count, 2))
    moved = np.zeros(count, bool)
    shift[nodes], moved[nodes] = shifts, (shifts != 0.0).any(axis=1)
    ends = numbering(path)
    one, two = ends.start_node, ends.end_node
    whole = moved[one] & moved[two] & (shift[one] == shift[two]).all(axis=1)
    conic = (path.kinds == SegmentKind.QUADRATIC) | (path.kinds == SegmentKind.ARC)
    edited = _with_cubics(path, np.flatnonzero(conic & (moved[one] | moved[two]) & ~whole).tolist())
    if edited.path is not path:
        larger, places = np.zeros((count_of(edited.path), 2)), np.zeros(count_of(edited.path), bool)
        larger[edited.now], places[edited.now] = shift, moved
        shift, moved = larger, places
        ends = numbering(edited.path)
        one, two = ends.start_node, ends.end_node
    points = edited.path.points.copy()
    start, end = moved[one], moved[two]
    points[start, :2] += shift[one[start], None]
    points[end, 2:] += shift[two[end], None]
    if exactly is not None:
        goals = np.zeros_like(shift)
        goals[edited.now[nodes]] = exactly
        points[start, 0], points[end, 3] = goals[one[start]], goals[two[end]]
        line = edited.path.kinds == SegmentKind.LINE
        points[line, 1], points[line, 2] = points[line, 0], points[line, 3]
    return Edited(_with_points(edited.path, points), edited.now)


def _sharpen(points: Floats, kinds: NDArray[np.uint8], before: int, after: int) -> None:
    """Turn each handle of a node to look at the far handle of its own segment."""
    for segment, near, handle, far in ((before, 3, 2, 1), (after, 0, 1, 2)):
        if kinds[segment] == SegmentKind.LINE:
            continue
        reach = float(np.hypot(*(points[segment, handle] - points[segment, near])))
        way = points[segment, far] - points[segment, near]
        if np.hypot(*way) <= SAME_POINT_MM:
            way = points[segment, 3 - near] - points[segment, near]
        points[segment, handle] = points[segment, near] + reach * _unit(way)


def _smooth(points: Floats, kinds: NDArray[np.uint8], before: int, after: int, *, balanced: bool) -> None:
    """Turn the handles of a node into one line, half way between where they pointed."""
    at = points[after, 0].copy()
    come, go = _way(points[before, ::-1], kinds[before]), _way(points[after], kinds[after])
    long_come, long_go = float(np.hypot(*come)), float(np.hypot(*go))
    come, go = -_unit(come), _unit(go)
    if kinds[before] == SegmentKind.LINE:
        way = come
    elif kinds[after] == SegmentKind.LINE:
        way = go
    else:
        way = come + go
        if np.hypot(*way) <= 1e-6:  # a spike: square to it
            way = np.array([-come[1], come[0]])
        way = _unit(way)
    if balanced:
        long_come = long_go = (long_come + long_go) / 2.0
    if kinds[before] != SegmentKind.LINE:
        points[before, 2] = at - long_come * way
    if kinds[after] != SegmentKind.LINE:
        points[after, 1] = at + long_go * way


def _way(points: Floats, kind: int) -> Floats:
    """Return a segment's handle at its first point, a third of its chord if the handle has no length."""
    handle: Floats = points[1] - points[0]
    if kind == SegmentKind.LINE or np.hypot(*handle) <= SAME_POINT_MM:
        far = (
            points[2] if kind != SegmentKind.LINE and np.hypot(*(points[2] - points[0])) > SAME_POINT_MM else points[3]
        )
        handle = _unit(far - points[0]) * (float(np.hypot(*(points[3] - points[0]))) / 3.0)
    return handle


def _unit(vector: Floats) -> Floats:
    far = float(np.hypot(vector[0], vector[1]))
    unit: Floats = vector / far if far > 0.0 else np.array([1.0, 0.0])
    return unit
