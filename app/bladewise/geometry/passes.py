"""Where lines pass through one another or themselves, found on chords and settled on the curves.

All chords are noded at once; a node from which four ends or more go is passed twice. Which chords pass
there tells the curves and the parameters from which Newton's method finds the true crossing. Where only
two chords pass, neither at its end, they cross; where a vertex is involved the directions decide whether
one line changes sides of the other or only touches it.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.crossings import Curves, refine
from bladewise.geometry.provenance import ChordIndex, along, chords_of, closed_rings
from bladewise.geometry.tolerances import ON_CURVE_MM, REACH
from bladewise.geometry.topology import passed_twice
from bladewise.geometry.weave import unwoven

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.provenance import Chords
    from bladewise.geometry.sources import Sources

_ON_CHORD = 1e-12
"""How far from a chord, as a share of the coordinates' size, a node of it may be that GEOS has rounded."""


class Passes(NamedTuple):
    """Pairs of segments that cross, and where.

    Parameters
    ----------
    first, second
        The segments, shape (n,).
    places
        In mm, shape (n, 2).
    """

    first: NDArray[np.int64]
    second: NDArray[np.int64]
    places: Floats


def crossing_passes(lines: Sources, tolerance_mm: float) -> Passes:
    """Return every place where the lines pass through one another or themselves.

    Parameters
    ----------
    lines
        Open or closed; shared stretches and mere touches are no crossings.
    tolerance_mm
        To which the curves are followed; crossings of curves nearer than this to being tangent stay
        where the chords cross.
    """
    woven = unwoven(lines)
    chords = chords_of(woven, tolerance_mm)
    coords, ring = closed_rings(woven, chords)
    strings: Any = shapely.linestrings(coords, indices=ring)
    places = passed_twice(shapely.multilinestrings(strings))
    if not len(places):
        none = np.zeros(0, np.int64)
        return Passes(none, none, places)
    place, chord = ChordIndex(woven, chords).near(places)
    u, away = along(places[place], chords.start[chord], chords.end[chord])
    size = np.abs(coords).max() + 1.0
    on = away < _ON_CHORD * size
    place, chord, u = place[on], chord[on], u[on]
    order = np.lexsort((chord, place))
    place, chord, u = place[order], chord[order], u[order]
    first = np.searchsorted(place, np.arange(len(places) + 1))
    length = np.hypot(*(chords.end[chord] - chords.start[chord]).T)
    inner = (u * length > _ON_CHORD * size) & ((1.0 - u) * length > _ON_CHORD * size)
    plain = np.diff(first) == 2
    plain[place[~inner]] = False
    at = first[:-1][plain]
    found = [np.stack([at, at + 1], axis=1)]
    for number in np.flatnonzero(~plain).tolist():
        rows = np.arange(first[number], first[number + 1])
        found.append(_crossing_at(lines, chords, rows, chord, places[number]))
    pairs = np.concatenate(found)
    return _settled(lines, chords, places, (place[pairs[:, 0]], chord[pairs], u[pairs]), tolerance_mm)


def _crossing_at(
    lines: Sources, chords: Chords, rows: NDArray[np.int64], chord: NDArray[np.int64], place: Floats
) -> NDArray[np.int64]:
    """Return the pairs of rows whose lines cross at a place where chords end, shape (k, 2)."""
    size = np.abs(place).max() + 1.0
    runs: list[tuple[int, list[float]]] = []
    coming: dict[int, tuple[int, float]] = {}
    leaving: dict[int, tuple[int, float]] = {}
    for row in rows.tolist():
        number = int(chord[row])
        back, ahead = chords.start[number] - place, chords.end[number] - place
        starts, ends = np.hypot(*back) <= _ON_CHORD * size * 10.0, np.hypot(*ahead) <= _ON_CHORD * size * 10.0
        if not starts and not ends:
            runs.append((row, [float(np.arctan2(*back[::-1])), float(np.arctan2(*ahead[::-1]))]))
        elif ends and not starts:
            coming[number] = (row, float(np.arctan2(*back[::-1])))
        elif starts and not ends:
            leaving[number] = (row, float(np.arctan2(*ahead[::-1])))
    for number, (row, way) in coming.items():
        after = _chord_after(lines, chords, number)
        if after in leaving:
            runs.append((row, [way, leaving[after][1]]))
    found = [(one, two) for (one, a), (two, b) in combinations(runs, 2) if _between(a, b[0]) != _between(a, b[1])]
    return np.array(found, np.int64).reshape(-1, 2)


def _chord_after(lines: Sources, chords: Chords, chord: int) -> int:
    """Return the chord after one along its line, −1 past an open end."""
    piece = int(chords.piece[chord])
    if chord + 1 < chords.first[piece + 1]:
        return chord + 1
    after = lines.next(piece, 1)
    return int(chords.first[after]) if after >= 0 else -1


def _between(ways: list[float], way: float) -> bool:
    """Whether a direction lies in the turn from the first of two directions to the second."""
    turn, full = (way - ways[0]) % (2.0 * np.pi), (ways[1] - ways[0]) % (2.0 * np.pi)
    return bool(0.0 < turn < full)


def _settled(
    lines: Sources,
    chords: Chords,
    places: Floats,
    pairs: tuple[NDArray[np.int64], NDArray[np.int64], Floats],
    tolerance_mm: float,
) -> Passes:
    """Return the crossings of chords as crossings of their curves, those that are one made one."""
    place, chord, u = pairs
    segment = chords.segment[chord]
    t = chords.t0[chord] + u * (chords.t1[chord] - chords.t0[chord])
    near = places[place]
    one, two = (
        Curves(lines.points[rows], lines.kinds[rows], lines.weights[rows]) for rows in (segment[:, 0], segment[:, 1])
    )
    t_one, t_two, exact, miss = refine(one, t[:, 0], two, t[:, 1], near)
    sound = (miss < ON_CURVE_MM) & (np.hypot(*(exact - near).T) < REACH * tolerance_mm)
    sound &= (np.abs(t_one - 0.5) <= 0.5 + 1e-9) & (np.abs(t_two - 0.5) <= 0.5 + 1e-9)
    sound &= (segment[:, 0] != segment[:, 1]) | (np.abs(t_one - t_two) > 1e-6)  # a loop, not one place of one curve
    exact = np.where(sound[:, None], exact, near)
    low, high = segment.min(axis=1), segment.max(axis=1)
    rounded = np.round(exact / ON_CURVE_MM)
    _, kept = np.unique(np.column_stack([low, high, rounded]), axis=0, return_index=True)
    return Passes(low[kept], high[kept], exact[kept])
