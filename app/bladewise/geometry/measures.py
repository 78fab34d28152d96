"""Measures on the true curves: area, length, centroid, places along a path, curvature.

Nothing here flattens. Areas come from Green's theorem in closed form: the chords' polygon plus, for
each segment, the sliver between chord and curve (cubics: the determinant form of ½∮ x dy − y dx;
arcs: the segment of a circle, carried over by the affine map of its control triangle). Lengths have
no closed form for cubics; they are Gauss-Legendre sums, halved until two orders agree.

Lengths are mm, areas mm², y runs down: an area is positive and a curvature is positive where the
path runs clockwise as seen on the screen. Distances, windings, meetings and widths are in their own
chapters and are named here too, so that callers find every measure in one place; the exact bounds are
`Path.bounds`.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bernstein import derivatives, points_on, rational_cubics, speeds
from bladewise.geometry.curves import bulge_areas, cross, derivative_at, turning_parameters
from bladewise.geometry.distances import Gap, Nearest, NearestEach, least_distance, nearest, nearest_each
from bladewise.geometry.intersections import Meetings, meetings
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.widths import Narrow, narrow_gaps, narrow_widths, narrowest_gap, narrowest_width
from bladewise.geometry.winding import contains, winding_numbers

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats, Point

__all__ = [
    "Gap",
    "Meetings",
    "Narrow",
    "Nearest",
    "NearestEach",
    "Places",
    "area",
    "centroid",
    "contains",
    "curvature_at",
    "least_distance",
    "length",
    "meetings",
    "narrow_gaps",
    "narrow_widths",
    "narrowest_gap",
    "narrowest_width",
    "nearest",
    "nearest_each",
    "perimeter",
    "point_at_length",
    "ring_areas",
    "segment_lengths",
    "tangent_at",
    "winding_numbers",
]

_AGREEMENT = 1e-10
"""Two Gauss sums that differ by less than this part of the curve's size count as agreed; the finer
of the two is then good to far better than the 1e-9 promised."""
_DEEPEST = 50
"""Halvings before a piece is taken as it is: 2⁻⁵⁰ of a segment is below rounding."""
_STANDS = 1e-6
"""Speed under this share of a curve's extent: it stands still there, and perhaps turns back."""

_VANISHED = 1e-12
"""A velocity below this part of the segment's size is a cusp or a handle of no length."""


