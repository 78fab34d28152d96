"""Corners replaced by arcs of circles that touch both sides.

An arc begins and ends where its circle touches the true curves (`fillets`), so the path goes on
without a kink; what lies between is left out, everything else keeps its bits. Where the sides are
too short for the radius, two corners share a side that is too short for both, or an arc would cross
another part of the path, the radii shrink until all fit, both of a side in the same measure, as the
corners of a box do in SVG and CSS.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.arcs import arc_rows
from bladewise.geometry.curves import cross, sub_segments
from bladewise.geometry.fillets import Fillets, Sides, fillets
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.offset_curves import dot, lengths_of
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.tolerances import COINCIDENT_MM, ROUNDED_CORNER_DEG, SAME_POINT_MM, SMOOTH_JOINT_DEG
from bladewise.geometry.winding import contains

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.overlaps import Crossing
    from bladewise.geometry.path import Floats

    Ints = NDArray[np.int64]

_CHAIN = 4
"""Segments that run on smoothly from a corner and may be shortened or left out for its arc."""
_BACK = math.radians(179.0)
"""Turns beyond this go back the way they came: no circle touches both sides."""
_FITTINGS = 30
"""Rounds in which the radii of neighbours are brought to fit."""
_RETRIES = 8
"""Times the radius is taken down where an arc would cross another part of the path; then the corner stays."""


class Bend(StrEnum):
    """Which corners are meant, seen from the painted area."""

    BOTH = "both"
    OUTSIDE = "outside"
    INSIDE = "inside"


class RoundedCorner(NamedTuple):
    """A corner that was to be rounded: where it was (mm), and the radius it got; 0 if it stayed."""

    x: float
    y: float
    radius_mm: float


class Rounding(NamedTuple):
    """A path with its corners rounded, and every corner that was meant."""

    path: Path
    corners: tuple[RoundedCorner, ...]


def round_corners(
    path: Path,
    radius_mm: float,
    *,
    sharper_than_deg: float = ROUNDED_CORNER_DEG,
    bend: Bend = Bend.BOTH,
    rule: FillRule = FillRule.NONZERO,
) -> Rounding:
    """Replace corners by arcs that touch both their sides.

    Parameters
    ----------
    path
        Any path. The ends of open subpaths are no corners.
    radius_mm
        The radius wanted; a corner whose sides are too short for it gets the largest that fits.
    sharper_than_deg
        Corners whose sides enclose less than this angle are meant.
    bend
        Those that point out of the painted area, into it, or both.
    rule
        How the path paints, which tells outside from inside.

    Returns
    -------
    Rounding
        Segments that are not shortened keep their bits; the arcs are arcs of circles, to rounding.

    Raises
    ------
    ValueError
        If the radius is not above 0.
    """
    if not radius_mm > 0.0:
        message = f"the radius must be above 0 mm, not {radius_mm}"
        raise ValueError(message)
    live = np.flatnonzero(np.ptp(path.points, axis=1).max(axis=1, initial=0.0) > SAME_POINT_MM)
    if not len(live):
        return Rounding(path, ())
    nodes = _Nodes(path, live)
    meant = nodes.exists & (np.abs(nodes.turn) > math.radians(180.0 - sharper_than_deg))
    meant &= np.abs(nodes.turn) < _BACK
    if bend is not Bend.BOTH:
        meant &= nodes.outside(Region(path, rule)) == (bend is Bend.OUTSIDE)
    corners = np.flatnonzero(meant)
    if not len(corners):
        return Rounding(path, ())
    radius = np.full(len(corners), radius_mm)
    found = _fitted(path, nodes, corners, radius)
    new = _rebuilt(path, nodes, corners, found)
    known = crossings(list(path.subpaths()))
    for attempt in range(_RETRIES):
        across = _crossing(new, known, found)
        if not across.any():
            break
        radius = np.where(across, 0.6 * found.radius if attempt < _RETRIES - 1 else 0.0, radius)
        found = _fitted(path, nodes, corners, radius)
        new = _rebuilt(path, nodes, corners, found)
    at = path.points[live[corners], 0]
    told = tuple(RoundedCorner(x, y, got) for (x, y), got in zip(at.tolist(), found.radius.tolist(), strict=True))
    return Rounding(new, told)


def _crossing(new: Path, known: Sequence[Crossing], found: Fillets) -> NDArray[np.bool_]:
    """Whether each corner's circle passes through a place where the new path crosses itself and the old one did not."""
    out = np.zeros(len(found.radius), np.bool_)
    now = crossings(list(new.subpaths()))
    for each in now if len(now) > len(known) else ():
        if any(math.hypot(each.x - other.x, each.y - other.y) < COINCIDENT_MM for other in known):
            continue
        away = np.abs(np.hypot(*(found.centre - (each.x, each.y)).T) - found.radius)
        out |= (away < COINCIDENT_MM) & (found.radius > 0.0)
    return out


