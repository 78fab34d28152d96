"""Curves put back: from the rings of a GEOS result to paths of source segments and their parts.

Edges that follow one another on one curve make a run, and a run is written as exactly that part of
the curve; a run over a whole segment is the segment itself, bit for bit. Where two runs meet away
from a node their crossing is refined on the true curves (`junctions`). At last each ring's exact area
is held against the area of the chords; a ring that fails is written as its chords, and counted.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.curves import bulge_areas, segment_areas, sub_segments
from bladewise.geometry.junctions import Runs, settle
from bladewise.geometry.loops import part_loops
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.soundness import Rings, crossed_places

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.provenance import ChordIndex
    from bladewise.geometry.sources import Sources


_PERHAPS = 0.5
"""Rings thinner than this share of a sliver are left out at once; of the others the curves' own area decides."""


@dataclass
class Tally:
    """What the rebuilding met.

    Parameters
    ----------
    crossings
        Places where two curves cross.
    neighbours
        Crossings that lay on the segment next to the one whose chord crossed.
    kept
        Crossings that could not be refined and stayed where the chords crossed.
    astray
        Edges that belong to no source.
    rings, chorded_rings
        Rings written, and those of them that failed the check of their area and were written as chords.
    faults
        Places where a written ring crosses itself.
    again
        How often an operation was run once more with a finer flattening where it had failed.
    """

    crossings: int = 0
    neighbours: int = 0
    kept: int = 0
    astray: int = 0
    rings: int = 0
    chorded_rings: int = 0
    faults: int = 0
    again: int = 0

    def add(self, other: Tally) -> None:
        """Count another's findings too."""
        for field in fields(self):
            setattr(self, field.name, getattr(self, field.name) + getattr(other, field.name))

    @property
    def failures(self) -> int:
        """What is not exact."""
        return self.kept + self.astray + 10 * (self.chorded_rings + self.faults)


class _Ring:
    """Slices of the segments of one ring in the arrays of all."""

    __slots__ = ("first", "last", "lead")

    def __init__(self, first: int, last: int, lead: int) -> None:
        self.first, self.last, self.lead = first, last, lead


