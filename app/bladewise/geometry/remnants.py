"""Remnants: hairlines of a lower colour that peep out beside what covers it, given to what covers it.

An area drawn a little larger than the one on top of it leaves a strip between that and the next colour. No blade cuts
a strip narrower than the trap to any use, and it keeps the two colours beside it from running on under one another.
A line that was drawn thin is no remnant: what tells them apart is that most of a remnant's region is covered. Nor is
the rim that shows all round a smaller shape on a larger one, with nothing beyond it: so are outlines drawn.
Lengths are mm, areas mm², y down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.booleans import merge_each
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, length
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import ABUTTING_MM, SLIVER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Path
    from bladewise.geometry.stacking import Part, Stack

_WIDEST = 1.5
"""A strip that is narrower than the limit for the most part is nowhere wider than so many times the limit."""

_SHOWING = 0.5
"""Of a region that is covered for the most part less than this shows in one remnant."""


_BETWEEN = 0.75
"""A remnant lies between others if it does so along this share of its outline at least."""

_ROUND = 0.5
"""Beside bare material a strip that goes round more than this share of what covers it is an outline that was drawn."""


class Given(NamedTuple):
    """A stack in which remnants have gone to what covers them, and how many there were."""

    stack: Stack
    strips: int


def remnants_given(stack: Stack, regions: Sequence[Region], below_mm: float) -> Given:
    """Return the stack with each remnant narrower than a limit made one with the part that covers its region.

    Parameters
    ----------
    stack
        What is seen of the regions, as `stacking.seen_in_groups` gives it.
    regions
        From the back to the front.
    below_mm
        A remnant is narrower than this on the whole, and nowhere much wider.
    """
    parts = stack.parts
    thin = [place for place, part in enumerate(parts) if _is_remnant(part, regions[part.source].path, below_mm)]
    if not thin:
        return Given(stack, 0)
    shapes: Any = np.array([_polygon(part.path) for part in parts], object)
    first, second = shapely.STRtree(shapes).query(shapes[thin], predicate="dwithin", distance=SLIVER_MM)
    edges = shapely.boundary(shapes)
    takes: dict[int, list[int]] = {}
    touching = dict(stack.touching)
    for number, remnant in enumerate(thin):
        near = [each for each in second[first == number].tolist() if each != remnant]
        beside = shapely.buffer(edges[remnant], 2.0 * ABUTTING_MM, quad_segs=2)
        shared = {each: float(shapely.length(shapely.intersection(edges[each], beside))) for each in near}
        above = [each for each in near if each not in thin and parts[each].source > parts[remnant].source]
        if not above:
            continue
        taker = max(above, key=lambda each: (shared[each], -each))
        between = sum(shared.values()) >= _BETWEEN * length(parts[remnant].path)
        if not between and shared[taker] > _ROUND * length(parts[taker].path):
            continue
        takes.setdefault(taker, []).append(remnant)
        for each in near:  # what lay on the remnant's other side lies beside the taker now
            low, high = sorted((parts[each].group, parts[taker].group))
            if low != high:
                touching[low, high] = touching.get((low, high), 0.0) + shared[each]
    merged = merge_each([[Region(parts[each].path) for each in (taker, *some)] for taker, some in takes.items()])
    gone = {remnant for some in takes.values() for remnant in some}
    grown = dict(zip(takes, merged, strict=True))
    kept = [part._replace(path=grown.get(place, part.path)) for place, part in enumerate(parts) if place not in gone]
    return Given(stack._replace(parts=kept, touching=touching), len(gone))


def _is_remnant(part: Part, region: Path, below_mm: float) -> bool:
    """Whether a part is a narrow strip, and its region neither narrow itself nor seen for the most part."""
    if _width(part.path) >= below_mm or _width(region) < 2.0 * below_mm:
        return False
    if abs(area(part.path)) > _SHOWING * abs(area(region)):
        return False
    return bool(shapely.is_empty(shapely.buffer(_polygon(part.path), -0.5 * _WIDEST * below_mm)))


def _width(path: Path) -> float:
    """Return the mean width of what a path encloses, if it is a strip."""
    return 2.0 * abs(area(path)) / max(length(path), SLIVER_MM)


def _polygon(path: Path) -> Any:
    """Return a connected area on chords, its outer ring first."""
    rings = [ring for ring in (flatten(each, ABUTTING_MM).coords for each in path.subpaths()) if len(ring) > 3]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:])) if rings else shapely.Polygon()
