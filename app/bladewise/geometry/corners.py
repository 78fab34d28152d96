"""What is drawn where two spans of a path meet: joins outside, the corner point inside.

SVG 2, "Painting: Filling, Stroking", "line join shape": a wedge on the outer side, filled out by a
sector (round), a kite within the miter limit (miter), or nothing (bevel). On the inner side the
outline passes through the corner point itself, or is cut where the sides of two long lines cross.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import dot, lengths_of, normals_of
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.rings import lines
from bladewise.geometry.spans import CUSP, SMOOTH

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.rings import Rows
    from bladewise.geometry.spans import Spans

LEFT, RIGHT = -1, 1
"""The sides of a path, as the signs of the distance along its normal (see `offset_curves`)."""

_SMOOTH_SHARE = 0.1
"""A corner whose outer and inner finish differ by less than this share of the tolerance is none."""

_SMOOTH_ARC_MM = 1e-4
"""Ends of arcs of circles move no further than this to meet a neighbour: they stay circles."""

_RIGHT_BACK = math.pi - 1e-6
"""Turns of more than this, in radians, go back the way they came: which way round is a matter of rounding."""

_NEARLY_BACK = math.pi - 0.1
"""The tips of regions may cross themselves by a hair: from this turn on round ones are finished whatever the side."""

_QUARTER = math.pi / 2.0 + 1e-6


class Plan(NamedTuple):
    """What each corner needs on one side; one row each.

    turn (c,): in radians about the corner point, clockwise positive. outer (c,): it has a join.
    through (c,): the outline goes through the corner point. pointed (c,): the join is a miter, tip
    (c, 2) its point. Where none holds the sides meet without more.
    """

    turn: Floats
    outer: NDArray[np.bool_]
    through: NDArray[np.bool_]
    pointed: NDArray[np.bool_]
    tip: Floats


class Corners:
    """Where spans meet: how far the path turns there, and what is drawn on either side."""

    def __init__(
        self, some: Spans, one: NDArray[np.int64], two: NDArray[np.int64], distance_mm: float, tolerance_mm: float
    ) -> None:
        self.some, self.one, self.two, self.distance = some, one, two, distance_mm
        self.place = some.points[one, 1]
        into, out = some.tangents[one, 1], some.tangents[two, 0]
        self.turn = np.arctan2(cross(into, out), dot(into, out))
        sharp = np.abs(self.turn)
        round_ = ~np.isnan(some.radius)
        error = distance_mm * sharp * sharp / 8.0
        snug = error < _SMOOTH_SHARE * tolerance_mm
        snug &= ~(round_[one] | round_[two]) | (distance_mm * sharp < _SMOOTH_ARC_MM)
        snug &= sharp < 0.1
        self.cusp = some.joint[one] == CUSP
        self.smooth = ((some.joint[one] == SMOOTH) | snug) & ~self.cusp
        middle = into + out
        middle /= np.maximum(lengths_of(middle), 1e-300)[:, None]
        self.normal = normals_of(middle)

    def plan(self, ends: Floats, side: int, join: str, miter_limit: float, *, lone: bool) -> Plan:
        """Tell what each corner needs on one side, and move the ends of its strips (k, 2, 2) to where they meet.

        `lone` says that only this side is drawn: the outline of a region, all of whose near surroundings
        belong to the result.
        """
        some, one, two = self.some, self.one, self.two
        plain = np.flatnonzero(self.smooth)
        met = self.place[plain] + side * self.distance * self.normal[plain]
        ends[one[plain], 1] = ends[two[plain], 0] = met
        # a turn right back has no side: it is finished on both, or a spike's tip might be left bare
        size = np.abs(self.turn)
        back = (size > (_NEARLY_BACK if lone and join == "round" else _RIGHT_BACK)) & (side * self.turn > 0.0)
        turn = np.where(back, -side * (2.0 * math.pi - size), self.turn)
        outer = ~self.smooth & ~self.cusp & (np.where(turn > 0.0, LEFT, RIGHT) == side)
        through = ~self.smooth & ~outer

        # two lines on the inner side of their corner: cut where they cross, if both are long enough
        size = lengths_of(some.points[:, 1] - some.points[:, 0])
        half = np.abs(self.turn) / 2.0
        cut = self.distance * np.tan(np.minimum(half, 1.5))
        short = through & ~self.cusp & some.straight[one] & some.straight[two] & (half < 1.5)
        short &= (cut < 0.5 * size[one]) & (cut < 0.5 * size[two])
        reach = side * self.distance / np.maximum(np.cos(half), 1e-9)
        tip = self.place + reach[:, None] * self.normal
        ends[one[short], 1] = ends[two[short], 0] = tip[short]
        through &= ~short
        pointed = np.zeros(len(one), np.bool_)
        if join == "miter":
            pointed = outer & (miter_limit * np.cos(half) * (1.0 + 1e-12) >= 1.0)
            for end, which in ((1, one), (0, two)):
                stretched = pointed & some.straight[which]
                ends[which[stretched], end] = tip[stretched]
        return Plan(turn, outer, through, pointed, tip)

    def finish(
        self,
        rows: Rows,
        ends: Floats,
        side: int,
        ring: NDArray[np.int64],
        stage: int,
        join: str,
        miter_limit: float,
        *,
        lone: bool,
    ) -> None:
        """Draw one side's corners, and move the ends of its strips (k, 2, 2) to where they meet them (see `plan`)."""
        some, one, two = self.some, self.one, self.two
        plan = self.plan(ends, side, join, miter_limit, lone=lone)
        key, ring = 4 * one + 2, ring[one]
        against = side == RIGHT
        for end, which, row in ((1, one, 0), (0, two, 1)):
            bent = np.flatnonzero(plan.pointed & ~some.straight[which])
            edge = [ends[which[bent], end], plan.tip[bent]]
            start, stop = edge if end == 1 else edge[::-1]
            rows.add(ring[bent], stage, key[bent], row, lines(start, stop), SegmentKind.LINE, against=against)
        start, stop = ends[one, 1], ends[two, 0]
        which = np.flatnonzero(plan.outer & ~plan.pointed)
        if join == "round":
            round_about(
                rows,
                self.place[which],
                start[which],
                stop[which],
                plan.turn[which],
                ring[which],
                stage,
                key[which],
                against=against,
            )
        else:
            rows.add(
                ring[which], stage, key[which], 0, lines(start[which], stop[which]), SegmentKind.LINE, against=against
            )
        which = np.flatnonzero(plan.through)
        for row, a, b in ((0, start, self.place), (1, self.place, stop)):
            rows.add(ring[which], stage, key[which], row, lines(a[which], b[which]), SegmentKind.LINE, against=against)


