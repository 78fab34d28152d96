"""Of what is drawn beside an outline, the part that can show: bands along the rim of a region that grows.

Beside jagged art most of what `outlines` would draw lies deep inside the result: the strips of all the
bends and corners in an inlet cover one another many times over. How deep is told by distance: a place
is inside the grown region by as much as it is nearer to the outline than the reach (J. Steiner 1840,
"parallel body"), and distance changes no faster than one moves. So a stretch of a parallel whose ends
are nearer than the reach by half its length and a margin is hidden all along, and is not drawn at all.

What is left is drawn as bands: the exact parallel on the outside, a polyline somewhat deeper inside,
the ends closed along the normals. Every place nearer to the rim than half the margin is covered by a
band, so the outlines of their union lie either on the rim or deeper than that: the deeper ones are
dropped (`on_the_rim`). Where one ring has places of both kinds the answer is None, and the caller draws
everything.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.corners import LEFT, Corners, round_about
from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import Pieces, dot, fit_parallels, lengths_of, normals_of
from bladewise.geometry.path import EMPTY, Path, SegmentKind, circle, joined
from bladewise.geometry.rings import Rows, lines
from bladewise.geometry.spans import CUSP, Spans, spans
from bladewise.geometry.tolerances import RIM_MARGIN_MM, RIM_SHARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.nearness import Nearness
    from bladewise.geometry.path import Floats

_LOOKS = 9
"""Places at which a span's length and turning are estimated."""

_MOST = 256
"""Stations of one element at the first look."""

_SPLIT = 4
"""A stretch that cannot be told is looked at in so many parts."""

_ROUNDS = 4
"""How often."""

_DEPTH = 3.0
"""A band is this many margins wide."""

LINE, CURVE, SECTOR, FOLD = 0, 1, 2, 3
"""Kinds of elements. A fold, where the curve is tighter than the reach, is no rim, but beside a shallow one the bands
before and after it must not part: it is drawn as a way down from the rim and up again."""


class _Elements(NamedTuple):
    """What stands beside an outline, in order round its rings: a span's parallel, a corner's arc.

    kind (e,): see above. of (e,): the span, or the span before the corner. ring (e,).
    start, stop (e, 2): where it begins and ends. centre (e, 2), turn (e,): of sectors. linked (e,):
    whether the next element of the ring goes on where it ends.
    """

    kind: NDArray[np.int64]
    of: NDArray[np.int64]
    ring: NDArray[np.int64]
    start: Floats
    stop: Floats
    centre: Floats
    turn: Floats
    linked: NDArray[np.bool_]


class _Stations(NamedTuple):
    """Places along the elements: element (n,), share of it (n,), place on the source (n, 2) and beside it (n, 2)."""

    element: NDArray[np.int64]
    share: Floats
    base: Floats
    out: Floats


def rim_bands(path: Path, distance_mm: float, tolerance_mm: float, nearness: Nearness) -> Path | None:
    """Return bands whose union has the rim of the grown region among its outlines.

    Parameters
    ----------
    path
        Closed outlines that do not cross; what grows lies to their right as seen on the screen.
    distance_mm
        How far, > 0; corners become round.
    tolerance_mm
        Largest distance between the curves returned and the exact parallels.
    nearness
        Of the same path.

    Returns
    -------
    Path or None
        To be painted nonzero. None where drawing everything is as good: nothing is hidden.
    """
    some = spans(path, distance_mm)
    if not len(some.row):
        return None
    margin = margin_of(distance_mm)
    depth = 1.0 - min(_DEPTH * margin / distance_mm, 0.9)
    elements = _elements(some, distance_mm, tolerance_mm)
    stations, hidden = _looked_at(some, elements, distance_mm, margin, depth, nearness)
    if not hidden.any():
        return None
    bands = _bands(some, elements, stations, hidden, distance_mm, tolerance_mm, depth, margin)
    cusps = [circle((x, y), distance_mm) for x, y in some.points[some.joint == CUSP, 1].tolist()]
    return joined([bands, *cusps])


