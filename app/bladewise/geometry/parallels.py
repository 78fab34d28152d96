"""Parallel outlines: a region grown or shrunk by a distance, as few true curves.

Growing adds a strip along the outside of every outline (`outlines`): the outline drawn beside it
encloses the region and the strip at once, and the curve-true kernel resolves where it crosses
itself. Shrinking is growing what lies around: a frame with the region as its hole is grown, and what
is left of the hole is the answer. Either way lines stay lines, arcs of circles stay arcs, other
curves become the fewest cubics within the fitting tolerance of the exact parallel (J. Steiner 1840
for what area that makes; W. Tiller and E. G. Hanson 1984 for the method of going beside first and
resolving after).
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.booleans import resolve
from bladewise.geometry.corners import LEFT
from bladewise.geometry.curves import extents
from bladewise.geometry.nearness import Nearness
from bladewise.geometry.outlines import outlines
from bladewise.geometry.path import EMPTY, Path, joined, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.rims import margin_of, on_the_rim, rim_bands
from bladewise.geometry.tips import sharpened
from bladewise.geometry.tolerances import FITTING_MM, PARALLEL_FITTING_MM, RIM_FLATTENING_SHARE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Floats

APART_MM = 0.1
"""Outlines that stay this far apart are no neighbours to any step that draws a parallel."""

BATCH = 512
"""Segments drawn together: from here on more of them at once save no time."""


class Corner(StrEnum):
    """How the outline goes around a corner that sticks out towards it."""

    ROUND = "round"
    BEVEL = "bevel"
    MITER = "miter"


def parallel(
    region: Region,
    distance_mm: float,
    *,
    corner: Corner = Corner.ROUND,
    miter_limit: float = 4.0,
    tolerance_mm: float = PARALLEL_FITTING_MM,
) -> Path:
    """Return the outline of a region at a distance.

    Parameters
    ----------
    region
        What is to be outlined, with the rule it paints by; crossings are resolved first.
    distance_mm
        How far outside (> 0) or inside (< 0); 0 gives the region itself.
    corner
        Corners of the region (outside) or of what surrounds it (inside) become round, flat or
        pointed.
    miter_limit
        Pointed corners longer than this many times their width become flat, as for strokes in SVG 2.
    tolerance_mm
        Largest distance between the outline returned and the exact one.

    Returns
    -------
    Path
        Outer outlines clockwise on the screen, holes the other way; empty if nothing is left.

    Raises
    ------
    ValueError
        If the distance is not a finite number.

    Examples
    --------
    >>> from bladewise.geometry.path import rectangle
    >>> parallel(Region(rectangle(0, 0, 100, 100)), -5).bounds()
    (5.0, 5.0, 95.0, 95.0)
    """
    if not math.isfinite(distance_mm):
        message = "the distance of a parallel must be a finite number"
        raise ValueError(message)
    shape = resolve(region)
    if distance_mm == 0.0 or not shape:
        return shape
    reach = abs(distance_mm)
    if corner is Corner.ROUND:
        rim = _rim(shape if distance_mm > 0.0 else shape.reversed(), reach, tolerance_mm)
        if rim is not None:
            return sharpened(rim if distance_mm > 0.0 else rim.reversed(), shape, distance_mm, tolerance_mm)
    drawn = outlines(
        shape if distance_mm > 0.0 else shape.reversed(),
        reach,
        join=corner.value,
        miter_limit=miter_limit,
        tolerance_mm=tolerance_mm,
        sides=(LEFT,),
    )
    if distance_mm > 0.0:
        return sharpened(resolve(Region(drawn)), shape, distance_mm, tolerance_mm)
    box = drawn.bounds()
    if box is None:
        return EMPTY
    margin = reach + 1.0
    frame = rectangle(box[0] - margin, box[1] - margin, box[2] - box[0] + 2.0 * margin, box[3] - box[1] + 2.0 * margin)
    grown = resolve(Region(joined([frame, drawn])))
    corners = frame.points[:, 0]
    inner = [
        ring
        for ring in grown.subpaths()
        if not (np.isin(ring.points[:, 0, 0], corners[:, 0]) & np.isin(ring.points[:, 0, 1], corners[:, 1])).any()
    ]
    return sharpened(joined(inner).reversed(), shape, distance_mm, tolerance_mm)


def parallel_each(paths: Sequence[Path], distance_mm: float) -> list[Path]:
    """Return the outline of each of many regions at a distance, corners round.

    Regions whose outlines stay apart know nothing of one another, and are worked out together: for small ones
    that takes a tenth of the time.

    Parameters
    ----------
    paths
        Closed outlines of regions, which do not cross, the outer ones clockwise on the screen (as from `resolve`).
    distance_mm
        As for `parallel`.

    Returns
    -------
    list of Path
        What `parallel` gives for each of them, up to the last bits.

    Examples
    --------
    >>> from bladewise.geometry.path import circle
    >>> [round(path.bounds()[2], 6) for path in parallel_each([circle((0, 0), 10), circle((50, 0), 10)], 5.0)]
    [15.0, 65.0]
    """
    some = [place for place, path in enumerate(paths) if path]
    reach = max(distance_mm, 0.0) + APART_MM
    boxes = extents([paths[place] for place in some]) + np.array([-reach, -reach, reach, reach])
    out = [EMPTY] * len(paths)
    for batch in _batches(boxes, [len(paths[place]) for place in some]):
        together = [some[row] for row in batch]
        found = parallel(Region(joined([paths[place] for place in together])), distance_mm)
        if len(together) == 1:
            out[together[0]] = found
            continue
        starts = found.points[found.starts, 0][:, None]  # a ring lies in the box of its own region and in no other
        home = ((starts >= boxes[batch, :2]) & (starts <= boxes[batch, 2:])).all(axis=2).argmax(axis=1)
        rings: list[list[Path]] = [[] for _ in together]
        for ring, row in zip(found.subpaths(), home.tolist(), strict=True):
            rings[row].append(ring)
        for place, own in zip(together, rings, strict=True):
            out[place] = joined(own)
    return out


def _batches(boxes: Floats, sizes: Sequence[int]) -> list[list[int]]:
    """Return the boxes, by row, in groups within which none meets another and there are not too many segments."""
    shapes: Any = shapely.box(*boxes.T)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    before: dict[int, list[int]] = {}
    for one, other in zip(first.tolist(), second.tolist(), strict=True):
        if other < one:
            before.setdefault(one, []).append(other)
    groups: list[list[int]] = []
    load: list[int] = []
    mine: list[int] = []
    for row, size in enumerate(sizes):
        taken = {mine[other] for other in before.get(row, ())}
        free = (place for place in range(len(groups)) if place not in taken and load[place] + size <= BATCH)
        place = next(free, len(groups))
        if place == len(groups):
            groups.append([])
            load.append(0)
        groups[place].append(row)
        load[place] += size
        mine.append(place)
    return groups


def _rim(shape: Path, reach: float, tolerance_mm: float) -> Path | None:
    """Return the outlines at a reach left of a shape's, from what of them can show; None where that is all."""
    nearness = Nearness(shape, RIM_FLATTENING_SHARE * margin_of(reach))
    bands = rim_bands(shape, reach, tolerance_mm, nearness)
    return None if bands is None else on_the_rim(resolve(Region(bands)), reach, nearness)


def opened(region: Region, radius_mm: float) -> Path:
    """Return a region without what a disc of a radius does not reach from within: spikes and bridges go.

    The erosion followed by the dilation of mathematical morphology (J. Serra 1982). A radius of 0 or
    less gives the region itself.
    """
    if radius_mm <= 0.0:
        return resolve(region)
    return parallel(Region(parallel(region, -radius_mm, tolerance_mm=FITTING_MM / 2.0)), radius_mm)


def closed(region: Region, radius_mm: float) -> Path:
    """Return a region with what a disc of a radius does not reach from without: inlets and gaps fill up.

    The dilation followed by the erosion of mathematical morphology (J. Serra 1982). A radius of 0 or
    less gives the region itself.
    """
    if radius_mm <= 0.0:
        return resolve(region)
    return parallel(Region(parallel(region, radius_mm, tolerance_mm=FITTING_MM / 2.0)), -radius_mm)