def round_about(
    rows: Rows,
    centre: Floats,
    start: Floats,
    stop: Floats,
    turn: Floats,
    ring: NDArray[np.int64],
    stage: int,
    key: NDArray[np.int64],
    *,
    against: bool = False,
) -> None:
    """Draw arcs about centres from start to stop, in quarter turns or less; turn in radians, clockwise positive."""
    arm = start - centre
    count = np.ceil(np.abs(turn) / _QUARTER).astype(np.int64)
    step = turn / np.maximum(count, 1)
    weight = np.cos(step / 2.0)
    for sub in range(int(count.max(initial=0))):
        which = np.flatnonzero(count > sub)
        p = _turned(arm[which], sub * step[which])
        last = count[which] == sub + 1
        q = np.where(last[:, None], (stop - centre)[which], _turned(arm[which], (sub + 1) * step[which]))
        control = centre[which] + (p + q) / (2.0 * weight[which] * weight[which])[:, None]
        points = np.stack([centre[which] + p, control, control, centre[which] + q], axis=1)
        rows.add(ring[which], stage, key[which], sub, points, SegmentKind.ARC, weight[which], against=against)


def _turned(vectors: Floats, angle: Floats) -> Floats:
    """Return vectors of shape (n, 2) turned by angles in radians, clockwise on the screen."""
    cos, sin = np.cos(angle), np.sin(angle)
    x, y = vectors[:, 0], vectors[:, 1]
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=1)