class Rebuilder:
    """Rebuilds results over one set of sources.

    Parameters
    ----------
    sources, index
        The segments and the index of the chords that went into GEOS.
    tolerance_mm
        To which they were flattened.
    sliver_mm
        Rings thinner than this are left out.
    coarse
        Segments that went in as a single chord because nothing is near them, shape (m,).
    tally
        Counts what is met.
    """

    def __init__(
        self,
        sources: Sources,
        index: ChordIndex,
        tolerance_mm: float,
        sliver_mm: float,
        coarse: NDArray[np.bool_],
        tally: Tally,
    ) -> None:
        """Keep the materials."""
        self.sources = sources
        self.index = index
        self.tolerance_mm = tolerance_mm
        self.sliver_mm = sliver_mm
        self.coarse = coarse
        self.tally = tally
        self.unsettled: Floats = np.zeros((0, 2))
        self.faults: Floats = np.zeros((0, 2))

    def paths(self, shapes: Sequence[Any]) -> list[Path]:
        """Return each shapely polygon or multipolygon as a path of true curves.

        Afterwards `unsettled` holds the places (mm) where the chords' vertex was kept, and `faults` those
        where a ring failed its area or crosses itself: there a finer flattening is needed.
        """
        self.unsettled = self.faults = np.zeros((0, 2))
        polygons, owner = _polygons(shapes)
        rings, polygon = shapely.get_rings(shapely.orient_polygons(polygons, exterior_cw=False), return_index=True)
        if not len(rings):
            return [EMPTY for _ in shapes]
        areas = np.abs(_ring_areas(rings))
        outer = np.append(True, polygon[1:] != polygon[:-1])
        home = np.flatnonzero(outer)[np.cumsum(outer) - 1]
        thick = 2.0 * areas > _PERHAPS * self.sliver_mm * shapely.length(rings)
        thick |= self._bulges(rings, thick)
        thick &= thick[home]
        rings, owner, outer, polygon = rings[thick], owner[polygon[thick]], outer[thick], polygon[thick]
        if not len(rings):
            return [EMPTY for _ in shapes]
        points, kinds, weights, slices, home = self._rings(rings)
        if len(home):  # rings parted into loops: those that run the other way are holes of the first
            kept = np.append(np.arange(len(rings)), home)
            owner, polygon, outer = owner[kept], polygon[kept], outer[kept]
            outer, polygon = _sorted_out(points, kinds, weights, slices, outer, polygon, home)
            order = np.lexsort((~outer, polygon))
            owner, polygon, outer = owner[order], polygon[order], outer[order]
            slices = [slices[place] for place in order.tolist()]
        lead = np.array([ring.lead for ring in slices])
        home = np.flatnonzero(outer)[np.cumsum(outer) - 1]
        order = np.lexsort((lead, ~outer, polygon, lead[home], owner))
        chosen: list[list[_Ring]] = [[] for _ in shapes]
        for place in order.tolist():
            if slices[place].last > slices[place].first:
                chosen[owner[place]].append(slices[place])
        self._check(points, kinds, weights, slices, polygon)
        return [_path(points, kinds, weights, ring_slices) for ring_slices in chosen]

    def _bulges(self, rings: Any, thick: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Whether a ring that looks thin has a segment of a single chord, whose curve may give it body."""
        out = np.zeros(len(rings), np.bool_)
        thin = np.flatnonzero(~thick)
        if len(thin) and self.coarse.any():
            start, end, ring = _edges(rings[thin])
            traced = self.index.trace(start, end)
            coarse = (traced.segment >= 0) & self.coarse[traced.segment]
            out[thin[ring[coarse]]] = True
        return out

    def _rings(self, rings: Any) -> tuple[Floats, NDArray[np.uint8], Floats, list[_Ring], NDArray[np.int64]]:
        """Return all segments of all rings, where each ring's stand, and the rings that further loops come from."""
        source = self.sources
        runs = self._runs(rings)
        self.unsettled = settle(runs, source, self.tolerance_mm, self.tally)
        home = part_loops(runs, len(rings))
        count = len(rings) + len(home)
        row = np.maximum(runs.segment, 0)
        bare = runs.segment < 0
        kinds = np.where(bare, np.uint8(SegmentKind.LINE), source.kinds[row]).astype(np.uint8)
        points, weights = sub_segments(source.points[row], source.kinds[row], source.weights[row], runs.t0, runs.t1)
        whole = ~bare & (np.abs(runs.t1 - runs.t0) == 1.0)
        cut = ~whole
        points[cut, 0], points[cut, 3] = runs.start[cut], runs.end[cut]
        weights[bare] = 1.0
        ring_first = np.searchsorted(runs.ring, np.arange(count))
        ring_last = np.searchsorted(runs.ring, np.arange(count), side="right")
        before = np.arange(len(row)) - 1
        filled = ring_last > ring_first
        before[ring_first[filled]] = ring_last[filled] - 1
        gap = (points[before, 3] != points[:, 0]).any(axis=1)
        onward = gap & (whole[before] | ~cut)
        points[onward, 0] = points[before[onward], 3]
        back = gap & ~onward
        points[before[back], 3] = points[back, 0]
        onward = np.flatnonzero((points[before, 3] != points[:, 0]).any(axis=1))
        points[onward, 0] = points[before[onward], 3]
        straight = kinds == SegmentKind.LINE
        points[straight, 1], points[straight, 2] = points[straight, 0], points[straight, 3]
        bad, thin = self._misfits(rings, home, runs, points, kinds, weights, ring_first, ring_last)
        ring_last[thin] = ring_first[thin]
        lead = runs.segment[np.minimum(ring_first, max(len(row) - 1, 0))] if len(row) else ring_first
        slices = [
            _Ring(a, b, c) for a, b, c in zip(ring_first.tolist(), ring_last.tolist(), lead.tolist(), strict=True)
        ]
        self.tally.rings += len(rings)
        for place in bad:
            self.tally.chorded_rings += 1
            coords = shapely.get_coordinates(rings[place])
            self.faults = np.concatenate([self.faults, coords])
            lines = np.stack([coords[:-1], coords[:-1], coords[1:], coords[1:]], axis=1)
            slices[place].first, slices[place].last = len(points), len(points) + len(lines)
            for loop in (np.flatnonzero(home == place) + len(rings)).tolist():
                slices[loop].last = slices[loop].first
            points = np.concatenate([points, lines])
            kinds = np.concatenate([kinds, np.full(len(lines), int(SegmentKind.LINE), np.uint8)])
            weights = np.concatenate([weights, np.ones(len(lines))])
        self._single = np.zeros(len(points), np.bool_)
        self._single[: len(row)] = whole & self.coarse[row]
        return points, kinds, weights, slices, home

    def _check(
        self,
        points: Floats,
        kinds: NDArray[np.uint8],
        weights: Floats,
        slices: list[_Ring],
        polygon: NDArray[np.int64],
    ) -> None:
        """Note where the rebuilt rings cross themselves or one another."""
        filled = [place for place, ring in enumerate(slices) if ring.last > ring.first]
        if not filled:
            return
        rows = np.concatenate([np.arange(slices[place].first, slices[place].last) for place in filled])
        size = np.array([slices[place].last - slices[place].first for place in filled])
        rings = Rings(points[rows], kinds[rows], weights[rows], self._single[rows], size, polygon[filled])
        self.faults = np.concatenate([self.faults, crossed_places(rings, self.tolerance_mm)])

    def _runs(self, rings: Any) -> Runs:
        """Return the runs of all rings, each ring beginning with its earliest source segment."""
        start, end, ring = _edges(rings)
        traced = self.index.trace(start, end)
        self.tally.astray += int((traced.segment < 0).sum())
        size = np.bincount(ring, minlength=len(rings))
        first = np.cumsum(size) - size
        following = np.arange(1, len(ring) + 1)
        following[first + size - 1] = first
        forward = traced.t1 > traced.t0
        goes_on = (
            (traced.segment == traced.segment[following])
            & (traced.segment >= 0)
            & (np.abs(traced.t1 - traced.t0[following]) < 1e-9)
            & (forward == forward[following])
        )
        breaks = ~goes_on
        breaks[first + size - 1] |= np.add.reduceat(breaks, first) == 0
        edges = len(ring)
        key = np.where(breaks, (traced.segment[following] + 1) * edges + np.arange(edges), np.iinfo(np.int64).max)
        lead = np.minimum.reduceat(key, first) % edges
        place = first[ring] + (np.arange(edges) - lead[ring] - 1) % size[ring]
        order = np.empty(edges, np.int64)
        order[place] = np.arange(edges)
        stops = np.flatnonzero(breaks[order])
        begins = np.concatenate([[0], stops[:-1] + 1])
        a, b = order[begins], order[stops]
        return Runs(
            traced.segment[a], traced.t0[a], traced.t1[b], start[a], end[b], ring[a], traced.node0[a], traced.node1[b]
        )

    def _misfits(
        self,
        rings: Any,
        home: NDArray[np.int64],
        runs: Runs,
        points: Floats,
        kinds: NDArray[np.uint8],
        weights: Floats,
        first: NDArray[np.int64],
        last: NDArray[np.int64],
    ) -> tuple[list[int], NDArray[np.int64]]:
        """Return the rings whose exact area is not that of their chords, and those that turn out to be slivers."""
        count = len(rings)
        if not len(points):
            return list(range(count)), np.zeros(0, np.int64)
        origin = points[np.minimum(first, len(points) - 1), 0][runs.ring]
        exact = segment_areas(points - origin[:, None], kinds, weights)
        full = np.bincount(runs.ring, exact, minlength=len(first))
        single = (runs.segment >= 0) & self.coarse[runs.segment]
        if single.any():
            exact[single] -= bulge_areas(points[single], kinds[single], weights[single])
        areas = np.bincount(runs.ring, exact, minlength=len(first))
        np.add.at(areas, home, areas[count:])
        areas = areas[:count]
        length = shapely.length(rings)
        astray = np.abs(areas - _ring_areas(rings)) > 2.0 * self.tolerance_mm * length + 1e-9
        if len(home):
            chords = np.hypot(*(points[:, 3] - points[:, 0]).T)
            loops = np.bincount(runs.ring, chords, minlength=len(first))
            length = np.append(length, loops[count:])
            length[home] = loops[home]
        thin = (2.0 * np.abs(full) <= self.sliver_mm * (length + self.sliver_mm)) & (last > first)
        return np.flatnonzero(astray & ~thin[:count]).tolist(), np.flatnonzero(thin)


def _polygons(shapes: Sequence[Any]) -> tuple[Any, NDArray[np.int64]]:
    """Return all polygons of all shapes and the shape each belongs to."""
    array = np.empty(len(shapes), dtype=object)
    array[:] = list(shapes)
    parts, owner = shapely.get_parts(array, return_index=True)
    inner, where = shapely.get_parts(parts, return_index=True)  # a collection may hold multipolygons
    surface = shapely.get_type_id(inner) == shapely.GeometryType.POLYGON
    return inner[surface], owner[where][surface]


def _edges(rings: Any) -> tuple[Floats, Floats, NDArray[np.int64]]:
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return coords[:-1][same], coords[1:][same], ring[:-1][same]


def _ring_areas(rings: Any) -> Floats:
    """Return the signed area of each ring of chords, shape (n,), reckoned from its own first vertex."""
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    first = np.searchsorted(ring, np.arange(len(rings)))
    coords = coords - coords[first][ring]
    a, b = coords[:-1], coords[1:]
    twice = np.where(ring[1:] == ring[:-1], a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], 0.0)
    areas: Floats = 0.5 * np.bincount(ring[:-1], twice, minlength=len(rings)).astype(np.float64)
    return areas


