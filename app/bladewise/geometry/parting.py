"""Shapes and lines that come apart along a line drawn across them, on the true curves.

Where the line crosses the outline, or itself, or ends on the outline, lies a vertex. Between vertices the
outline falls into runs with the shape on their right, and the line into runs that may have it on both
sides. Following each run and turning as far to the right as possible at every vertex goes round one
part of the shape (the faces of a planar map: M. de Berg et al., *Computational Geometry*, the doubly
connected edge list). A run of the line with the same part on both sides parts nothing: it is taken out,
as is what hangs loose, and the rounds are made again. So a line that ends within a shape leaves it
whole as far as it hangs loose.

Outer rings run clockwise on the screen, holes the other way. Lengths are mm, y down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.affine import Affine
from bladewise.geometry.curves import cross, point_at
from bladewise.geometry.distances import nearest
from bladewise.geometry.measures import area, tangent_at
from bladewise.geometry.node_edits import node_added
from bladewise.geometry.nodes import node_table
from bladewise.geometry.outline_edits import broken
from bladewise.geometry.parting_map import AT_NODE, PartingMap, lies_near, simple
from bladewise.geometry.passes import crossing_passes
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import gather
from bladewise.geometry.tolerances import FINE_FLATTENING_MM
from bladewise.geometry.winding import contains

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats

_NUDGES_MM = ((0.0, 0.0), (0.004, 0.003), (-0.005, 0.006), (0.007, -0.004))
"""Where the line runs so close along the outline that nobody can tell the sides, it is moved by so little, below what
a knife can follow, and tried again."""

_ASIDE_MM = 1e-4
"""How far beside a hole's outline the part lies that it is a hole of."""


class Part(NamedTuple):
    """What came of an area that was parted."""

    path: Path
    side: int
    """1 where it lies on the right of the line, seen along it (y down: clockwise), −1 on the left, 0 on both."""
    reached: bool
    """Whether the line runs along it."""


def parted(outline: Path, line: Path) -> list[Part]:
    """Return the parts into which a line parts an area, the largest first.

    Parameters
    ----------
    outline
        The area as resolved rings (`booleans.resolve`).
    line
        Open or closed, one subpath or several; it may cross itself.

    Returns
    -------
    list of Part
        Each piece with its holes, those that the line does not reach too. Empty where the line parts
        nothing.
    """
    if not outline or not line:
        return []
    for shift in _NUDGES_MM:
        moved = line if shift == (0.0, 0.0) else line.transformed(Affine.moved(*shift))
        parts = _parts(outline, moved)
        if parts is not None:
            return parts
    return []


def _parts(outline: Path, line: Path) -> list[Part] | None:
    """Return the parts; None where they do not fit together, as line and outline run too close to tell sides."""
    rings = PartingMap(outline, simple(line)).rings()
    if rings is None or not any(ring.reached for ring in rings):
        return None if rings is None else []
    sizes = [area(ring.path) for ring in rings]
    outers = [rings[place] for place in sorted(range(len(rings)), key=lambda each: -sizes[each]) if sizes[place] > 0.0]
    bounds = [[outer] for outer in outers]
    for hole, size in zip(rings, sizes, strict=True):
        if size <= 0.0:
            beside = _beside(hole.path)
            around = [place for place, outer in enumerate(outers) if contains(Region(outer.path), beside).mean() > 0.5]
            if not around:
                return None
            bounds[around[-1]].append(hole)  # the smallest, as they stand by size
    parts = []
    for outer, each in zip(outers, bounds, strict=True):
        sides = {ring.side for ring in each if ring.reached}
        side = sides.pop() if len(sides) == 1 else 0 if sides else _side(outer.path, line)
        parts.append(Part(joined(ring.path for ring in each), side, any(ring.reached for ring in each)))
    return parts if all(area(part.path) > 0.0 for part in parts) else None


def lines_parted(path: Path, line: Path) -> list[Path]:
    """Return the stretches into which a line parts open lines, and outlines that are cut as lines.

    Each stretch is a path of its own, in order; what is not crossed stays together, at the end. Empty
    where the line crosses nothing.
    """
    if not path or not line:
        return []
    sources = gather([Region(path), Region(line)], close=False)
    found = crossing_passes(sources, FINE_FLATTENING_MM)
    theirs = sources.region[found.first] != sources.region[found.second]
    places = found.places[theirs]
    cut = path
    for place in places:
        at = nearest(cut, (float(place[0]), float(place[1])))
        if AT_NODE < at.t < 1.0 - AT_NODE:
            cut = node_added(cut, at.segment, at.t).path
    table = node_table(cut)
    nodes = [int(np.argmin(np.hypot(*(table.points - place).T))) for place in places]
    cut = broken(cut, nodes).path
    stretches: list[Path] = []
    rest: list[Path] = []
    for part in cut.subpaths():
        ends = part.points[[0, -1], [0, 3]]
        apart = not part.closed[0] and any(lies_near(end, places) for end in ends)
        (stretches if apart else rest).append(part)
    if not stretches:
        return []
    return [*stretches, joined(rest)] if rest else stretches


def _beside(hole: Path) -> Floats:
    """Return places just outside a hole, in the part that it is a hole of, shape (k, 2)."""
    each = np.arange(len(hole))
    t = np.full(len(hole), 0.5)
    along = tangent_at(hole, each, t)
    aside: Floats = point_at(hole.points, hole.kinds, hole.weights, t)
    return aside + _ASIDE_MM * np.stack([-along[:, 1], along[:, 0]], axis=1)


def _side(path: Path, line: Path) -> int:
    """Return on which side of the line a path lies, by its first node."""
    at = path.points[0, 0]
    foot = nearest(line, (float(at[0]), float(at[1])))
    along = tangent_at(line, foot.segment, foot.t)[0]
    return 1 if float(cross(along, at - np.array(foot.point))) > 0.0 else -1
