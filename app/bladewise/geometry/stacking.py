"""Areas that lie over one another in groups (colours): what is seen of each, and how one runs on under its neighbours.

The outlines of all regions divide the plane into faces, each face belongs to the group of the topmost region over it,
and the faces of a group are put together again. As neighbours are made of the same edges, they share them exactly:
together they are the painted area, nothing twice and nothing left out. Curves stay true (`kernel`). Lengths are mm,
areas mm², y down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.curves import extents
from bladewise.geometry.flatten import flatten
from bladewise.geometry.kernel import curve_true_noted
from bladewise.geometry.lips import Sector, end_sectors
from bladewise.geometry.parallels import parallel_each
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import ABUTTING_MM, SLIVER_MM

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

Pair = tuple[int, int]


class Part(NamedTuple):
    """A connected area of one group, and the region (by index) that most of it comes from."""

    path: Path
    group: int
    source: int


class Stack(NamedTuple):
    """What is seen of a stack, and how its groups lie to one another."""

    parts: list[Part]
    order: list[int]
    """The groups, from the one at the back to the one in front."""
    over: dict[Pair, float]
    """For (lower, upper): how much of the lower group the upper one covers, where it is seen itself."""
    touching: dict[Pair, float]
    """For (one, other), one < other: the length of the edge that their seen parts share; 0 where it is a point."""


def seen_in_groups(
    regions: Sequence[Region],
    groups: Sequence[int],
    ranked: Callable[[Mapping[Pair, float]], list[int]],
    *,
    whole: bool = False,
) -> Stack:
    """Return the seen parts of each group of regions.

    Parameters
    ----------
    regions
        From the back to the front.
    groups
        The group of each region, 0 and up.
    ranked
        Gives the order of the groups, from back to front, for what covers what (`Stack.over`).
    whole
        A group keeps what lies under groups that come later in the order.

    Returns
    -------
    Stack
        Its parts are sorted by group, then by source.
    """
    of = np.asarray(groups, np.int64)

    def operation(polygons: Any) -> tuple[list[Any], Stack]:
        faces, region, face = _covered(polygons)
        top = np.full(len(faces), -1, np.int64)
        np.maximum.at(top, face, region)
        areas = shapely.area(faces)
        over: dict[Pair, float] = {}
        under = {(int(where), int(of[one])) for one, where in zip(region, face, strict=True)}
        for where, group in sorted(under):
            upper = int(of[top[where]])
            if group != upper:
                over[group, upper] = over.get((group, upper), 0.0) + float(areas[where])
        order = ranked(over)
        rank = {group: place for place, group in enumerate(order)}
        belongs: dict[int, list[int]] = {group: [] for group in order}
        for where in np.flatnonzero(top >= 0).tolist():
            belongs[int(of[top[where]])].append(where)
        touching = _touching(
            {group: shapely.coverage_union_all(faces[some]) for group, some in belongs.items() if some}
        )
        if whole:
            for where, group in sorted(under):
                if rank[group] < rank[int(of[top[where]])]:
                    belongs[group].append(where)
        highest: dict[tuple[int, int], int] = {}
        for one, where in zip(region.tolist(), face.tolist(), strict=True):
            key = (where, int(of[one]))
            highest[key] = max(one, highest.get(key, -1))
        shapes, notes = [], []
        for group in sorted(belongs):
            some = belongs[group]
            sources = [highest[where, group] for where in some]
            for part, source in _connected(faces[some], sources):
                shapes.append(part)
                notes.append(Part(_NO_PATH, group, source))
        return shapes, Stack(notes, order, over, touching)

    paths, stack = curve_true_noted(regions, operation)
    parts = [part._replace(path=path) for part, path in zip(stack.parts, paths, strict=True) if path]
    return stack._replace(parts=sorted(parts, key=lambda part: (part.group, part.source)))


def spread_under(parts: Sequence[Part], order: Sequence[int], distance_mm: float) -> list[Part]:
    """Return the parts with each group run on under the ones it abuts that come later in the order.

    Parameters
    ----------
    parts
        As `seen_in_groups` gives them: they abut and do not overlap.
    order
        The groups from back to front.
    distance_mm
        How far beyond the shared edge. Nothing runs on where there is no neighbour, nor past the neighbour's far
        side, nor across a gap or a third group. Where the shared edge ends the strip ends square.
    """
    rank = {group: place for place, group in enumerate(order)}
    of = np.array([part.group for part in parts], np.int64)
    spreading = [group for group in order[:-1] if (of == group).any()]
    if distance_mm <= 0.0 or not spreading:
        return list(parts)
    # each part for itself, and only those with a neighbour to run under: many times as fast as all of a group together
    boxes: Any = shapely.box(*extents([part.path for part in parts]).T)
    first, second = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=SLIVER_MM)
    ranks = np.array([rank[part.group] for part in parts])
    ahead = ranks[second] > ranks[first]
    running = np.unique(first[ahead]).tolist()
    wider = parallel_each([parts[place].path for place in running], distance_mm)
    ends = _ends([part.path for part in parts], running, first[ahead], second[ahead], distance_mm)
    paths = [*(part.path for part in parts), *wider, *(sector.path for _, sector in ends)]
    regions = [Region(path) for path in paths]

    def operation(polygons: Any) -> tuple[list[Any], list[Part]]:
        faces, region, face = _covered(polygons)
        own, end = region < len(parts), region >= len(parts) + len(wider)
        base = np.full(len(faces), -1, np.int64)
        np.maximum.at(base, face[own], region[own])
        group_of = np.where(base >= 0, of[base], -1)
        reached: dict[int, set[int]] = {group: set() for group in spreading}
        beyond = set()
        inside = shapely.point_on_surface(faces)
        for one, where in zip(region[end].tolist(), face[end].tolist(), strict=True):
            number, sector = ends[one - len(parts) - len(wider)]
            away = shapely.distance(inside[where], polygons[running[number]])
            if shapely.distance(inside[where], sector.end) <= away + SLIVER_MM:
                beyond.add((number, where))
        for one, where in zip(region[~own & ~end].tolist(), face[~own & ~end].tolist(), strict=True):
            if (one - len(parts), where) not in beyond:
                reached[parts[running[one - len(parts)]].group].add(where)
        shapes, notes = [], []
        for group in np.unique(of).tolist():
            mine = np.flatnonzero(group_of == group)
            if not len(mine):
                continue
            kept = mine.tolist()
            edge = shapely.boundary(shapely.coverage_union_all(faces[mine]))
            under = np.array([where for where in sorted(reached.get(group, ())) if base[where] >= 0], np.int64)
            for other in np.unique(group_of[under]).tolist():
                if rank[other] > rank[group]:
                    kept += _beside(edge, faces, under[group_of[under] == other])
            sources = [int(base[where]) if group_of[where] == group else -1 for where in kept]
            for shape, source in _connected(faces[kept], sources):
                shapes.append(shape)
                notes.append(Part(_NO_PATH, group, parts[source].source))
        return shapes, notes

    results, notes = curve_true_noted(regions, operation)
    made = [part._replace(path=path) for part, path in zip(notes, results, strict=True) if path]
    return sorted(made, key=lambda part: (part.group, part.source))


def _ends(
    paths: Sequence[Path],
    running: Sequence[int],
    lower: NDArray[np.int64],
    upper: NDArray[np.int64],
    distance_mm: float,
) -> list[tuple[int, Sector]]:
    """Return beyond which ends of shared edges nothing runs on: the number of the running part, the sector."""
    flat = {place: flatten(paths[place], ABUTTING_MM / 2.0) for place in np.unique([lower, upper]).tolist()}
    found = []
    for number, place in enumerate(running):
        later = [flat[each] for each in upper[lower == place].tolist()]
        rings = [ring for each in later for ring in np.split(each.coords, each.starts[1:])]
        sectors = end_sectors(paths[place], flat[place], shapely.MultiLineString(rings), distance_mm)
        found += [(number, sector) for sector in sectors]
    return found


_NO_PATH = joined([])


def _covered(polygons: Any) -> tuple[Any, NDArray[np.int64], NDArray[np.int64]]:
    """Return the faces into which outlines divide the plane, and pairs of a polygon and a face it covers."""
    nothing = np.zeros(0, np.int64)
    if not len(polygons):
        return np.zeros(0, object), nothing, nothing
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(shapely.boundary(polygons))]))
    region, face = shapely.STRtree(shapely.point_on_surface(faces)).query(polygons, predicate="contains")
    return faces, region.astype(np.int64), face.astype(np.int64)


def _connected(faces: Any, sources: Sequence[int]) -> list[tuple[Any, int]]:
    """Return connected areas put together from faces, each with the source of most of it (−1 does not count)."""
    if not len(faces):
        return []
    areas = shapely.get_parts(shapely.coverage_union_all(faces))
    which, where = shapely.STRtree(shapely.point_on_surface(faces)).query(areas, predicate="contains")
    shares: list[dict[int, float]] = [{} for _ in areas]
    sizes = shapely.area(faces)
    for one, face in zip(which.tolist(), where.tolist(), strict=True):
        source = sources[face]
        if source >= 0:
            shares[one][source] = shares[one].get(source, 0.0) + float(sizes[face])
    return [
        (each, max(share, key=lambda source: (share[source], -source)))
        for each, share in zip(areas, shares, strict=True)
        if share
    ]


def _touching(areas: Mapping[int, Any]) -> dict[Pair, float]:
    """Return the pairs of groups whose areas touch, with the length they share."""
    groups = sorted(areas)
    shapes = np.array([areas[group] for group in groups], object)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    ahead = first < second
    first, second = first[ahead], second[ahead]
    shared = shapely.length(shapely.intersection(shapely.boundary(shapes[first]), shapely.boundary(shapes[second])))
    rows = zip(first.tolist(), second.tolist(), shared.tolist(), strict=True)
    return {(groups[one], groups[two]): length for one, two, length in sorted(rows)}


def _beside(edge: Any, faces: Any, some: NDArray[np.int64]) -> list[int]:
    """Return those faces that hang together with one that shares an edge with an outline."""
    areas = shapely.get_parts(shapely.coverage_union_all(faces[some]))
    shared = shapely.length(shapely.intersection(shapely.boundary(areas), edge))
    areas = areas[shared > SLIVER_MM]
    if not len(areas):
        return []
    _, where = shapely.STRtree(shapely.point_on_surface(faces[some])).query(areas, predicate="contains")
    return [int(each) for each in some[np.unique(where)]]
