"""The narrowest places of a shape and the narrowest gaps beside it, on the true curves.

What a width is. The medial axis (H. Blum, "A Transformation for Extracting New Descriptors of Shape",
1967) holds the centres of all circles that lie in the shape and touch its outline at two places or
more. Where the two touching places, the *feet*, lie opposite each other, the circle's diameter is
the width of the shape; where that width is least the chord between the feet stands square on the
outline at both, and the feet are as near to each other as any two places beside them. So a *narrow
place* here is a chord from outline to outline

- that runs inside the shape and whose circle holds no other part of the outline,
- whose sides are parallel where it stands, or run together by no more than `TAPER_DEG`,
- whose length is least among its neighbours of that kind.

So a neck is measured where its sides are parallel, to rounding; a strip that tapers, where it ends
or begins to close faster than that. A re-entrant corner stands square to every direction between the
normals of its sides. A corner's tip has no width, however slender: its sides run together, and the
circles in it touch them on one side only. Neighbouring chords under the limit form one stretch and
are told once, where it is narrowest.

A gap is the same seen from outside: between parts, in inlets and inside holes.

How it is found: outlines are cut into stretches of little turn (`stretches`); pairs that come within
the limit and face each other (their tangents opposed, the shape on the right sides) go to Newton's
method on both parameters; the circle over each chord is then tried against the outline. Nothing is
sampled, and the work grows with the number of stretches that lie near each other.

Lengths are mm, y down; the shape lies to the right of its outlines as seen along them on the screen,
as all results of `booleans` have it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bernstein import derivatives
from bladewise.geometry.booleans import resolve
from bladewise.geometry.curves import cross
from bladewise.geometry.distances import chord_bounds
from bladewise.geometry.facing import Chords, Outline, connected, measured, moved, there, together
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.stretches import box_pairs, feet, hulls, wrapped
from bladewise.geometry.tolerances import TAPER_DEG, TOUCHING_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Point

__all__ = ["Foot", "Narrow", "narrow_gaps", "narrow_widths", "narrowest_gap", "narrowest_width"]

_ROUNDS = 14
"""Newton steps; most pairs settle in four, near-parallel sides move to where their stretch ends."""
_CIRCLE = 0.005
"""Part of its radius by which a circle may lie over the outline: a chord askew by 5° asks for 0.4 %."""
_FIRST_LIMIT = 1.0 / 64.0
_LEAST_LIMIT = 1e-6
"""The search for the least width begins with a quarter of the usual chord, between these parts of the extent, and
doubles until something is found: a limit far above the detail of a large document would look at everything."""
_FARTHER_IN = (0.55, 1.0, 0.0, np.inf)
"""Where a strip ends blunt its circle stands half a width from the end, or more where the end is askew: how many widths
to go in; then (0) to the middle of the stretch and at last to its other end."""
_TRIED = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Where on its stretch a chord is tried when the shortest one's sides are not parallel."""
_HALVINGS = 10
"""How often the way from there to the shortest chord is halved, to find where the sides begin to close."""
_SAME = 0.25
"""Circles whose middles lie within this part of their width are one place, found from two sides."""
_SQUARE = 1e-6
"""Radians; a chord nearer than this to both normals stands square."""


class Foot(NamedTuple):
    """An end of a chord: the segment of the path, the parameter on it, the place in mm."""

    segment: int
    t: float
    point: Point


class Narrow(NamedTuple):
    """A narrow place: its width in mm, its middle, the two feet on the outline, and the index of the area."""

    width_mm: float
    place: Point
    first: Foot
    second: Foot
    area: int


