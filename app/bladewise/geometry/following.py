"""Runs of points followed by as few pieces as can be, all runs in step.

From a run's start the longest piece that is near enough is taken, a line if one will do, else an
arc, else a cubic, and so on to its end: as a shorter piece is hardly ever harder to fit than a
longer one, no other way from that start takes fewer. How long it may be is found by trying several
lengths at once and halving. Then the tolerance is narrowed as far as the same number of pieces
allows, which evens them out.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np
import shapely

from bladewise.geometry.bernstein import points_on
from bladewise.geometry.handles import Stretches, fit_arcs, fit_cubics, line_strain
from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

Ints: TypeAlias = "NDArray[np.int64]"

_SAMPLES = 33
"""Points a piece is judged by while its length is sought; all of them judge it in the end."""
_TRIALS = 7
"""Most lengths tried for one piece in one go."""
_HOPES = np.array([0.5, 0.75, 0.9, 1.1, 1.4, 2.0, 4.0])
"""A piece is first tried at these multiples of the length of the one before."""
_AT_ONCE = 56
"""Pieces tried in one go, if there are fewer runs than that: the cost of a call is shared."""
_EVENING_ROUNDS = 2
"""Halvings in search of the least share of the tolerance that takes no more pieces."""
_CHECKED = np.linspace(0.0, 1.0, 65)[1:-1]
"""Where a cubic is held against the chords in the end."""
_AGREE = math.cos(math.radians(1.0))
"""A line or an arc takes a cubic's place only if it goes on in the same direction to this cosine."""
_LEAST_ARC = math.radians(10.0)
"""Flatter pieces are cubics, which join their neighbours more smoothly."""


class Run(NamedTuple):
    """A stretch between corners and straights, ready to be followed."""

    nodes: Floats
    """Where a piece may begin or end, shape (n, 2)."""
    track: Floats
    """The points and between each two the top of the curve they stand for, shape (2n − 1, 2)."""
    allowed: Floats
    tangents: Floats
    free: tuple[bool, bool]
    """Whether the start and the end are corners, where no direction need be kept."""


Rows: TypeAlias = "tuple[Floats, NDArray[np.uint8], Floats]"
"""Control points, kinds and weights, as in `Path`."""


class _Pool(NamedTuple):
    """All runs in one: arrays over their points, and where each begins and ends."""

    nodes: Floats
    track: Floats
    along: Floats
    allowed: Floats
    tangents: Floats
    begin: Ints
    end: Ints
    """Index of each run's first and last point; the track's are twice that, less the run's number."""
    free: NDArray[np.bool_]
    limit: Floats
    """The share of the tolerance each run may use."""

    def stretches(self, run: Ints, i: Ints, j: Ints, first: Floats, last: Floats, count: int) -> Stretches:
        """Return the stretches from points i to points j, `count` samples each.

        Of many points they are a choice; of few, all of them and places between.
        """
        low, many = 2 * i - run, 2 * (j - i)
        spot = np.linspace(0.0, 1.0, count) * many[:, None]
        nearest = np.rint(spot)
        spot = np.where(np.abs(spot - nearest) <= many[:, None] / (2.0 * (count - 1)) + 1e-9, nearest, spot)
        index = np.minimum(spot.astype(np.int64), many[:, None] - 1)
        part = spot - index
        index += low[:, None]

        def between(values: Floats) -> Floats:
            share = part if values.ndim == 1 else part[..., None]
            mixed: Floats = values[index] * (1.0 - share) + values[index + 1] * share
            return mixed

        samples = between(self.track)
        samples[:, 0], samples[:, -1] = self.nodes[i], self.nodes[j]
        allowed = between(self.allowed) * self.limit[run][:, None]
        return Stretches(samples, between(self.along) - self.along[low][:, None], allowed, first, last)


class _Fit(NamedTuple):
    """What the best piece over each stretch is."""

    kind: NDArray[np.uint8]
    good: NDArray[np.bool_]
    control: Floats
    centres: Floats
    sweeps: Floats
    first: Floats
    last: Floats


