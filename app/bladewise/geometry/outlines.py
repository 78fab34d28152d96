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

from bladewise.geometry.corners import LEFT, RIGHT, Corners, round_about
from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import Pieces, dot, fit_parallels, lengths_of, normals_of
from bladewise.geometry.path import EMPTY, Path, SegmentKind, circle, joined
from bladewise.geometry.rings import Rows, lines
from bladewise.geometry.spans import CUSP, spans
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.spans import Spans

_EVOLUTE_PARTS = 32
"""Chords that stand for the evolute of a folded span; it lies inside the painted area but for blunt ends."""


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
    rows = Rows()
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
    rows: Rows,
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
    corners = Corners(some, one, two, distance_mm, tolerance_mm)
    closed = some.closed[some.subpath]
    ring = some.subpath * 2
    for side in sides:
        ends = some.points + side * distance_mm * normals_of(some.tangents)
        against = side == RIGHT
        stage = 2 if against else 0
        whose = ring + (closed & against)
        corners.finish(rows, ends, side, whose, stage, join, miter_limit, lone=len(sides) == 1)
        _strips(rows, some, ends, side, distance_mm, whose, stage, tolerance_mm)
    if len(sides) == 2:
        starts, stops = np.flatnonzero(first & ~closed), np.flatnonzero(last & ~closed)
        for which, end, stage, sign in ((stops, 1, 1, 1.0), (starts, 0, 3, -1.0)):
            _caps(rows, ring[which], stage, some.points[which, end], sign * some.tangents[which, end], distance_mm, cap)


def _caps(
    rows: Rows,
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
        round_about(rows, place, start, stop, np.full(len(place), math.pi), ring, stage, key)
        return
    corners = [start, stop]
    if cap == "square":
        corners[1:1] = [start + distance_mm * outward, stop + distance_mm * outward]
    for sub, (a, b) in enumerate(itertools.pairwise(corners)):
        rows.add(ring, stage, key, sub, lines(a, b), SegmentKind.LINE)


def _strips(
    rows: Rows,
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
    put(line, 0, lines(ends[line, 0], ends[line, 1]), SegmentKind.LINE, None)

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
            points = lines(waist[:, index], waist[:, index + 1])
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
