"""Raw outlines beside a path: every place they enclose is covered, none is covered by mistake.

The area a stroke paints is a union of simple parts: for each span a strip on either side, for each
corner a wedge on its outer side, for each open end a cap. Every part is oriented the same way, so
that the sum of all their outlines encloses each place as often as parts cover it and never less
often than not at all; the nonzero rule over the sum paints exactly the union. Edges that two
neighbours share run both ways and drop out of the sum, which leaves one closed outline for an open
subpath and two for a closed one. On the inner side of a corner the outline passes through the
corner point itself: that is what is left of the two strips' ends.

Where a curve is tighter than the distance, the strip on its inner side folds over: it narrows to the
centres of curvature (the evolute) and opens again beyond them. The two halves are told apart at the
evolute, so that the second, which would count backwards, becomes an outline of its own.

The crossings that remain are for the curve-true kernel to resolve.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.offset_curves import Pieces, cross, dot, fit_parallels, lengths_of, normals_of
from bladewise.geometry.path import EMPTY, Path, SegmentKind, circle, joined
from bladewise.geometry.spans import CUSP, SMOOTH, spans
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.spans import Spans

LEFT, RIGHT = -1, 1
"""The sides of a path, as the signs of the distance along its normal (see `offset_curves`)."""

_SMOOTH_SHARE = 0.1
"""A corner whose outer and inner finish differ by less than this share of the tolerance is none."""

_SMOOTH_ARC_MM = 1e-4
"""Ends of arcs of circles move no further than this to meet a neighbour: they stay circles."""

_EVOLUTE_PARTS = 32
"""Chords that stand for the evolute of a folded span; it lies inside the painted area but for blunt ends."""

_QUARTER = math.pi / 2.0 + 1e-6


class _Rows:
    """Segments collected with the place they take in the outline; sorted once at the end."""

    def __init__(self) -> None:
        self._keys: list[NDArray[np.int64]] = []
        self._points: list[Floats] = []
        self._kinds: list[NDArray[np.uint8]] = []
        self._weights: list[Floats] = []

    def add(
        self,
        ring: NDArray[np.int64],
        stage: int,
        key: NDArray[np.int64],
        sub: NDArray[np.int64] | int,
        points: Floats,
        kind: SegmentKind,
        weights: Floats | None = None,
        *,
        against: bool = False,
    ) -> None:
        """Take n segments; `against` runs them, and their order, backwards."""
        count = len(points)
        order = np.stack(
            [ring, np.full(count, stage), key, np.broadcast_to(np.asarray(sub, dtype=np.int64), (count,))], axis=1
        )
        if against:
            order[:, 2:] *= -1
            points = points[:, ::-1]
        self._keys.append(order)
        self._points.append(points)
        self._kinds.append(np.full(count, kind, np.uint8))
        self._weights.append(np.ones(count) if weights is None else weights)

    def path(self) -> Path:
        """Return the closed outlines; segments of no length dropped, straight runs joined to one line."""
        if not self._points:
            return EMPTY
        points = np.concatenate(self._points)
        kinds, weights, keys = np.concatenate(self._kinds), np.concatenate(self._weights), np.concatenate(self._keys)
        keep = lengths_of(points - points[:, :1]).max(axis=1) > SAME_POINT_MM
        points, kinds, weights, keys = points[keep], kinds[keep], weights[keep], keys[keep]
        if not len(points):
            return EMPTY
        order = np.lexsort((keys[:, 3], keys[:, 2], keys[:, 1], keys[:, 0]))
        points, kinds, weights, ring = points[order], kinds[order], weights[order], keys[order, 0]
        points, kinds, weights, ring = _straightened(points, kinds, weights, ring)
        starts = np.flatnonzero(np.append([True], ring[1:] != ring[:-1])).astype(np.int64)
        following = np.arange(1, len(points) + 1)
        following[np.append(starts[1:], len(points)) - 1] = starts
        points[following, 0] = points[:, 3]
        line = kinds == SegmentKind.LINE
        points[line, 1], points[line, 2] = points[line, 0], points[line, 3]
        return Path(points, kinds, weights, starts, np.ones(len(starts), bool))


def _straightened(
    points: Floats, kinds: NDArray[np.uint8], weights: Floats, ring: NDArray[np.int64]
) -> tuple[Floats, NDArray[np.uint8], Floats, NDArray[np.int64]]:
    """Join lines that go on in the same direction within one outline."""
    line = kinds == SegmentKind.LINE
    way = points[:, 3] - points[:, 0]
    size = lengths_of(way)
    onward = line[:-1] & line[1:] & (ring[:-1] == ring[1:]) & (dot(way[:-1], way[1:]) > 0.0)
    stray = np.abs(cross(way[:-1], way[1:])) / np.maximum(np.maximum(size[:-1], size[1:]), 1e-300)
    onward &= stray < SAME_POINT_MM
    first = np.flatnonzero(np.append([True], ~onward))
    last = np.append(first[1:], len(points)) - 1
    merged = points[first].copy()
    merged[:, 3] = points[last, 3]
    return merged, kinds[first], weights[first], ring[first]


def outlines(
    path: Path,
    distance_mm: float,
    *,
    join: str,
    miter_limit: float,
    tolerance_mm: float,
    cap: str = "butt",
    sides: Sequence[int] = (LEFT, RIGHT),
    dot_direction: tuple[float, float] = (1.0, 0.0),
) -> Path:
    """Return closed outlines whose nonzero union is what lies within a distance beside the path.

    Parameters
    ----------
    path
        Open or closed subpaths.
    distance_mm
        How far to go on each side, > 0.
    join
        "miter", "round" or "bevel".
    miter_limit
        Largest miter length over width; beyond it a miter becomes a bevel.
    tolerance_mm
        Largest distance between the curves returned and the exact parallels.
    cap
        "butt", "round" or "square", for open subpaths.
    sides
        Both for a stroke. One alone is for closed paths: the path's own area, counted by its
        winding, and the strip on that side.
    dot_direction
        Which way squares at subpaths of no length face.

    Returns
    -------
    Path
        To be painted nonzero. Clockwise on the screen around what is covered.
    """
    if distance_mm <= 0.0 or not path:
        return EMPTY
    some = spans(path, distance_mm)
    rows = _Rows()
    if len(some.row):
        _draw(rows, some, distance_mm, join, miter_limit, tolerance_mm, cap, sides)
    discs = dots(some.points[some.joint == CUSP, 1], np.zeros((0, 2)), distance_mm, "round")
    return joined([rows.path(), discs, dots(some.dots, np.array([dot_direction]), distance_mm, cap)])


def dots(places: Floats, directions: Floats, distance_mm: float, cap: str) -> Path:
    """Return what caps paint at dashes and subpaths of no length: discs, squares, or nothing.

    Parameters
    ----------
    places
        Where, mm, shape (d, 2).
    directions
        Which way the squares face, shape (d, 2) or (1, 2); any length.
    distance_mm
        Half the stroke's width.
    cap
        "round", "square" or "butt".
    """
    if not len(places) or cap == "butt":
        return EMPTY
    if cap == "round":
        return joined([circle((x, y), distance_mm) for x, y in places.tolist()])
    ahead = distance_mm * directions / np.maximum(lengths_of(directions), 1e-300)[:, None]
    aside = normals_of(ahead)
    corner = places[:, None] + np.stack([-ahead - aside, ahead - aside, ahead + aside, aside - ahead], axis=1)
    after = np.roll(corner, -1, axis=1)
    count = len(places)
    return Path(
        np.stack([corner, corner, after, after], axis=2).reshape(-1, 4, 2),
        np.full(4 * count, SegmentKind.LINE, np.uint8),
        np.ones(4 * count),
        np.arange(0, 4 * count, 4),
        np.ones(count, bool),
    )


def _draw(
    rows: _Rows,
    some: Spans,
    distance_mm: float,
    join: str,
    miter_limit: float,
    tolerance_mm: float,
    cap: str,
    sides: Sequence[int],
) -> None:
    count = len(some.row)
    first = np.append([True], some.subpath[1:] != some.subpath[:-1])
    last = np.append(some.subpath[1:] != some.subpath[:-1], [True])
    after = np.arange(1, count + 1)
    after[last] = np.flatnonzero(first)
    meets = ~last | some.closed[some.subpath]
    one = np.flatnonzero(meets)
    two = after[one]
    corners = _Corners(some, one, two, distance_mm, tolerance_mm)
    closed = some.closed[some.subpath]
    ring = some.subpath * 2
    for side in sides:
        ends = some.points + side * distance_mm * normals_of(some.tangents)
        against = side == RIGHT
        stage = 2 if against else 0
        whose = ring + (closed & against)
        corners.finish(rows, ends, side, whose, stage, join, miter_limit)
        _strips(rows, some, ends, side, distance_mm, whose, stage, tolerance_mm)
    if len(sides) == 2:
        starts, stops = np.flatnonzero(first & ~closed), np.flatnonzero(last & ~closed)
        for which, end, stage, sign in ((stops, 1, 1, 1.0), (starts, 0, 3, -1.0)):
            _caps(rows, ring[which], stage, some.points[which, end], sign * some.tangents[which, end], distance_mm, cap)


class _Corners:
    """Where spans meet: how far the path turns there, and what is drawn on either side."""

    def __init__(
        self, some: Spans, one: NDArray[np.int64], two: NDArray[np.int64], distance_mm: float, tolerance_mm: float
    ) -> None:
        self.some, self.one, self.two, self.distance = some, one, two, distance_mm
        self.place = some.points[one, 1]
        into, out = some.tangents[one, 1], some.tangents[two, 0]
        self.turn = np.arctan2(cross(into, out), dot(into, out))
        sharp = np.abs(self.turn)
        round_ = ~np.isnan(some.radius)
        error = distance_mm * sharp * sharp / 8.0
        snug = error < _SMOOTH_SHARE * tolerance_mm
        snug &= ~(round_[one] | round_[two]) | (distance_mm * sharp < _SMOOTH_ARC_MM)
        snug &= sharp < 0.1
        self.cusp = some.joint[one] == CUSP
        self.smooth = ((some.joint[one] == SMOOTH) | snug) & ~self.cusp
        middle = into + out
        middle /= np.maximum(lengths_of(middle), 1e-300)[:, None]
        self.normal = normals_of(middle)

    def finish(
        self,
        rows: _Rows,
        ends: Floats,
        side: int,
        ring: NDArray[np.int64],
        stage: int,
        join: str,
        miter_limit: float,
    ) -> None:
        """Draw one side's corners, and move the ends of its strips (k, 2, 2) to where they meet them."""
        some, one, two = self.some, self.one, self.two
        plain = np.flatnonzero(self.smooth)
        met = self.place[plain] + side * self.distance * self.normal[plain]
        ends[one[plain], 1] = ends[two[plain], 0] = met
        key, ring = 4 * one + 2, ring[one]
        against = side == RIGHT
        outer = ~self.smooth & ~self.cusp & (np.where(self.turn > 0.0, LEFT, RIGHT) == side)
        through = ~self.smooth & ~outer

        # two lines on the inner side of their corner: cut where they cross, if both are long enough
        size = lengths_of(some.points[:, 1] - some.points[:, 0])
        half = np.abs(self.turn) / 2.0
        cut = self.distance * np.tan(np.minimum(half, 1.5))
        short = through & ~self.cusp & some.straight[one] & some.straight[two] & (half < 1.5)
        short &= (cut < 0.5 * size[one]) & (cut < 0.5 * size[two])
        reach = side * self.distance / np.maximum(np.cos(half), 1e-9)
        tip = self.place + reach[:, None] * self.normal
        ends[one[short], 1] = ends[two[short], 0] = tip[short]
        through &= ~short

        if join == "miter":
            pointed = outer & (miter_limit * np.cos(half) * (1.0 + 1e-12) >= 1.0)
            for end, which, row in ((1, one, 0), (0, two, 1)):
                stretched = pointed & some.straight[which]
                ends[which[stretched], end] = tip[stretched]
                bent = np.flatnonzero(pointed & ~some.straight[which])
                edge = [ends[which[bent], end], tip[bent]]
                start, stop = edge if end == 1 else edge[::-1]
                rows.add(ring[bent], stage, key[bent], row, _lines(start, stop), SegmentKind.LINE, against=against)
            outer &= ~pointed
        start, stop = ends[one, 1], ends[two, 0]
        if join == "round":
            which = np.flatnonzero(outer)
            _round(
                rows,
                self.place[which],
                start[which],
                stop[which],
                self.turn[which],
                ring[which],
                stage,
                key[which],
                against=against,
            )
        else:
            which = np.flatnonzero(outer)
            rows.add(
                ring[which], stage, key[which], 0, _lines(start[which], stop[which]), SegmentKind.LINE, against=against
            )
        which = np.flatnonzero(through)
        for row, a, b in ((0, start, self.place), (1, self.place, stop)):
            rows.add(ring[which], stage, key[which], row, _lines(a[which], b[which]), SegmentKind.LINE, against=against)