def narrow_widths(areas: Path | Region | Sequence[Path], below_mm: float) -> list[Narrow]:
    """Return every place where an area is narrower than a limit, the narrowest first.

    Parameters
    ----------
    areas
        A resolved path (as all of `booleans` return), several of them, or a region, which is
        resolved first. Several are measured each for itself; what overlaps among them plays no part.
        Open subpaths enclose nothing and are left out.
    below_mm
        Widths below this count.

    Returns
    -------
    list[Narrow]
        One a narrow stretch; segments are those of the area's path (of `resolve(region)` for a region).

    Examples
    --------
    >>> from bladewise.geometry.path import polygon
    >>> bow_tie = polygon([(0, 0), (10, 4), (20, 0), (20, 10), (10, 6), (0, 10)])
    >>> [(found.width_mm, found.place) for found in narrow_widths(bow_tie, 3.0)]
    [(2.0, (10.0, 5.0))]
    """
    return _Search(_areas(areas), 1.0).below(below_mm)


def narrow_gaps(areas: Path | Region | Sequence[Path], below_mm: float) -> list[Narrow]:
    """Return every place where the outside is narrower than a limit: gaps, inlets and holes; see `narrow_widths`.

    Gaps between the subpaths of one path are seen; to see those between several shapes merge them first.
    """
    return _Search(_areas(areas), -1.0).below(below_mm)


def narrowest_width(area: Path | Region) -> Narrow | None:
    """Return the narrowest place of an area, or None where it has none (a triangle, an empty path).

    Of a disc it is a diameter.
    """
    return _Search(_areas(area), 1.0).least()


def narrowest_gap(area: Path | Region) -> Narrow | None:
    """Return the narrowest place outside an area, or None: one convex part has no gap."""
    return _Search(_areas(area), -1.0).least()


def _areas(areas: Path | Region | Sequence[Path]) -> list[Path]:
    if isinstance(areas, Path):
        return [areas]
    if isinstance(areas, Region):
        return [resolve(areas)]
    return list(areas)


