"""Paths made ready for drawing beside them: stretches along which a parallel never turns back.

Segments are parted where their curvature passes 1/distance (beyond it the parallel on that side runs
backwards) and at cusps (where the direction jumps to its opposite). Each stretch, a *span*, carries
its end points, its exact end directions and the side on which it folds. Segments of no length are
dropped; subpaths made of nothing else are *dots*, which caps may still paint.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import Curves, dot, lengths_of
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_HANDLE_MM = 1e-6
"""A handle shorter than this says nothing about direction: rounding made it."""

_STRAIGHT_MM = 1e-8
"""A curve whose control points stray less than this from its chord is its chord."""

_CUSP_MM = 1e-6
"""A turn sharper than this radius is a cusp."""

_GRID = 25
"""Places a segment where its curvature is looked at; sharp bends are looked for apart."""

_HALVINGS = 46
"""Halvings of a bracket before a parameter counts as found."""


SMOOTH, CUSP = 1, 2
"""How a span meets the next one of its segment; 0 where it meets none."""


class Spans(NamedTuple):
    """Stretches of a path in drawing order; one row each, shapes in brackets.

    curves: the segments in power form. row (k,): which segment. t (k, 2): from where to where on it.
    subpath (k,). points (k, 2, 2): where it starts and ends, mm. tangents (k, 2, 2): unit directions
    of travel there. straight (k,): whether it is a line. leg (k,): for an arc of a circle the length
    from its start to its control point, else NaN; radius (k,): its radius, positive where it turns
    clockwise on the screen. fold (k,): +1 where the right-hand parallel runs backwards, −1 where the
    left-hand one does, else 0. joint (k,): `SMOOTH` or `CUSP` where it meets another of its segment,
    else 0. closed (s,): the subpaths. dots (d, 2): subpaths of no length.
    """

    curves: Curves
    row: NDArray[np.int64]
    t: Floats
    subpath: NDArray[np.int64]
    points: Floats
    tangents: Floats
    straight: NDArray[np.bool_]
    leg: Floats
    radius: Floats
    fold: NDArray[np.int64]
    joint: NDArray[np.int64]
    closed: NDArray[np.bool_]
    dots: Floats


def spans(path: Path, distance_mm: float) -> Spans:
    """Part a path where the parallels at a distance (> 0, mm, both sides) would turn back."""
    count = len(path.starts)
    subpath = np.repeat(np.arange(count), path.ends - path.starts)
    points = path.points.copy()
    some = lengths_of(points - points[:, :1]).max(axis=1, initial=0.0) > SAME_POINT_MM
    alive = np.zeros(count, bool)
    alive[subpath[some]] = True
    dots = path.points[path.starts[~alive], 0]
    points, kinds, weights, subpath = points[some], path.kinds[some], path.weights[some], subpath[some]
    curved = kinds != SegmentKind.LINE
    for handle, end in ((1, 0), (2, 3)):
        near = (lengths_of(points[:, handle] - points[:, end]) < _HANDLE_MM) & (kinds == SegmentKind.CUBIC)
        points[near, handle] = points[near, end]
    straight = ~curved | _runs_straight(points, kinds)
    kinds = np.where(straight, np.uint8(SegmentKind.LINE), kinds)
    points[straight, 1], points[straight, 2] = points[straight, 0], points[straight, 3]
    curves = Curves.of(points, kinds, weights)
    leg, radius = _circles(points, kinds, weights)

    looked = np.flatnonzero(~straight & np.isnan(radius))
    break_row, break_t, break_cusp = _breaks(curves, looked, distance_mm)
    every = len(points)
    row = np.concatenate([np.arange(every), break_row])
    start = np.concatenate([np.zeros(every), break_t])
    cusp = np.concatenate([np.zeros(every, bool), break_cusp])
    order = np.lexsort((start, row))
    row, start, cusp = row[order], start[order], cusp[order]
    within = np.append(row[1:] == row[:-1], [False])[: len(row)]
    stop = np.where(within, np.roll(start, -1), 1.0)
    joint = np.where(within, np.where(np.roll(cusp, -1), CUSP, SMOOTH), 0)
    t = np.stack([start, stop], axis=1)

    middle = curves.at(row, t.mean(axis=1, keepdims=True))
    fold = _fold(middle[1][:, 0], middle[2][:, 0], distance_mm)
    fold[straight[row]] = 0
    round_ = ~np.isnan(radius[row])
    too_tight = np.abs(radius[row]) < distance_mm - SAME_POINT_MM
    fold[round_] = np.where(too_tight, np.sign(radius[row]), 0.0)[round_].astype(np.int64)

    place, first, second = curves.at(row, t)
    tangents = _units(first)
    begins, ends = start == 0.0, ~within
    out, into = _end_directions(points)
    place[begins, 0], tangents[begins, 0] = points[row[begins], 0], out[row[begins]]
    place[ends, 1], tangents[ends, 1] = points[row[ends], 3], into[row[ends]]
    tangents[cusp, 0] = _units(second[cusp, 0])
    tangents[joint == CUSP, 1] = -_units(second[joint == CUSP, 1])
    return Spans(
        curves,
        row,
        t,
        subpath[row],
        place,
        tangents,
        straight[row],
        leg[row],
        radius[row],
        fold,
        joint,
        path.closed,
        dots,
    )


def _units(vectors: Floats) -> Floats:
    scaled: Floats = vectors / np.maximum(lengths_of(vectors), 1e-300)[..., None]
    return scaled


def _fold(first: Floats, second: Floats, distance_mm: float) -> NDArray[np.int64]:
    """Return +1 or −1 where curvature times distance is above 1 or below −1, else 0."""
    speed = lengths_of(first)
    bend = distance_mm * cross(first, second)
    return np.where(np.abs(bend) > speed * speed * speed, np.sign(bend), 0.0).astype(np.int64)


def _runs_straight(points: Floats, kinds: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Whether a curve runs along its chord without turning back (the derivative keeps its sign)."""
    chord = points[:, 3] - points[:, 0]
    size = lengths_of(chord)
    along = chord / np.maximum(size, 1e-300)[:, None]
    one, two = points[:, 1] - points[:, 0], points[:, 2] - points[:, 0]
    flat = np.maximum(np.abs(cross(along, one)), np.abs(cross(along, two))) < _STRAIGHT_MM
    first, last = dot(along, one), size - dot(along, two)
    middle = np.where(kinds == SegmentKind.CUBIC, dot(along, two - one), size)
    onward = (first >= -_STRAIGHT_MM) & (last >= -_STRAIGHT_MM)
    onward &= middle >= -np.sqrt(np.maximum(first * last, 0.0)) - _STRAIGHT_MM
    answer: NDArray[np.bool_] = flat & onward & (size > SAME_POINT_MM)
    return answer


