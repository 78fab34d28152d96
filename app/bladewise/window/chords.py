"""Areas as straight lines fine enough for a scale, many paths at once.

Filling chords is many times faster than filling curves. On a small path numpy's calls cost more than
their work, so the paths of many leaves are cut together: segments cut into equally many chords are
evaluated by one matrix product.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shiboken6
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainterPath, QPolygonF

from bladewise.geometry.path import SegmentKind, joined
from bladewise.geometry.regions import FillRule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_MOST_CHORDS = 1024.0
"""No segment is cut finer than this: beyond, only the near part of a path is looked at."""

_RULES = {FillRule.NONZERO: Qt.FillRule.WindingFill, FillRule.EVEN_ODD: Qt.FillRule.OddEvenFill}


def chords(path: Path, tolerance_mm: float, rule: FillRule = FillRule.NONZERO) -> QPainterPath:
    """Return a path as straight lines within a tolerance of it, in mm; detail finer than that is left out."""
    return chords_of([path], tolerance_mm, [rule])[0]


def chords_of(paths: Sequence[Path], tolerance_mm: float, rules: Sequence[FillRule]) -> list[QPainterPath]:
    """Return each path as straight lines within a tolerance of it, in mm; detail finer than that is left out.

    Evenly cut in t, as many chords a segment as Wang's bound asks for (G.-Z. Wang 1984; from memory):
    n² ≥ ¾ · max|Δ²P| / tolerance for a cubic, ¼ for a quadratic. An arc of a quarter turn or less, weight
    w, bends at most 1/w times as much as the quadratic of its control points, and its parameter runs at
    most 1/w times as fast in the middle as on average.
    """
    whole = joined(paths)
    if not whole:
        return [QPainterPath() for _ in paths]
    counts = _rounded(_needed(whole, tolerance_mm))
    last = whole.ends - 1
    size = counts.copy()
    size[last] += 1
    begins = np.cumsum(size) - size
    coords = np.empty((int(size.sum()), 2))
    for count in np.unique(counts).tolist():
        chosen = np.flatnonzero(counts == count)
        coords[begins[chosen] + np.arange(count)[:, None]] = _evaluated(whole, chosen, count)
    coords[begins[last] + counts[last]] = whole.points[last, 3]
    starts = begins[whole.starts]
    lengths = np.append(starts[1:], len(coords)) - starts
    dense = lengths <= 2 * (
        whole.ends - whole.starts
    )  # segments that are straight as they are may be too small to show
    if dense.any():
        coords, starts = _without_detail(coords, starts, np.repeat(~dense, lengths), tolerance_mm)
    ends = np.append(starts[1:], len(coords)).tolist()
    starts, subpath, made = starts.tolist(), 0, []
    for path, rule in zip(paths, rules, strict=True):
        shape = QPainterPath()
        if path:
            shape.setFillRule(_RULES[rule])
        for number in range(subpath, subpath + len(path.starts)):
            shape.addPolygon(_polygon(coords[starts[number] : ends[number]]))
        subpath += len(path.starts)
        made.append(shape)
    return made


def _needed(path: Path, tolerance_mm: float) -> NDArray[np.int64]:
    """Return how many chords each segment needs, shape (n,)."""
    points, kinds = path.points, path.kinds
    first, second = points[:, 0] - 2.0 * points[:, 1] + points[:, 2], points[:, 1] - 2.0 * points[:, 2] + points[:, 3]
    factor = np.full(len(kinds), 0.75)
    conic = np.flatnonzero(kinds != SegmentKind.CUBIC)
    if len(conic):
        first[conic] = points[conic, 0] - 2.0 * points[conic, 1] + points[conic, 3]
        second[conic] = 0.0
        factor[conic] = 0.25 / path.weights[conic] ** 2
    bend = np.maximum((first * first).sum(axis=1), (second * second).sum(axis=1))  # squared
    squared = np.sqrt(bend) * factor / tolerance_mm
    squared[kinds == SegmentKind.LINE] = 0.0
    return np.ceil(np.sqrt(np.clip(squared, 1.0, _MOST_CHORDS**2))).astype(np.int64)


def _rounded(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return counts rounded up to three binary digits, so that few different ones are left."""
    step = np.left_shift(1, np.maximum(np.frexp(counts.astype(np.float64))[1] - 3, 0))
    return -(-counts // step) * step


def _evaluated(path: Path, chosen: NDArray[np.int64], count: int) -> Floats:
    """Return the points at evenly spaced t from 0 on, 1 left out, of some segments: shape (count, m, 2)."""
    points = path.points[chosen]
    if count == 1:
        return points[None, :, 0]
    kinds = path.kinds[chosen]
    t = np.arange(count)[:, None] / count
    s = 1.0 - t
    quadratic = kinds == SegmentKind.QUADRATIC
    if quadratic.any():
        ends, control = points[quadratic][:, [0, 3]], points[quadratic, 1]
        points[quadratic, 1] += (points[quadratic, 0] - control) / 3.0
        points[quadratic, 2] = control + (ends[:, 1] - control) / 3.0
    basis = np.concatenate([s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t], axis=1)
    flat = np.ascontiguousarray(points.transpose(1, 0, 2)).reshape(4, -1)
    values: Floats = (basis @ flat).reshape(count, -1, 2)
    arc = np.flatnonzero(kinds == SegmentKind.ARC)
    if len(arc):
        weight = path.weights[chosen][arc]
        b0, b1, b2 = s * s, 2.0 * s * t * weight, t * t
        over = b0[:, :, None] * points[arc, 0] + b1[:, :, None] * points[arc, 1] + b2[:, :, None] * points[arc, 3]
        values[:, arc] = over / (b0 + b1 + b2)[:, :, None]
    return values


def _without_detail(
    coords: Floats, starts: NDArray[np.int64], keep: NDArray[np.bool_], detail_mm: float
) -> tuple[Floats, NDArray[np.int64]]:
    """Return the vertices without those, of all not to keep, that lie in one cell with the vertex before."""
    cell = np.rint(coords / detail_mm)
    keep[1:] |= (cell[1:] != cell[:-1]).any(axis=1)
    keep[starts] = True
    keep[np.append(starts[1:], len(coords)) - 1] = True
    return coords[keep], np.cumsum(keep)[starts] - 1


def _polygon(coords: Floats) -> QPolygonF:
    """Return vertices as Qt's, copied in one piece: a call a vertex takes a hundred times as long."""
    polygon = QPolygonF()
    polygon.resize(len(coords))
    memory: Any = shiboken6.VoidPtr(polygon.data(), coords.nbytes, True)  # type: ignore[call-arg, arg-type]  # noqa: FBT003
    np.frombuffer(memory, dtype=np.float64)[:] = coords.ravel()
    return polygon
