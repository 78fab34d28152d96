"""The cuts of a perforation along a path: a whole number of them from corner to corner, so that corners are cut.

Dashes that run on from wherever a line begins leave some corners whole, and there the material tears past the
line. So every side, from one corner to the next, gets its own whole number of cuts; half a cut lies on either
side of a corner, and a side that ends freely ends with a whole one, where the tear begins (common practice,
no source). Cuts and gaps of a side are stretched or shortened together: the share that stays whole decides how
easily it tears, and is kept. Over n cuts of a side that comes to one part in 2·n at most.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.errors import CannotApply
from bladewise.geometry.curves import cross
from bladewise.geometry.dashes import MOST_DASHES, without_stretches
from bladewise.geometry.measures import segment_lengths, tangent_at
from bladewise.geometry.path import EMPTY
from bladewise.geometry.tolerances import CUT_CORNER_DEG

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path


def perforated(path: Path, cut_mm: float, gap_mm: float) -> Path:
    """Return the cuts of a perforation along a path.

    Parameters
    ----------
    path
        Open or closed subpaths.
    cut_mm, gap_mm
        How far the knife cuts, and how far it then leaves the material whole; both above 0.

    Returns
    -------
    Path
        Open subpaths, exact parts of the path's own segments. A subpath too short for a single gap
        stays as it is.

    Raises
    ------
    ValueError
        If a length is not above 0.
    CannotApply
        If there would be more than `dashes.MOST_DASHES` cuts.

    Examples
    --------
    >>> from bladewise.geometry.path import rectangle
    >>> cuts = perforated(rectangle(0.0, 0.0, 40.0, 20.0), 3.0, 1.0)
    >>> len(cuts.starts), segment_lengths(cuts).sum().round(6).item()
    (30, 90.0)
    """
    if not (cut_mm > 0.0 and gap_mm > 0.0 and math.isfinite(cut_mm + gap_mm)):
        message = "cut and gap of a perforation must be above 0"
        raise ValueError(message)
    if not path:
        return EMPTY
    period = cut_mm + gap_mm
    share = gap_mm / period
    upto = np.append(0.0, np.cumsum(segment_lengths(path)))
    if upto[-1] / period > MOST_DASHES:
        message = "the perforation is too fine for lines of this length"
        raise CannotApply(message, hint="Give longer cuts and gaps.")
    corners = corner_places(path)
    owners, starts, ends = [], [], []
    for index, (first, last) in enumerate(zip(path.starts.tolist(), path.ends.tolist(), strict=True)):
        size = float(upto[last] - upto[first])
        closed = bool(path.closed[index])
        at = corners[index]
        if closed:
            at = np.append(at, at[0] + size) if len(at) else np.array([0.0, size])
        else:
            at = np.concatenate([[0.0], at, [size]])
        for side, (low, high) in enumerate(zip(at[:-1].tolist(), at[1:].tolist(), strict=True)):
            free = 0 if closed else (side == 0) + (side == len(at) - 2)  # ends with a whole cut instead of half of one
            span = high - low
            count = round((span - free * cut_mm / 2.0) / period)
            if count < 1:
                continue
            step = span / (count + free * (1.0 - share) / 2.0)
            head = (1.0 - share) * step * (1.0 if side == 0 and not closed else 0.5)
            gaps = low + head + step * np.arange(count)
            owners.append(np.full(count, index))
            starts.append(gaps)
            ends.append(gaps + share * step)
    if not owners:
        return path
    return without_stretches(path, np.concatenate(owners), np.concatenate(starts), np.concatenate(ends))


def corner_places(path: Path, sharper_than_deg: float = CUT_CORNER_DEG) -> list[Floats]:
    """Return where along each subpath it has corners, in mm from its start, rising; ends of open ones are none."""
    if not path:
        return []
    sizes = segment_lengths(path)
    upto = np.append(0.0, np.cumsum(sizes))
    rows = np.arange(len(path))
    arriving, leaving = tangent_at(path, rows, np.ones(len(path))), tangent_at(path, rows, np.zeros(len(path)))
    found = []
    for first, last, closed in zip(path.starts.tolist(), path.ends.tolist(), path.closed.tolist(), strict=True):
        live = np.flatnonzero(sizes[first:last] > 0.0) + first  # a segment of no length has no direction
        before = np.roll(live, 1)
        if not closed:
            live, before = live[1:], before[1:]
        into, out = arriving[before], leaving[live]
        turn = np.abs(np.arctan2(cross(into, out), (into * out).sum(axis=1)))
        found.append(upto[live[turn > math.radians(sharper_than_deg)]] - upto[first])
    return found