class _Search:
    """The narrow places of some areas, on one side of their outlines (1 inside, −1 outside)."""

    def __init__(self, areas: list[Path], side: float) -> None:
        self.path = joined(areas)
        self.side = side
        sizes = [len(path) for path in areas]
        self.first_segment = np.cumsum([0, *sizes])
        self.area_of = np.repeat(np.arange(len(areas)), [len(path.starts) for path in areas])
        box = self.path.bounds() or (0.0, 0.0, 0.0, 0.0)
        self.origin = np.array([(box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0])
        self.extent = max(box[2] - box[0], box[3] - box[1])

    def least(self) -> Narrow | None:
        chords = self.path.points[:, 3] - self.path.points[:, 0]
        usual = float(np.median(np.hypot(chords[:, 0], chords[:, 1]))) if self.path else 0.0
        limit = max(min(usual / 4.0, self.extent * _FIRST_LIMIT), self.extent * _LEAST_LIMIT)
        while limit > 0.0 and np.isfinite(limit):
            found = self.below(limit)
            if found:
                return found[0]
            if limit > 2.0 * self.extent:
                break
            limit *= 2.0
        return None

    def below(self, limit_mm: float) -> list[Narrow]:
        if not self.path or not limit_mm > 0.0:
            return []
        outline = Outline(self.path, self.area_of, self.origin, self.side, limit_mm)
        chords = self._settled(outline, self._facing(outline, limit_mm))
        tips = chords.taken(chords.width_mm <= TOUCHING_MM)
        chords = chords.taken((chords.width_mm < limit_mm) & (chords.width_mm > TOUCHING_MM))
        chords = self._clear(outline, self._parallel(outline, chords))
        return self._told(outline, chords.taken(chords.width_mm < limit_mm), tips)

    def _facing(self, outline: Outline, limit_mm: float) -> Chords:
        """Return the pairs of elements that may have a chord, with the place where their chords are nearest."""
        parts, taper = outline.parts, np.radians(TAPER_DEG)
        box = hulls(parts.control, limit_mm / 2.0)
        one, two = box_pairs(box, box)
        apart = np.abs(wrapped(parts.heading[one] - parts.heading[two] - np.pi))
        rows = (one < two) & (apart <= parts.swing[one] + parts.swing[two] + taper)
        rows &= outline.area[one] == outline.area[two]
        one, two = one[rows], two[rows]
        floor, on_one, on_two = chord_bounds(parts.control[one], parts.control[two])
        near = floor < limit_mm
        return Chords(one[near], two[near], on_one[near], on_two[near], floor[near])

    def _settled(self, outline: Outline, pairs: Chords) -> Chords:
        """Return the shortest chord of each pair; of sides that are parallel, one in the middle of both."""
        one, two = outline.parts.control[pairs.one], outline.parts.control[pairs.two]
        t, u = _start(one, two, pairs)
        for _ in range(_ROUNDS):
            p, p1, p2 = (values[:, 0] for values in derivatives(one, t[:, None]))
            q, q1, q2 = (values[:, 0] for values in derivatives(two, u[:, None]))
            apart = p - q
            slope_t, slope_u = (apart * p1).sum(axis=1), -(apart * q1).sum(axis=1)
            speed_t, speed_u = (p1 * p1).sum(axis=1), (q1 * q1).sum(axis=1)
            bend_t, bend_u = speed_t + (apart * p2).sum(axis=1), speed_u - (apart * q2).sum(axis=1)
            bend_t, bend_u = _positive(bend_t, speed_t), _positive(bend_u, speed_u)
            mixed = -(p1 * q1).sum(axis=1)
            held = ((t <= 0.0) & (slope_t > 0.0)) | ((t >= 1.0) & (slope_t < 0.0))
            held |= ((u <= 0.0) & (slope_u > 0.0)) | ((u >= 1.0) & (slope_u < 0.0))
            mixed[held] = 0.0
            # the other foot follows: one question in t alone
            rest = bend_t - _ratio(mixed * mixed, bend_u)
            pull = slope_t - _ratio(mixed * slope_u, bend_u)
            step = -_ratio(pull, rest)
            flat = rest <= 1e-9 * speed_t  # parallel sides stay, others run to the end of their stretch
            still = np.abs(pull) <= 1e-12 * np.sqrt(speed_t) * np.hypot(apart[:, 0], apart[:, 1])
            step = np.where(flat, np.where(still, 0.0, -np.sign(pull)), step)
            after = np.clip(t + step, 0.0, 1.0)
            u = np.clip(u - _ratio(slope_u + mixed * (after - t), bend_u), 0.0, 1.0)
            t = after
        return measured(outline, pairs.one, pairs.two, t, u)

    def _askew(self, outline: Outline, chords: Chords) -> Floats:
        """Return by what angle in radians the sides are not parallel as the chord sees them; π if it runs outside."""
        p, first = there(outline, chords.one, chords.t)
        q, second = there(outline, chords.two, chords.u)
        way = q - p
        ahead = np.arctan2(way[:, 1], way[:, 0])
        total = np.zeros(len(way))
        for row, direction, square in ((chords.one, first, ahead), (chords.two, second, ahead + np.pi)):
            tangent = np.where(outline.point[row], outline.parts.heading[row], direction)
            off = np.abs(wrapped(square - tangent - self.side * np.pi / 2.0))
            off = np.where(outline.point[row], np.maximum(off - outline.parts.swing[row], 0.0), off)
            total = np.maximum(total, np.where(off > np.pi / 4.0, np.pi, off)) + np.minimum(total, off)
        return total

    def _parallel(self, outline: Outline, chords: Chords) -> Chords:
        """Keep the chords whose sides are parallel or nearly so; of others go back to where the sides still are."""
        most = np.radians(TAPER_DEG)
        good = self._askew(outline, chords) <= most
        rest = chords.taken(~good)
        tried = [
            measured(outline, rest.one, rest.two, *moved(outline, rest.one, rest.two, np.full(len(rest.one), at)))
            for at in _TRIED
        ]
        fit = np.array([(self._askew(outline, other) <= most) & (other.width_mm > TOUCHING_MM) for other in tried])
        width_mm = np.where(fit, np.array([other.width_mm for other in tried]), np.inf)
        some = np.flatnonzero(fit.any(axis=0))
        rest, inside, outside = rest.taken(some), np.array(_TRIED)[np.argmin(width_mm, axis=0)][some], rest.t[some]
        for _ in range(_HALVINGS):
            middle = (inside + outside) / 2.0
            shifted = measured(outline, rest.one, rest.two, *moved(outline, rest.one, rest.two, middle))
            fit = (self._askew(outline, shifted) <= most) & (shifted.width_mm > TOUCHING_MM)
            inside, outside = np.where(fit, middle, inside), np.where(fit, outside, middle)
        shifted = measured(outline, rest.one, rest.two, *moved(outline, rest.one, rest.two, inside))
        return together([chords.taken(good), shifted])

    def _clear(self, outline: Outline, chords: Chords) -> Chords:
        """Keep the chords whose circle holds no outline; at the ends of strips try farther in."""
        empty = self._empty(outline, chords)
        found = [chords.taken(empty)]
        rest = chords.taken(~empty)
        for widths in _FARTHER_IN:
            if not len(rest.one):
                break
            shifted = measured(outline, rest.one, rest.two, *_farther_in(outline, rest, widths))
            good = (self._askew(outline, shifted) <= np.radians(TAPER_DEG)) & (shifted.width_mm > TOUCHING_MM)
            good[good] = self._empty(outline, shifted.taken(good))
            found.append(shifted.taken(good))
            rest = rest.taken(~good)
        return together(found)

    def _empty(self, outline: Outline, chords: Chords) -> NDArray[np.bool_]:
        """Return whether the circle over each chord holds nothing of its area's outline."""
        p, q = there(outline, chords.one, chords.t)[0], there(outline, chords.two, chords.u)[0]
        middle = (p + q) / 2.0
        radius = chords.width_mm * (0.5 - _CIRCLE / 2.0)
        box = np.concatenate([middle - radius[:, None], middle + radius[:, None]], axis=1)
        real = np.flatnonzero(~outline.point)
        chord, row = box_pairs(box, outline.boxes[real])
        row = real[row]
        own = outline.area[row] == outline.area[chords.one[chord]]
        chord, row = chord[own], row[own]
        _, away = feet(outline.parts.control[row], middle[chord])
        empty = np.ones(len(middle), np.bool_)
        empty[chord[away < radius[chord]]] = False
        return empty

    def _told(self, outline: Outline, chords: Chords, tips: Chords) -> list[Narrow]:
        """Return one narrow place a stretch of neighbouring chords, the narrowest first.

        Where a stretch runs out into a tip only chords that stand square count: the others are as short as you like.
        """
        if not len(chords.one):
            return []
        label = connected(outline, together([chords, tips]))
        tipped = np.zeros(len(label), np.bool_)
        tipped[label[len(chords.one) :]] = True
        label = label[: len(chords.one)]
        counts = ~tipped[label]
        counts[~counts] = self._askew(outline, chords.taken(~counts)) <= _SQUARE
        chords, label = chords.taken(counts), label[counts]
        if not len(label):
            return []
        p, q = there(outline, chords.one, chords.t)[0], there(outline, chords.two, chords.u)[0]
        middle = (p + q) / 2.0
        least = np.full(label.max() + 1, np.inf)
        np.minimum.at(least, label, chords.width_mm)
        tied = chords.width_mm <= least[label] * (1.0 + 1e-7) + 1e-9
        # of a strip of one width, the chord nearest to the middle of it
        count = np.bincount(label[tied], minlength=len(least))
        centre = np.stack(
            [np.bincount(label[tied], weights=middle[tied, axis], minlength=len(least)) for axis in range(2)], axis=1
        )
        off = np.hypot(*(middle - (centre / np.maximum(count, 1)[:, None])[label]).T)
        corner = outline.point[chords.one] | outline.point[chords.two]
        order = np.lexsort((off, corner, ~tied, label))
        best = order[np.r_[True, np.diff(label[order]) > 0]]
        best = best[np.argsort(chords.width_mm[best], kind="stable")]
        best = best[~_again(middle[best], chords.width_mm[best])]
        out = []
        p, q, middle = p + self.origin, q + self.origin, middle + self.origin
        ends = [
            (outline.parts.segment[row], outline.parts.parameters(row, at), place)
            for row, at, place in ((chords.one, chords.t, p), (chords.two, chords.u, q))
        ]
        for chord in best.tolist():
            area = int(outline.area[chords.one[chord]])
            skip = int(self.first_segment[area])
            one, two = (
                Foot(int(segment[chord]) - skip, float(t[chord]), (float(at[chord, 0]), float(at[chord, 1])))
                for segment, t, at in ends
            )
            x, y = middle[chord].tolist()
            out.append(Narrow(float(chords.width_mm[chord]), (x, y), one, two, area))
        return out


# -------------------------------------------------------------------------------------- pairs and steps


def _start(one: Floats, two: Floats, pairs: Chords) -> tuple[Floats, Floats]:
    """Return where to begin: where the chords are nearest, or in the middle of what lies side by side."""
    t, u = pairs.t.copy(), pairs.u.copy()
    a0, a1 = one[:, 0, :2] / one[:, 0, 2:], one[:, 3, :2] / one[:, 3, 2:]
    b0, b1 = two[:, 0, :2] / two[:, 0, 2:], two[:, 3, :2] / two[:, 3, 2:]
    way, other = a1 - a0, b1 - b0
    long, wide = (way * way).sum(axis=1), (other * other).sum(axis=1)
    level = np.abs(cross(way, other)) <= _SQUARE * np.sqrt(long * wide)
    level &= (long > 0.0) & (wide > 0.0)
    first, last = (_ratio(((end - a0) * way).sum(axis=1), long) for end in (b0, b1))
    low = np.clip(np.minimum(first, last), 0.0, 1.0)
    high = np.clip(np.maximum(first, last), 0.0, 1.0)
    level &= high > low
    middle = (low + high) / 2.0
    foot = a0 + middle[:, None] * way
    t[level] = middle[level]
    u[level] = np.clip(_ratio(((foot - b0) * other).sum(axis=1), wide), 0.0, 1.0)[level]
    return t, u


def _ratio(top: Floats, bottom: Floats) -> Floats:
    quotient: Floats = np.divide(top, bottom, out=np.zeros_like(top), where=bottom > 1e-100)
    return quotient


def _positive(bend: Floats, speed: Floats) -> Floats:
    safe: Floats = np.where(bend > 1e-3 * speed, bend, speed)
    return safe


def _farther_in(outline: Outline, chords: Chords, widths: float) -> tuple[Floats, Floats]:
    """Return chords moved along their strip as `_FARTHER_IN` says: one end is moved and the other is its foot."""
    first = np.isin(chords.t, (0.0, 1.0)) | ~np.isin(chords.u, (0.0, 1.0))
    mover, other = np.where(first, chords.one, chords.two), np.where(first, chords.two, chords.one)
    at = np.where(first, chords.t, chords.u)
    velocity = derivatives(outline.parts.control[mover], at[:, None])[1][:, 0]
    share = _ratio(np.minimum(widths * chords.width_mm, 1e100), np.hypot(velocity[:, 0], velocity[:, 1]))
    at = np.clip(np.where(at <= 0.5, at + share, at - share), 0.0, 1.0)
    if widths == 0.0:
        at[:] = 0.5
    at, foot = moved(outline, mover, other, at)
    return np.where(first, at, foot), np.where(first, foot, at)


def _again(middle: Floats, width_mm: Floats) -> NDArray[np.bool_]:
    """Return whether each place, sorted by width, is one that came before."""
    reach = _SAME * width_mm[:, None]
    one, two = box_pairs(
        np.concatenate([middle, middle], axis=1), np.concatenate([middle - reach, middle + reach], axis=1)
    )
    again = np.zeros(len(middle), np.bool_)
    again[two[one < two]] = True
    return again