def margin_of(distance_mm: float) -> float:
    """Return how much deeper than the rim a stretch must lie to be left out, in mm."""
    return min(RIM_MARGIN_MM, RIM_SHARE * distance_mm)


def on_the_rim(path: Path, distance_mm: float, nearness: Nearness) -> Path | None:
    """Return the outlines that lie on the rim, without those deeper inside; None if one is partly both."""
    if not len(path):
        return EMPTY
    inside = nearness.within(path.points[:, 0], distance_mm - 0.25 * margin_of(distance_mm))
    count = np.add.reduceat(inside, path.starts)
    if ((count > 0) & (count < path.ends - path.starts)).any():
        return None
    return joined([ring for ring, deep in zip(path.subpaths(), count.tolist(), strict=True) if not deep])


def _elements(some: Spans, distance_mm: float, tolerance_mm: float) -> _Elements:
    """Return the elements."""
    count = len(some.row)
    first = np.append([True], some.subpath[1:] != some.subpath[:-1])
    last = np.append(some.subpath[1:] != some.subpath[:-1], [True])
    after = np.arange(1, count + 1)
    after[last] = np.flatnonzero(first)
    every = np.arange(count)
    ends = some.points + LEFT * distance_mm * normals_of(some.tangents)
    corners = Corners(some, every, after, distance_mm, tolerance_mm)
    plan = corners.plan(ends, LEFT, "round", 1.0, lone=True)
    kind = np.where(some.straight, LINE, np.where(some.fold == LEFT, FOLD, CURVE))
    sector = np.flatnonzero(plan.outer)
    order = np.argsort(np.concatenate([2 * every, 2 * sector + 1]), kind="stable")
    of = np.concatenate([every, sector])[order]
    is_sector = (np.concatenate([2 * every, 2 * sector + 1])[order] % 2).astype(np.bool_)
    start = np.where(is_sector[:, None], ends[of, 1], ends[of, 0])
    stop = np.where(is_sector[:, None], ends[after[of], 0], ends[of, 1])
    linked = is_sector | ~plan.through[of]
    return _Elements(
        np.where(is_sector, SECTOR, kind[of]),
        of,
        some.subpath[of],
        start,
        stop,
        some.points[of, 1],
        np.where(is_sector, plan.turn[of], 0.0),
        linked,
    )


def _placed(
    some: Spans, elements: _Elements, element: NDArray[np.int64], share: Floats, distance_mm: float, depth: float
) -> _Stations:
    """Return stations at shares of elements; within folds at a share `depth` of the reach."""
    base, out = np.empty((len(element), 2)), np.empty((len(element), 2))
    kind = elements.kind[element]
    of = elements.of[element]
    rows = np.flatnonzero(kind == LINE)
    if len(rows):
        which, part = element[rows], share[rows, None]
        out[rows] = (1.0 - part) * elements.start[which] + part * elements.stop[which]
        base[rows] = out[rows] - LEFT * distance_mm * normals_of(some.tangents[of[rows], 0])
    rows = np.flatnonzero((kind == CURVE) | (kind == FOLD))
    if len(rows):
        span = of[rows]
        t = some.t[span, 0] + np.diff(some.t[span], axis=1)[:, 0] * share[rows]
        place, way, _ = some.curves.at(some.row[span], t[:, None])
        way = way[:, 0] / np.maximum(lengths_of(way[:, 0]), 1e-300)[:, None]
        for end in (0, 1):
            there = share[rows] == end
            way[there] = some.tangents[span[there], end]
        base[rows] = place[:, 0]
        out[rows] = place[:, 0] + LEFT * distance_mm * normals_of(way)
        rows = rows[kind[rows] == FOLD]
        which = element[rows]
        across = elements.stop[which] - elements.start[which]
        back = dot(across, some.tangents[of[rows]].sum(axis=1)) < 0.0  # else a corner beside it has made up for it
        straight = elements.start[which] + share[rows, None] * across
        out[rows] = np.where(back[:, None], base[rows] + depth * (out[rows] - base[rows]), straight)
    rows = np.flatnonzero(kind == SECTOR)
    if len(rows):
        which = element[rows]
        arm = elements.start[which] - elements.centre[which]
        angle = elements.turn[which] * share[rows]
        cos, sin = np.cos(angle), np.sin(angle)
        base[rows] = elements.centre[which]
        out[rows, 0] = base[rows, 0] + arm[:, 0] * cos - arm[:, 1] * sin
        out[rows, 1] = base[rows, 1] + arm[:, 0] * sin + arm[:, 1] * cos
    at_start, at_stop = share == 0.0, share == 1.0
    out[at_start], out[at_stop] = elements.start[element[at_start]], elements.stop[element[at_stop]]
    return _Stations(element, share, base, out)


