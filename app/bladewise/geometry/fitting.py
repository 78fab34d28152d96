"""The fewest lines, arcs and cubics that follow given points within a tolerance.

Many files bring curves as hundreds of chords. `fit_polyline` tells what they were (`tracks`): corners
stay corners, long chords stay lines, and each smooth run between them is the ellipse it stands for
(`conics`) or is followed from its start by the longest piece that is near enough (`following`), until
its end is reached. The longest piece is found by halving, for all runs at once. Pieces of a run join
without a kink: a cubic takes over the direction of the line or the arc beside it, and lines and arcs
are made to touch where the tolerance allows (`joints`).

`refit` does the same for a path that has curves already, to rid it of needless nodes: each stretch
between corners stays as it is where nothing is gained, and where its own nodes will do, it keeps
them. Neither ever gives more segments than it was given.

Lengths are mm, y down. Within the tolerance means: every given point lies that near to the result,
and the result strays no farther from the chords between them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.arcs import line_rows
from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.conics import whole_circle, whole_ellipse
from bladewise.geometry.curves import cross
from bladewise.geometry.flatten import flatten
from bladewise.geometry.following import follow
from bladewise.geometry.joints import touching
from bladewise.geometry.measures import nearest_each, tangent_at
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined, polygon
from bladewise.geometry.runs import Plan, Polyline, planned, without_repeats
from bladewise.geometry.tolerances import REFIT_FLATTENING, REFIT_SMOOTH_DEG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.pieces import Run

_SHARES = (0.95, 0.7, 0.4)
"""Shares of the tolerance a path is fitted again to, one after the other, until the curves themselves are within all
of it: samples do not see everything."""
_LOOKED_AT, _CLOSELY = np.linspace(0.0, 1.0, 25), 0.02
"""Where on each new segment that is looked at, and to which share of the tolerance the old ones are."""
_EXACT = 0.05
"""Points this near to an ellipse, as a share of what is allowed, are one, even if it takes an arc more."""


def fit_polyline(
    points: ArrayLike, tolerance_mm: float, *, closed: bool = False, corners: ArrayLike | None = None
) -> Path:
    """Return the fewest lines, arcs and cubics through a polyline, within a tolerance.

    Parameters
    ----------
    points
        Vertices, shape (n, 2) in mm. Repeated ones are ignored; the first may be repeated at the end
        of a closed one.
    tolerance_mm
        How far the result may be from the polyline. For chords of curves take at least one and a
        half times what they were cut to: nearer than that, the chords are all there is to follow.
    closed
        Whether the last vertex is joined to the first.
    corners
        Which vertices are corners, shape (n,); all between them is smooth. Left out, corners and
        straights are told from the points.

    Returns
    -------
    Path
        One subpath; of one place only, a dot (a line of no length); of none, the empty path.

    Raises
    ------
    ValueError
        If the tolerance is not above 0 or a point is not finite.
    """
    return fit_polylines([points], tolerance_mm, closed=closed, corners=None if corners is None else [corners])[0]


def fit_polylines(
    lines: Sequence[ArrayLike],
    tolerance_mm: float,
    *,
    closed: bool | Sequence[bool] = False,
    corners: Sequence[ArrayLike] | None = None,
) -> list[Path]:
    """Return what `fit_polyline` gives for each of many polylines; together they take a fraction of the time."""
    _require(tolerance_mm)
    every = []
    for number, line in enumerate(lines):
        at = np.asarray(line, dtype=np.float64).reshape(-1, 2)
        if not np.isfinite(at).all():
            message = "points must be finite"
            raise ValueError(message)
        known = None if corners is None else np.asarray(corners[number], dtype=np.bool_)
        goes_round = closed if isinstance(closed, bool) else bool(closed[number])
        every.append(Polyline(at, goes_round, corner=known))
    return [path for path, _ in _fitted(every, tolerance_mm)]


def refit(path: Path, tolerance_mm: float) -> Path:
    """Return the path with the fewest segments within a tolerance of it.

    What would not come out with fewer segments stays as it is, to the last bit: a subpath, a stretch
    between two corners, and within one each segment that no piece over several can take the place of.

    Raises
    ------
    ValueError
        If the tolerance is not above 0.
    """
    return refit_all([path], tolerance_mm)[0]


def refit_all(paths: Sequence[Path], tolerance_mm: float) -> list[Path]:
    """Return what `refit` gives for each of many paths; together they take a fraction of the time."""
    _require(tolerance_mm)
    before = [list(path.subpaths()) for path in paths]
    every = [subpath for some in before for subpath in some]
    after = list(every)
    waiting = list(range(len(every)))
    for share in _SHARES:
        if not waiting:
            break
        sampled = [_sampled(every[row], tolerance_mm) for row in waiting]
        fits = _fitted(sampled, share * tolerance_mm)
        again = []
        for row, fit in zip(waiting, fits, strict=True):
            new = _fewest(every[row], *fit)
            if new is every[row] or _apart(every[row], new, tolerance_mm) <= tolerance_mm:
                after[row] = new
            else:
                again.append(row)
        waiting = again
    left = iter(after)
    return [joined(next(left) for _ in some) for some in before]


def _apart(old: Path, new: Path, tolerance_mm: float) -> float:
    """Return how far two paths are apart, both ways, looked at closely."""
    back = points_on(rational_cubics(new), _LOOKED_AT).reshape(-1, 2)
    there = flatten(old, _CLOSELY * tolerance_mm).coords
    return float(max(nearest_each(new, there).distances_mm.max(), nearest_each(old, back).distances_mm.max()))


def _fewest(old: Path, new: Path, kept: Path | None) -> Path:
    """Return the path of fewest segments; of as many, the one that keeps more of what was there."""
    best = old
    for other in (kept, new):
        if other is not None and len(other) < len(best):
            best = other
    return best


def _require(tolerance_mm: float) -> None:
    if not tolerance_mm > 0.0:
        message = f"the tolerance must be above 0 mm, not {tolerance_mm}"
        raise ValueError(message)


def _sampled(subpath: Path, tolerance_mm: float) -> Polyline:
    """Return a subpath as points on its curves, with their true directions."""
    flat = flatten(subpath, tolerance_mm * REFIT_FLATTENING)
    closed = bool(subpath.closed[0])
    count = len(flat.coords) - 1 if closed else len(flat.coords)
    points, segment, t = flat.coords[:count], flat.segment[:count], flat.t[:count]
    line = subpath.kinds == SegmentKind.LINE
    leaving = tangent_at(subpath, segment, t)
    before = np.where(t == 0.0, (segment - 1) % len(subpath), segment)
    arriving = leaving.copy()
    node = (t == 0.0) & (closed | (segment > 0))
    arriving[node] = tangent_at(subpath, before[node], np.ones(int(node.sum())))
    turn = np.abs(np.arctan2(cross(arriving, leaving), (arriving * leaving).sum(axis=1)))
    chords = line[segment] & line[before]
    corner = node & ~chords & (turn > math.radians(REFIT_SMOOTH_DEG))
    tangents = np.where(line[before][:, None], leaving, arriving)
    tangents = np.where((line[segment] | line[before])[:, None], tangents, arriving + leaving)
    tangents[chords] = np.nan
    # a line between curves was drawn as a line
    straight = line[segment].copy()
    if len(subpath) > 1:
        following = np.roll(line, -1) if closed else np.append(line[1:], False)
        leading = np.roll(line, 1) if closed else np.append(False, line[:-1])
        straight &= ~(following[segment] | leading[segment])
    if not closed:
        straight = straight[:-1]
    begins = np.where(t == 0.0, segment, -1)
    return Polyline(points, closed, tangents, corner, straight, begins, subpath)


def _fitted(lines: Sequence[Polyline], tolerance_mm: float) -> list[tuple[Path, Path | None]]:
    """Return a path for each polyline, and one that keeps nodes; their runs are all followed together."""
    runs: list[Run] = []
    plans: list[Path | Plan] = []
    shapes = [without_repeats(line) for line in lines]
    for line in shapes:
        if len(line.points) <= 2:  # nothing to fit
            plans.append(_trivial(line))
            continue
        whole = None
        if line.closed and (line.corner is None or not line.corner.any()):
            whole = whole_circle(line.points, tolerance_mm) or whole_ellipse(line.points, tolerance_mm)
        plans.append(planned(line, tolerance_mm, runs) if whole is None else whole)
    followed = follow(runs) if runs else []
    out: list[tuple[Path, Path | None]] = []
    for line, plan in zip(shapes, plans, strict=True):
        if isinstance(plan, Path):
            out.append((plan, None))
            continue
        parts: list[Rows] = []
        kept: list[Rows] = []
        for item, other, elliptic in zip(plan.items, plan.kept, plan.elliptic, strict=True):
            if isinstance(item, np.ndarray):
                parts.append(line_rows(item))
                kept.append(parts[-1])
                continue
            rows = followed[item]
            if elliptic is not None and (rows[1] == SegmentKind.CUBIC).any():
                fewer = len(elliptic.rows[1]) <= len(rows[1])
                rows = elliptic.rows if fewer or elliptic.strain < _EXACT else rows
            own = followed[other] if other >= 0 else rows
            parts.append(rows)
            kept.append(own if len(own[1]) <= len(rows[1]) else rows)
        straight = [isinstance(item, np.ndarray) for item in plan.items]
        new = touching(parts, straight, line.points, tolerance_mm, closed=line.closed)
        out.append((_path(new, closed=line.closed), _path(kept, closed=line.closed) if line.source else None))
    return out


def _path(parts: Sequence[Rows], *, closed: bool) -> Path:
    points, kinds, weights = (np.concatenate(column) for column in zip(*parts, strict=True))
    return Path(points, kinds, weights, np.zeros(1, np.int64), np.array([closed]))


def _trivial(line: Polyline) -> Path:
    points = [(float(x), float(y)) for x, y in line.points]
    if not points:
        return EMPTY
    return polygon(points if len(points) > 1 else points * 2, closed=line.closed)
