"""Curves that lie on one another, found before anything is flattened, and made one.

After a cut-out the neighbour's edge is a part of the original's, with other parameters: flattened
each by itself the two would leave hairlines. So pairs of segments that run together (ends of one on
the other, and the stretch between within `tolerances.COINCIDENT_MM`) are split at each other's ends, and
the parts that coincide all take the control points of one of them. Then both sides give the same
chords, bit for bit, and GEOS sees one line.

The split segments remember the segment and the parameters they came from; the results are written
from there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.crossings import Curves, project
from bladewise.geometry.curves import point_at, sub_segments
from bladewise.geometry.keys import point_keys
from bladewise.geometry.meeting import hull_boxes
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.sources import Sources, has_extent
from bladewise.geometry.tolerances import COINCIDENT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_PROBES = np.array([0.13, 0.31, 0.5, 0.71, 0.87])
"""Where along a stretch two curves are held against each other; uneven, so that symmetry does not deceive."""

_LEAST_STRETCH = 4.0
"""Curves that run together for less than this many coincidence distances merely cross or touch."""


class Woven(NamedTuple):
    """Segments split and shared, and where they came from.

    Parameters
    ----------
    sources
        The segments to work with.
    parent
        The original segment each is a part of, shape (m,).
    t0, t1
        The original's parameters at its start and end, shape (m,); falling where it runs backwards.
    own
        The original in whose place each stands, rising, shape (m,). It differs from `parent` where a
        stretch took the form of another segment.
    """

    sources: Sources
    parent: NDArray[np.int64]
    t0: Floats
    t1: Floats
    own: NDArray[np.int64]


def weave(
    sources: Sources, first: NDArray[np.int64], second: NDArray[np.int64], apart_mm: float = COINCIDENT_MM
) -> Woven:
    """Return the segments with every shared stretch split off and given one form.

    Parameters
    ----------
    sources
        The segments as given.
    first, second
        Pairs whose boxes meet.
    apart_mm
        Curves that stay this close are one.
    """
    plain = unwoven(sources)
    first, second, twins = _likely(sources, first, second, apart_mm)
    if not len(first) and not len(twins):
        return plain
    touch = _Touches(sources, first, second, apart_mm)
    if not touch.any() and not len(twins):
        return plain
    involved = touch.involved()
    involved[twins] = True
    nodes = _Nodes(sources)
    split_rows, split_t, split_nodes = touch.splits(nodes)
    return _woven(sources, nodes, split_rows, split_t, split_nodes, involved, apart_mm)


def unwoven(sources: Sources) -> Woven:
    """Return the segments as they are, each its own part."""
    count = len(sources)
    own = np.arange(count)
    return Woven(sources, own, np.zeros(count), np.ones(count), own)


def _likely(
    sources: Sources, first: NDArray[np.int64], second: NDArray[np.int64], apart_mm: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs of which enough ends lie where the other curve may be for the two to run together.

    Segments that are the same to the last bit, either way round, come third and are not among the pairs.
    """
    low, high = hull_boxes(sources.points, apart_mm)
    tips = (sources.points[:, 0].copy(), sources.points[:, 3].copy())
    hits = np.zeros(len(first), np.int8)
    for one, two in ((first, second), (second, first)):
        box_low, box_high = low[two], high[two]
        for tip in tips:
            place = tip[one]
            inside = (place >= box_low) & (place <= box_high)
            hits += inside[:, 0] & inside[:, 1]
    likely = np.flatnonzero(hits >= 2)
    first, second = first[likely], second[likely]
    a, b = sources.points[first], sources.points[second]
    shared = np.zeros(len(first), np.int8)
    for mine in (0, 3):
        for theirs in (0, 3):
            shared += (a[:, mine, 0] == b[:, theirs, 0]) & (a[:, mine, 1] == b[:, theirs, 1])
    likely = (shared != 1) | (hits[likely] >= 3)
    alike = (sources.kinds[first] == sources.kinds[second]) & (sources.weights[first] == sources.weights[second])
    same = alike & ((a == b).all(axis=(1, 2)) | (a == b[:, ::-1]).all(axis=(1, 2)))
    twins = np.concatenate([first[same], second[same]])
    likely &= ~same
    first, second, shared = first[likely], second[likely], shared[likely]
    a, b = a[likely], b[likely]
    hits = np.zeros(len(first), np.int8)
    for one, two in ((a, b), (b, a)):
        hits += _in_fat_line(one[:, 0], two, apart_mm)
        hits += _in_fat_line(one[:, 3], two, apart_mm)
    likely = np.where(shared == 1, hits >= 3, hits >= 2)
    return first[likely], second[likely], twins


