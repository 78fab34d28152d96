"""In which order the contours of one material are cut: what lies within another comes before it.

A piece that has come loose cannot be cut any more; so holes are cut before what is around them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.measures import ring_areas
from bladewise.geometry.regions import Region
from bladewise.geometry.winding import contains

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.geometry.path import Path


def inside_out(path: Path) -> Iterator[Path]:
    """Yield the contours so that what lies within another comes before it; else as they came."""
    contours = list(path.subpaths())
    within = _nearest_around(path, contours)
    inner: dict[int, list[int]] = {}
    for index, around in enumerate(within):
        inner.setdefault(around, []).append(index)
    stack = [(index, False) for index in reversed(inner.get(-1, []))]
    while stack:
        index, is_done = stack.pop()
        if is_done or index not in inner:
            yield contours[index]
            continue
        stack.append((index, True))
        stack += [(each, False) for each in reversed(inner[index])]


def _nearest_around(path: Path, contours: Sequence[Path]) -> list[int]:
    """Return the index of the smallest closed contour around each, -1 where there is none."""
    boxes = np.array([contour.bounds() for contour in contours]).reshape(-1, 4)
    sizes = np.abs(ring_areas(path))
    around = np.full(len(contours), -1)
    for index in np.argsort(-sizes, kind="stable").tolist():  # the smaller ones come later and prevail
        if not path.closed[index]:
            continue
        box = boxes[index]
        inside = (boxes[:, :2] >= box[:2]).all(axis=1) & (boxes[:, 2:] <= box[2:]).all(axis=1) & (sizes < sizes[index])
        chosen = np.flatnonzero(inside)
        if not len(chosen):
            continue
        # three nodes, of which two decide: a contour may touch the one it lies in
        nodes = np.concatenate(
            [
                contours[each].points[[0, len(contours[each]) // 3, 2 * len(contours[each]) // 3], 0]
                for each in chosen.tolist()
            ]
        )
        votes = contains(Region(contours[index]), nodes).reshape(-1, 3).sum(axis=1)
        around[chosen[votes >= 2]] = index
    found: list[int] = around.tolist()
    return found
