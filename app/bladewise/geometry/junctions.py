"""Where one run of a ring ends and the next begins, settled exactly.

Most ends are nodes of the sources and need nothing. The others are crossings: the chords crossed
there, and Newton's method finds where the curves do. Near a node the curves may cross on the segment
next to the one whose chord did: then the run is prolonged over the node or cut back behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bladewise.geometry.crossings import Curves, refine, side_by_side
from bladewise.geometry.curves import point_at
from bladewise.geometry.path import Floats
from bladewise.geometry.tolerances import BESIDE, ON_CURVE_MM, REACH, SAME_POINT_MM

if TYPE_CHECKING:
    from bladewise.geometry.rebuild import Tally
    from bladewise.geometry.sources import Sources

_SLACK = 1e-9
"""A parameter this little outside 0…1 is the end itself."""


_ROUNDING = 1e-14
"""Relative rounding of a point on a curve."""


@dataclass
class Runs:
    """Runs of all rings, ring after ring, in the direction of travel.

    Parameters
    ----------
    segment
        The source segment, −1 for a bare line, shape (n,).
    t0, t1
        Parameters at start and end, shape (n,); falling where the run goes against its segment.
    start, end
        The points there, shape (n, 2).
    ring
        The ring of each run, rising, shape (n,).
    node0, node1
        Whether start and end are nodes, where nothing is left to be found, shape (n,).
    """

    segment: NDArray[np.int64]
    t0: Floats
    t1: Floats
    start: Floats
    end: Floats
    ring: NDArray[np.int64]
    node0: NDArray[np.bool_]
    node1: NDArray[np.bool_]

    def take(self, order: NDArray[np.int64]) -> None:
        """Keep the given runs only, in the given order."""
        for name in ("segment", "t0", "t1", "start", "end", "ring", "node0", "node1"):
            setattr(self, name, getattr(self, name)[order])

    def following(self) -> NDArray[np.int64]:
        """Return the run after each one round its ring, shape (n,)."""
        count = len(self.ring)
        out = np.arange(1, count + 1)
        if count:
            last = np.flatnonzero(np.append(self.ring[1:] != self.ring[:-1], True))
            out[last] = np.append(0, last[:-1] + 1)
        return out


def settle(runs: Runs, sources: Sources, tolerance_mm: float, tally: Tally) -> Floats:
    """Put every junction of the runs in its exact place; changes `runs`.

    Parameters
    ----------
    runs
        As traced from the chords.
    sources
        Their segments.
    tolerance_mm
        To which they were flattened: a refined crossing lies within a few times this of the chords'.
    tally
        Counts crossings, those found on a neighbour, and those left where the chords crossed.

    Returns
    -------
    places
        Where the chords' vertex had to be kept, in mm, shape (k, 2).
    """
    unsettled: Floats = np.zeros((0, 2))
    after = runs.following()
    way = np.sign(runs.t1 - runs.t0)
    at_node = runs.node1 & runs.node0[after]
    open_ends = np.flatnonzero(~at_node & (runs.segment >= 0) & (runs.segment[after] >= 0))
    if not len(open_ends):
        return unsettled
    tally.crossings += len(open_ends)
    nexts = after[open_ends]
    near = runs.end[open_ends]
    t, u, place, miss = refine(
        curves_of(sources, runs.segment[open_ends]),
        runs.t1[open_ends],
        curves_of(sources, runs.segment[nexts]),
        runs.t0[nexts],
        near,
    )
    t, place = _snapped(sources, runs.segment[open_ends], t, place)
    u, place = _snapped(sources, runs.segment[nexts], u, place)
    inside = (t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0)
    sound = inside & (miss < _allowed(near))
    far = np.flatnonzero(sound & (np.hypot(*(place - near).T) >= REACH * tolerance_mm))
    if len(far):
        run, follower = open_ends[far], nexts[far]
        one, two = curves_of(sources, runs.segment[run]), curves_of(sources, runs.segment[follower])
        old, new = (runs.t1[run], runs.t0[follower]), (t[far], u[far])
        sound[far] = side_by_side(one, two, old, new, BESIDE * tolerance_mm)
    rows, nexts_sound = open_ends[sound], nexts[sound]
    t_old, u_old = runs.t1.copy(), runs.t0.copy()
    runs.t1[rows], runs.t0[nexts_sound] = t[sound], u[sound]
    turned = (runs.t1 - runs.t0) * way < 0.0
    if turned.any():  # both ends of a short run passed each other: take its two junctions back
        wrong = sound & (turned[open_ends] | turned[nexts])
        runs.t1[open_ends[wrong]], runs.t0[nexts[wrong]] = t_old[open_ends[wrong]], u_old[nexts[wrong]]
        sound &= ~wrong
    rows, nexts_sound = open_ends[sound], nexts[sound]
    runs.end[rows] = runs.start[nexts_sound] = place[sound]
    if not sound.all():
        unsettled = _Mender(runs, sources, tolerance_mm, tally).mend(open_ends[~sound].tolist())
    empty = (runs.t0 == runs.t1) & (runs.segment >= 0)
    if empty.any():
        runs.take(np.flatnonzero(~empty))
    return unsettled


def curves_of(sources: Sources, rows: NDArray[np.int64]) -> Curves:
    """Return some segments of the sources."""
    return Curves(sources.points[rows], sources.kinds[rows], sources.weights[rows])


def _allowed(near: Floats) -> Floats:
    """Return how far apart two curves may be at their crossing: the set distance, and what rounding leaves far out."""
    allowed: Floats = ON_CURVE_MM + _ROUNDING * np.abs(near).max(axis=1)
    return allowed


def _snapped(sources: Sources, rows: NDArray[np.int64], t: Floats, place: Floats) -> tuple[Floats, Floats]:
    """Return parameters and places, put on the segment's end where they are as good as there."""
    t, place = t.copy(), place.copy()
    for end, corner in ((0.0, 0), (1.0, 3)):
        node = sources.points[rows, corner]
        there = (np.hypot(*(place - node).T) < SAME_POINT_MM) & (np.abs(t - end) < 0.1)
        there |= np.abs(t - end) < _SLACK
        t[there], place[there] = end, node[there]
    return t, place


