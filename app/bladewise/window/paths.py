"""Our paths as Qt's: curves for hairlines, and only the near part when zoomed far in. Areas: see `chords`.

A whole path crosses into Qt in one piece, through the form in which QDataStream keeps a QPainterPath
(Qt documentation, "Serializing Qt Data Types": count, then type, x and y an element, then the start of
the last subpath and the fill rule); appending element by element costs a call each.

Qt's rasteriser cuts a curve into a bounded number of chords and counts in 1/64 pixel up to some
32,000 pixels. Beyond that a path is cut here: `near_path` bisects whatever passes the window until it
is straight to a tenth of a pixel, lets everything else be straight, and keeps all of it within reach.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QByteArray, QDataStream, Qt
from PySide6.QtGui import QPainterPath

from bladewise.geometry.curves import sub_segments
from bladewise.geometry.path import Path, SegmentKind, joined
from bladewise.geometry.regions import FillRule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.document import Box
    from bladewise.geometry.path import Floats
    from bladewise.window.view import View

REACH_PX = 12_000.0
"""How far outside the window points may lie; Qt's rasteriser ends at 32,767."""

STRAIGHT_PX = 0.1
"""A chord this near to its curve cannot be told from it."""

_ELEMENT = np.dtype([("type", ">i4"), ("x", ">f8"), ("y", ">f8")])
_MOVE, _LINE, _CURVE, _CURVE_DATA = 0, 1, 2, 3
_RULES = {FillRule.NONZERO: Qt.FillRule.WindingFill, FillRule.EVEN_ODD: Qt.FillRule.OddEvenFill}


def curves(path: Path, rule: FillRule = FillRule.NONZERO) -> QPainterPath:
    """Return a path as lines and cubics, in mm; see `curves_of`."""
    return curves_of([path], [rule])[0]


def curves_of(paths: Sequence[Path], rules: Sequence[FillRule]) -> list[QPainterPath]:
    """Return each path as lines and cubics, in mm; many at once cost little more than one.

    Quadratics are raised to cubics exactly. An arc becomes two cubics, each an eighth of a turn or
    less, at most 4.3e-6 of its radius away from it.
    """
    path = joined(paths)
    if not path:
        return [QPainterPath() for _ in paths]
    kinds, starts = path.kinds, path.starts
    arcs = np.flatnonzero(kinds == SegmentKind.ARC)
    first = np.arange(len(kinds)) + np.searchsorted(arcs, np.arange(len(kinds)))
    lines = kinds == SegmentKind.LINE
    cubics = _as_cubics(path, arcs)
    bent = np.ones(len(cubics), bool)
    bent[first[lines]] = False
    size = np.where(bent, 3, 1)
    begins = np.zeros(len(cubics), bool)
    begins[first[starts]] = True
    place = np.cumsum(size + begins) - size  # where each piece's own elements begin, after its move if it has one
    total = int(place[-1] + size[-1])
    kind = np.full(total, _CURVE_DATA, np.int32)
    where = np.empty((total, 2))
    kind[place] = np.where(bent, _CURVE, _LINE)
    straight = place[~bent]
    where[straight] = cubics[~bent, 3]
    for offset in range(3):
        where[place[bent] + offset] = cubics[bent, offset + 1]
    moves = place[begins] - 1
    kind[moves] = _MOVE
    where[moves] = cubics[begins, 0]
    subpaths = np.cumsum([0, *(len(each.starts) for each in paths)]).tolist()
    edges = np.append(moves, total).tolist()
    data = _elements(kind, where)
    return [
        _streamed(data, edges[subpaths[number]], edges[subpaths[number + 1]], edges[subpaths[number + 1] - 1], rule)
        if each
        else QPainterPath()
        for number, (each, rule) in enumerate(zip(paths, rules, strict=True))
    ]


def pieces(path: Path, most: int) -> list[Path]:
    """Return a path in pieces of at most so many segments, none of them closed: for hairlines only."""
    if len(path) <= most:
        return [path]
    found = []
    for start in range(0, len(path), most):
        end = min(start + most, len(path))
        inner = path.starts[(path.starts > start) & (path.starts < end)] - start
        starts = np.concatenate([np.zeros(1, np.int64), inner])
        closed = np.zeros(len(starts), np.bool_)
        found.append(Path(path.points[start:end], path.kinds[start:end], path.weights[start:end], starts, closed))
    return found


def near_part(path: Path, box: Box) -> Path:
    """Return the segments whose control points' box meets a box in mm, each run of them as an open subpath.

    A stroke along them is the same inside the box as along the whole path if the box has been enlarged
    by the stroke's reach. A closed subpath stays one where all of it is near, and is near across its seam.
    """
    low, high = path.points.min(axis=1), path.points.max(axis=1)
    near = ((low <= box[2:]) & (high >= box[:2])).all(axis=1)
    runs: list[Path] = []
    for start, end, closed in zip(path.starts.tolist(), path.ends.tolist(), path.closed.tolist(), strict=True):
        rows = np.arange(start, end)
        if not near[start:end].any():
            continue
        whole = bool(near[start:end].all())
        if closed and not whole:  # begin with a segment that is far, so that no run crosses the seam
            rows = np.roll(rows, -int(np.argmin(near[start:end])))
        kept = near[rows]
        for run in np.split(rows, np.flatnonzero(kept[1:] != kept[:-1]) + 1):
            if near[run[0]]:
                first, shut = np.zeros(1, np.int64), np.array([closed and whole])
                runs.append(Path(path.points[run], path.kinds[run], path.weights[run], first, shut))
    return joined(runs)