def _best_piece(pool: _Pool, run: Ints, i: Ints, j: Ints, first: Floats, samples: int) -> _Fit:
    """Try a line, an arc and a cubic over each stretch; the simplest that is near enough is taken."""
    stretches = pool.stretches(run, i, j, first, pool.tangents[j], samples)
    open_start, open_end = pool.free[run, 0] & (i == pool.begin[run]), pool.free[run, 1] & (j == pool.end[run])

    def agrees(a: Floats, b: Floats) -> NDArray[np.bool_]:
        start = open_start | ((a * stretches.first).sum(axis=1) > _AGREE)
        both: NDArray[np.bool_] = start & (open_end | ((b * stretches.last).sum(axis=1) > _AGREE))
        return both

    chord = pool.nodes[j] - pool.nodes[i]
    chord = chord / np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-300)[:, None]
    line = (line_strain(stretches) <= 1.0) & agrees(chord, chord)
    arcs = fit_arcs(stretches)
    arc = (arcs.strain <= 1.0) & (np.abs(arcs.sweeps) > _LEAST_ARC) & agrees(arcs.first, arcs.last) & ~line
    control, strain = fit_cubics(stretches)
    kind = np.where(line, SegmentKind.LINE, np.where(arc, SegmentKind.ARC, SegmentKind.CUBIC)).astype(np.uint8)
    new_first = np.where(line[:, None], chord, np.where(arc[:, None], arcs.first, stretches.first))
    new_last = np.where(line[:, None], chord, np.where(arc[:, None], arcs.last, stretches.last))
    return _Fit(kind, line | arc | (strain <= 1.0), control, arcs.centres, arcs.sweeps, new_first, new_last)


class _Piece(NamedTuple):
    """One accepted piece of a run."""

    i: int
    j: int
    kind: int
    control: Floats
    centre: Floats
    sweep: float
    first: Floats
    last: Floats


def follow(runs: Sequence[Run]) -> list[Rows]:
    """Return the segments of each run."""
    pool = _pooled(runs)
    todo = np.arange(len(runs))
    pieces: list[list[_Piece]] = [[] for _ in runs]
    samples = _SAMPLES
    every = int((2 * (pool.end - pool.begin)).max()) + 1
    while len(todo):
        covers = _cover(pool, todo, samples)
        # judged by all of its points, a piece may turn out to miss one between the samples
        judged = [_verified(pool, run, some) for run, some in zip(todo.tolist(), covers, strict=True)]
        if samples >= every:
            judged = [one or other for one, other in zip(judged, covers, strict=True)]
        sure = [place for place, some in enumerate(judged) if some is not None]
        good = [some for some in judged if some is not None]
        for place, some, even in zip(sure, good, _evened(pool, todo[sure], good, samples), strict=True):
            run = int(todo[place])
            pieces[run] = some if even is some else _verified(pool, run, even) or some
        todo = np.delete(todo, sure)
        samples = min(4 * (samples - 1) + 1, every)
    return [_rows(pool, _unstrayed(pool, run, found)) for run, found in enumerate(pieces)]


def _evened(pool: _Pool, todo: Ints, covers: list[list[_Piece]], samples: int) -> list[list[_Piece]]:
    """Cover the runs with as many pieces as they are, but as near as that many can be.

    Taking the longest piece each time leaves a stub at the end. With less of the tolerance to use
    the pieces grow shorter and the stub longer: the least that takes no more pieces is sought.
    """
    best = list(covers)
    long = [place for place in range(len(best)) if len(best[place]) > 1]
    share = dict.fromkeys(long, (0.0, 1.0))
    for _ in range(_EVENING_ROUNDS):
        if not long:
            break
        limit = pool.limit.copy()
        limit[todo[long]] = [sum(share[place]) / 2.0 for place in long]
        for place, found in zip(long, _cover(pool._replace(limit=limit), todo[long], samples), strict=True):
            low, high = share[place]
            middle = (low + high) / 2.0
            if _cost(found) <= _cost(best[place]):
                best[place], share[place] = found, (low, middle)
            else:
                share[place] = (middle, high)
    return best


def _cost(pieces: list[_Piece]) -> tuple[int, int]:
    """Return how many pieces there are, and how many of them are neither lines nor arcs."""
    return len(pieces), sum(piece.kind == SegmentKind.CUBIC for piece in pieces)