def _sorted_out(
    points: Floats,
    kinds: NDArray[np.uint8],
    weights: Floats,
    slices: list[_Ring],
    outer: NDArray[np.bool_],
    polygon: NDArray[np.int64],
    home: NDArray[np.int64],
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Return which loops are outer ones, and a polygon for each: a further outer loop is a polygon of its own."""
    outer, polygon = outer.copy(), polygon.copy()
    count = len(slices) - len(home)
    for ring in np.unique(home).tolist():
        loops = [ring, *(np.flatnonzero(home == ring) + count).tolist()]
        loops = [loop for loop in loops if slices[loop].last > slices[loop].first]
        taken = not outer[ring]
        for loop in loops:
            rows = slice(slices[loop].first, slices[loop].last)
            around = segment_areas(points[rows] - points[rows][0, 0], kinds[rows], weights[rows]).sum()
            outer[loop] = around > 0.0
            if outer[loop] and taken:
                polygon[loop] = polygon.max() + 1
            taken |= bool(outer[loop])
    return outer, polygon


def _path(points: Floats, kinds: NDArray[np.uint8], weights: Floats, slices: list[_Ring]) -> Path:
    if not slices:
        return EMPTY
    rows = np.concatenate([np.arange(ring.first, ring.last) for ring in slices])
    size = np.array([ring.last - ring.first for ring in slices])
    return Path(points[rows], kinds[rows], weights[rows], np.cumsum(size) - size, np.ones(len(size), np.bool_))