def _in_fat_line(place: Floats, curve: Floats, apart_mm: float) -> NDArray[np.bool_]:
    """Whether a point lies in the strip along the chord that holds the control points (Sederberg, Nishita 1990)."""
    start = curve[:, 0]
    way = curve[:, 3] - start
    length = np.hypot(way[:, 0], way[:, 1])
    x, y = way[:, 0], way[:, 1]

    def height(point: Floats) -> Floats:
        rise: Floats = x * (point[:, 1] - start[:, 1]) - y * (point[:, 0] - start[:, 0])
        return rise

    one, two, there = height(curve[:, 1]), height(curve[:, 2]), height(place)
    slack = apart_mm * length
    below = np.minimum(np.minimum(one, two), 0.0) - slack
    above = np.maximum(np.maximum(one, two), 0.0) + slack
    inside: NDArray[np.bool_] = (there >= below) & (there <= above)
    return inside


class _Touches:
    """Pairs that run together, and which end of which lies where on the other."""

    def __init__(self, sources: Sources, first: NDArray[np.int64], second: NDArray[np.int64], apart_mm: float) -> None:
        self.sources = sources
        self.apart_mm = apart_mm
        # four ends a pair: start and end of the first on the second, start and end of the second on the first
        self.rows = np.stack([second, second, first, first], axis=1)
        self.tips = np.stack([first, first, second, second], axis=1)
        self.corners = np.array([0, 3, 0, 3])
        places = np.stack([sources.points[self.tips[:, k], self.corners[k]] for k in range(4)], axis=1)
        t, away = project(_curves(sources, self.rows.ravel()), places.reshape(-1, 2))
        self.t = t.reshape(-1, 4)
        self.on = away.reshape(-1, 4) <= apart_mm
        own = np.where(self.on[:, :2], [0.0, 1.0], np.nan)  # parameters on the first where the stretch may end
        stops = np.concatenate([own, np.where(self.on[:, 2:], self.t[:, 2:], np.nan)], axis=1)
        enough = self.on.sum(axis=1) >= 2
        self._keep(enough)
        stops, first = stops[enough], first[enough]
        low, high = np.nanmin(stops, axis=1), np.nanmax(stops, axis=1)
        probes = low[:, None] + (high - low)[:, None] * _PROBES
        rows = np.repeat(first, len(_PROBES))
        places = point_at(*_curves(sources, rows), probes.ravel())
        _, away = project(_curves(sources, np.repeat(self.rows[:, 0], len(_PROBES))), places)
        together = (away.reshape(-1, len(_PROBES)) <= apart_mm).all(axis=1)
        spread = np.ptp(places.reshape(-1, len(_PROBES), 2), axis=1).max(axis=1)
        self._keep(together & (spread > _LEAST_STRETCH * apart_mm))

    def _keep(self, wanted: NDArray[np.bool_]) -> None:
        self.rows, self.tips = self.rows[wanted], self.tips[wanted]
        self.t, self.on = self.t[wanted], self.on[wanted]

    def any(self) -> bool:
        """Whether any two curves run together."""
        return len(self.rows) > 0

    def involved(self) -> NDArray[np.bool_]:
        """Return which segments share a stretch with another, shape (m,)."""
        out = np.zeros(len(self.sources), np.bool_)
        out[self.rows.ravel()] = True
        return out

    def splits(self, nodes: _Nodes) -> tuple[NDArray[np.int64], Floats, NDArray[np.int64]]:
        """Return where segments are to be split: segment, parameter and the node that stands there.

        Ends that fall on the other's end make the two nodes one instead.
        """
        on = self.on.ravel()
        rows, t, tips = self.rows.ravel()[on], self.t.ravel()[on], self.tips.ravel()[on]
        corner = np.tile(self.corners, len(self.rows))[on]
        node = np.where(corner == 0, nodes.start[tips], nodes.end[tips])
        place = nodes.places[node]
        inner = np.ones(len(rows), np.bool_)
        for end, ends in ((0, nodes.start), (3, nodes.end)):
            at = np.hypot(*(self.sources.points[rows, end] - place).T) <= self.apart_mm
            at &= np.abs(t - end / 3.0) < 0.25  # a closed curve's start is not its end
            nodes.unite(ends[rows[at]], node[at])
            inner &= ~at
        return rows[inner], t[inner], node[inner]