def _circles(points: Floats, kinds: NDArray[np.uint8], weights: Floats) -> tuple[Floats, Floats]:
    """Return leg and signed radius of arcs of circles, NaN for all else."""
    out, into = points[:, 1] - points[:, 0], points[:, 3] - points[:, 1]
    leg = lengths_of(out)
    half = 0.5 * lengths_of(points[:, 3] - points[:, 0])
    round_ = (
        (kinds == SegmentKind.ARC)
        & (np.abs(lengths_of(into) - leg) < 1e-9 * leg)
        & (np.abs(half - weights * leg) < 1e-9 * leg)
        & (weights < 1.0 - 1e-15)
    )
    size = leg * weights / np.sqrt(np.where(round_, 1.0 - weights * weights, 1.0))
    radius = np.where(round_, np.copysign(size, cross(out, into)), np.nan)
    return np.where(round_, leg, np.nan), radius


def _end_directions(points: Floats) -> tuple[Floats, Floats]:
    """Return unit directions at start and end: towards the first control point that differs."""
    answers = []
    for sequence in ((0, 1, 2, 3), (3, 2, 1, 0)):
        base = points[:, sequence[0]]
        toward = points[:, sequence[3]] - base
        for index in (sequence[2], sequence[1]):
            candidate = points[:, index] - base
            toward = np.where((lengths_of(candidate) > SAME_POINT_MM)[:, None], candidate, toward)
        answers.append(_units(toward))
    return answers[0], -answers[1]