def _looked_at(
    some: Spans, elements: _Elements, distance_mm: float, margin: float, depth: float, nearness: Nearness
) -> tuple[_Stations, NDArray[np.bool_]]:
    """Return stations along all elements, and whether the stretch from each to the next is hidden."""
    length, turn = _sizes(some, elements, distance_mm)
    need = np.sqrt(2.0 * length * turn / margin)  # chords that stray a quarter of the margin, with room to spare
    need = np.maximum(need, np.minimum(length / distance_mm, 8.0))
    count = np.clip(np.ceil(need), 1, _MOST).astype(np.int64)
    count[elements.kind == FOLD] = 2
    element = np.repeat(np.arange(len(count)), count + 1)
    step = np.arange(len(element)) - np.repeat(np.cumsum(count + 1) - count - 1, count + 1)
    stations = _placed(some, elements, element, step / count[element], distance_mm, depth)
    inside = nearness.within(stations.out, distance_mm - margin)
    folded = elements.kind == FOLD
    tips = np.stack([np.searchsorted(element, np.arange(len(count)), side=side) for side in ("left", "right")])
    tips[1] -= 1
    gone = folded & inside[tips[0]] & inside[tips[1]]
    hidden = np.zeros(len(element), np.bool_)
    known = np.zeros(len(element), np.bool_)
    for round_ in range(_ROUNDS):
        same = np.append(stations.element[1:] == stations.element[:-1], [False])
        size = np.append(lengths_of(np.diff(stations.out, axis=0)), [0.0])
        hidden |= gone[stations.element] & same
        known |= folded[stations.element] | ~same
        ask = np.flatnonzero(~known & inside & np.append(inside[1:], [False]))
        reach = distance_mm - margin - 0.51 * size[ask]
        ask, reach = ask[reach > 0.0], reach[reach > 0.0]
        sure = nearness.within(stations.out[ask], reach)
        ask, reach = ask[sure], reach[sure]
        hidden[ask[nearness.within(stations.out[ask + 1], reach)]] = True
        known |= hidden
        if round_ == _ROUNDS - 1:
            break
        half = inside | np.append(inside[1:], [False])
        unsure = np.flatnonzero(~known & half & (size > np.maximum(margin, distance_mm / 64.0)))
        known |= ~half
        if not len(unsure):
            break
        part = np.arange(1, _SPLIT) / _SPLIT
        share = stations.share[unsure, None] + (stations.share[unsure + 1] - stations.share[unsure])[:, None] * part
        whose = np.repeat(stations.element[unsure], _SPLIT - 1)
        extra = _placed(some, elements, whose, share.ravel(), distance_mm, depth)
        place = np.repeat(unsure + 1, _SPLIT - 1)
        inside = np.insert(inside, place, nearness.within(extra.out, distance_mm - margin))
        hidden, known = np.insert(hidden, place, False), np.insert(known, place, False)
        stations = _Stations(
            np.insert(stations.element, place, extra.element),
            np.insert(stations.share, place, extra.share),
            np.insert(stations.base, place, extra.base, axis=0),
            np.insert(stations.out, place, extra.out, axis=0),
        )
    return stations, hidden