class _Option(NamedTuple):
    """One way to end a run (or to begin one): stay on it, prolong it over the node, or fall back behind it."""

    segment: int
    t: float
    low: float
    high: float
    kind: str


class _Mender:
    """Settles the few junctions that need a neighbouring segment, one by one."""

    def __init__(self, runs: Runs, sources: Sources, tolerance_mm: float, tally: Tally) -> None:
        self.runs, self.sources, self.tolerance_mm, self.tally = runs, sources, tolerance_mm, tally
        count = len(runs.ring)
        self.after = runs.following().tolist()
        self.before = [0] * count
        for place, follower in enumerate(self.after):
            self.before[follower] = place
        self.dropped: set[int] = set()
        self.added: list[tuple[float, int, float, float, Floats, Floats, int]] = []
        self.way = [1 if a < b else -1 for a, b in zip(runs.t0.tolist(), runs.t1.tolist(), strict=True)]

    def mend(self, junctions: list[int]) -> Floats:
        """Settle the junctions after the given runs, bring the runs in order again, return the places left."""
        runs = self.runs
        failed = [run for run in junctions if not self._mended(run)]
        failed = [run for run in self._collapsed(self._spliced(failed)) if not self._exact(run)]
        self.tally.kept += len(failed)
        unsettled: Floats = runs.end[failed].reshape(-1, 2)
        keep = [place for place in range(len(runs.ring)) if place not in self.dropped]
        key = np.array([float(place) for place in keep] + [row[0] for row in self.added])
        if self.added or self.dropped:
            names = ("segment", "t0", "t1", "start", "end", "ring", "node0", "node1")
            for column, name in enumerate(names, start=1):
                old = getattr(runs, name)
                new = np.array([row[column] if column < 7 else False for row in self.added], dtype=old.dtype)
                new = new.reshape(-1, *old.shape[1:])
                setattr(runs, name, np.concatenate([old[keep], new]))
            runs.take(np.lexsort((key, runs.ring)))
        return unsettled

    def _mended(self, run: int) -> bool:
        after = self.after[run]
        return run not in self.dropped and after not in self.dropped and self._junction(run, after)

    def _exact(self, run: int) -> bool:
        """Whether the chords crossed where the curves do, as they may in a common point of several."""
        runs, after = self.runs, self.after[run]
        here = point_at(*curves_of(self.sources, runs.segment[[run]]), runs.t1[[run]])
        there = point_at(*curves_of(self.sources, runs.segment[[after]]), runs.t0[[after]])
        away = np.hypot(*(np.concatenate([here, there]) - runs.end[run]).T)
        return bool((away < SAME_POINT_MM).all())

    def _spliced(self, failed: list[int]) -> list[int]:
        """Join a curve that chords of a near-tangent neighbour had parted; return the junctions that are left.

        Where two curves run side by side closer than the tolerance, their chords may cross twice
        though the curves do not: one curve, a bit of the other, the first again.
        """
        runs, waiting = self.runs, set(failed)
        for run in failed:
            middle = self.after[run]
            onward = self.after[middle]
            if run not in waiting or middle not in waiting or {run, middle, onward} & self.dropped or run == onward:
                continue
            same = runs.segment[run] == runs.segment[onward] and self.way[run] == self.way[onward]
            if same and (runs.t0[onward] - runs.t1[run]) * self.way[run] > 0.0:
                runs.t0[onward], runs.start[onward], runs.node0[onward] = runs.t0[run], runs.start[run], runs.node0[run]
                self.dropped |= {run, middle}
                waiting -= {run, middle}
                self.before[onward] = self.before[run]
                self.after[self.before[run]] = onward
        return sorted(waiting)

    def _collapsed(self, failed: list[int]) -> list[int]:
        """Leave out short runs whose neighbours cross each other; return the junctions that are left.

        Where three curves pass through one point their chords make a small triangle that is not there.
        """
        runs, waiting = self.runs, set(failed)
        for run in failed:
            for middle in (run, self.after[run]):
                before, after = self.before[middle], self.after[middle]
                apart = len({before, middle, after}) == 3 and not {before, middle, after} & self.dropped
                short = apart and self._beside(runs.start[middle], runs.end[middle])
                if run in waiting and short and self._crossed(before, after):
                    self.dropped.add(middle)
                    waiting -= {before, middle}
                    self.after[before], self.before[after] = after, before
        return sorted(waiting)

    def _crossed(self, run: int, after: int) -> bool:
        """Join two runs at the crossing of their curves, if it is near and neither turns back for it."""
        runs, near = self.runs, self.runs.end[run][None].copy()
        rows = np.array([runs.segment[run]]), np.array([runs.segment[after]])
        if rows[0] == rows[1] or min(rows[0][0], rows[1][0]) < 0:
            return False
        one, two = (curves_of(self.sources, row) for row in rows)
        t, u, place, miss = refine(one, runs.t1[[run]], two, runs.t0[[after]], near)
        t, place = _snapped(self.sources, rows[0], t, place)
        u, place = _snapped(self.sources, rows[1], u, place)
        ahead = (t[0] - runs.t0[run]) * self.way[run] > 0.0 and (runs.t1[after] - u[0]) * self.way[after] > 0.0
        inside = 0.0 <= t[0] <= 1.0 and 0.0 <= u[0] <= 1.0
        if not (ahead and inside and miss[0] < _allowed(near)[0] and self._beside(near[0], place[0])):
            return False
        self.tally.neighbours += 1
        runs.t1[run], runs.t0[after] = t[0], u[0]
        runs.end[run] = runs.start[after] = place[0]
        return True

    def _junction(self, run: int, after: int) -> bool:
        """Settle one junction; False where no crossing is found."""
        runs = self.runs
        near = runs.end[run].copy()
        ways = [
            (one, two)
            for one in self._options(run, ending=True)
            for two in self._options(after, ending=False)
            if one.segment != two.segment or one.kind == two.kind == "stay"
        ]
        first, second = ([pair[side] for pair in ways] for side in (0, 1))
        rows_a, rows_b = (np.array([option.segment for option in side]) for side in (first, second))
        t, u, place, miss = refine(
            curves_of(self.sources, rows_a),
            np.array([option.t for option in first]),
            curves_of(self.sources, rows_b),
            np.array([option.t for option in second]),
            np.repeat(near[None], len(ways), axis=0),
        )
        t, place = _snapped(self.sources, rows_a, t, place)
        u, place = _snapped(self.sources, rows_b, u, place)
        away = np.hypot(*(place - near).T)
        best, allowed = -1, float(_allowed(near[None])[0])
        for number, (one, two) in enumerate(ways):
            if not (miss[number] < allowed and away[number] < REACH * self.tolerance_mm):
                continue
            if not (one.low <= t[number] <= one.high and two.low <= u[number] <= two.high):
                continue
            if best < 0 or away[number] < away[best]:
                best = number
        if best < 0:
            return False
        self.tally.neighbours += 1
        self._end(run, ways[best][0], float(t[best]), place[best], ending=True)
        self._end(after, ways[best][1], float(u[best]), place[best], ending=False)
        return True

    def _options(self, run: int, *, ending: bool) -> list[_Option]:
        """Return the ways to end a run, or to begin it."""
        runs, sources = self.runs, self.sources
        segment, t0, t1 = int(runs.segment[run]), float(runs.t0[run]), float(runs.t1[run])
        way = self.way[run] if ending else -self.way[run]  # the direction in which this end is prolonged
        here, far = (t1, t0) if ending else (t0, t1)
        tip = 1.0 if way > 0 else 0.0
        out = [_Option(segment, here, min(far, tip), max(far, tip), "stay")]
        near, away = (runs.end[run], runs.start[run]) if ending else (runs.start[run], runs.end[run])
        onward = sources.next(segment, way)
        if onward >= 0 and onward != segment and self._beside(near, sources.points[segment, 3 if way > 0 else 0]):
            out.append(_Option(onward, 1.0 - tip, 0.0, 1.0, "on"))
        back = self.before[run] if ending else self.after[run]
        whole = far == 1.0 - tip and self._beside(near, away)
        if back not in self.dropped and whole and runs.segment[back] == sources.next(segment, -way) >= 0:
            back_far, back_tip = (
                (float(runs.t0[back]), float(runs.t1[back])) if ending else (float(runs.t1[back]), float(runs.t0[back]))
            )
            if back_tip == tip:
                out.append(_Option(int(runs.segment[back]), tip, min(back_far, tip), max(back_far, tip), "back"))
        return out

    def _beside(self, near: Floats, node: Floats) -> bool:
        """Whether a node is so near that a crossing may have moved over it."""
        return bool(np.hypot(*(node - near)) < REACH * self.tolerance_mm)

    def _end(self, run: int, option: _Option, t: float, place: Floats, *, ending: bool) -> None:
        """End (or begin) a run as an option says."""
        runs = self.runs
        if option.kind == "back":
            self.dropped.add(run)
            run = self.before[run] if ending else self.after[run]
        way = self.way[run] if ending else -self.way[run]
        if option.kind == "on":
            tip = 1.0 if way > 0 else 0.0
            node = self.sources.points[int(runs.segment[run]), 3 if way > 0 else 0]
            if ending:
                runs.t1[run], runs.end[run] = tip, node
                self.added.append((run + 0.4, option.segment, 1.0 - tip, t, node, place, int(runs.ring[run])))
            else:
                runs.t0[run], runs.start[run] = tip, node
                self.added.append((run - 0.4, option.segment, t, 1.0 - tip, place, node, int(runs.ring[run])))
            return
        if ending:
            runs.t1[run], runs.end[run] = t, place
        else:
            runs.t0[run], runs.start[run] = t, place
