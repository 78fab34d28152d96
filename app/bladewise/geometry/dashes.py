"""Dashes: a path cut into the stretches that its dash pattern leaves visible.

SVG 2, "Painting: Filling, Stroking", section "Dashing": the pattern is measured along each subpath
from its start, runs over corners within it and begins anew with the next one; a list of odd length
is taken twice; the offset says how far into the pattern a subpath begins. A pattern that has a
negative length or adds up to nothing means no dashes.

Where a closed subpath both begins and ends within a dash, the two are one dash around the seam, as
renderers paint it (SVG 2's own listing would put two ends there).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.errors import CannotApply
from bladewise.geometry.curves import sub_segments
from bladewise.geometry.measures import point_at_length, segment_lengths, tangent_at
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats

MOST_DASHES = 200_000
"""A stroke with more dashes than this is a mistake in the file, not a design."""


class Dashes(NamedTuple):
    """What a dash pattern leaves of a path.

    path: the dashes as open subpaths; a closed subpath without a gap stays closed, one of no length
    stays as it is. places, directions: dashes of no length, where they stand and the unit direction
    of the path there, shape (d, 2) each.
    """

    path: Path
    places: Floats
    directions: Floats


class _Cuts(NamedTuple):
    """Dashes of all subpaths as distances along the whole path: subpath, start, end; shape (k,) each."""

    subpath: NDArray[np.int64]
    start: Floats
    end: Floats


def dashed(path: Path, pattern_mm: Sequence[float], offset_mm: float = 0.0) -> Dashes:
    """Return the dashes of a path.

    Parameters
    ----------
    path
        Open or closed subpaths.
    pattern_mm
        Lengths of dash and gap by turns.
    offset_mm
        How far into the pattern each subpath begins; may be negative.

    Raises
    ------
    CannotApply
        If the pattern is so short that there would be more than `MOST_DASHES` dashes.
    """
    nothing = np.zeros((0, 2))
    pattern = np.asarray(pattern_mm, dtype=np.float64)
    whole = float(pattern.sum()) if len(pattern) else 0.0
    if not path or not math.isfinite(whole) or whole <= 0.0 or (pattern < 0.0).any() or not math.isfinite(offset_mm):
        return Dashes(path, nothing, nothing)
    if len(pattern) % 2:
        pattern, whole = np.concatenate([pattern, pattern]), 2.0 * whole
    sizes = segment_lengths(path)
    upto = np.concatenate([[0.0], np.cumsum(sizes)])
    if upto[-1] / whole * (len(pattern) / 2) > MOST_DASHES:
        message = "the dash pattern is too short for this path"
        raise CannotApply(message, hint="Give longer dashes and gaps, or none.")
    base, extent = upto[path.starts], upto[path.ends] - upto[path.starts]
    edges = np.concatenate([[0.0], np.cumsum(pattern)])[:-1]
    cuts, kept = _cuts(edges[::2], pattern[::2], whole, offset_mm, base, extent, path.closed)
    still = joined([subpath for subpath, keep in zip(path.subpaths(), kept, strict=True) if keep])
    if not len(cuts.start):
        return Dashes(still, nothing, nothing)

    point = cuts.end - cuts.start <= SAME_POINT_MM
    spots = np.flatnonzero(point)
    where = _spanned(path, cuts, upto)
    places = nothing
    directions = nothing
    if len(spots):
        places = point_at_length(path, cuts.start[spots]).points
        directions = tangent_at(path, where[0][spots], where[1][spots])
    lines = _assembled(path, cuts, where, np.flatnonzero(~point))
    return Dashes(joined([still, lines]), places, directions)


def without_stretches(path: Path, subpath: ArrayLike, start_mm: ArrayLike, end_mm: ArrayLike) -> Path:
    """Return a path without some stretches of it: what stays are exact parts of its segments.

    Parameters
    ----------
    path
        Open or closed subpaths.
    subpath, start_mm, end_mm
        Each stretch, shape (k,): the subpath it lies on and where it starts and ends, measured along that
        subpath. On a closed one it may reach over the seam, on either side. Stretches may overlap.

    Returns
    -------
    Path
        Subpaths without a stretch as they were, all others as open parts in the order of travel; a part that
        runs over the seam is one part.
    """
    owner = np.atleast_1d(np.asarray(subpath, dtype=np.int64))
    start, end = (np.atleast_1d(np.asarray(each, dtype=np.float64)) for each in (start_mm, end_mm))
    if not path or not len(owner):
        return path
    upto = np.concatenate([[0.0], np.cumsum(segment_lengths(path))])
    base, extent = upto[path.starts], upto[path.ends] - upto[path.starts]
    whole, owners, begins, stops = [], [], [], []
    for index, one in enumerate(path.subpaths()):
        mine = owner == index
        if not mine.any():
            whole.append(one)
            continue
        size = float(extent[index])
        low, high = start[mine], end[mine]
        if one.closed[0] and size > 0.0:
            rounds = np.array([-size, 0.0, size])
            low, high = (low % size + rounds[:, None]).ravel(), (low % size + high - low + rounds[:, None]).ravel()
        order = np.argsort(low, kind="stable")
        low, high = low[order], np.maximum.accumulate(high[order])
        left, right = np.append(0.0, np.clip(high, 0.0, size)), np.append(np.clip(low, 0.0, size), size)
        kept = right - left > SAME_POINT_MM
        owners.append(np.full(int(kept.sum()), index))
        begins.append(base[index] + left[kept])
        stops.append(base[index] + right[kept])
    if not owners:
        return path
    cuts = _Cuts(np.concatenate(owners), np.concatenate(begins), np.concatenate(stops))
    parts = _assembled(path, cuts, _spanned(path, cuts, upto), np.arange(len(cuts.start)))
    return joined([*whole, parts])


def _spanned(path: Path, cuts: _Cuts, upto: Floats) -> tuple[NDArray[np.int64], Floats, NDArray[np.int64], Floats]:
    """Return segment and t where each dash starts, and where it ends; `upto` are the segments' ends along the path."""
    starts, ends = path.starts[cuts.subpath], path.ends[cuts.subpath] - 1
    base, finish = upto[starts], upto[ends + 1]
    first, t_first = _placed(path, cuts.start, starts, ends, base)
    last, t_last = _placed(path, cuts.end, starts, ends, base)
    back = (t_last <= 0.0) & (last > first)
    last, t_last = np.where(back, last - 1, last), np.where(back, 1.0, t_last)
    whole = cuts.end >= finish - SAME_POINT_MM  # the sums of lengths agree but for their rounding
    return first, t_first, np.where(whole, ends, last), np.where(whole, 1.0, t_last)


