"""What there is to know about an outline or a pair of them, asked of the memory: areas, pairs, narrow places.

Every fact follows from the outlines named by its key alone, so that a check which works out only what is
new gives what a check from nothing gives.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.checks import moves
from bladewise.geometry import booleans
from bladewise.geometry.curves import segment_bounds
from bladewise.geometry.flatten import flatten
from bladewise.geometry.hairs import without_hairs
from bladewise.geometry.measures import area, ring_areas
from bladewise.geometry.overlaps import Overlap, crossings, overlap_pairs
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.tolerances import FLATTENING_MM, SLIVER_MM
from bladewise.geometry.widths import narrow_gaps, narrow_widths

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.checks.memory import Memory
    from bladewise.checks.moves import Shift
    from bladewise.document import Shape
    from bladewise.geometry.path import Floats, Point

Pair = tuple[int, int]

CHORDS_MM = 2.0 * FLATTENING_MM
"""Chords lie no farther from their curves, whatever they are used for here."""


class Place(NamedTuple):
    """A measure in mm and where it was taken, in mm."""

    size_mm: float
    x: float
    y: float


def rings_of(memory: Memory, paths: Sequence[Path]) -> list[list[Floats]]:
    """Return each path as polylines, one array of vertices (mm) a subpath, back at its start where it is closed."""

    def solve(missing: list[int]) -> list[list[Floats]]:
        flat = flatten(joined([paths[index] for index in missing]))
        split = np.split(flat.coords, flat.starts[1:])
        counts = np.cumsum([0] + [len(paths[index].starts) for index in missing])
        return [split[first:last] for first, last in itertools.pairwise(counts)]

    return memory.each("rings", [(path,) for path in paths], solve, moves.polylines)


class Ring(NamedTuple):
    """The size of an outline: the area between its strands in mm², how far it reaches in mm, where it starts."""

    area_mm2: float
    reach_mm: float
    start: Point


def ring_sizes(memory: Memory, paths: Sequence[Path]) -> list[tuple[Ring, ...]]:
    """Return the size of each subpath of each path."""

    def solve(missing: list[int]) -> list[tuple[Ring, ...]]:
        whole = joined([paths[index] for index in missing])
        each = segment_bounds(whole)
        low = np.minimum.reduceat(each[:, :2], whole.starts)
        high = np.maximum.reduceat(each[:, 2:], whole.starts)
        sizes = np.abs(ring_areas(whole)).tolist()
        starts = whole.points[whole.starts, 0].tolist()
        rings = [
            Ring(size, reach, (x, y))
            for size, reach, (x, y) in zip(sizes, np.hypot(*(high - low).T).tolist(), starts, strict=True)
        ]
        counts = np.cumsum([0] + [len(paths[index].starts) for index in missing]).tolist()
        return [tuple(rings[first:last]) for first, last in itertools.pairwise(counts)]

    return memory.each("sizes", [(path,) for path in paths], solve, _rings_moved)


def areas_of(memory: Memory, shapes: Sequence[Shape]) -> list[Path]:
    """Return what each shape paints, as rings that do not cross, the outer ones clockwise on the screen."""
    return resolved(memory, [shape.region for shape in shapes])


def resolved(memory: Memory, regions: Sequence[Region]) -> list[Path]:
    """Return what each region paints, as rings that do not cross, the outer ones clockwise on the screen."""

    def solve(missing: list[int]) -> list[Path]:
        some = [regions[index] for index in missing]
        outlines = rings_of(memory, [region.path for region in some])
        return [
            _nested(region, rings) if apart and region.path.closed.all() else booleans.resolve(region)
            for region, rings, apart in zip(some, outlines, _apart(outlines), strict=True)
        ]

    return memory.each("area", [(region.path, region.rule) for region in regions], solve, moves.outline)


def _apart(outlines: list[list[Floats]]) -> list[bool]:
    """Return of which outlines no ring crosses itself or meets another."""
    full = [index for index, rings in enumerate(outlines) if rings and min(map(len, rings)) > 3]
    rings = [ring for index in full for ring in outlines[index]]
    home = np.repeat(np.arange(len(full)), [len(outlines[index]) for index in full])
    lines: Any = shapely.linestrings(
        np.concatenate(rings) if rings else np.zeros((0, 2)),
        indices=np.repeat(np.arange(len(rings)), [len(ring) for ring in rings]),
    )
    out = [False] * len(outlines)
    simple: Any = shapely.is_simple(shapely.multilinestrings(lines, indices=home) if rings else lines)
    for index, is_simple in zip(full, simple.tolist(), strict=True):
        out[index] = is_simple
    return out


def _nested(region: Region, rings: Sequence[Floats]) -> Path:
    """Return what a region of rings that are apart paints: those between what is painted and what is not."""
    path, sizes = region.path, ring_areas(region.path)
    if len(rings) == 1:
        return path if sizes[0] >= 0.0 else path.reversed()
    solid: Any = np.array([shapely.Polygon(ring) for ring in rings], object)
    if (2.0 * np.abs(sizes) < SLIVER_MM * shapely.length(solid)).any():
        return booleans.resolve(region)
    around, within = shapely.STRtree(shapely.points([ring[0] for ring in rings])).query(solid, predicate="contains")
    turns = np.sign(sizes).astype(np.int64)
    outside = np.bincount(within, weights=turns[around], minlength=len(rings)).astype(np.int64)
    inside = outside + turns
    if region.rule is FillRule.EVEN_ODD:
        outside, inside = outside % 2, inside % 2
    filled = inside != 0
    kept = [
        ring if turn == (1 if fill else -1) else ring.reversed()
        for ring, turn, fill, empty in zip(path.subpaths(), turns, filled, outside == 0, strict=True)
        if fill == empty
    ]
    return joined(kept)


def polygons_of(memory: Memory, shapes: Sequence[Shape]) -> Any:
    """Return the painted area of each shape as a shapely polygon on chords: to find candidates, never a result."""
    areas = areas_of(memory, shapes)

    def solve(missing: list[int]) -> list[Any]:
        out: list[Any] = []
        for rings in rings_of(memory, [areas[index] for index in missing]):
            solid = [ring for ring in rings if len(ring) > 3]
            if not solid:
                out.append(shapely.Polygon())
                continue
            made: Any = shapely.Polygon(solid[0]) if len(solid) == 1 else shapely.build_area(lines_of(solid))
            out.append(made if made.is_valid else shapely.make_valid(made))
        return out

    polygons = memory.each("polygon", [(shape.path, shape.style.fill_rule) for shape in shapes], solve, moves.polygon)
    array = np.empty(len(polygons), dtype=object)
    array[:] = polygons
    return array


def neighbours(shapes: Sequence[Shape], within_mm: float) -> list[Pair]:
    """Return the pairs of shapes whose extents come within a distance, by index, the lower first."""
    bounds = np.array([shape.bounds or (np.nan,) * 4 for shape in shapes]).reshape(-1, 4)
    boxes: Any = shapely.box(*bounds.T)
    first, second = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=within_mm)
    ahead = first < second
    return sorted(zip(first[ahead].tolist(), second[ahead].tolist(), strict=True))


def overlaps_of(
    memory: Memory, shapes: Sequence[Shape], pairs: Sequence[Pair], least_mm2: float
) -> list[Overlap | None]:
    """Return the area that two shapes of each pair both paint, or None."""
    polygons = polygons_of(memory, shapes)

    def solve(missing: list[int]) -> list[Overlap | None]:
        some = np.array([pairs[index] for index in missing])
        one, two = polygons[some[:, 0]], polygons[some[:, 1]]
        likely = shapely.intersects(one, two) & ~shapely.touches(one, two)
        out: list[Overlap | None] = []
        for maybe, (first, second) in zip(likely.tolist(), some.tolist(), strict=True):
            regions = [shapes[index].region for index in (first, second)]
            found = overlap_pairs(regions, least_mm2=least_mm2) if maybe else []
            out.append(found[0] if found else None)
        return out

    return memory.each("overlap", [(*_key(shapes, pair), least_mm2) for pair in pairs], solve, _overlap_moved)


def are_lapping(memory: Memory, shapes: Sequence[Shape], pairs: Sequence[Pair], least_mm2: float) -> list[bool]:
    """Return whether both shapes of each pair paint more than an area: what `overlaps_of` tells, where that is all."""
    polygons = polygons_of(memory, shapes)

    def solve(missing: list[int]) -> list[bool]:
        some = np.array([pairs[index] for index in missing])
        one, two = polygons[some[:, 0]], polygons[some[:, 1]]
        common = shapely.area(shapely.intersection(one, two))
        # chords stray from their curves by no more than this much area
        doubt = CHORDS_MM * (shapely.length(one) + shapely.length(two))
        clear = common > least_mm2 + doubt
        unclear = [tuple(pair) for pair, sure in zip(some.tolist(), clear.tolist(), strict=True) if not sure]
        exact = iter(overlaps_of(memory, shapes, unclear, least_mm2))
        return [sure or next(exact) is not None for sure in clear.tolist()]

    return memory.each("lapping", [(*_key(shapes, pair), least_mm2) for pair in pairs], solve, moves.stays)


def self_crossings(memory: Memory, paths: Sequence[Path]) -> list[tuple[Point, ...]]:
    """Return the places where each path crosses itself."""

    def solve(missing: list[int]) -> list[tuple[Point, ...]]:
        found: list[list[Point]] = [[] for _ in missing]
        for place in crossings([paths[index] for index in missing]):
            if place.first == place.second:
                found[place.first].append((place.x, place.y))
        return [tuple(sorted(places)) for places in found]

    return memory.each("self-crossings", [(path,) for path in paths], solve, moves.points)


def pair_crossings(memory: Memory, paths: Sequence[Path], pairs: Sequence[Pair]) -> list[tuple[Point, ...]]:
    """Return the places where the two paths of each pair cross."""

    def solve(missing: list[int]) -> list[tuple[Point, ...]]:
        out = []
        for index in missing:
            first, second = pairs[index]
            met = crossings([paths[first], paths[second]])
            out.append(tuple(sorted((place.x, place.y) for place in met if place.first != place.second)))
        return out

    return memory.each("pair-crossings", [(paths[one], paths[two]) for one, two in pairs], solve, moves.points)


def narrow_places(memory: Memory, shapes: Sequence[Shape], below_mm: float) -> list[tuple[Place, ...]]:
    """Return where each shape is narrower than a limit, the narrowest first."""
    areas = areas_of(memory, shapes)

    def solve(missing: list[int]) -> list[tuple[Place, ...]]:
        return _by_area(narrow_widths([areas[index] for index in missing], below_mm), len(missing))

    keys = [(shape.path, shape.style.fill_rule, below_mm) for shape in shapes]
    return [rounded(found) for found in memory.each("narrow", keys, solve, moves.places)]


def hairs_of(
    memory: Memory, shapes: Sequence[Shape], below_mm: float, most_mm2: float, blade_mm: float
) -> list[tuple[int, int]]:
    """Return how many hairs of each shape may go without asking, and how many hold two pieces together."""
    areas = areas_of(memory, shapes)

    def solve(missing: list[int]) -> list[tuple[int, int]]:
        found = [without_hairs(areas[index], below_mm, most_mm2, blade_mm) for index in missing]
        return [(each.dropped, each.bridges) for each in found]

    keys = [(shape.path, shape.style.fill_rule, below_mm, most_mm2, blade_mm) for shape in shapes]
    return memory.each("hairs", keys, solve, moves.stays)


def inner_gaps(memory: Memory, shapes: Sequence[Shape], below_mm: float) -> list[tuple[Place, ...]]:
    """Return where the outside of each shape is narrower than a limit: inlets, holes, gaps between its parts."""
    areas = areas_of(memory, shapes)

    def solve(missing: list[int]) -> list[tuple[Place, ...]]:
        return _by_area(narrow_gaps([areas[index] for index in missing], below_mm), len(missing))

    keys = [(shape.path, shape.style.fill_rule, below_mm) for shape in shapes]
    return [rounded(found) for found in memory.each("gaps", keys, solve, moves.places)]


def gaps_between(
    memory: Memory, shapes: Sequence[Shape], pairs: Sequence[Pair], below_mm: float
) -> list[tuple[Place, ...]]:
    """Return where the two shapes of each pair leave less than a limit between them."""
    areas = areas_of(memory, shapes)

    def solve(missing: list[int]) -> list[tuple[Place, ...]]:
        some = [pairs[index] for index in missing]
        first = [len(areas[one]) for one, _ in some]  # segments of the first shape come first
        found = [
            each
            for each in narrow_gaps([joined([areas[one], areas[two]]) for one, two in some], below_mm)
            if (each.first.segment < first[each.area]) != (each.second.segment < first[each.area])
        ]
        return _by_area(found, len(missing))

    keys = [(*_key(shapes, pair), below_mm) for pair in pairs]
    return [rounded(found) for found in memory.each("gaps-between", keys, solve, moves.places)]


def shared_edges(
    memory: Memory, shapes: Sequence[Shape], pairs: Sequence[Pair], within_mm: float
) -> list[Place | None]:
    """Return how long the outlines of each pair run along the same line, within a tolerance, and where."""
    rings = rings_of(memory, [shape.path for shape in shapes])

    def solve(missing: list[int]) -> list[Place | None]:
        out: list[Place | None] = []
        drawn: dict[int, Any] = {}
        for index in missing:
            one, two = (drawn.setdefault(each, lines_of(rings[each])) for each in pairs[index])
            if shapely.distance(one, two) > within_mm:
                out.append(None)
                continue
            common = shapely.intersection(one, shapely.buffer(two, within_mm, quad_segs=4, cap_style="flat"))
            length = float(shapely.length(common))
            if not length:
                out.append(None)
                continue
            longest = max(shapely.get_parts(common), key=shapely.length)
            spot = shapely.line_interpolate_point(longest, 0.5, normalized=True)
            out.append(Place(length, float(spot.x), float(spot.y)))
        return out

    found = memory.each("shared", [(*_key(shapes, pair), within_mm) for pair in pairs], solve, moves.place)
    return [each and Place(round(each.size_mm, 4), round(each.x, 4), round(each.y, 4)) for each in found]


def lines_of(rings: Sequence[Floats]) -> Any:
    """Return polylines as one shapely geometry."""
    lines: Any = [ring for ring in rings if len(ring) > 1]
    return shapely.MultiLineString(lines)


def painted_areas(memory: Memory, shapes: Sequence[Shape]) -> list[tuple[float, float]]:
    """Return the area in mm² of each shape under both rules: non-zero and even-odd."""
    regions = [Region(shape.path, rule) for shape in shapes for rule in (FillRule.NONZERO, FillRule.EVEN_ODD)]
    sizes = [area(path) for path in resolved(memory, regions)]
    return list(zip(sizes[::2], sizes[1::2], strict=True))


def _key(shapes: Sequence[Shape], pair: Pair) -> tuple[Any, ...]:
    return tuple(part for index in pair for part in (shapes[index].path, shapes[index].style.fill_rule))


def _by_area(found: Sequence[Any], count: int) -> list[tuple[Place, ...]]:
    """Return narrow places by the area they are of."""
    out: list[list[Place]] = [[] for _ in range(count)]
    for each in found:
        out[each.area].append(Place(each.width_mm, *each.place))
    return [tuple(places) for places in out]


def rounded(places: Sequence[Place]) -> tuple[Place, ...]:
    """Return places from the least size; rounded first, for the last bits vary."""
    return tuple(sorted(Place(round(size, 6), round(x, 4), round(y, 4)) for size, x, y in places))


def _rings_moved(rings: tuple[Ring, ...], by: Shift) -> tuple[Ring, ...]:
    return tuple(ring._replace(start=(ring.start[0] + by.dx, ring.start[1] + by.dy)) for ring in rings)


def _overlap_moved(overlap: Overlap | None, by: Shift) -> Overlap | None:
    moved: Overlap | None = moves.place(overlap, by)
    return moved and moved._replace(path=moves.outline(moved.path, by))
