"""Merge, cut out, keep common, fit inside, split at overlaps: booleans whose results are true curves.

The curves are flattened with their provenance (`flatten`), GEOS decides the topology of the chords,
and the results are written back as the source segments and their exact parts (`rebuild`). Lengths
are millimetres, y down. Outer rings of a result run clockwise on the screen, holes the other way, so
that both fill rules paint the same.

Overlaps and gaps thinner than `tolerances.SLIVER_MM` are taken for touching: no knife can cut them.
"""

from __future__ import annotations

import itertools
from functools import reduce
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.kernel import Kernel, curve_true, curve_true_noted, union
from bladewise.geometry.path import EMPTY, Path
from bladewise.geometry.regions import Region
from bladewise.geometry.trimming import trim_open

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.rebuild import Tally

__all__ = [
    "Piece",
    "cut_out",
    "fit_inside",
    "keep_common",
    "merge",
    "merge_each",
    "pieces",
    "resolve",
    "split_at_overlaps",
    "trim_open",
    "visible_parts",
]


class Piece(NamedTuple):
    """A part of the plane and the regions that cover it (their indexes, rising)."""

    path: Path
    members: tuple[int, ...]


def merge(regions: Sequence[Region], *, tally: Tally | None = None) -> Path:
    """Return the area that any of the regions paints.

    Parameters
    ----------
    regions
        Any number; none gives an empty path.
    tally
        Counts what the rebuilding met, where one is given.

    Raises
    ------
    ValueError
        If a coordinate is not a finite number.

    Examples
    --------
    >>> from bladewise.geometry.path import rectangle
    >>> merge([Region(rectangle(0, 0, 2, 1)), Region(rectangle(1, 0, 2, 1))]).bounds()
    (0.0, 0.0, 3.0, 1.0)
    """
    return curve_true(regions, lambda polygons: [union(polygons)], tally=tally, only_union=True)[0]


def merge_each(groups: Sequence[Sequence[Region]], *, tally: Tally | None = None) -> list[Path]:
    """Return the area that any region of a group paints, for each group by itself.

    All groups go through the kernel at once, which for many small ones (the words of a text) is many
    times as fast as one after the other.
    """
    regions = [region for group in groups for region in group]
    bounds = np.cumsum([0, *(len(group) for group in groups)]).tolist()

    def operation(polygons: Any) -> list[Any]:
        return [union(polygons[start:end]) for start, end in itertools.pairwise(bounds)]

    return curve_true(regions, operation, tally=tally)


def cut_out(subject: Region, cutters: Sequence[Region], *, tally: Tally | None = None) -> Path:
    """Return what is left of the subject outside all cutters."""

    def operation(polygons: Any) -> list[Any]:
        return [shapely.difference(polygons[0], union(polygons[1:]))]

    return curve_true([subject, *cutters], operation, tally=tally)[0]


def keep_common(regions: Sequence[Region], *, tally: Tally | None = None) -> Path:
    """Return the area that lies in all of the regions; empty for none."""
    if not regions:
        return EMPTY

    def operation(polygons: Any) -> list[Any]:
        return [reduce(shapely.intersection, polygons)]

    return curve_true(regions, operation, tally=tally)[0]


def fit_inside(subject: Region, frame: Sequence[Region], *, tally: Tally | None = None) -> Path:
    """Return the part of the subject inside the area that the frame's regions paint together."""

    def operation(polygons: Any) -> list[Any]:
        return [shapely.intersection(polygons[0], union(polygons[1:]))]

    return curve_true([subject, *frame], operation, tally=tally)[0]


def visible_parts(regions: Sequence[Region], *, tally: Tally | None = None) -> list[Path]:
    """Return what is seen of each region, given back to front: each minus all above it."""
    return curve_true(regions, _uncovered, tally=tally)


def split_at_overlaps(regions: Sequence[Region], *, tally: Tally | None = None) -> list[Piece]:
    """Return every part of the plane that the same regions cover, each connected part a piece of its own.

    Returns
    -------
    pieces
        They never overlap; together they are the merged area. Sorted by the regions that cover them.
    """
    paths, covers = curve_true_noted(regions, _faces, tally=tally)
    return [Piece(path, members) for path, members in zip(paths, covers, strict=True) if path]


def resolve(region: Region, *, tally: Tally | None = None) -> Path:
    """Return the area a region paints as rings that do not cross; simple outlines keep their segments."""
    return curve_true([region], list, tally=tally)[0]


def pieces(path: Path) -> list[Path]:
    """Return each outer ring of a resolved path together with its holes, as a path of its own."""
    kernel = Kernel([Region(path)])
    return [part for part in kernel.rebuilder.paths(list(shapely.get_parts(kernel.polygons[:1]))) if part]


def _uncovered(polygons: Any) -> list[Any]:
    """Return each polygon minus all that come after it."""
    if not len(polygons):
        return []
    below, above = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    over = above > below
    below, above = below[over], above[over]
    order = np.lexsort((above, below))
    below, above = below[order], above[order]
    bounds = np.searchsorted(below, np.arange(len(polygons) + 1))
    parts = []
    for place, polygon in enumerate(polygons):
        covers = polygons[above[bounds[place] : bounds[place + 1]]]
        parts.append(shapely.difference(polygon, shapely.union_all(covers)) if len(covers) else polygon)
    return parts


def _faces(polygons: Any) -> tuple[list[Any], list[tuple[int, ...]]]:
    """Return the parts into which the outlines divide the plane, the covered ones, and the polygons over each."""
    if not len(polygons):
        return [], []
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(shapely.boundary(polygons))]))
    region, face = shapely.STRtree(shapely.point_on_surface(faces)).query(polygons, predicate="contains")
    members: list[list[int]] = [[] for _ in faces]
    for one, where in sorted(zip(region.tolist(), face.tolist(), strict=True)):
        members[where].append(one)
    chosen = sorted((tuple(member), place) for place, member in enumerate(members) if member)
    return [faces[place] for _, place in chosen], [member for member, _ in chosen]
