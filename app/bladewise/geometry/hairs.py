"""Hairs of an outline: spurs, slivers and lips too narrow to hold, cut off at their root, all else left as it is.

Where hairs are is asked of chords: what a disc does not reach from within (the opening of mathematical morphology,
J. Serra 1982) is narrow; only such parts count as hold a narrow place as `widths` has it, so that the tips of corners
stay. What is left is not that opening, which would move every edge a little and round every corner: the outline is cut
where the hair begins, at a node where one is that near, and runs straight from the one side of the root to the other.
Every curve away from a hair keeps its bits.

A hair that holds two sizeable pieces together is a bridge. Two hairs that do so only together (the thin places of a
ring) are bridges both.

Lengths are mm, areas mm², y down; outlines are resolved, as all results of `booleans` are.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.curves import sub_segments
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined
from bladewise.geometry.tolerances import (
    COINCIDENT_MM,
    HAIR_FLATTENING_MM,
    HAIR_FLATTENING_SHARE,
    HAIR_ROOT_SHARE,
    LEAST_HAIR_FLATTENING_MM,
    SAME_POINT_MM,
)
from bladewise.geometry.widths import narrow_widths

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bladewise.geometry.path import Floats, Point

_ON_MM = 1e-7
"""An edge of a narrow part whose middle lies this near to the chords is a part of the outline."""
_NEAR_MM = 1e-3
"""A narrow place is of a part it lies in, or that is this near."""


class Hairs(NamedTuple):
    """What becomes of an outline: without its hairs, how many went, what they measured in mm², the bridges left."""

    path: Path
    dropped: int
    lost_mm2: float
    bridges: int


class _Place(NamedTuple):
    """A place on the outline: the subpath, the segment, the parameter on it (0 at its first node)."""

    ring: int
    segment: int
    t: float


class _Hair(NamedTuple):
    """A narrow part: itself on chords, and where the outline enters and leaves it, in order round about."""

    part: Any
    enters: list[_Place]
    leaves: list[_Place]


def without_hairs(path: Path, below_mm: float, most_mm2: float, blade_mm: float, *, parting: bool = False) -> Hairs:
    """Return an outline without its hairs.

    Parameters
    ----------
    path
        A resolved path.
    below_mm
        Parts narrower than this are hairs.
    most_mm2
        A hair goes if no more than this much of it is wider than the blade.
    blade_mm
        How wide the blade is.
    parting
        Hairs that hold two sizeable pieces together go too.

    Returns
    -------
    Hairs
        With the very path that was given where nothing went.

    Examples
    --------
    >>> from bladewise.geometry.path import polygon
    >>> spur = [(0, 0), (10, 0), (10, 4), (13, 4), (13, 4.01), (10, 4.01), (10, 10), (0, 10)]
    >>> found = without_hairs(polygon(spur), 0.14, 0.05, 0.02)
    >>> found.dropped, found.path.bounds()
    (1, (0.0, 0.0, 10.0, 10.0))
    """
    nothing = Hairs(path, 0, 0.0, 0)
    if not path or not path.closed.all() or not below_mm > 0.0:
        return nothing
    places = narrow_widths(path, below_mm)
    if not places:
        return nothing
    outline = _Outline(path, places[0].width_mm)
    hairs = outline.hairs([place.place for place in places], below_mm)
    bridges = outline.bridges(hairs, most_mm2)
    going = [
        hair
        for hair, bridge in zip(hairs, bridges, strict=True)
        if (parting or not bridge) and _beyond_blade(hair.part, blade_mm) <= most_mm2
    ]
    kept = sum(bridge for hair, bridge in zip(hairs, bridges, strict=True) if not any(hair is each for each in going))
    if not going:
        return Hairs(path, 0, 0.0, kept)
    result = outline.without(going, most_mm2)
    lost = float(sum(shapely.area(hair.part) for hair in going))
    # sides nearer to one another than the chords tell may be taken for each other: then nothing is done
    if not -most_mm2 <= area(path) - area(result) - lost <= most_mm2 * (len(going) + 1):
        return Hairs(path, 0, 0.0, kept)
    return Hairs(result, len(going), lost, kept)


def _beyond_blade(part: Any, blade_mm: float) -> float:
    """Return how much of a part is wider than the blade."""
    inner = shapely.buffer(part, -blade_mm / 2.0)
    return float(shapely.area(shapely.buffer(inner, blade_mm / 2.0)))


class _Outline:
    """An outline on chords, each vertex knowing where it is of."""

    def __init__(self, path: Path, narrowest_mm: float) -> None:
        """Flatten a path finely enough that its narrowest hair is seen."""
        self.path = path
        tolerance = min(max(narrowest_mm * HAIR_FLATTENING_SHARE, LEAST_HAIR_FLATTENING_MM), HAIR_FLATTENING_MM)
        flat = flatten(path, tolerance)
        ends = np.append(flat.starts[1:], len(flat.coords))
        self.coords = [flat.coords[first:last] for first, last in zip(flat.starts, ends, strict=True)]
        self._segment = [flat.segment[first:last] for first, last in zip(flat.starts, ends, strict=True)]
        self._t = [flat.t[first:last] for first, last in zip(flat.starts, ends, strict=True)]
        solid = [ring for ring in self.coords if len(ring) > 3]
        built: Any = shapely.build_area(shapely.MultiLineString(solid)) if solid else shapely.Polygon()
        self.polygon = built if built.is_valid else shapely.make_valid(built)
        self._lines: Any = shapely.linestrings(
            np.concatenate(self.coords), indices=np.repeat(np.arange(len(ends)), ends - flat.starts)
        )

    def hairs(self, places: Sequence[Point], below_mm: float) -> list[_Hair]:
        """Return the narrow parts that hold one of the places."""
        radius = below_mm * HAIR_ROOT_SHARE / 2.0
        wide = shapely.buffer(shapely.buffer(self.polygon, -radius), radius + _NEAR_MM / 10.0)
        parts = shapely.get_parts(shapely.difference(self.polygon, wide))
        holding = np.unique(shapely.STRtree(parts).query(shapely.points(places), "dwithin", _NEAR_MM)[1])
        return [hair for part in parts[holding] if (hair := self._hair(part)) is not None]

    def _hair(self, part: Any) -> _Hair | None:
        """Return where the outline enters and leaves a part; None where it is no simple matter."""
        if part.geom_type != "Polygon" or len(part.interiors):
            return None
        around = shapely.get_coordinates(shapely.orient_polygons(part).exterior)[:-1]
        follows = np.roll(around, -1, axis=0)
        middles = shapely.points((around + follows) / 2.0)
        on = shapely.distance(middles, shapely.multilinestrings(self._lines)) <= _ON_MM
        starts = np.flatnonzero(on & ~np.roll(on, 1))
        stops = np.flatnonzero(on & ~np.roll(on, -1))
        if not len(starts):
            return None  # thin all over: a speck, or a wire
        if stops[0] < starts[0]:
            stops = np.roll(stops, -1)
        enters = [self._at(around[index]) for index in starts]
        leaves = [self._at(follows[index]) for index in stops]
        if any(one.ring != other.ring or one == other for one, other in zip(enters, leaves, strict=True)):
            return None
        return _Hair(part, enters, leaves)

    def _at(self, point: Floats) -> _Place:
        """Return the place of the outline at a point of the chords; the node, where one is near."""
        spot: Any = shapely.points(point)
        ring = int(np.argmin(shapely.distance(self._lines, spot)))
        coords, segment, t = self.coords[ring], self._segment[ring], self._t[ring]
        steps = np.diff(coords, axis=0)
        squared = np.maximum((steps * steps).sum(axis=1), 1e-300)
        share = np.clip(((point - coords[:-1]) * steps).sum(axis=1) / squared, 0.0, 1.0)
        off = np.hypot(*(coords[:-1] + share[:, None] * steps - point).T)
        row = int(np.argmin(off))
        of = int(segment[row])
        end = float(t[row + 1]) if segment[row + 1] == of else 1.0
        at = float(t[row] + share[row] * (end - t[row]))
        first, last = int(self.path.starts[ring]), int(self.path.ends[ring])
        for node, near in ((of, self.path.points[of, 0]), (of + 1, self.path.points[of, 3])):
            if np.hypot(*(near - point)) <= COINCIDENT_MM:
                return _Place(ring, first if node == last else node, 0.0)
        return _Place(ring, of, min(max(at, 0.0), 1.0))

    def bridges(self, hairs: Sequence[_Hair], least_mm2: float) -> list[bool]:
        """Return which hairs hold sizeable pieces together, alone or with others."""
        bodies = shapely.get_parts(self.polygon)
        out = [False] * len(hairs)
        through = [number for number, hair in enumerate(hairs) if len(hair.enters) > 1]
        for body in bodies:
            own = [number for number in through if shapely.intersects(body, hairs[number].part)]
            if own and len(_sizeable(body, [hairs[number].part for number in own], least_mm2)) > 1:
                for number in own:
                    out[number] = True
        return out

    def without(self, hairs: Sequence[_Hair], least_mm2: float) -> Path:
        """Return the outline cut off where hairs begin; what is then smaller than an area goes with them."""
        leaving = {place: (number, turn) for number, hair in enumerate(hairs) for turn, place in enumerate(hair.leaves)}
        touched = sorted({place.ring for place in leaving})
        arcs: dict[_Place, _Place] = {}  # what is kept: from where the outline leaves a hair to where it enters one
        for ring in touched:
            entering = sorted(place for hair in hairs for place in hair.enters if place.ring == ring)
            for place in (each for each in leaving if each.ring == ring):
                arcs[place] = next((each for each in entering if each >= place), entering[0])
        across = {  # the root of a hair is crossed from where the outline enters it to where it left it before
            place: hair.leaves[turn - 1] for hair in hairs for turn, place in enumerate(hair.enters)
        }
        rings = list(self.path.subpaths())
        made = []
        while arcs:
            first = min(arcs)
            here, run = first, []
            while here in arcs:
                stop = arcs.pop(here)
                run.append((here, stop))
                here = across[stop]
            if here != first:
                return self.path  # places taken for one another: nothing is done
            made.append(self._ring(run))
        kept = [ring for number, ring in enumerate(rings) if number not in touched]
        return joined([*kept, *(ring for ring in made if (ring and area(ring) > least_mm2) or area(ring) < 0.0)])

    def _ring(self, run: Iterable[tuple[_Place, _Place]]) -> Path:
        """Return a closed outline of stretches of this one, with a line from each to the next."""
        pieces = [piece for piece in itertools.starmap(self._stretch, run) if len(piece[1])]
        if not pieces:
            return EMPTY
        points, kinds, weights = [], [], []
        for number, (some, kind, weight) in enumerate(pieces):
            points.append(some)
            kinds.append(kind)
            weights.append(weight)
            begin, end = some[-1, 3], pieces[(number + 1) % len(pieces)][0][0, 0]
            if np.hypot(*(end - begin)) > SAME_POINT_MM:
                points.append(np.array([[begin, begin, end, end]]))
                kinds.append(np.array([SegmentKind.LINE], np.uint8))
                weights.append(np.ones(1))
            else:
                some[-1, 3] = end
        whole = np.concatenate(points)
        return Path(whole, np.concatenate(kinds), np.concatenate(weights), np.zeros(1, np.int64), np.array([True]))

    def _stretch(self, start: _Place, stop: _Place) -> tuple[Floats, Any, Floats]:
        """Return the segments from one place to another of the same ring, going on over its start."""
        first, last = int(self.path.starts[start.ring]), int(self.path.ends[start.ring])
        segment, begin, end = start.segment, start.t, stop.t
        count = (stop.segment - start.segment) % (last - first)
        if count == 0 and stop < start:
            count = last - first
        rows = first + (segment - first + np.arange(count + 1)) % (last - first)
        t0, t1 = np.zeros(len(rows)), np.ones(len(rows))
        t0[0], t1[-1] = begin, end
        some = t1 > t0
        rows, t0, t1 = rows[some], t0[some], t1[some]
        points, weights = sub_segments(self.path.points[rows], self.path.kinds[rows], self.path.weights[rows], t0, t1)
        return points, self.path.kinds[rows], weights


def _sizeable(body: Any, parts: Sequence[Any], least_mm2: float) -> list[Any]:
    rest = shapely.get_parts(shapely.difference(body, shapely.union_all(parts)))
    return [each for each in rest if shapely.area(each) > least_mm2]
