"""A file read back and held against what was meant: how far apart the two lie, contour by contour, both ways.

The distance is Hausdorff's between the two contours, each sampled so finely that its chords stay within
`SAMPLED_MM` of it; what is reported may be off by that much, of copies by twice that, never more. Contours
are compared in the order they were written: a writer that loses one, joins two or swaps them is as wrong as
one that moves them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.errors import CannotWrite
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import joined
from bladewise.layout.alike import key_of

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path
    from bladewise.layout.alike import Key

SAMPLED_MM = 0.001
"""How near the chords of the samples stay to the curves: a hundredth of what a good table resolves."""
LONGEST_CHORD_MM = 5.0
"""Chords are parted down to this, so that what strays between two far nodes is seen."""
_SAME_WEIGHT = 1e-9
"""Arcs whose weights differ by no more than rounding are told by their control points alone."""
_FEW = 5_000
"""Pairs of place and chord up to which all of them are looked at."""
_WINDOW = 4
"""Chords looked at before and after the one that lies as far along."""
_LOOKED_AT = 24
"""Places that seem farthest, which are measured against all chords."""
_ROUNDING = 1e-9


class Made(NamedTuple):
    """The contents of a file, and how far what is read back from it lies from what was meant, in mm."""

    data: bytes
    apart_mm: float


def apart(meant: Path, found: Path, *, tells_closed: bool = True) -> float:
    """Return how far two paths lie apart, in mm: the largest distance between a contour and its counterpart.

    Infinite where the two do not have as many contours, or not the same ones closed; `tells_closed` False: of a
    language that has no word for it.

    Examples
    --------
    >>> from bladewise.geometry.path import rectangle
    >>> round(apart(rectangle(0, 0, 20, 10), rectangle(0, 0, 20, 10.5)), 6)
    0.5
    """
    if len(meant.starts) != len(found.starts):
        return math.inf
    if tells_closed and not np.array_equal(meant.closed, found.closed):
        return math.inf
    if not len(meant):
        return 0.0
    if not (np.isfinite(meant.points).all() and np.isfinite(found.points).all()):
        return math.inf
    if (bound := _by_control_points(meant, found)) is not None:
        return bound
    looked, further = _without_copies(list(meant.subpaths()), list(found.subpaths()))
    one, other = (flatten(joined(contours), SAMPLED_MM) for contours in zip(*looked, strict=True))
    return further + max(
        max(_farthest(first, second), _farthest(second, first))
        for first, second in zip(
            np.split(one.coords, one.starts[1:]), np.split(other.coords, other.starts[1:]), strict=True
        )
    )


def _without_copies(meant: list[Path], found: list[Path]) -> tuple[list[tuple[Path, Path]], float]:
    """Return the pairs of contours that have to be looked at, and how much farther apart copies of them may lie.

    Of contours that are copies only the first is looked at, where what was found of the others is a copy too: by the
    triangle inequality they lie no farther apart than the first do, and the control points of what was found.
    """
    first: dict[Key, tuple[Path, Path]] = {}
    looked: list[tuple[Path, Path]] = []
    further = 0.0
    for one, other in zip(meant, found, strict=True):
        origin = one.points[0, 0]
        pair = first.setdefault(key_of(one, origin), (one, other))
        if pair[0] is not one and np.array_equal(other.kinds, pair[1].kinds):
            away = (other.points - origin) - (pair[1].points - pair[0].points[0, 0])
            astray = float(np.hypot(away[..., 0], away[..., 1]).max())
            if astray <= SAMPLED_MM and float(np.abs(other.weights - pair[1].weights).max()) <= _SAME_WEIGHT:
                further = max(further, astray)
                continue
        looked.append((one, other))
    return looked, further


def held(apart_mm: float, promised_mm: float, what: str) -> float:
    """Return how far a file lies from what was meant; `what` names its kind, should that be too far.

    Raises
    ------
    CannotWrite
        If it is farther than was promised: a fault of ours, and the file is not written.
    """
    if not apart_mm <= promised_mm + 2.0 * SAMPLED_MM:
        raise CannotWrite(what, hint="Nothing was written; please report it, with the job.")
    return apart_mm


def _by_control_points(meant: Path, found: Path) -> float | None:
    """Return the largest distance between control points, where that is all there is to know; None where it is not.

    A place on a curve is a mean of its control points with weights that depend on the parameter alone; so curves of
    the same kind lie no farther apart, parameter by parameter, than their control points do (any book on Béziers).
    """
    if not (np.array_equal(meant.starts, found.starts) and np.array_equal(meant.kinds, found.kinds)):
        return None
    if float(np.abs(meant.weights - found.weights).max()) > _SAME_WEIGHT:
        return None
    farthest = float(np.hypot(*(meant.points - found.points).reshape(-1, 2).T).max())
    return farthest if farthest <= SAMPLED_MM else None


def _farthest(places: Floats, line: Floats) -> float:
    """Return the largest distance of the chords through some places from another row of chords."""
    if not _is_dot(places):
        places = np.asarray(shapely.get_coordinates(shapely.segmentize(shapely.linestrings(places), LONGEST_CHORD_MM)))
    if _is_dot(line):
        return float(np.hypot(*(places - line[0]).T).max())
    if len(places) * len(line) <= _FEW:
        return float(shapely.distance(shapely.points(places), shapely.linestrings(line)).max())
    at_most = _beside(places, line)
    worst = np.argsort(-at_most)[:_LOOKED_AT]
    exact = float(shapely.distance(shapely.points(places[worst]), shapely.linestrings(line)).max())
    if len(worst) == len(places) or float(at_most[worst[-1]]) <= exact + _ROUNDING:
        return exact
    chords = np.asarray(shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1)))
    _, distances = shapely.STRtree(chords).query_nearest(
        shapely.points(places), return_distance=True, all_matches=False
    )
    return float(distances.max())


def _beside(places: Floats, line: Floats) -> Floats:
    """Return how far each place lies at most from a row of chords: its distance from those that lie as far along it.

    Shape (n,), in mm. Two contours that are the same run beside each other; where they do not, this is too much.
    """
    chords = len(line) - 1
    way = np.hypot(*np.diff(line, axis=0).T)
    along, there = np.cumsum(way), np.cumsum(np.append(0.0, np.hypot(*np.diff(places, axis=0).T)))
    middle = np.searchsorted(along, there * (along[-1] / there[-1]))
    near = np.clip(middle[:, None] + np.arange(-_WINDOW, _WINDOW + 1), 0, chords - 1)
    start = line[near]
    step = line[near + 1] - start
    off = places[:, None] - start
    share = (off * step).sum(axis=2) / np.maximum((step * step).sum(axis=2), 1e-300)
    off -= np.clip(share, 0.0, 1.0)[..., None] * step
    found: Floats = np.sqrt((off * off).sum(axis=2).min(axis=1))
    return found


def _is_dot(places: Floats) -> bool:
    return bool((places == places[0]).all())