def _lines(start: Floats, stop: Floats) -> Floats:
    return np.stack([start, start, stop, stop], axis=1)


def _round(
    rows: _Rows,
    centre: Floats,
    start: Floats,
    stop: Floats,
    turn: Floats,
    ring: NDArray[np.int64],
    stage: int,
    key: NDArray[np.int64],
    *,
    against: bool = False,
) -> None:
    """Draw arcs about centres from start to stop, in quarter turns or less; turn in radians, clockwise positive."""
    a, b = start - centre, stop - centre
    half = turn / 2.0
    middle = np.stack(
        [a[:, 0] * np.cos(half) - a[:, 1] * np.sin(half), a[:, 0] * np.sin(half) + a[:, 1] * np.cos(half)], axis=1
    )
    wide = np.abs(turn) > _QUARTER
    for which, ends in ((~wide, ((a, b),)), (wide, ((a, middle), (middle, b)))):
        for sub, (p, q) in enumerate(ends):
            p, q = p[which], q[which]
            weight = np.cos(turn[which] / (2.0 * len(ends)))
            control = centre[which] + (p + q) / (2.0 * weight * weight)[:, None]
            points = np.stack([centre[which] + p, control, control, centre[which] + q], axis=1)
            rows.add(ring[which], stage, key[which], sub, points, SegmentKind.ARC, weight, against=against)