def _cuts(
    starts: Floats,
    lengths: Floats,
    whole: float,
    offset_mm: float,
    base: Floats,
    extent: Floats,
    closed: NDArray[np.bool_],
) -> tuple[_Cuts, list[bool]]:
    """Return the dashes, and which subpaths stay whole: closed ones without a gap, dots within a dash."""
    phase = offset_mm % whole
    subpaths, begins, stops, kept = [], [], [], []
    for index, (at, size) in enumerate(zip(base.tolist(), extent.tolist(), strict=True)):
        rounds = np.arange(math.ceil((size + phase) / whole) + 1)
        start = (rounds[:, None] * whole + starts[None, :]).ravel() - phase
        end = start + np.tile(lengths, len(rounds))
        if size <= SAME_POINT_MM:
            kept.append(bool(((start <= 0.0) & (end >= 0.0)).any()))
            continue
        seen = ((start >= 0.0) | (end > SAME_POINT_MM)) & (start < size - SAME_POINT_MM)
        start, end = np.maximum(start[seen], 0.0), np.minimum(end[seen], size)
        joins = np.append([True], start[1:] > end[:-1] + SAME_POINT_MM) if len(start) else np.zeros(0, bool)
        heads = np.flatnonzero(joins)  # a gap of no length parts nothing
        tails = np.append(heads[1:], len(start)) - 1 if len(heads) else heads
        start, end = start[heads], end[tails]
        full = len(start) == 1 and start[0] <= 0.0 and end[0] >= size
        kept.append(bool(full and closed[index]))
        if kept[-1]:
            continue
        subpaths.append(np.full(len(start), index))
        begins.append(at + start)
        stops.append(at + end)
    if not subpaths:
        return _Cuts(np.zeros(0, np.int64), np.zeros(0), np.zeros(0)), kept
    return _Cuts(np.concatenate(subpaths), np.concatenate(begins), np.concatenate(stops)), kept


def _placed(
    path: Path, along: Floats, first: NDArray[np.int64], last: NDArray[np.int64], base: Floats
) -> tuple[NDArray[np.int64], Floats]:
    """Return segment and t at distances along the path, kept within the segments first to last."""
    places = point_at_length(path, along)
    segment, t = places.segments, places.parameters
    t = np.where((segment < first) | (along <= base), 0.0, np.where(segment > last, 1.0, t))
    segment = np.where(along <= base, first, np.clip(segment, first, last))
    return segment, t


def _assembled(
    path: Path,
    cuts: _Cuts,
    where: tuple[NDArray[np.int64], Floats, NDArray[np.int64], Floats],
    chosen: NDArray[np.int64],
) -> Path:
    """Return the chosen dashes as open subpaths; first and last of a closed subpath joined at the seam."""
    if not len(chosen):
        return EMPTY
    first, t_first, last, t_last = where[0][chosen], where[1][chosen], where[2][chosen], where[3][chosen]
    subpath = cuts.subpath[chosen]
    count = last - first + 1
    dash = np.repeat(np.arange(len(chosen)), count)
    segment = first[dash] + np.arange(len(dash)) - np.repeat(np.cumsum(count) - count, count)
    t0 = np.where(segment == first[dash], t_first[dash], 0.0)
    t1 = np.where(segment == last[dash], t_last[dash], 1.0)

    opens = np.flatnonzero(np.append([True], subpath[1:] != subpath[:-1]))
    ends = np.append(opens[1:], len(subpath)) - 1
    around = (
        path.closed[subpath[opens]]
        & (opens != ends)
        & (first[opens] == path.starts[subpath[opens]])
        & (t_first[opens] == 0.0)
        & (last[ends] == path.ends[subpath[opens]] - 1)
        & (t_last[ends] == 1.0)
    )
    group = np.arange(len(chosen))
    group[opens[around]] = ends[around]
    late = np.zeros(len(chosen), np.int64)
    late[opens[around]] = 1
    order = np.lexsort((segment, late[dash], group[dash]))
    dash, segment, t0, t1 = group[dash][order], segment[order], t0[order], t1[order]
    keep = t1 > t0
    dash, segment, t0, t1 = dash[keep], segment[keep], t0[keep], t1[keep]
    points, weights = sub_segments(path.points[segment], path.kinds[segment], path.weights[segment], t0, t1)
    within = np.append([False], dash[1:] == dash[:-1])
    points[within, 0] = points[np.append(within[1:], [False]), 3]
    starts = np.flatnonzero(~within).astype(np.int64)
    return Path(points, path.kinds[segment], weights, starts, np.zeros(len(starts), bool))