class _Nodes:
    """The nodes between segments that have a length, each known by the segment that begins there."""

    def __init__(self, path: Path, live: Ints) -> None:
        self.path, self.live = path, live
        owner = np.repeat(np.arange(len(path.starts)), path.ends - path.starts)[live]
        count = len(live)
        self.owner = owner
        self.first = np.searchsorted(owner, owner, side="left")  # of each one's subpath
        self.last = np.searchsorted(owner, owner, side="right") - 1
        place = np.arange(count)
        self.before = np.where(place > self.first, place - 1, self.last)
        self.after = np.where(place < self.last, place + 1, self.first)
        self.exists = path.closed[owner] | (place > self.first)
        arriving = tangent_at(path, live[self.before], np.ones(count))
        leaving = tangent_at(path, live, np.zeros(count))
        self.inward = leaving - arriving  # between the two sides
        self.turn = np.where(self.exists, np.arctan2(cross(arriving, leaving), dot(arriving, leaving)), 0.0)

    def outside(self, region: Region) -> NDArray[np.bool_]:
        """Whether the place just between the two sides is painted, for every node."""
        size = np.ptp(self.path.points[self.live], axis=1).max(axis=1)
        step = 1e-3 * np.minimum(size, size[self.before])
        way = self.inward / np.maximum(lengths_of(self.inward), 1e-300)[:, None]
        return contains(region, self.path.points[self.live, 0] + step[:, None] * way)

    def sides(self, corners: Ints) -> Sides:
        """Return the chains of segments to both sides, up to the next place that is not smooth."""
        smooth = self.exists & (np.abs(self.turn) <= math.radians(SMOOTH_JOINT_DEG))
        before = np.full((len(corners), _CHAIN), -1)
        after = np.full((len(corners), _CHAIN), -1)
        back, ahead = self.before[corners], corners
        goes_back = goes_on = np.ones(len(corners), np.bool_)
        for slot in range(_CHAIN):
            before[:, slot] = np.where(goes_back, self.live[back], -1)
            after[:, slot] = np.where(goes_on, self.live[ahead], -1)
            goes_back = goes_back & smooth[back]
            back = self.before[back]
            ahead = self.after[ahead]
            goes_on = goes_on & smooth[ahead]
        return Sides(before, after, self.turn[corners])