def _caps(
    rows: _Rows,
    ring: NDArray[np.int64],
    stage: int,
    place: Floats,
    outward: Floats,
    distance_mm: float,
    cap: str,
) -> None:
    """Draw the ends of open subpaths, from the left side around to the right as seen looking outward."""
    start, stop = place - distance_mm * normals_of(outward), place + distance_mm * normals_of(outward)
    key = np.zeros(len(place), np.int64)
    if cap == "round":
        _round(rows, place, start, stop, np.full(len(place), math.pi), ring, stage, key)
        return
    corners = [start, stop]
    if cap == "square":
        corners[1:1] = [start + distance_mm * outward, stop + distance_mm * outward]
    for sub, (a, b) in enumerate(itertools.pairwise(corners)):
        rows.add(ring, stage, key, sub, _lines(a, b), SegmentKind.LINE)


def _strips(
    rows: _Rows,
    some: Spans,
    ends: Floats,
    side: int,
    distance_mm: float,
    ring: NDArray[np.int64],
    stage: int,
    tolerance_mm: float,
) -> None:
    """Draw one side of every span: lines for lines, arcs for arcs, fitted cubics for the rest."""
    against = side == RIGHT
    key = 4 * np.arange(len(some.row))
    folded = some.fold == side
    own = np.int64(2 * len(some.closed)) + 2 * np.arange(len(some.row)) + (side == RIGHT)

    def put(
        which: NDArray[np.int64],
        sub: NDArray[np.int64] | int,
        points: Floats,
        kind: SegmentKind,
        weights: Floats | None,
    ) -> None:
        plain = ~folded[which]
        subs = np.broadcast_to(np.asarray(sub, dtype=np.int64), which.shape)
        for chosen, whose, at, flip in ((plain, ring, stage, against), (~plain, own, 1, not against)):
            index = which[chosen]
            share = None if weights is None else weights[chosen]
            rows.add(whose[index], at, key[index], subs[chosen], points[chosen], kind, share, against=flip)

    line = np.flatnonzero(some.straight)
    put(line, 0, _lines(ends[line, 0], ends[line, 1]), SegmentKind.LINE, None)

    arc = np.flatnonzero(~np.isnan(some.radius))
    scale = 1.0 - side * distance_mm / some.radius[arc]
    control = ends[arc, 0] + (some.leg[arc] * scale)[:, None] * some.tangents[arc, 0]
    whole = np.abs(scale * some.radius[arc]) > SAME_POINT_MM
    put(
        arc[whole],
        0,
        np.stack([ends[arc, 0], control, control, ends[arc, 1]], axis=1)[whole],
        SegmentKind.ARC,
        np.abs(np.cos(np.arctan2(some.leg[arc], np.abs(some.radius[arc]))))[whole],
    )

    free = np.flatnonzero(~some.straight & np.isnan(some.radius))
    pieces = Pieces(
        some.row[free],
        np.full(len(free), side * distance_mm),
        some.t[free],
        ends[free],
        some.tangents[free],
        np.where(folded[free], -1.0, 1.0),
    )
    whose, points = fit_parallels(some.curves, pieces, tolerance_mm)
    put(free[whose], np.arange(len(whose)), points, SegmentKind.CUBIC, None)

    bent = np.flatnonzero(folded)
    if len(bent):
        waist = np.concatenate([ends[bent, :1], _waists(some, bent, side, distance_mm), ends[bent, 1:]], axis=1)
        for index in range(waist.shape[1] - 1):
            points = _lines(waist[:, index], waist[:, index + 1])
            rows.add(ring[bent], stage, key[bent], index, points, SegmentKind.LINE, against=against)
            rows.add(own[bent], 0, key[bent], index, points, SegmentKind.LINE, against=against)


