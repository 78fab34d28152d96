"""Segments collected in any order, put together into closed outlines at the end.

Whatever draws beside a path (strips, corners, caps) works on all its places at once and adds segments
with the place each takes: ring, stage, key, sub. Sorting once at the end makes the rings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import dot, lengths_of
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats


class Rows:
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


def lines(start: Floats, stop: Floats) -> Floats:
    """Return the control points of straight segments between points of shape (n, 2)."""
    return np.stack([start, start, stop, stop], axis=1)
