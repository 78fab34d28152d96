"""Curves put back: from the rings of a GEOS result to a path of source segments and their parts.

Edges that follow one another on one curve make a run, and a run is written as exactly that part of
the curve; a run over a whole segment is the segment itself, bit for bit. Where two runs meet away
from a node their crossing is refined on the true curves; it may turn out to lie on a neighbouring
segment. What cannot be refined keeps the chords' vertex and is counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.crossings import Curves, refine
from bladewise.geometry.curves import point_at, segment_areas, sub_segments
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined
from bladewise.geometry.tolerances import ON_CURVE_MM, REACH, SAME_POINT_MM, SLIVER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.provenance import ChordIndex
    from bladewise.geometry.sources import Sources


@dataclass
class Tally:
    """What a rebuilding met: how many crossings, how many refined on a neighbour, how many kept as the chords' vertex."""

    crossings: int = 0
    neighbours: int = 0
    kept: int = 0
    astray: int = 0
    rings: int = 0
    chorded_rings: int = 0


@dataclass
class _Run:
    """Part of one segment, from t0 to t1 in the direction of travel; −1 stands for a bare line."""

    segment: int
    t0: float
    t1: float
    start: tuple[float, float]
    end: tuple[float, float]


class Rebuilder:
    """Rebuilds results over one set of sources."""

    def __init__(self, sources: Sources, index: ChordIndex, tolerance_mm: float, tally: Tally) -> None:
        """Take the sources, the index of their chords and the tolerance they were flattened to, in mm."""
        self.sources = sources
        self.index = index
        self.tolerance_mm = tolerance_mm
        self.tally = tally

    def paths(self, shapes: Sequence[Any]) -> list[Path]:
        """Return each shapely polygon or multipolygon as a path of true curves."""
        array = np.empty(len(shapes), dtype=object)
        array[:] = list(shapes)
        polygons, owner = shapely.get_parts(array, return_index=True)
        surface = shapely.get_type_id(polygons) == shapely.GeometryType.POLYGON
        nested = np.flatnonzero(~surface & (shapely.get_num_geometries(polygons) > 1))
        if len(nested):  # a collection inside
            inner, where = shapely.get_parts(polygons[nested], return_index=True)
            polygons = np.concatenate([polygons[surface], inner])
            owner = np.concatenate([owner[surface], owner[nested][where]])
            surface = shapely.get_type_id(polygons) == shapely.GeometryType.POLYGON
        polygons, owner = shapely.orient_polygons(polygons[surface], exterior_cw=False), owner[surface]
        rings, polygon = shapely.get_rings(polygons, return_index=True)
        if not len(rings):
            return [EMPTY for _ in shapes]
        thick = 2.0 * np.abs(shapely.area(shapely.polygons(rings))) > SLIVER_MM * shapely.length(rings)
        outer = np.append(True, polygon[1:] != polygon[:-1])  # noqa: FBT003
        thick &= thick[np.flatnonzero(outer)[np.cumsum(outer) - 1]]
        rings, ring_owner = rings[thick], owner[polygon[thick]]
        built = self._rings(rings)
        out: list[list[tuple[int, Path]]] = [[] for _ in shapes]
        for path, home in zip(built, ring_owner.tolist(), strict=True):
            if path is not None:
                out[home].append(path)
        return [joined([path for _, path in parts]) for parts in out]

    def _rings(self, rings: Any) -> list[tuple[int, Path] | None]:  # noqa: ANN401
        coords, ring = shapely.get_coordinates(rings, return_index=True)
        same = ring[1:] == ring[:-1]
        start, end, ring = coords[:-1][same], coords[1:][same], ring[:-1][same]
        traced = self.index.trace(start, end)
        self.tally.astray += int((traced.segment < 0).sum())
        first = np.searchsorted(ring, np.arange(len(rings)))
        size = np.bincount(ring, minlength=len(rings))
        following = np.arange(len(ring)) + 1
        following[first + size - 1] = first
        goes_on = (
            (traced.segment == traced.segment[following])
            & (traced.segment >= 0)
            & (np.abs(traced.t1 - traced.t0[following]) < 1e-9)
            & ((traced.t1 > traced.t0) == (traced.t1 > traced.t0)[following])
        )
        breaks = ~goes_on
        built: list[tuple[int, Path] | None] = []
        rank = np.where(breaks, traced.segment[following], np.iinfo(np.int64).max)
        for number in range(len(rings)):
            low, high = int(first[number]), int(first[number] + size[number])
            here = np.flatnonzero(breaks[low:high])
            if not len(here):
                here = np.array([high - low - 1])
            # begin with the earliest source segment, so that untouched outlines begin where they did
            lead = int(here[np.argmin(rank[low:high][here])])
            ends = np.sort((here - lead - 1) % (high - low)) + lead + 1  # in travel order from the lead
            begins = np.concatenate([[lead + 1], ends[:-1] + 1])
            ends, begins = ends % (high - low) + low, begins % (high - low) + low
            runs = [
                _Run(int(traced.segment[a]), float(traced.t0[a]), float(traced.t1[b]), tuple(start[a]), tuple(end[b]))
                for a, b in zip(begins.tolist(), ends.tolist(), strict=True)
            ]
            built.append(self._ring(runs, float(shapely.area(shapely.Polygon(rings[number]))), rings[number]))
        return built

    def _ring(self, runs: list[_Run], area: float, ring: Any) -> tuple[int, Path] | None:  # noqa: ANN401
        self.tally.rings += 1
        runs = self._meet(runs)
        if not runs:
            return None
        source = self.sources
        rows = np.array([max(run.segment, 0) for run in runs])
        t0, t1 = np.array([run.t0 for run in runs]), np.array([run.t1 for run in runs])
        kinds = source.kinds[rows].copy()
        points, weights = sub_segments(source.points[rows], kinds, source.weights[rows], t0, t1)
        for place, run in enumerate(runs):
            if run.segment < 0:
                points[place], kinds[place], weights[place] = (run.start, run.start, run.end, run.end), 1, 1.0
        whole = np.array([run.segment >= 0 and {run.t0, run.t1} == {0.0, 1.0} for run in runs])
        for place in range(len(runs)):
            if not whole[place]:
                points[place, 0], points[place, 3] = runs[place].start, runs[place].end
                if kinds[place] == SegmentKind.LINE:
                    points[place, 1], points[place, 2] = points[place, 0], points[place, 3]
        for place in range(len(runs)):
            before = place - 1
            if (points[before, 3] != points[place, 0]).any():
                if whole[before]:
                    points[place, 0] = points[before, 3]
                else:
                    points[before, 3] = points[place, 0]
        one = np.zeros(1, np.int64)
        path = Path(points, kinds, weights, one, np.array([True]))
        signed = float(segment_areas(points, kinds, weights).sum())
        expected = area if shapely.is_ccw(ring) else -area
        if abs(signed - expected) > 2.0 * self.tolerance_mm * shapely.length(ring) + 1e-9:
            self.tally.chorded_rings += 1
            coords = shapely.get_coordinates(ring)
            lines = np.stack([coords[:-1], coords[:-1], coords[1:], coords[1:]], axis=1)
            path = Path(lines, np.full(len(lines), 1, np.uint8), np.ones(len(lines)), one, np.array([True]))
        return min((run.segment for run in runs)), path

    def _meet(self, runs: list[_Run]) -> list[_Run]:
        """Set the exact place where each run meets the next."""
        for place in range(len(runs)):
            self._junction(runs[place], runs[(place + 1) % len(runs)])
        return [run for run in runs if run.segment < 0 or run.t0 != run.t1]

    def _junction(self, run: _Run, after: _Run) -> None:
        node_a, node_b = run.t1 in {0.0, 1.0}, after.t0 in {0.0, 1.0}
        if run.segment < 0 or after.segment < 0 or (node_a and node_b):
            return
        self.tally.crossings += 1
        source = self.sources
        first, second = (
            Curves(source.points[[row]], source.kinds[[row]], source.weights[[row]])
            for row in (run.segment, after.segment)
        )
        near = np.array([run.end])
        t, u, place, miss = refine(first, np.array([run.t1]), second, np.array([after.t0]), near)
        a, b = float(t[0]), float(u[0])
        slack = 1e-9
        if (
            miss[0] < ON_CURVE_MM
            and np.hypot(*(place[0] - near[0])) < REACH * self.tolerance_mm
            and -slack <= a <= 1 + slack
            and -slack <= b <= 1 + slack
            and (a - run.t0) * (run.t1 - run.t0) >= 0
            and (after.t1 - b) * (after.t1 - after.t0) >= 0
        ):
            run.t1, after.t0 = min(max(a, 0.0), 1.0), min(max(b, 0.0), 1.0)
            point = (float(place[0, 0]), float(place[0, 1]))
            for row, at in ((run.segment, run.t1), (after.segment, after.t0)):
                foot = point_at(source.points[[row]], source.kinds[[row]], source.weights[[row]], np.array([round(at)]))[0]
                if np.hypot(*(foot - point)) < SAME_POINT_MM:
                    point = (float(foot[0]), float(foot[1]))
                    if row == run.segment and abs(run.t1 - round(at)) < 1e-6:
                        run.t1 = float(round(at))
                    if row == after.segment and abs(after.t0 - round(at)) < 1e-6:
                        after.t0 = float(round(at))
            run.end = after.start = point
            return
        self.tally.kept += 1