class _Nodes:
    """The ends of all segments, numbered, with those that are to be one united."""

    def __init__(self, sources: Sources) -> None:
        ends = np.concatenate([sources.points[:, 0], sources.points[:, 3]])
        _, first, number = np.unique(point_keys(ends), return_index=True, return_inverse=True)
        self.places = ends[first]
        self.start, self.end = number[: len(sources)], number[len(sources) :]
        self.leader = np.arange(len(self.places))

    def unite(self, one: NDArray[np.int64], two: NDArray[np.int64]) -> None:
        """Make nodes one, pair by pair; the smaller number leads."""
        for a, b in zip(one.tolist(), two.tolist(), strict=True):
            if a != b:
                a, b = self._find(a), self._find(b)
                self.leader[max(a, b)] = min(a, b)

    def _find(self, node: int) -> int:
        while self.leader[node] != node:
            self.leader[node] = self.leader[self.leader[node]]
            node = int(self.leader[node])
        return node

    def settled(self) -> NDArray[np.int64]:
        """Return the leading node of each node."""
        leader = self.leader
        while (leader[leader] != leader).any():
            leader = leader[leader]
        return leader


def _woven(
    sources: Sources,
    nodes: _Nodes,
    rows: NDArray[np.int64],
    t: Floats,
    node: NDArray[np.int64],
    involved: NDArray[np.bool_],
    apart_mm: float,
) -> Woven:
    rows, t, node = _thinned(sources, nodes, rows, t, node, apart_mm)
    leader = nodes.settled()
    count = len(sources)
    pieces = np.ones(count, np.int64)
    np.add.at(pieces, rows, 1)
    parent = np.repeat(np.arange(count), pieces)
    offset = np.cumsum(pieces) - pieces
    t0, t1 = np.zeros(len(parent)), np.ones(len(parent))
    start, end = nodes.start[parent], nodes.end[parent]
    if len(rows):
        rank = np.arange(len(rows)) - np.searchsorted(rows, rows)
        at = offset[rows] + rank
        t1[at], t0[at + 1] = t, t
        end[at], start[at + 1] = node, node
    start, end = leader[start], leader[end]
    points, kinds, weights = sources.points[parent], sources.kinds[parent], sources.weights[parent]
    part = np.flatnonzero((t0 != 0.0) | (t1 != 1.0))
    points[part], weights[part] = sub_segments(points[part], kinds[part], weights[part], t0[part], t1[part])
    points[:, 0], points[:, 3] = nodes.places[start], nodes.places[end]
    own = parent.copy()
    _share(Curves(points, kinds, weights), start, end, involved[parent], parent, t0, t1, apart_mm)
    straight = kinds == SegmentKind.LINE
    points[straight, 1], points[straight, 2] = points[straight, 0], points[straight, 3]
    ring = np.repeat(sources.ring, pieces)
    starts = np.append(offset, len(ring))[sources.ring_starts]
    real = has_extent(points)
    if not real.all():  # a segment between two nodes that became one
        kept = np.append(0, np.cumsum(real))
        starts = kept[starts]
        points, kinds, weights, ring = points[real], kinds[real], weights[real], ring[real]
        parent, t0, t1, own = parent[real], t0[real], t1[real], own[real]
    filled = np.diff(starts) > 0
    number = np.cumsum(filled) - 1
    woven = Sources(
        points,
        kinds,
        weights,
        number[ring],
        np.append(starts[:-1][filled], starts[-1]),
        sources.ring_region[filled],
        sources.ring_closed[filled],
    )
    return Woven(woven, parent, t0, t1, own)


