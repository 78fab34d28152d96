"""Runs of points followed by as few pieces as can be, all runs in step.

From a run's start the longest piece that is near enough is taken, a line if one will do, else an
arc, else a cubic, and so on to its end: as a shorter piece is hardly ever harder to fit than a
longer one, no other way from that start takes fewer. How long it may be follows from how far shorter
and longer ones stray. Then the tolerance is narrowed about as far as the same number of pieces allows,
which evens them out.

Where a run has segments of its own between its nodes, a piece over one of them alone is that segment.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from bladewise.geometry.handles import fit_arcs, fit_cubics, line_strain
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.pieces import CHORD, OWN, Pieces, Pool, Run, chords_for, into_rows, ordered, pooled, strayed
from bladewise.geometry.tolerances import LEAST_ARC_DEG, SMOOTH_JOINT_DEG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats
    from bladewise.geometry.pieces import Ints

_SAMPLES = 41
"""Points a piece is judged by while its length is sought; all of them judge it in the end."""
_HOPELESS = 20.0
"""A cubic that strays by this many times what is allowed after a few rounds is given up."""
_TRIALS = 7
"""Most lengths tried for one piece in one go."""
_HOPES = np.array([1.0, 0.94, 1.06, 0.85, 1.2, 0.7, 1.6])
"""A piece is tried at these multiples of the length expected of it, as many as there is room for."""
_ORDER = 5.0
"""The error of a piece grows with about this power of its length."""
_AT_ONCE = 80
"""Pieces tried in one go, if there are fewer runs than that: the cost of a call is shared."""
_MOST_AT_ONCE = 1024
"""Pieces tried in one go at most: what they need then stays near the processor."""
_EVENING_POWER = 4.0
"""As `_ORDER`; a little less leaves room."""
_CALMED, _CALMER = 0.75, 4
"""A run on which a cubic swings out between its points is followed again with this share of its tolerance, so often;
then its chords stay."""
_AGREE = math.cos(math.radians(SMOOTH_JOINT_DEG))
"""A line or an arc takes a cubic's place only if it goes on in the same direction to this cosine."""
_LEAST_ARC = math.radians(LEAST_ARC_DEG)
"""Flatter pieces are cubics, which join their neighbours more smoothly."""


class _Fit(NamedTuple):
    """What the best piece over each stretch is."""

    kind: NDArray[np.uint8]
    good: NDArray[np.bool_]
    strain: Floats
    control: Floats
    centres: Floats
    sweeps: Floats
    first: Floats
    last: Floats