def _pooled(runs: Sequence[Run]) -> _Pool:
    sizes = np.array([len(run.nodes) for run in runs])
    end = np.cumsum(sizes) - 1
    along = []
    for run in runs:
        step = np.hypot(*np.diff(run.track, axis=0).T)
        along.append(np.append(0.0, np.cumsum(step)))
    return _Pool(
        np.concatenate([run.nodes for run in runs]),
        np.concatenate([run.track for run in runs]),
        np.concatenate(along),
        np.concatenate([run.allowed for run in runs]),
        np.concatenate([run.tangents for run in runs]),
        end - sizes + 1,
        end,
        np.array([run.free for run in runs]),
        np.ones(len(runs)),
    )


def _cover(pool: _Pool, todo: Ints, samples: int) -> list[list[_Piece]]:
    """Cover the runs from start to end, each with the longest piece that holds, all runs in step."""
    out: list[list[_Piece]] = [[] for _ in todo]
    place = {run: number for number, run in enumerate(todo.tolist())}
    run, i = todo, pool.begin[todo]
    first = pool.tangents[i]
    guess = pool.end[run] - i
    while len(run):
        j, fit = _farthest(pool, run, i, first, guess, samples)
        for k in range(len(run)):
            kind = int(fit.kind[k])
            if not fit.good[k]:  # a single chord that no curve follows: the chord itself
                kind = int(SegmentKind.LINE)
            shape = fit.control[k], fit.centres[k], float(fit.sweeps[k])
            out[place[int(run[k])]].append(_Piece(int(i[k]), int(j[k]), kind, *shape, fit.first[k], fit.last[k]))
        going = j < pool.end[run]
        guess = np.maximum(j - i, 1)[going]
        run, i, first = run[going], j[going], fit.last[going]
    return [_joined_up(pool, number, pieces, samples) for number, pieces in zip(todo.tolist(), out, strict=True)]


