"""Rings that come back to a point of their own, parted there into loops.

GEOS gives rings that pass no point twice. Once the crossings are in their true places two of them may
be one point, the corner of another shape, say: then the ring goes round two areas that touch there,
or round an area and its hole, and each becomes a ring of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.keys import point_keys

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.junctions import Runs


def part_loops(runs: Runs, count: int) -> NDArray[np.int64]:
    """Give every loop beyond the first of a ring a ring number of its own, from `count` up; changes `runs`.

    Parameters
    ----------
    runs
        Runs of all rings, settled.
    count
        The number of rings.

    Returns
    -------
    home
        For each new number, in order, the ring it was parted from.
    """
    key = point_keys(runs.start)
    order = np.lexsort((key, runs.ring))
    again = (key[order][1:] == key[order][:-1]) & (runs.ring[order][1:] == runs.ring[order][:-1])
    home: list[int] = []
    if not again.any():
        return np.zeros(0, np.int64)
    for ring in np.unique(runs.ring[order[1:][again]]).tolist():
        rows = np.flatnonzero(runs.ring == ring)
        for loop in _loops(rows.tolist(), key[rows].tolist()):
            runs.ring[loop] = count + len(home)
            home.append(ring)
    runs.take(np.argsort(runs.ring, kind="stable"))
    return np.array(home, np.int64)


def _loops(rows: list[int], keys: list[int]) -> list[list[int]]:
    """Return the loops of a ring but for the one that is left when all others are taken out."""
    out: list[list[int]] = []
    walked: list[int] = []
    seen: dict[int, int] = {}
    for row, key in zip(rows, keys, strict=True):
        if key in seen:
            at = seen[key]
            out.append(walked[at:])
            del walked[at:]
            seen = {known: place for known, place in seen.items() if place < at}
        seen[key] = len(walked)
        walked.append(row)
    return out