def _sizes(some: Spans, elements: _Elements, distance_mm: float) -> tuple[Floats, Floats]:
    """Return length in mm and turning in radians of every element, each at least a little."""
    length, turn = lengths_of(elements.stop - elements.start), np.abs(elements.turn)
    length = np.where(elements.kind == SECTOR, distance_mm * turn, length)
    rows = np.flatnonzero(elements.kind == CURVE)
    if len(rows):
        of = elements.of[rows]
        t = some.t[of, :1] + np.diff(some.t[of], axis=1) * np.linspace(0.0, 1.0, _LOOKS)
        place, way, _ = some.curves.at(some.row[of], t)
        way[:, 0], way[:, -1] = some.tangents[of, 0], some.tangents[of, 1]
        out = place + LEFT * distance_mm * normals_of(way / np.maximum(lengths_of(way), 1e-300)[..., None])
        length[rows] = lengths_of(np.diff(out, axis=1)).sum(axis=1)
        turn[rows] = np.abs(np.arctan2(cross(way[:, :-1], way[:, 1:]), dot(way[:, :-1], way[:, 1:]))).sum(axis=1)
    return length, turn


def _bands(
    some: Spans,
    elements: _Elements,
    stations: _Stations,
    hidden: NDArray[np.bool_],
    distance_mm: float,
    tolerance_mm: float,
    depth: float,
    margin: float,
) -> Path:
    """Return the bands of all stretches that are not hidden, stretches that go on in one band together."""
    same = np.append(stations.element[1:] == stations.element[:-1], [False])
    shown = np.flatnonzero(same & ~hidden)
    if not len(shown):
        return EMPTY
    begins = np.append([True], np.diff(shown) != 1)
    a, b = shown[begins], shown[np.append(begins[1:], [True])] + 1  # first and last station of each run
    element = stations.element[a]
    ring = elements.ring[element]
    # a run goes on in the next one if both reach the end they share
    count = len(a)
    opens = np.append([True], ring[1:] != ring[:-1])
    first = np.flatnonzero(opens)
    last = np.append(first[1:], [count]) - 1
    after = np.arange(1, count + 1)
    after[last] = first
    following = np.arange(1, len(elements.of) + 1)
    heads = np.flatnonzero(np.append([True], elements.ring[1:] != elements.ring[:-1]))
    following[np.append(heads[1:], [len(following)]) - 1] = heads
    goes_on = (
        (stations.share[b] == 1.0)
        & (stations.share[a[after]] == 0.0)
        & (following[element] == element[after])
        & elements.linked[element]
    )
    before = np.empty(count, np.int64)
    before[after] = np.arange(count)
    band = np.cumsum(~goes_on[before])
    key = np.arange(count)
    whole = np.zeros(count, np.bool_)
    for head, tail in zip(first.tolist(), last.tolist(), strict=True):
        if not goes_on[tail]:
            continue
        breaks = np.flatnonzero(~goes_on[head : tail + 1])
        if len(breaks):  # the band over the ring's seam: what comes after the seam follows what comes before
            late = slice(head, head + int(breaks[0]) + 1)
            band[late] = band[tail]
            key[late] += count
        else:
            whole[head : tail + 1] = True
            band[head : tail + 1] = count + 1 + head
    rows = Rows()
    _outer(rows, some, elements, stations, (a, b, band, key), distance_mm, tolerance_mm)
    _inner(rows, stations, (a, b, band, key, whole), depth, margin, count)
    return rows.path()


_Runs = tuple["NDArray[np.int64]", "NDArray[np.int64]", "NDArray[np.int64]", "NDArray[np.int64]"]