def _thinned(
    sources: Sources,
    nodes: _Nodes,
    rows: NDArray[np.int64],
    t: Floats,
    node: NDArray[np.int64],
    apart_mm: float,
) -> tuple[NDArray[np.int64], Floats, NDArray[np.int64]]:
    """Return the splits in order along each segment, those that fall together made one."""
    order = np.lexsort((t, rows))
    rows, t, node = rows[order], t[order], node[order]
    del sources
    again = (rows[1:] == rows[:-1]) & (np.hypot(*(nodes.places[node[1:]] - nodes.places[node[:-1]]).T) <= apart_mm)
    again &= t[1:] - t[:-1] < 0.25
    nodes.unite(node[1:][again], node[:-1][again])
    keep = np.append(True, ~again)[: len(rows)]
    return rows[keep], t[keep], node[keep]


def _share(
    curves: Curves,
    start: NDArray[np.int64],
    end: NDArray[np.int64],
    involved: NDArray[np.bool_],
    parent: NDArray[np.int64],
    t0: Floats,
    t1: Floats,
    apart_mm: float,
) -> None:
    """Give all parts that lie on one another the form of the first of them; changes the arrays given."""
    points, kinds, weights = curves
    rows = np.flatnonzero(involved)
    low, high = np.minimum(start[rows], end[rows]), np.maximum(start[rows], end[rows])
    order = np.lexsort((rows, high, low))
    rows, low, high = rows[order], low[order], high[order]
    while len(rows):
        lead = np.append(True, (low[1:] != low[:-1]) | (high[1:] != high[:-1]))
        group = np.cumsum(lead) - 1
        leader = rows[lead][group]
        probes = point_at(*_rows(curves, np.repeat(rows, 3)), np.tile([0.29, 0.5, 0.77], len(rows)))
        _, away = project(_rows(curves, np.repeat(leader, 3)), probes)
        same = (away.reshape(-1, 3) <= 2.0 * apart_mm).all(axis=1)
        follow = same & ~lead
        one, two = rows[follow], leader[follow]
        turned = start[one] != start[two]
        loop = start[one] == end[one]
        ahead, astern = points[one, 1] - points[two, 1], points[one, 1] - points[two, 2]
        turned |= loop & ((ahead * ahead).sum(axis=1) > (astern * astern).sum(axis=1))
        points[one] = np.where(turned[:, None, None], points[two][:, ::-1], points[two])
        kinds[one], weights[one], parent[one] = kinds[two], weights[two], parent[two]
        t0[one], t1[one] = np.where(turned, t1[two], t0[two]), np.where(turned, t0[two], t1[two])
        left = ~same & ~lead  # a leader is done, even one whose own points are not found again on it
        rows, low, high = rows[left], low[left], high[left]


def _curves(sources: Sources, rows: NDArray[np.int64]) -> Curves:
    return Curves(sources.points[rows], sources.kinds[rows], sources.weights[rows])


def _rows(curves: Curves, rows: NDArray[np.int64]) -> Curves:
    return Curves(curves.points[rows], curves.kinds[rows], curves.weights[rows])