def _gauss(order: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(order)
    return (nodes + 1.0) / 2.0, weights / 2.0


_COARSE, _FINE = _gauss(8), _gauss(16)


# --------------------------------------------------------------------------------------------- areas


def ring_areas(path: Path) -> Floats:
    """Return the signed area of each subpath, shape (s,), in mm².

    Positive clockwise on the screen. An open subpath is closed by a line, as painting does. A loop
    run twice counts twice: resolve a self-crossing path first where its painted area is meant.

    Examples
    --------
    >>> from bladewise.geometry.path import circle
    >>> ring_areas(circle((0.0, 0.0), 10.0)).round(6)
    array([314.159265])
    """
    if not path:
        return np.zeros(0)
    first, last = path.starts, path.ends - 1
    owner = np.repeat(np.arange(len(first)), path.ends - first)
    origin = path.points[first, 0]
    start, end = path.points[:, 0] - origin[owner], path.points[:, 3] - origin[owner]
    chords = 0.5 * cross(start, end)  # the closing line runs to the origin and adds nothing
    return np.bincount(
        owner, weights=chords + bulge_areas(path.points, path.kinds, path.weights), minlength=len(last)
    ).astype(np.float64)


def area(path: Path) -> float:
    """Return the signed area of all subpaths together in mm²; holes, run the other way, subtract."""
    return float(ring_areas(path).sum())


def centroid(path: Path) -> Point | None:
    """Return the centre of mass of the area in mm, holes counted out.

    Where the areas cancel or there is none (a straight or open run, a figure of eight) it is the
    centre of mass of the outline; of an outline without length, its first point. None for an empty
    path.
    """
    box = path.bounds()
    if box is None:
        return None
    origin = np.array([(box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0])
    control = rational_cubics(path, origin)
    t, weights = _FINE  # exact for cubics (degree 8); for a quarter turn far below rounding
    point, velocity, _ = derivatives(control, t)
    total = area(path)
    size = max(box[2] - box[0], box[3] - box[1])
    if abs(total) > 1e-12 * size * size:
        start, end = path.points[path.starts, 0] - origin, path.points[path.ends - 1, 3] - origin
        thirds = np.einsum("nk,nkd,k->d", cross(point, velocity), point, weights) / 3.0
        closing = (cross(end, start)[:, None] * (start + end)).sum(axis=0) / 6.0
        middle = origin + (thirds + closing) / total
    else:
        pieces = _pieces(path)
        run = pieces.length_mm.sum()
        if run == 0.0:
            return float(path.points[0, 0, 0]), float(path.points[0, 0, 1])
        width = (pieces.end - pieces.start)[:, None]
        at = pieces.start[:, None] + width * t
        inside = control[pieces.segment]
        mass = speeds(inside, at) * width * weights
        middle = origin + np.einsum("nk,nkd->d", mass, points_on(inside, at)) / run
    return float(middle[0]), float(middle[1])


# ------------------------------------------------------------------------------------------- lengths


class _Pieces(NamedTuple):
    """Stretches of segments on which a Gauss sum is sure, in the path's order."""

    segment: NDArray[np.int64]
    start: Floats
    end: Floats
    length_mm: Floats


def _span(control: Floats, start: Floats, end: Floats, rule: tuple[Floats, Floats]) -> Floats:
    """Return the length of each curve between two parameters."""
    nodes, weights = rule
    width = (end - start)[:, None]
    length_mm: Floats = (speeds(control, start[:, None] + width * nodes) * width) @ weights
    return length_mm


def _pieces(path: Path) -> _Pieces:
    """Return each segment's length in sure stretches; only cusps and near cusps need many."""
    control = rational_cubics(path, path.points[:, 0]) if path else np.zeros((0, 4, 3))
    steps = np.diff(path.points, axis=1)
    size = np.hypot(steps[..., 0], steps[..., 1]).sum(axis=1)
    segment = np.arange(len(path))
    start, end = np.zeros(len(path)), np.ones(len(path))
    line = path.kinds == SegmentKind.LINE
    done = [_Pieces(segment[line], start[line], end[line], size[line])]
    segment, start, end = _parted_at_stops(path, segment[~line])
    for depth in range(_DEEPEST + 1):
        if not len(segment):
            break
        fine = _span(control[segment], start, end, _FINE)
        sure = np.abs(fine - _span(control[segment], start, end, _COARSE)) <= _AGREEMENT * size[segment]
        if depth == _DEEPEST:
            sure[:] = True
        done.append(_Pieces(segment[sure], start[sure], end[sure], fine[sure]))
        segment, start, end = segment[~sure], start[~sure], end[~sure]
        middle = (start + end) / 2.0
        segment = np.concatenate([segment, segment])
        start, end = np.concatenate([start, middle]), np.concatenate([middle, end])
    segment = np.concatenate([some.segment for some in done])
    start = np.concatenate([some.start for some in done])
    end = np.concatenate([some.end for some in done])
    length_mm = np.concatenate([some.length_mm for some in done])
    order = np.lexsort((start, segment))
    return _Pieces(segment[order], start[order], end[order], length_mm[order])


def _parted_at_stops(path: Path, segments: NDArray[np.int64]) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Return curves in stretches that end where a curve stands still, as where one folds back along a line.

    The speed has a corner there, which two quadratures may by chance miss by the same amount.
    """
    start, end = np.zeros(len(segments)), np.ones(len(segments))
    points, kinds, weights = path.points[segments], path.kinds[segments], path.weights[segments]
    bent = Path(points, kinds, weights, np.arange(len(segments)), np.zeros(len(segments), np.bool_))
    turns = np.concatenate([turning_parameters(bent, axis) for axis in (0, 1)], axis=1)
    size = np.ptp(points, axis=1).max(axis=1, initial=0.0)
    still = np.zeros(turns.shape, np.bool_)
    for column in range(turns.shape[1]):
        _, way = derivative_at(points, kinds, weights, np.nan_to_num(turns[:, column]))
        still[:, column] = np.isfinite(turns[:, column]) & (np.hypot(way[:, 0], way[:, 1]) <= _STANDS * size)
    rows = np.flatnonzero(still.any(axis=1))
    if not len(rows):
        return segments, start, end
    more: list[tuple[int, float, float]] = []
    for row in rows.tolist():
        stops = [0.0, *sorted(set(turns[row, still[row]].tolist())), 1.0]
        more += [(int(segments[row]), low, high) for low, high in itertools.pairwise(stops)]
    rest = np.ones(len(segments), np.bool_)
    rest[rows] = False
    added, low, high = (np.array(column) for column in zip(*more, strict=True))
    return (
        np.concatenate([segments[rest], added.astype(np.int64)]),
        np.concatenate([start[rest], low]),
        np.concatenate([end[rest], high]),
    )


def segment_lengths(path: Path) -> Floats:
    """Return the length of each segment in mm, shape (n,), to one part in 10⁹ of its control polygon."""
    pieces = _pieces(path)
    return np.bincount(pieces.segment, weights=pieces.length_mm, minlength=len(path)).astype(np.float64)


def length(path: Path) -> float:
    """Return the length of all segments in mm; an open subpath is not closed. 0 for an empty path."""
    return float(segment_lengths(path).sum())


def perimeter(path: Path) -> float:
    """Return the length of the painted outline in mm: open subpaths count with their closing line."""
    gaps = path.points[path.starts, 0] - path.points[path.ends - 1, 3] if path else np.zeros((0, 2))
    return length(path) + float(np.hypot(gaps[:, 0], gaps[:, 1]).sum())


class Places(NamedTuple):
    """Places on a path, one row each."""

    points: Floats
    """Where, in mm, shape (m, 2)."""
    tangents: Floats
    """Unit direction of travel, shape (m, 2)."""
    segments: NDArray[np.int64]
    """Index of the segment, shape (m,)."""
    parameters: Floats
    """Parameter on that segment, 0 to 1, shape (m,)."""


def point_at_length(path: Path, distances_mm: ArrayLike) -> Places:
    """Return the places at distances along the path.

    Parameters
    ----------
    path
        The path; its subpaths follow one another without a gap in length.
    distances_mm
        A number or an array of m distances from the path's start; less than 0 is the start, more
        than the length the end.

    Raises
    ------
    ValueError
        If the path is empty: it has no places.
    """
    if not path:
        message = "an empty path has no places"
        raise ValueError(message)
    pieces = _pieces(path)
    upto = np.cumsum(pieces.length_mm)
    along = np.clip(np.atleast_1d(np.asarray(distances_mm, dtype=np.float64)), 0.0, upto[-1])
    index = np.minimum(np.searchsorted(upto, along, side="right"), len(upto) - 1)
    # the very end belongs to the last piece that has a length
    index = np.where(along >= upto[-1], np.searchsorted(upto, upto[-1], side="left"), index)
    rest = np.clip(along - (upto[index] - pieces.length_mm[index]), 0.0, pieces.length_mm[index])
    segment = pieces.segment[index]
    control = rational_cubics(path, path.points[:, 0])[segment]
    t = _parameter_at(control, pieces.start[index], pieces.end[index], rest, pieces.length_mm[index])
    points = points_on(control, t[:, None])[:, 0] + path.points[segment, 0]
    points[t == 1.0] = path.points[segment, 3][t == 1.0]
    return Places(points, tangent_at(path, segment, t), segment, t)


def _parameter_at(control: Floats, start: Floats, end: Floats, rest: Floats, whole: Floats) -> Floats:
    """Return where each stretch has run `rest` of its `whole` length: Newton, kept in a bracket."""
    low, high = start.copy(), end.copy()
    share = np.divide(rest, whole, out=np.zeros_like(rest), where=whole > 0.0)
    t = start + (end - start) * share
    active = np.flatnonzero((share > 0.0) & (share < 1.0))
    for _ in range(60):
        if not len(active):
            break
        here = control[active]
        excess = _span(here, start[active], t[active], _FINE) - rest[active]
        high[active] = np.where(excess > 0.0, t[active], high[active])
        low[active] = np.where(excess > 0.0, low[active], t[active])
        speed = speeds(here, t[active][:, None])[:, 0]
        step = np.divide(excess, speed, out=np.full_like(excess, np.inf), where=speed > 0.0)
        better = t[active] - step
        wild = ~((better > low[active]) & (better < high[active]))
        better[wild] = ((low + high)[active] / 2.0)[wild]
        settled = (np.abs(excess) <= 1e-13 * whole[active]) | (np.abs(better - t[active]) <= 1e-16)
        t[active] = np.where(settled, t[active], better)
        active = active[~settled]
    return t


# ---------------------------------------------------------------------------- directions and bending


def tangent_at(path: Path, segments: ArrayLike, parameters: ArrayLike) -> Floats:
    """Return unit tangents in the direction of travel, shape (m, 2).

    Parameters
    ----------
    path
        The path.
    segments, parameters
        Segment indexes and parameters 0 to 1, m of each.

    Notes
    -----
    At a cusp or where a handle has no length it is the direction in which the curve goes on (at a
    segment's end, in which it arrived). A segment that is one point points along +x, as SVG 2 has it
    for zero-length segments (chapter Paths, on their direction; from memory).
    """
    index = np.atleast_1d(np.asarray(segments, dtype=np.int64))
    t = np.atleast_1d(np.asarray(parameters, dtype=np.float64))
    control = rational_cubics(path, path.points[:, 0])[index]
    size = np.ptp(path.points[index], axis=1).max(axis=1, initial=0.0)
    _, first, second = (values[:, 0] for values in derivatives(control, t[:, None]))
    second[t >= 1.0] *= -1.0  # arriving, the curve came from where it would bend back to
    ways = np.stack([first, second, _third(control)], axis=1)
    reach = np.hypot(ways[..., 0], ways[..., 1])
    enough = (reach > _VANISHED * size[:, None]) & (reach > 0.0)
    rows = np.arange(len(index))
    choice = np.argmax(enough, axis=1)
    way, far = ways[rows, choice], reach[rows, choice]
    dot = ~enough.any(axis=1)
    way[dot], far[dot] = (1.0, 0.0), 1.0
    unit: Floats = way / far[:, None]
    return unit


def _third(control: Floats) -> Floats:
    """Return the third derivative of cubics, shape (k, 2); meaningless for arcs, which have no cusps."""
    a, b, c, d = (control[:, row, :2] for row in range(4))
    third: Floats = 6.0 * (d - a + 3.0 * (b - c))
    return third


def curvature_at(path: Path, segments: ArrayLike, parameters: ArrayLike) -> Floats:
    """Return signed curvatures in 1/mm, shape (m,): positive where the path turns clockwise on the screen.

    A circle run clockwise (positive area) has +1/r. At a cusp or a handle of no length it is
    infinite, with the sign of the bending just after; 0 where the segment is straight or a point.
    """
    index = np.atleast_1d(np.asarray(segments, dtype=np.int64))
    t = np.atleast_1d(np.asarray(parameters, dtype=np.float64))
    control = rational_cubics(path, path.points[:, 0])[index]
    _, first, second = (values[:, 0] for values in derivatives(control, t[:, None]))
    size = np.ptp(path.points[index], axis=1).max(axis=1, initial=0.0)
    speed = np.hypot(first[:, 0], first[:, 1])
    moving = speed > _VANISHED * size
    moving &= speed > 0.0
    out: Floats = np.divide(cross(first, second), speed**3, out=np.zeros_like(speed), where=moving)
    bend = cross(second, _third(control))
    cusp = ~moving & (np.abs(bend) > _VANISHED * size * size)
    out[cusp] = np.copysign(np.inf, bend[cusp])
    out[path.kinds[index] == SegmentKind.LINE] = 0.0
    return out