def _best_piece(pool: Pool, run: Ints, i: Ints, j: Ints, first: Floats, samples: int) -> _Fit:
    """Try a line, an arc and a cubic over each stretch; the simplest that is near enough is taken."""
    if len(run) > _MOST_AT_ONCE:
        halves = [slice(None, len(run) // 2), slice(len(run) // 2, None)]
        parts = [_best_piece(pool, run[half], i[half], j[half], first[half], samples) for half in halves]
        return _Fit(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))
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
    control, strain = fit_cubics(stretches, hopeless=_HOPELESS)
    kind = np.where(line, SegmentKind.LINE, np.where(arc, SegmentKind.ARC, SegmentKind.CUBIC)).astype(np.uint8)
    good = line | arc | (strain <= 1.0)
    new_first = np.where(line[:, None], chord, np.where(arc[:, None], arcs.first, stretches.first))
    new_last = np.where(line[:, None], chord, np.where(arc[:, None], arcs.last, stretches.last))
    own = pool.own[run] & (j == i + 1)
    if own.any():
        kind[own], good[own] = OWN, True
        new_first[own], new_last[own] = pool.tangents[i[own]], pool.tangents[j[own]]
    return _Fit(kind, good, strain, control, arcs.centres, arcs.sweeps, new_first, new_last)


def follow(runs: Sequence[Run]) -> list[Rows]:
    """Return the segments of each run."""
    pool = pooled(runs)
    todo = np.arange(len(runs))
    done: list[Pieces] = []
    samples, calmer = _SAMPLES, 0
    every = int((pool.spots[pool.end] - pool.spots[pool.begin]).max()) + 1
    while len(todo):
        cover = _cover(pool, todo, samples)
        even = _evened(pool, cover, samples)
        # judged by all of its points, a piece may turn out to miss one between the samples
        even, even_good = _verified(pool, even, samples)
        cover, good = _verified(pool, cover, samples)
        fails, uneven, strays = (np.zeros(len(runs), np.bool_) for _ in range(3))
        fails[cover.run[~good]] = samples < every
        uneven[even.run[~even_good]] = True
        fails &= uneven
        found = ordered([even.only(~uneven[even.run]), cover.only(uneven[cover.run] & ~fails[cover.run])])
        away = strayed(pool, found)
        if calmer < _CALMER:
            strays[found.run[away]] = True
            pool.limit[strays] *= _CALMED
            calmer += 1
            done.append(found.only(~strays[found.run]))
        else:
            done.append(chords_for(pool, found, away))
        samples = min(4 * (samples - 1) + 1, every) if fails.any() else samples
        todo = np.flatnonzero(fails | strays)
    return into_rows(pool, runs, ordered(done))


def _evened(pool: Pool, cover: Pieces, samples: int) -> Pieces:
    """Cover the runs with as many pieces as they are, but as near as that many can be.

    Taking the longest piece each time leaves a stub at the end. With less of the tolerance to use
    the pieces grow shorter and the stub longer. How much less follows from how short the stub is.
    """
    runs = len(pool.begin)
    count = np.bincount(cover.run, minlength=runs)
    size = pool.along[pool.spots[cover.j]] - pool.along[pool.spots[cover.i]]
    whole = np.bincount(cover.run, weights=size, minlength=runs)
    last = np.append(cover.run[1:] != cover.run[:-1], True)
    stub = np.zeros(runs)
    stub[cover.run[last]] = size[last]
    long = np.flatnonzero((count > 1) & ~pool.own)
    if not len(long):
        return cover
    mean = (whole[long] - stub[long]) / (count[long] - 1)
    need = (count[long] - 1 + np.minimum(stub[long] / np.maximum(mean, 1e-300), 1.0)) / count[long]
    limit = pool.limit.copy()
    limit[long] *= np.clip(need**_EVENING_POWER, 0.15, 1.0)
    better = _cover(pool._replace(limit=limit), long, samples, count)
    new_count, cost, new_cost = np.bincount(better.run, minlength=runs), _costs(cover, runs), _costs(better, runs)
    won = (new_count > 0) & ((new_count < count) | ((new_count == count) & (new_cost <= cost)))
    return ordered([cover.only(~won[cover.run]), better.only(won[better.run])])


def _costs(pieces: Pieces, runs: int) -> Floats:
    """Return how little there is to be said for each run's pieces: lines and arcs before cubics before chords."""
    price = np.where(pieces.kind == SegmentKind.CUBIC, 1.0, np.where(pieces.kind == CHORD, 1e3, 0.0))
    return np.bincount(pieces.run, weights=price, minlength=runs).astype(np.float64)


def _cover(pool: Pool, todo: Ints, samples: int, most: Ints | None = None) -> Pieces:
    """Cover the runs from start to end, each with the longest piece that holds, all runs in step.

    A run that would take more pieces than `most`, given for each run, is left out.
    """
    parts: list[Pieces] = []
    whole = np.ones(len(pool.begin), np.bool_)
    run, i = todo, pool.begin[todo]
    first = pool.tangents[i]
    guess = pool.end[run] - i
    while len(run):
        j, fit = _farthest(pool, run, i, first, guess, samples)
        kind = np.where(fit.good, fit.kind, np.uint8(CHORD))
        parts.append(Pieces(run, i, j, kind, fit.control, fit.centres, fit.sweeps, fit.first, fit.last))
        going = j < pool.end[run]
        if most is not None:
            whole[run[going & (most[run] <= len(parts))]] = False
            going &= whole[run]
        guess = np.maximum(j - i, 1)[going]
        run, i, first = run[going], j[going], fit.last[going]
    pieces = ordered(parts)
    return _joined_up(pool, pieces if whole.all() else pieces.only(whole[pieces.run]), samples)


def _farthest(pool: Pool, run: Ints, i: Ints, first: Floats, guess: Ints, samples: int) -> tuple[Ints, _Fit]:
    """Return the farthest node each run's next piece can reach; several trials at once where runs are few.

    The next length to try follows from the strains of the longest that is near enough and of the
    shortest that is not; every third time it is half way between them, so that it always ends.
    """
    low, high = i.copy(), pool.end[run] + 1  # reached, and known to be out of reach
    low_strain, high_strain = np.full(len(run), np.nan), np.full(len(run), np.nan)
    best: _Fit | None = None
    expected = guess.astype(np.float64)
    active = np.arange(len(run))
    turn = 0
    while len(active):
        turn += 1
        count = int(np.clip(_AT_ONCE // len(active), 1, _TRIALS))
        begin, near, far = i[active], low[active], high[active]
        trial = begin[:, None] + np.rint(expected[active][:, None] * _HOPES[:count]).astype(np.int64)
        if turn % 3 == 0:
            trial[:, 0] = (near + far) // 2
        trial = np.clip(trial, near[:, None] + 1, far[:, None] - 1)
        row = np.repeat(active, count)
        found = _best_piece(pool, run[row], i[row], trial.ravel(), first[row], samples)
        if best is None:
            best = found._replace(**{name: column[::count].copy() for name, column in found._asdict().items()})
        good, strain = found.good.reshape(trial.shape), found.strain.reshape(trial.shape)
        # the farthest that is near enough; a lone chord in any case
        reached = np.where(good | (trial == begin[:, None] + 1), trial, -1)
        top = reached.argmax(axis=1)
        rows = np.arange(len(active))
        some = reached[rows, top] > near
        chosen = (rows * count + top)[some]
        columns: zip[tuple[Any, Any]] = zip(best, found, strict=True)
        for old, new in columns:
            old[active[some]] = new[chosen]
        low[active[some]] = trial[rows, top][some]
        low_strain[active[some]] = strain[rows, top][some]
        failing = np.where(~good & (trial > low[active][:, None]), trial, far[:, None])
        bottom = failing.argmin(axis=1)
        fails = failing[rows, bottom] < far
        high[active] = failing[rows, bottom]
        high_strain[active[fails]] = strain[rows, bottom][fails]
        expected = _expected(low - i, high - i, low_strain, high_strain)
        active = active[(high - low)[active] > 1]
    assert best is not None
    return low, best


def _expected(reached: Ints, missed: Ints, low: Floats, high: Floats) -> Floats:
    """Return the length at which the strain is likely to be 1, from two lengths and their strains; NaN: not known."""
    low, high = np.maximum(low, 1e-6), np.minimum(high, 1e6)
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.log(high / low) / np.log(missed / np.maximum(reached, 1))
        power = np.where(np.isfinite(power) & (power > 1.0), np.minimum(power, 20.0), _ORDER)
        from_high = missed * high ** (-1.0 / power)
        from_low = reached * np.clip(low ** (-1.0 / _ORDER), 1.05, 4.0)
    found: Floats = np.where(
        np.isfinite(from_high) & (high > 0.0), from_high, np.where(reached > 0, from_low, missed / 2.0)
    )
    return found


def _joined_up(pool: Pool, pieces: Pieces, samples: int) -> Pieces:
    """Turn the end of each cubic into the direction of the line or arc that follows it, where it can be."""
    simple = (pieces.kind == SegmentKind.LINE) | (pieces.kind == SegmentKind.ARC)
    ready = np.flatnonzero((pieces.kind[:-1] == SegmentKind.CUBIC) & simple[1:] & (pieces.run[:-1] == pieces.run[1:]))
    if not len(ready):
        return pieces
    some, last = pieces.only(ready), pieces.first[ready + 1]
    control, strain = fit_cubics(pool.stretches(some.run, some.i, some.j, some.first, last, samples))
    good = strain <= 1.0
    pieces.control[ready[good]], pieces.last[ready[good]] = control[good], last[good]
    return pieces


def _verified(pool: Pool, pieces: Pieces, samples: int) -> tuple[Pieces, NDArray[np.bool_]]:
    """Return the pieces fitted to all of their points, and whether each is near enough to all of them.

    Those of few points were judged by all of them before.
    """
    control, centres, sweeps = pieces.control.copy(), pieces.centres.copy(), pieces.sweeps.copy()
    good = np.ones(len(pieces.run), np.bool_)
    many = pool.spots[pieces.j] - pool.spots[pieces.i]
    # in groups of about as many points
    size = np.maximum(np.ceil(np.log2(np.maximum(many, 1))).astype(np.int64), 4)
    judged = (pieces.kind != OWN) & (pieces.kind != CHORD) & (many >= samples)
    for group in np.unique(size[judged]).tolist():
        count = 2**group + 1
        for kind in (SegmentKind.LINE, SegmentKind.ARC, SegmentKind.CUBIC):
            every = np.flatnonzero(judged & (size == group) & (pieces.kind == kind))
            for rows in np.array_split(every, max(1, math.ceil(len(every) * count / 50_000))):
                if not len(rows):
                    continue
                some = pieces.only(rows)
                stretches = pool.stretches(some.run, some.i, some.j, some.first, some.last, count)
                if kind is SegmentKind.CUBIC:
                    control[rows], strain = fit_cubics(stretches)
                elif kind is SegmentKind.ARC:
                    arcs = fit_arcs(stretches)
                    centres[rows], sweeps[rows], strain = arcs.centres, arcs.sweeps, arcs.strain
                else:
                    strain = line_strain(stretches)
                good[rows] = strain <= 1.0
    return pieces._replace(control=control, centres=centres, sweeps=sweeps), good
