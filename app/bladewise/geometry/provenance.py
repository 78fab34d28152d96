"""Which curve, and where on it, every edge of a GEOS result came from.

GEOS keeps the exact coordinates of the vertices it does not create, so almost every edge of a result
is a chord that went in, bit for bit: it is found by a hash of its two ends. Only the edges that end
at a crossing are looked up by place, through the boxes of the segments.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.flatten import chord_counts, chord_vertices
from bladewise.geometry.keys import edge_keys, point_keys
from bladewise.geometry.meeting import Meetings
from bladewise.geometry.tolerances import COINCIDENT_MM
from bladewise.geometry.weave import unwoven

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.weave import Woven

_ASTRAY_MM = 1e-6
"""An edge of a result farther than this from every chord is nobody's (GEOS moves points by 1e-12 of their size)."""


_BESIDE_MM = 1e-9
"""An edge that begins at a chord's vertex and stays this near lies on that chord; no other need be looked at."""


_AT_ONCE = 2_000_000
"""Pairs of an edge and a chord held at one time; bounds memory to some 200 MB."""


class Chords(NamedTuple):
    """The chords of all segments.

    Parameters
    ----------
    start, end
        Vertices, shape (c, 2).
    piece
        The woven segment of each chord, rising, shape (c,).
    first
        First chord of each woven segment and, last, the number of chords, shape (p + 1,).
    segment
        The original segment, shape (c,).
    t0, t1
        The original's parameters at the chord's ends, shape (c,).
    node0, node1
        Whether the chord's start and end are ends of the woven segment, shape (c,).
    """

    start: Floats
    end: Floats
    piece: NDArray[np.int64]
    first: NDArray[np.int64]
    segment: NDArray[np.int64]
    t0: Floats
    t1: Floats
    node0: NDArray[np.bool_]
    node1: NDArray[np.bool_]


def chords_of(woven: Woven, tolerance_mm: float | Floats, few: NDArray[np.int64] | None = None) -> Chords:
    """Return the chords of all woven segments, within a tolerance of the curves (one for all or one each).

    Where `few` is not 0 it says how many chords a segment gets instead.
    """
    sources = woven.sources
    if not len(sources):
        none, never = np.zeros(0, np.int64), np.zeros(0, np.bool_)
        places, numbers = np.zeros((0, 2)), np.zeros(0)
        return Chords(places, places, none, np.zeros(1, np.int64), none, numbers, numbers, never, never)
    if few is None:
        counts = chord_counts(sources.points, sources.kinds, sources.weights, tolerance_mm)
    else:
        counts = few.copy()
        bent = np.flatnonzero(few == 0)
        tolerance = np.broadcast_to(tolerance_mm, (len(sources),))[bent]
        counts[bent] = chord_counts(sources.points[bent], sources.kinds[bent], sources.weights[bent], tolerance)
    coords, piece, t0 = chord_vertices(sources.points, sources.kinds, sources.weights, counts)
    first = np.concatenate([[0], np.cumsum(counts)])
    end, t1 = np.empty_like(coords), np.empty_like(t0)
    end[:-1], t1[:-1] = coords[1:], t0[1:]
    last = first[1:] - 1
    end[last] = sources.points[:, 3]
    t1[last] = 1.0
    node0, node1 = t0 == 0.0, t1 == 1.0
    low, high = woven.t0[piece], woven.t1[piece]
    if (woven.t0 != 0.0).any() or (woven.t1 != 1.0).any():
        t0, t1 = low + (high - low) * t0, np.where(node1, high, low + (high - low) * t1)
    return Chords(coords, end, piece, first, woven.parent[piece], t0, t1, node0, node1)


def closed_rings(woven: Woven, chords: Chords) -> tuple[Floats, NDArray[np.int64]]:
    """Return the vertices of every ring, its last point included, and the ring of each vertex."""
    sources = woven.sources
    ring = sources.ring[chords.piece]
    last = chords.first[sources.ring_starts[1:]]
    coords = np.insert(chords.start, last, sources.points[sources.ring_starts[1:] - 1, 3], axis=0)
    return coords, np.insert(ring, last, np.arange(len(last)))


class Traced(NamedTuple):
    """Edges of a result on their sources.

    Parameters
    ----------
    segment
        The original segment each edge lies on, −1 for none, shape (e,).
    t0, t1
        Parameters at the edge's two ends, in its own direction, shape (e,).
    node0, node1
        Whether the edge's ends are ends of a woven segment, shape (e,).
    """

    segment: NDArray[np.int64]
    t0: Floats
    t1: Floats
    node0: NDArray[np.bool_]
    node1: NDArray[np.bool_]


