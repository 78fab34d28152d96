"""Runs of points, all in one pool, and the pieces that follow them.

Lengths are mm, y down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np
import shapely

from bladewise.geometry.arcs import arc_rows, line_rows
from bladewise.geometry.bernstein import basis
from bladewise.geometry.handles import Stretches
from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats

Ints: TypeAlias = "NDArray[np.int64]"

_CHECKED = np.linspace(0.0, 1.0, 65)[1:-1]
"""Where a cubic is held against the chords in the end."""

OWN = 0
"""The kind of a piece that is the run's own segment."""
CHORD = 9
"""The kind of a piece that is a chord no curve follows."""


class Run(NamedTuple):
    """A stretch between corners and straights, ready to be followed."""

    nodes: Floats
    """Where a piece may begin or end, shape (n, 2)."""
    track: Floats
    """The points it is judged by, shape (m, 2): every second one given, between each two the top of the curve
    they stand for."""
    spots: Ints
    """Which of the track's points each node is, shape (n,)."""
    allowed: Floats
    """Distance allowed at each of the track's points, shape (m,)."""
    tangents: Floats
    """Directions at the nodes, shape (n, 2)."""
    free: tuple[bool, bool]
    """Whether the start and the end are corners, where no direction need be kept."""
    own: Rows | None = None
    """The segments between the nodes, n − 1 of them, where there are some already."""


class Pool(NamedTuple):
    """All runs in one: arrays over their points, and where each begins and ends."""

    nodes: Floats
    track: Floats
    along: Floats
    spots: Ints
    allowed: Floats
    tangents: Floats
    begin: Ints
    end: Ints
    """Index of each run's first and last node."""
    free: NDArray[np.bool_]
    own: NDArray[np.bool_]
    limit: Floats
    """The share of the tolerance each run may use."""

    def stretches(self, run: Ints, i: Ints, j: Ints, first: Floats, last: Floats, count: int) -> Stretches:
        """Return the stretches from nodes i to nodes j, `count` samples each.

        Of many points they are a choice; of few, all of them and places between.
        """
        low = self.spots[i]
        many = (self.spots[j] - low)[:, None]
        spot = np.linspace(0.0, 1.0, count) * many
        nearest = np.rint(spot)
        spot = np.where(np.abs(spot - nearest) <= many / (2.0 * (count - 1)) + 1e-9, nearest, spot)
        index = np.minimum(spot.astype(np.int64), many - 1)
        part = spot - index
        index += low[:, None]
        rest, after = 1.0 - part, index + 1
        samples = self.track[index] * rest[..., None] + self.track[after] * part[..., None]
        samples[:, 0], samples[:, -1] = self.nodes[i], self.nodes[j]
        allowed = (self.allowed[index] * rest + self.allowed[after] * part) * self.limit[run][:, None]
        along = self.along[index] * rest + self.along[after] * part - self.along[low][:, None]
        return Stretches(samples, along, allowed, first, last)


class Pieces(NamedTuple):
    """Accepted pieces of all runs, in the order of the runs and along them."""

    run: Ints
    i: Ints
    j: Ints
    kind: NDArray[np.uint8]
    control: Floats
    centres: Floats
    sweeps: Floats
    first: Floats
    last: Floats

    def only(self, rows: Any) -> Pieces:
        """Return some of the pieces."""
        return Pieces(*(column[rows] for column in self))


def ordered(parts: Sequence[Pieces]) -> Pieces:
    """Return all the pieces in the order of the runs and along them."""
    whole = Pieces(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))
    return whole.only(np.lexsort((whole.i, whole.run)))


def pooled(runs: Sequence[Run]) -> Pool:
    """Return runs as one pool."""
    sizes = np.array([len(run.nodes) for run in runs])
    tracks = np.array([len(run.track) for run in runs])
    end = np.cumsum(sizes) - 1
    track = np.concatenate([run.track for run in runs])
    step = np.append(0.0, np.hypot(*np.diff(track, axis=0).T))
    spots = np.concatenate([run.spots for run in runs]) + np.repeat(np.cumsum(tracks) - tracks, sizes)
    return Pool(
        np.concatenate([run.nodes for run in runs]),
        track,
        np.cumsum(step),
        spots,
        np.concatenate([run.allowed for run in runs]),
        np.concatenate([run.tangents for run in runs]),
        end - sizes + 1,
        end,
        np.array([run.free for run in runs]),
        np.array([run.own is not None for run in runs]),
        np.ones(len(runs)),
    )


def strayed(pool: Pool, pieces: Pieces) -> NDArray[np.bool_]:
    """Whether each is a cubic that swings out between its points, as on a jagged line."""
    out = np.zeros(len(pieces.run), np.bool_)
    cubics = np.flatnonzero(pieces.kind == SegmentKind.CUBIC)
    if not len(cubics):
        return out
    spots = np.einsum("cf,kfd->kcd", basis(_CHECKED), pieces.control[cubics])
    low, high = pool.spots[pieces.i[cubics]], pool.spots[pieces.j[cubics]]
    sizes = (high - low) // 2 + 1  # the points given, without the tops between them
    owner = np.repeat(np.arange(len(cubics)), sizes)
    index = np.arange(len(owner)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    lines = shapely.linestrings(pool.track[low[owner] + 2 * index], indices=owner)
    away = shapely.distance(lines[:, None], shapely.points(spots)).max(axis=1)
    out[cubics] = away > 1.001 * pool.allowed[low]
    return out


def chords_for(pool: Pool, pieces: Pieces, which: NDArray[np.bool_]) -> Pieces:
    """Put the chords themselves, or the run's own segments, in the place of some pieces."""
    if not which.any():
        return pieces
    parts = [pieces.only(~which)]
    for row in np.flatnonzero(which).tolist():
        chords = np.arange(pieces.i[row], pieces.j[row])
        own = bool(pool.own[pieces.run[row]])
        again = pieces.only(np.full(len(chords), row))
        kind = np.full(len(chords), OWN if own else CHORD, np.uint8)
        parts.append(again._replace(i=chords, j=chords + 1, kind=kind))
    return ordered(parts)


def into_rows(pool: Pool, runs: Sequence[Run], pieces: Pieces) -> list[Rows]:
    """Return control points, kinds and weights of each run's pieces."""
    out = []
    bounds = np.searchsorted(pieces.run, np.arange(len(runs) + 1)).tolist()
    for number, run in enumerate(runs):
        parts: list[Rows] = []
        for row in range(bounds[number], bounds[number + 1]):
            i, j, kind = int(pieces.i[row]), int(pieces.j[row]), int(pieces.kind[row])
            start, end = pool.nodes[i], pool.nodes[j]
            if kind in (SegmentKind.LINE, CHORD):
                parts.append(line_rows(np.stack([start, end])))
            elif kind == SegmentKind.ARC:
                parts.append(arc_rows(start, end, pieces.centres[row], float(pieces.sweeps[row])))
            elif kind == SegmentKind.CUBIC:
                parts.append((pieces.control[row][None], np.array([SegmentKind.CUBIC], np.uint8), np.ones(1)))
            elif run.own is not None:
                own = slice(i - int(pool.begin[number]), i - int(pool.begin[number]) + 1)
                parts.append((run.own[0][own], run.own[1][own], run.own[2][own]))
        points, kinds, weights = (np.concatenate(column) for column in zip(*parts, strict=True))
        out.append((points, kinds, weights))
    return out