def _breaks(
    curves: Curves, rows: NDArray[np.int64], distance_mm: float
) -> tuple[NDArray[np.int64], Floats, NDArray[np.bool_]]:
    """Return where segments are to be parted: segment, t, and whether it is a cusp."""
    nothing = np.zeros(0, np.int64), np.zeros(0), np.zeros(0, bool)
    if not len(rows):
        return nothing
    grid = np.linspace(0.0, 1.0, _GRID)
    grid[[0, -1]] = 1e-6, 1.0 - 1e-6
    t = np.tile(grid, (len(rows), 1))
    _, first, second = curves.at(rows, t)
    cell, sharp, cusp = _sharp_bends(curves, rows, t, first, second)
    if len(cell):
        beside = np.where(cusp, 1e-6, 0.0)
        extra = np.zeros((len(rows), 4))
        extra[:] = grid[-1]
        rank = np.arange(len(cell)) - np.searchsorted(cell, cell)
        keep = rank < 2
        cell, sharp, cusp, beside, rank = cell[keep], sharp[keep], cusp[keep], beside[keep], rank[keep]
        extra[cell, 2 * rank], extra[cell, 2 * rank + 1] = sharp - beside, sharp + beside
        t = np.sort(np.concatenate([t, extra], axis=1), axis=1)
        _, first, second = curves.at(rows, t)
    state = _fold(first, second, distance_mm)
    found_row, found_t = [rows[cell[cusp]]], [sharp[cusp]]
    at, left = np.nonzero(state[:, :-1] != state[:, 1:])
    for inside, outside in ((left, left + 1), (left + 1, left)):
        sign = state[at, inside]
        held = sign != 0
        if held.any():
            which, low, high = at[held], t[at, inside][held], t[at, outside][held]
            found_row.append(rows[which])
            found_t.append(_edge(curves, rows[which], low, high, sign[held], distance_mm))
    row, where = np.concatenate(found_row), np.concatenate(found_t)
    marks = np.zeros(len(row), bool)
    marks[: len(found_row[0])] = True
    order = np.lexsort((~marks, where, row))
    row, where, marks = row[order], where[order], marks[order]
    good = (where > 1e-7) & (where < 1.0 - 1e-7)
    close = np.append([False], (np.diff(where) < 1e-9) & (np.diff(row) == 0))[: len(row)]
    good &= ~close | marks
    return row[good], where[good], marks[good]


def _edge(
    curves: Curves,
    rows: NDArray[np.int64],
    inside: Floats,
    outside: Floats,
    sign: NDArray[np.int64],
    distance_mm: float,
) -> Floats:
    """Return the t between inside and outside where a fold of the given sign ends, by halving."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (inside + outside)
        _, first, second = curves.at(rows, middle[:, None])
        held = _fold(first[:, 0], second[:, 0], distance_mm) == sign
        inside, outside = np.where(held, middle, inside), np.where(held, outside, middle)
    return outside


def _sharp_bends(
    curves: Curves, rows: NDArray[np.int64], t: Floats, first: Floats, second: Floats
) -> tuple[NDArray[np.int64], Floats, NDArray[np.bool_]]:
    """Return where a curve is slowest (index into rows, t) and whether it stops there: a cusp."""
    slope = dot(first, second)
    speed = lengths_of(first)
    slow = speed < 0.25 * speed.max(axis=1, keepdims=True)
    cell, left = np.nonzero((slope[:, :-1] < 0.0) & (slope[:, 1:] >= 0.0) & (slow[:, :-1] | slow[:, 1:]))
    low, high = t[cell, left], t[cell, left + 1]
    if not len(cell):
        return cell, low, np.zeros(0, bool)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        _, a, b = curves.at(rows[cell], middle[:, None])
        falling = dot(a[:, 0], b[:, 0]) < 0.0
        low, high = np.where(falling, middle, low), np.where(falling, high, middle)
    _, a, b = curves.at(rows[cell], low[:, None])
    stop = dot(a[:, 0], a[:, 0]) < _CUSP_MM * lengths_of(b[:, 0])
    return cell, low, stop