class _Found(NamedTuple):
    """Arrays that a look-up fills: the chord of each edge, parameters and node marks at both its ends."""

    chord: NDArray[np.int64]
    t: tuple[Floats, Floats]
    node: tuple[NDArray[np.bool_], NDArray[np.bool_]]


class ChordIndex:
    """All chords that went into GEOS, ready to be asked for."""

    def __init__(self, woven: Woven, chords: Chords, meetings: Meetings | None = None) -> None:
        """Hash every chord; look-ups by place use the tree of the original segments' boxes, if it is there already."""
        self.chords = chords
        self._woven = woven
        self._meetings = meetings
        keys = point_keys(chords.start)
        ends = np.append(keys[1:], np.uint64(0))[: len(keys)]
        last = chords.first[1:] - 1
        ends[last] = point_keys(chords.end[last])
        self._keys = edge_keys(keys, ends)
        self._ends = (keys, ends)

    def trace(self, start: Floats, end: Floats) -> Traced:
        """Return where on the sources the edges from `start` to `end` lie, shapes (e, 2)."""
        chords = self.chords
        chord = np.full(len(start), -1, np.int64)
        t0, t1 = np.zeros(len(start)), np.ones(len(start))
        node0, node1 = np.zeros(len(start), np.bool_), np.zeros(len(start), np.bool_)
        if len(self._keys) and len(start):
            tips = (point_keys(start), point_keys(end))
            keys = edge_keys(*tips)
            known = _among(self._keys, keys)
            sorted_keys = self._keys[known]
            order = np.argsort(sorted_keys)
            known, sorted_keys = known[order], sorted_keys[order]
            place = np.minimum(np.searchsorted(sorted_keys, keys), max(len(known) - 1, 0))
            hit = np.flatnonzero(sorted_keys[place] == keys) if len(known) else np.zeros(0, np.int64)
            found = known[place[hit]]
            same = (chords.start[found] == start[hit]).all(axis=1)
            chord[hit] = found
            t0[hit] = np.where(same, chords.t0[found], chords.t1[found])
            t1[hit] = np.where(same, chords.t1[found], chords.t0[found])
            node0[hit] = np.where(same, chords.node0[found], chords.node1[found])
            node1[hit] = np.where(same, chords.node1[found], chords.node0[found])
            lost = np.flatnonzero(chord < 0)
            found_edges = _Found(chord, (t0, t1), (node0, node1))
            self._choose(start, end, lost, self._beside(tips[0][lost], tips[1][lost]), _BESIDE_MM, found_edges)
            lost = lost[chord[lost] < 0]
            self._choose(start, end, lost, self.near(0.5 * (start[lost] + end[lost])), _ASTRAY_MM, found_edges)
        segment = self._segments(chord)
        return Traced(segment, t0, t1, node0, node1)

    def _segments(self, chord: NDArray[np.int64]) -> NDArray[np.int64]:
        if not len(self.chords.segment):
            return chord
        return np.where(chord >= 0, self.chords.segment[np.maximum(chord, 0)], -1)

    def locate(self, points: Floats) -> tuple[NDArray[np.int64], Floats]:
        """Return the segment nearest to each point and the parameter there, −1 where none is within a micron (n,)."""
        chord = np.full(len(points), -1, np.int64)
        t0, t1 = np.zeros(len(points)), np.zeros(len(points))
        if len(points) and len(self.chords.segment):
            never = np.zeros(len(points), np.bool_)
            every = np.arange(len(points))
            found = _Found(chord, (t0, t1), (never, never.copy()))
            self._choose(points, points, every, self.near(points), _ASTRAY_MM, found)
        segment = self._segments(chord)
        return segment, t0

    def _beside(
        self, start: NDArray[np.uint64], end: NDArray[np.uint64]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of an edge and a chord that share a vertex, edges given by the keys of their ends."""
        edges, chords = [], []
        wanted = np.concatenate([start, end])
        for tips in self._ends:
            known = _among(tips, wanted)
            known = known[np.argsort(tips[known])]
            keys = tips[known]
            first, last = np.searchsorted(keys, wanted), np.searchsorted(keys, wanted, side="right")
            edge, place = _spread(first, last)
            edges.append(edge % max(len(start), 1))
            chords.append(known[place])
        return np.concatenate(edges), np.concatenate(chords)

    def near(self, places: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of a place and a chord whose box holds it."""
        place, piece = self._pieces_at(places)
        blocks = np.cumsum(self.chords.first[piece + 1] - self.chords.first[piece]) // _AT_ONCE
        parts = np.split(np.arange(len(piece)), np.flatnonzero(np.diff(blocks)) + 1)
        found = [self._on_pieces(places, place[part], piece[part]) for part in parts]
        return np.concatenate([pair[0] for pair in found]), np.concatenate([pair[1] for pair in found])

    def _on_pieces(
        self, places: Floats, place: NDArray[np.int64], piece: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of a place and a chord whose box holds it, given the pieces that may."""
        chords = self.chords
        pair, candidate = _spread(chords.first[piece], chords.first[piece + 1])
        place = place[pair]
        there = places[place]
        slack = _ASTRAY_MM * np.maximum(1.0, np.abs(there).max(axis=1, initial=0.0) * 1e-3)
        inside = np.ones(len(place), np.bool_)
        for axis in (0, 1):
            a, b, c = chords.start[candidate, axis], chords.end[candidate, axis], there[:, axis]
            inside &= (np.minimum(a, b) - slack <= c) & (c <= np.maximum(a, b) + slack)
        return place[inside], candidate[inside]

    def _choose(
        self,
        start: Floats,
        end: Floats,
        lost: NDArray[np.int64],
        candidates: tuple[NDArray[np.int64], NDArray[np.int64]],
        apart_mm: float,
        into: _Found,
    ) -> None:
        """Give each lost edge the nearest of its candidate chords, if it is near enough."""
        edge, candidate = candidates
        if not len(edge):
            return
        chords = self.chords
        a, b = chords.start[candidate], chords.end[candidate]
        u0, away0 = along(start[lost[edge]], a, b)
        u1, away1 = along(end[lost[edge]], a, b)
        away = np.maximum(away0, away1)
        best = np.lexsort((candidate, away, edge))
        edge = edge[best]
        lead = np.append(True, edge[1:] != edge[:-1])
        edge, best = edge[lead], best[lead]
        size = np.abs(start[lost[edge]]).max(axis=1)
        near = away[best] <= apart_mm * np.maximum(1.0, size * 1e-3)
        edge, best = edge[near], best[near]
        found, rows = candidate[best], lost[edge]
        into.chord[rows] = found
        span = chords.t1[found] - chords.t0[found]
        for u, t_end, node_end in zip((u0[best], u1[best]), into.t, into.node, strict=True):
            t_end[rows] = np.where(u == 1.0, chords.t1[found], chords.t0[found] + u * span)
            node_end[rows] = np.where(u == 1.0, chords.node1[found], (u == 0.0) & chords.node0[found])

    def _pieces_at(self, places: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the pairs of a place and a woven segment that may pass it."""
        if self._meetings is None:
            self._meetings = Meetings(self._woven.sources, COINCIDENT_MM)
            self._woven = unwoven(self._woven.sources)
        place, original = self._meetings.at(places)
        own = self._woven.own
        pair, piece = _spread(np.searchsorted(own, original), np.searchsorted(own, original, side="right"))
        return place[pair], piece


def _among(known: NDArray[np.uint64], keys: NDArray[np.uint64]) -> NDArray[np.int64]:
    """Return the places of known keys that may be among the given ones; the rest needs no sorting."""
    if 2 * len(keys) > len(known):
        return np.arange(len(known))
    bits = max(16, len(keys).bit_length() + 3)
    seen = np.zeros(1 << bits, np.bool_)
    shift = np.uint64(64 - bits)
    seen[keys >> shift] = True
    return np.flatnonzero(seen[known >> shift])


def _spread(first: NDArray[np.int64], last: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return all pairs of a row and a number from its first up to its last (not included)."""
    count = last - first
    within = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)
    return np.repeat(np.arange(len(first)), count), np.repeat(first, count) + within


def along(point: Floats, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Return how far along the chord a–b each point lies (0…1) and its distance in mm, two arrays (n,).

    Exactly 0 and 1 at the chord's own ends.
    """
    way = b - a
    length2 = (way * way).sum(axis=1)
    rest = point - a
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.clip(np.nan_to_num((rest * way).sum(axis=1) / length2), 0.0, 1.0)
    foot = a + u[:, None] * way
    return u, np.hypot(*(point - foot).T)