def _fitted(path: Path, nodes: _Nodes, corners: Ints, radius: Floats) -> Fillets:
    """Return touching circles none of which reaches into another's part of the path."""
    sides = nodes.sides(corners)
    found = fillets(path, sides, radius)
    follower, between = _neighbours(path, nodes, corners)
    for attempt in range(_FITTINGS):
        claim = found.setback[:, 1] + found.setback[follower, 0]
        taken = found.radius * found.radius[follower] > 0.0
        over = taken & (claim > between + SAME_POINT_MM)
        if not over.any():
            return found
        share = np.where(over, between / np.maximum(claim, 1e-300), 1.0)
        share = np.where(over & (attempt > _FITTINGS // 2), 0.9 * share, share)
        least = share.copy()
        np.minimum.at(least, follower, share)
        changed = np.flatnonzero(least < 1.0)
        again = fillets(path, sides.only(changed), found.radius[changed] * least[changed])
        for old, new in zip(found, again, strict=True):
            old[changed] = new
    found.radius[over] = 0.0
    found.radius[follower[over]] = 0.0
    return found


def _neighbours(path: Path, nodes: _Nodes, corners: Ints) -> tuple[Ints, Floats]:
    """Return the number of the corner after each, and the length between; no end where there is none."""
    flat = flatten(path, 1e-3 * max(float(np.ptp(path.points, axis=(0, 1)).max()), 1e-12))
    step = np.append(lengths_of(np.diff(flat.coords, axis=0)), 0.0)
    at_end = np.zeros(len(step), np.bool_)
    at_end[np.append(flat.starts[1:] - 1, len(step) - 1)] = True
    size = np.bincount(flat.segment, weights=np.where(at_end, 0.0, step), minlength=len(path))[nodes.live]
    upto = np.append(0.0, np.cumsum(size))
    owner = nodes.owner[corners]
    number = np.arange(len(corners))
    last = np.append(owner[1:] != owner[:-1], True)
    first = np.searchsorted(owner, owner, side="left")
    follower = np.where(last, first, number + 1)
    whole = upto[nodes.last[corners] + 1] - upto[nodes.first[corners]]
    between = upto[corners[follower]] - upto[corners] + np.where(last, whole, 0.0)
    return follower, np.where(last & ~path.closed[owner], np.inf, between)


def _rebuilt(path: Path, nodes: _Nodes, corners: Ints, found: Fillets) -> Path:
    """Return the path with the arcs in it; subpaths without one keep all their bits."""
    rounded = np.flatnonzero(found.radius > 0.0)
    if not len(rounded):
        return path
    count = len(path)
    t0, t1, gone = np.zeros(count), np.ones(count), np.zeros(count, np.bool_)
    sides = nodes.sides(corners)
    touched = np.zeros((len(corners), 2), np.int64)
    for side, chain in enumerate((sides.before, sides.after)):
        slot = found.slots[:, side]
        touched[:, side] = chain[np.arange(len(corners)), slot]
        for passed in range(_CHAIN):
            gone[chain[rounded[slot[rounded] > passed], passed]] = True
    t1[touched[rounded, 0]] = found.t[rounded, 0]
    t0[touched[rounded, 1]] = found.t[rounded, 1]
    points, weights = sub_segments(path.points, path.kinds, path.weights, t0, np.maximum(t0, t1))
    cut = (t0 > 0.0) | (t1 < 1.0)
    spent = cut & ((t1 <= t0) | (np.ptp(points, axis=1).max(axis=1) <= SAME_POINT_MM))
    starts, ends = points[touched[:, 0], 3], points[touched[:, 1], 0].copy()
    # where nothing is left of a side, the arc begins or ends where its neighbour does, which may be another arc
    follows = {int(touched[number, 0]): number for number in rounded.tolist()}
    leads = {int(touched[number, 1]): number for number in rounded.tolist()}
    for number in rounded.tolist():
        one, two = touched[number].tolist()
        if spent[two] and two not in follows:
            ends[number] = path.points[two, 3]
        if spent[one] and one not in leads:
            starts[number] = path.points[one, 0]
    for number in rounded.tolist():
        one = int(touched[number, 0])
        if spent[one] and one in leads:
            starts[number] = ends[leads[one]]
    gone |= spent
    owner = np.repeat(np.arange(len(path.starts)), path.ends - path.starts)
    changed = np.isin(owner, owner[nodes.live[corners[rounded]]])
    empty = np.ptp(path.points, axis=1).max(axis=1) == 0.0
    keep = np.flatnonzero(~(gone | (changed & empty)))
    columns = [(points[keep], path.kinds[keep], weights[keep])]
    place, whose = [keep + 0.5], [owner[keep]]
    for number in rounded.tolist():
        node = nodes.live[corners[number]]
        rows = arc_rows(starts[number], ends[number], found.centre[number], float(found.sweep[number]))
        columns.append(rows)
        place.append(np.full(len(rows[1]), float(node)))
        whose.append(np.full(len(rows[1]), owner[node]))
    order = np.lexsort((np.concatenate(place), np.concatenate(whose)))
    points, kinds, weights = (np.concatenate(column)[order] for column in zip(*columns, strict=True))
    sizes = np.bincount(np.concatenate(whose), minlength=len(path.starts))
    return Path(points, kinds, weights, np.cumsum(sizes) - sizes, path.closed)
