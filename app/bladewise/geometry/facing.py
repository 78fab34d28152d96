"""What outlines are made of where they face each other: nearly straight stretches, corners, chords between them.

Arrays with one row an element or a chord; `widths` asks the questions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bernstein import derivatives, points_on
from bladewise.geometry.stretches import Stretches, feet, hulls, stretches, wrapped
from bladewise.geometry.tolerances import CORNER_DEG, STRAIGHT_DEG

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_LONGEST = 16.0
"""Stretches are at most so many limits long, so that what crosses a long strip hides only a part of it."""


class Chords(NamedTuple):
    """Pairs of outline elements with a parameter on each and the distance between those places."""

    one: NDArray[np.int64]
    two: NDArray[np.int64]
    t: Floats
    u: Floats
    width_mm: Floats

    def taken(self, rows: Any) -> Chords:
        """Return some of the chords."""
        return Chords(self.one[rows], self.two[rows], self.t[rows], self.u[rows], self.width_mm[rows])


def together(some: Sequence[Chords]) -> Chords:
    """Return several lots of chords as one."""
    return Chords(*(np.concatenate(columns) for columns in zip(*some, strict=True)))


class Outline:
    """The elements of outlines in order: stretches, and the corners a chord may stand on."""

    def __init__(self, path: Path, area_of: NDArray[np.int64], origin: Floats, side: float, limit_mm: float) -> None:
        """Cut closed subpaths up for a limit; `area_of` numbers the area of each, `side` is 1 inside and −1 outside."""
        parts = stretches(path, origin, most_turn=np.radians(STRAIGHT_DEG), longest_mm=_LONGEST * limit_mm)
        ring = np.searchsorted(path.starts, parts.segment, side="right") - 1
        kept = path.closed[ring]
        parts, ring = parts.taken(kept), ring[kept]
        count = len(ring)
        follows = _next_in_ring(ring)
        turn = wrapped(parts.first[follows] - parts.last) * side
        corner = np.radians(CORNER_DEG)
        stands = np.flatnonzero(turn < -corner)  # a re-entrant corner, seen from the side that is measured
        node = np.repeat(parts.control[stands, 3][:, None], 4, axis=1)
        order = np.argsort(np.concatenate([2.0 * np.arange(count), 2.0 * stands + 1.0]))
        both = Stretches(
            np.concatenate([parts.segment, parts.segment[stands]]),
            np.concatenate([parts.start, parts.end[stands]]),
            np.concatenate([parts.end, parts.end[stands]]),
            np.concatenate([parts.control, node]),
            np.concatenate([parts.heading, parts.last[stands] + side * turn[stands] / 2.0]),
            np.concatenate([parts.swing, -turn[stands] / 2.0]),
            np.concatenate([parts.first, parts.last[stands]]),
            np.concatenate([parts.last, parts.first[follows][stands]]),
        )
        tip_after = turn > corner
        tip_before = np.zeros(count, np.bool_)
        tip_before[follows] = tip_after
        none = np.zeros(len(stands), np.bool_)
        self.parts = both.taken(order)
        self.point = np.concatenate([np.zeros(count, np.bool_), ~none])[order]
        self.tip_before = np.concatenate([tip_before, none])[order]
        self.tip_after = np.concatenate([tip_after, none])[order]
        ring = np.concatenate([ring, ring[stands]])[order]
        self.area = area_of[ring]
        self.next = _next_in_ring(ring)
        self.previous = np.empty_like(self.next)
        self.previous[self.next] = np.arange(len(self.next))
        self.boxes = hulls(self.parts.control)


def _next_in_ring(ring: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the index of the next element of the same ring, the first one's after the last."""
    follows = np.arange(1, len(ring) + 1)
    begins = np.flatnonzero(np.diff(ring, prepend=-1))
    if len(ring):
        follows[np.append(begins[1:], len(ring)) - 1] = begins
    return follows


def there(outline: Outline, row: NDArray[np.int64], t: Floats) -> tuple[Floats, Floats]:
    """Return places on elements and the direction of travel there, radians."""
    control = outline.parts.control[row]
    place, velocity, _ = (values[:, 0] for values in derivatives(control, t[:, None]))
    way = np.arctan2(velocity[:, 1], velocity[:, 0])
    way = np.where(t <= 0.0, outline.parts.first[row], np.where(t >= 1.0, outline.parts.last[row], way))
    return place, way


def measured(outline: Outline, one: NDArray[np.int64], two: NDArray[np.int64], t: Floats, u: Floats) -> Chords:
    """Return chords between given places."""
    control, other = outline.parts.control[one], outline.parts.control[two]
    apart = points_on(control, t[:, None])[:, 0] - points_on(other, u[:, None])[:, 0]
    return Chords(one, two, t, u, np.hypot(apart[:, 0], apart[:, 1]))


def moved(outline: Outline, mover: NDArray[np.int64], other: NDArray[np.int64], at: Floats) -> tuple[Floats, Floats]:
    """Return parameters on one element and those of their feet on the other."""
    foot, _ = feet(outline.parts.control[other], points_on(outline.parts.control[mover], at[:, None])[:, 0])
    return at, foot


def connected(outline: Outline, chords: Chords) -> NDArray[np.int64]:
    """Return a number for each chord, the same for chords whose elements are neighbours on both sides."""
    count = len(outline.next)
    key = chords.one * count + chords.two
    order = np.argsort(key, kind="stable")
    ranked = key[order]
    links: list[NDArray[np.int64]] = []
    rows = np.arange(len(key))
    for one in (chords.one, outline.next[chords.one], outline.previous[chords.one]):
        for two in (chords.two, outline.next[chords.two], outline.previous[chords.two]):
            wanted = np.minimum(one, two) * count + np.maximum(one, two)
            at = np.minimum(np.searchsorted(ranked, wanted), len(ranked) - 1)
            met = ranked[at] == wanted
            links.append(np.stack([rows[met], order[at[met]]]))
    one, two = np.concatenate(links, axis=1)
    label = rows.copy()
    while True:
        lower = label.copy()
        np.minimum.at(lower, one, label[two])
        np.minimum.at(lower, two, label[one])
        lower = lower[lower]
        if np.array_equal(lower, label):
            return label
        label = lower