def near_path(path: Path, view: View, window: Box, rule: FillRule = FillRule.NONZERO) -> QPainterPath:
    """Return what a window shows of a path, exact to a tenth of a pixel, in pixels of the view.

    Parameters
    ----------
    path
        In mm.
    view
        Its pixels are those of the result.
    window
        The pixels that matter: x min, y min, x max, y max. Outside it the result lies on the right
        side of the window and no nearer to the truth than that.
    rule
        Which places of it are inside.
    """
    if not path:
        return QPainterPath()
    coords, starts = near_polylines(path, view, window)
    return _polylines(coords, starts, rule)


def near_polylines(path: Path, view: View, window: Box) -> tuple[Floats, NDArray[np.int64]]:
    """Return the vertices of `near_path`, shape (v, 2), and the index at which each subpath begins."""
    origin = np.array([view.x_mm, view.y_mm])
    low, high = np.array(window[:2]), np.array(window[2:])
    segments = np.arange(len(path))
    t0, t1 = np.zeros(len(path)), np.ones(len(path))
    done: list[tuple[NDArray[np.int64], Floats, Floats]] = []
    hull, kinds = path.points, path.kinds
    while len(segments):
        hull = (hull - origin) * view.scale
        least, most = hull.min(axis=1), hull.max(axis=1)
        outside = ((most < low) | (least > high)).any(axis=1)
        chord = hull[:, 3] - hull[:, 0]
        third = np.where(kinds == SegmentKind.CUBIC, 1.0 / 3.0, 0.5)[:, None] * chord
        lift = np.maximum(
            np.abs(hull[:, 1] - hull[:, 0] - third).max(axis=1), np.abs(hull[:, 2] - hull[:, 3] + third).max(axis=1)
        )
        lift[kinds == SegmentKind.LINE] = 0.0
        within = ((least > low - REACH_PX) & (most < high + REACH_PX)).all(axis=1)
        settled = outside | ((lift < STRAIGHT_PX) & within) | (t1 - t0 < 1e-12)
        done.append((segments[settled], t0[settled], hull[settled, 0]))
        segments, t0, t1 = segments[~settled], t0[~settled], t1[~settled]
        middle = 0.5 * (t0 + t1)
        segments = np.concatenate([segments, segments])
        t0, t1 = np.concatenate([t0, middle]), np.concatenate([middle, t1])
        kinds = path.kinds[segments]
        hull, _ = sub_segments(path.points[segments], kinds, path.weights[segments], t0, t1)
    owner = np.concatenate([each[0] for each in done])
    begin = np.concatenate([each[1] for each in done])
    coords = np.concatenate([each[2] for each in done])
    order = np.lexsort((begin, owner))
    owner, coords = owner[order], coords[order]
    last = path.ends - 1
    after = np.searchsorted(owner, last, side="right")
    coords = np.insert(coords, after, (path.points[last, 3] - origin) * view.scale, axis=0)
    starts = np.concatenate([[0], after[:-1]]) + np.arange(len(after))
    return np.clip(coords, low - REACH_PX, high + REACH_PX), starts


def _as_cubics(path: Path, arcs: NDArray[np.int64]) -> Floats:
    """Return each segment's control points as a cubic's, arcs twice, shape (n + arcs, 4, 2)."""
    cubics = path.points.copy()
    control = cubics[:, 1].copy()
    quadratic = path.kinds == SegmentKind.QUADRATIC
    cubics[quadratic, 1] += (cubics[quadratic, 0] - control[quadratic]) / 3.0
    cubics[quadratic, 2] += (cubics[quadratic, 3] - control[quadratic]) / 3.0
    if not len(arcs):
        return cubics
    count, kinds = len(arcs), path.kinds[arcs]
    zero, half, one = np.zeros(count), np.full(count, 0.5), np.ones(count)
    halves = []
    for begin, end in ((zero, half), (half, one)):
        points, weights = sub_segments(path.points[arcs], kinds, path.weights[arcs], begin, end)
        handle = (4.0 / 3.0 * weights / (1.0 + weights))[:, None]  # tan(θ/4)·4/3 over tan(θ/2), θ the swept angle
        corner = points[:, 1].copy()
        points[:, 1] = points[:, 0] + handle * (corner - points[:, 0])
        points[:, 2] = points[:, 3] + handle * (corner - points[:, 3])
        halves.append(points)
    cubics[arcs] = halves[0]
    return np.insert(cubics, arcs + 1, halves[1], axis=0)


def _polylines(coords: Floats, starts: NDArray[np.int64], rule: FillRule) -> QPainterPath:
    kind = np.full(len(coords), _LINE, np.int32)
    kind[starts] = _MOVE
    return _streamed(_elements(kind, coords), 0, len(coords), int(starts[-1]), rule)


def _elements(kind: NDArray[np.int32], where: Floats) -> bytes:
    elements = np.empty(len(kind), _ELEMENT)
    elements["type"], elements["x"], elements["y"] = kind, where[:, 0], where[:, 1]
    return elements.tobytes()


def _streamed(data: bytes, begin: int, end: int, last_move: int, rule: FillRule) -> QPainterPath:
    """Return the elements from one index to another, of which the last subpath begins at a third, as Qt's path."""
    size = _ELEMENT.itemsize
    parts = (
        struct.pack(">i", end - begin),
        data[begin * size : end * size],
        struct.pack(">ii", last_move - begin, _RULES[rule].value),
    )
    stream = QDataStream(QByteArray(b"".join(parts)))
    path = QPainterPath()
    stream >> path
    return path