def _waists(some: Spans, bent: NDArray[np.int64], side: int, distance_mm: float) -> Floats:
    """Return where neighbouring normals of folded spans cross, along the evolute, shape (k, parts, 2)."""
    share = np.linspace(0.0, 1.0, _EVOLUTE_PARTS + 1)
    t = some.t[bent, :1] + np.diff(some.t[bent], axis=1) * share
    for _ in range(4):  # towards equal shares of the evolute's turning and of its length, the change of radius
        _, first, second = some.curves.at(some.row[bent], t)
        speed = lengths_of(first)
        bend = np.abs(cross(first, second))
        radius = np.minimum(speed * speed * speed / np.maximum(bend, 1e-300), distance_mm)
        first[:, 0], first[:, -1] = some.tangents[bent, 0], some.tangents[bent, 1]
        turn = np.abs(np.arctan2(cross(first[:, :-1], first[:, 1:]), dot(first[:, :-1], first[:, 1:])))
        grown = np.abs(np.diff(radius, axis=1))
        effort = (
            turn / np.maximum(turn.sum(axis=1, keepdims=True), 1e-9)
            + grown / np.maximum(grown.sum(axis=1, keepdims=True), 1e-3 * distance_mm)
            + 1e-3
        )
        done = np.concatenate([np.zeros((len(t), 1)), np.cumsum(effort, axis=1)], axis=1)
        done /= done[:, -1:]
        t = np.stack([np.interp(share, a, b) for a, b in zip(done, t, strict=True)])
    place, first, _ = some.curves.at(some.row[bent], t)
    first[:, 0], first[:, -1] = some.tangents[bent, 0], some.tangents[bent, 1]
    normal = side * normals_of(first / np.maximum(lengths_of(first), 1e-300)[..., None])
    between = cross(normal[:, :-1], normal[:, 1:])
    reach = cross(np.diff(place, axis=1), normal[:, 1:]) / np.where(np.abs(between) < 1e-15, 1e-15, between)
    reach = np.clip(reach, 0.0, distance_mm)
    found: Floats = place[:, :-1] + reach[..., None] * normal[:, :-1]
    return found