def _outer(
    rows: Rows,
    some: Spans,
    elements: _Elements,
    stations: _Stations,
    runs: _Runs,
    distance_mm: float,
    tolerance_mm: float,
) -> None:
    """Draw the exact parallels of the runs."""
    a, b, band, key = runs
    element = stations.element[a]
    kind, of = elements.kind[element], elements.of[element]
    start, stop = stations.out[a], stations.out[b]

    which = np.flatnonzero(kind == LINE)
    rows.add(band[which], 0, key[which], 0, lines(start[which], stop[which]), SegmentKind.LINE)

    fold = np.flatnonzero(kind == FOLD)
    for sub, (one, two) in enumerate(((a, a + 1), (a + 1, b))):
        points = lines(stations.out[one[fold]], stations.out[two[fold]])
        rows.add(band[fold], 0, key[fold], sub, points, SegmentKind.LINE)

    round_ = (kind == CURVE) & ~np.isnan(some.radius[of])
    turn = elements.turn[element] * (stations.share[b] - stations.share[a])
    centre = elements.centre[element]
    which = np.flatnonzero(round_)
    if len(which):
        span = of[which]
        centre[which] = some.points[span, 0] + some.radius[span, None] * normals_of(some.tangents[span, 0])
        arm, other = start[which] - centre[which], stop[which] - centre[which]
        turn[which] = np.arctan2(cross(arm, other), dot(arm, other))
    which = np.flatnonzero((kind == SECTOR) | round_)
    round_about(rows, centre[which], start[which], stop[which], turn[which], band[which], 0, key[which])

    free = np.flatnonzero((kind == CURVE) & ~round_)
    if len(free):
        span = of[free]
        share = np.stack([stations.share[a[free]], stations.share[b[free]]], axis=1)
        t = some.t[span, :1] + np.diff(some.t[span], axis=1) * share
        _, way, _ = some.curves.at(some.row[span], t)
        way = way / np.maximum(lengths_of(way), 1e-300)[..., None]
        way = np.where(((share == 0.0) | (share == 1.0))[..., None], some.tangents[span], way)
        pieces = Pieces(
            some.row[span],
            np.full(len(free), LEFT * distance_mm),
            t,
            np.stack([start[free], stop[free]], axis=1),
            way,
            np.ones(len(free)),
        )
        whose, points = fit_parallels(some.curves, pieces, tolerance_mm)
        rows.add(band[free[whose]], 0, key[free[whose]], np.arange(len(whose)), points, SegmentKind.CUBIC)


def _inner(rows: Rows, stations: _Stations, runs: tuple[Any, ...], depth: float, margin: float, count: int) -> None:
    """Close the bands inside: along the last normal, back along a polyline, out along the first normal."""
    a, b, band, key, whole = runs
    number = b - a + 1
    run = np.repeat(np.arange(len(a)), number)
    at = a[run] + np.arange(len(run)) - np.repeat(np.cumsum(number) - number, number)
    order = np.lexsort((at, key[run], band[run]))
    run, at = run[order], at[order]
    deep = stations.base[at] + depth * (stations.out[at] - stations.base[at])
    heads = np.flatnonzero(np.append([True], np.diff(band[run]) != 0))
    tails = np.append(heads[1:], [len(run)]) - 1
    ways: Any = shapely.linestrings(deep, indices=np.repeat(np.arange(len(heads)), tails - heads + 1))
    places, way = shapely.get_coordinates(shapely.simplify(ways, margin, preserve_topology=False), return_index=True)
    ring = whole[run[heads]]
    belongs = band[run[heads]] + np.where(ring, 2 * count + 2, 0)
    onward = np.flatnonzero(way[1:] == way[:-1])
    rows.add(belongs[way[onward]], 2, -onward, 0, lines(places[onward + 1], places[onward]), SegmentKind.LINE)
    head, tail, whose = heads[~ring], tails[~ring], belongs[~ring]
    zero = np.zeros(len(whose), np.int64)
    rows.add(whose, 1, zero, 0, lines(stations.out[at[tail]], deep[tail]), SegmentKind.LINE)
    rows.add(whose, 3, zero, 0, lines(deep[head], stations.out[at[head]]), SegmentKind.LINE)
    head, tail, whose = heads[ring], tails[ring], belongs[ring]
    rows.add(whose, 3, np.zeros(len(whose), np.int64), 0, lines(deep[head], deep[tail]), SegmentKind.LINE)