def _farthest(pool: _Pool, run: Ints, i: Ints, first: Floats, guess: Ints, samples: int) -> tuple[Ints, _Fit]:
    """Return the farthest point each run's next piece can reach; several trials at once where runs are few."""
    low, high = i + 1, pool.end[run] + 1  # reached, and known to be out of reach
    best = _best_piece(pool, run, i, low, first, samples)
    active = np.flatnonzero(high - low > 1)
    while len(active):
        count = int(np.clip(_AT_ONCE // len(active), 1, _TRIALS))
        near, far = low[active][:, None], high[active][:, None]
        trial = near + (far - near) * np.arange(1, count + 1) // (count + 1)
        unbounded = far > pool.end[run[active]][:, None]
        hoped = i[active][:, None] + guess[active][:, None] * _HOPES[_TRIALS - count :]
        trial = np.where(unbounded, hoped.astype(np.int64), trial)
        trial = np.clip(trial, near + 1, far - 1)
        row = np.repeat(active, count)
        found = _best_piece(pool, run[row], i[row], trial.ravel(), first[row], samples)
        good = found.good.reshape(trial.shape)
        reached = np.where(good, trial, 0).argmax(axis=1)
        some = good.any(axis=1)
        chosen = (np.arange(len(active)) * count + reached)[some]
        columns: zip[tuple[Any, Any]] = zip(best, found, strict=True)
        for old, new in columns:
            old[active[some]] = new[chosen]
        low[active[some]] = trial.ravel()[chosen]
        failed = np.where(~good & (trial > low[active][:, None]), trial, far).min(axis=1)
        high[active] = failed
        guess = np.where(low - i > guess, 2 * (low - i), guess)
        guess[active] = np.maximum(guess[active], low[active] - i[active] + 1)
        active = active[(high - low)[active] > 1]
    return low, best


def _joined_up(pool: _Pool, run: int, pieces: list[_Piece], samples: int) -> list[_Piece]:
    """Turn the end of each cubic into the direction of the line or arc that follows it, where it can be."""
    ready = [
        k
        for k in range(len(pieces) - 1)
        if pieces[k].kind == SegmentKind.CUBIC and pieces[k + 1].kind != SegmentKind.CUBIC
    ]
    if not ready:
        return pieces
    i, j = (np.array([getattr(pieces[k], name) for k in ready]) for name in ("i", "j"))
    first, last = np.array([pieces[k].first for k in ready]), np.array([pieces[k + 1].first for k in ready])
    control, strain = fit_cubics(pool.stretches(np.full(len(ready), run), i, j, first, last, samples))
    for row, k in enumerate(ready):
        if strain[row] <= 1.0:
            pieces[k] = pieces[k]._replace(control=control[row], last=last[row])
    return pieces


def _verified(pool: _Pool, run: int, pieces: list[_Piece]) -> list[_Piece] | None:
    """Return the pieces fitted to all of their points, or None if one is not near enough to all of them."""
    out = []
    for given in pieces:
        piece = given
        count = 2 * (piece.j - piece.i) + 1
        if count > _SAMPLES:
            k, i, j = np.array([run]), np.array([piece.i]), np.array([piece.j])
            every = pool.stretches(k, i, j, piece.first[None], piece.last[None], count)
            if piece.kind == SegmentKind.CUBIC:
                control, strain = fit_cubics(every)
                piece = piece._replace(control=control[0])
            elif piece.kind == SegmentKind.ARC:
                arcs = fit_arcs(every)
                strain = arcs.strain
                piece = piece._replace(centre=arcs.centres[0], sweep=float(arcs.sweeps[0]))
            else:
                strain = line_strain(every)
            if not strain[0] <= 1.0:
                return None
        out.append(piece)
    return out


# ----------------------------------------------------------------------------------- into segments


def _unstrayed(pool: _Pool, run: int, pieces: list[_Piece]) -> list[_Piece]:
    """Put the chords themselves where a cubic swings out between its points, as on a jagged line."""
    out = []
    for piece in pieces:
        if piece.kind == SegmentKind.CUBIC:
            control = np.ones((1, 4, 3))
            control[0, :, :2] = piece.control
            spots = shapely.points(points_on(control, _CHECKED)[0])
            low, high = 2 * piece.i - run, 2 * piece.j - run
            away = shapely.distance(shapely.linestrings(pool.track[low : high + 1 : 2]), spots)
            if np.max(away) > 1.001 * pool.allowed[low]:
                out += [piece._replace(i=k, j=k + 1, kind=int(SegmentKind.LINE)) for k in range(piece.i, piece.j)]
                continue
        out.append(piece)
    return out


def _rows(pool: _Pool, pieces: list[_Piece]) -> Rows:
    parts: list[Rows] = []
    for piece in pieces:
        start, end = pool.nodes[piece.i], pool.nodes[piece.j]
        if piece.kind == SegmentKind.LINE:
            parts.append(line_rows(np.stack([start, end])))
        elif piece.kind == SegmentKind.ARC:
            parts.append(arc_rows(start, end, piece.centre, piece.sweep))
        else:
            parts.append((piece.control[None], np.array([SegmentKind.CUBIC], np.uint8), np.ones(1)))
    points, kinds, weights = (np.concatenate(column) for column in zip(*parts, strict=True))
    return points, kinds, weights


def line_rows(ends: Floats) -> Rows:
    """Return the line between two points, shape (2, 2)."""
    return ends[None, [0, 0, 1, 1]], np.array([SegmentKind.LINE], np.uint8), np.ones(1)


def arc_rows(start: Floats, end: Floats, centre: Floats, sweep: float) -> Rows:
    """Return an arc as pieces of a quarter turn or less; both ends to the last bit."""
    count = max(1, math.ceil(abs(sweep) / (math.pi / 2.0) - 1e-9))
    spoke = start - centre
    radius = math.hypot(*spoke)
    angles = math.atan2(spoke[1], spoke[0]) + sweep * np.arange(2 * count + 1) / (2 * count)
    weight = math.cos(sweep / (2 * count))
    ring = centre + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    ring[0], ring[-1] = start, end
    control = centre + (ring[1::2] - centre) / weight
    points = np.stack([ring[:-1:2], control, control, ring[2::2]], axis=1)
    return points, np.full(count, SegmentKind.ARC, np.uint8), np.full(count, weight)
