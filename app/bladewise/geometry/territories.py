"""Which of many labelled places is the nearest: the plane divided among the labels, few straight lines between them.

The Voronoi diagram (G. Voronoi 1908) by its dual, the Delaunay triangulation (B. Delaunay 1934): between two sites of
different labels that share an edge of the triangulation, the border runs from the centre of the one triangle's
circle to that of the other's. Borders between sites of one label are never made, so that a hundred thousand sites
with a handful of labels give a handful of lines. Lengths are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_ASIDE = 1e-6
"""Sites are moved at random by this share of a millimetre: four on one circle have no triangulation of their own."""

_FAR = 4.0
"""The frame stands this many extents away, or times what is asked for: no border with it comes near that."""


class Territory(NamedTuple):
    """A part of the plane, and the label of the sites nearest to it."""

    polygon: Any
    label: int


def territories(sites: Floats, labels: NDArray[np.int64], *, around_mm: float, tolerance_mm: float) -> list[Territory]:
    """Return the parts into which the plane around some sites falls by the label of the nearest one.

    Parameters
    ----------
    sites
        Places in mm, shape (n, 2); of several at one place the first counts.
    labels
        The label of each, 0 and up, shape (n,).
    around_mm
        How far around the sites the plane is asked for.
    tolerance_mm
        How far a border may be from where it is exactly; the parts still abut without a gap.

    Returns
    -------
    list of Territory
        Connected polygons in shapely's form. Together they fill a box that reaches well beyond what is asked for.
    """
    sites, first = np.unique(sites, axis=0, return_index=True)
    labels = labels[first]
    if not len(sites):
        return []
    low, high = sites.min(axis=0), sites.max(axis=0)
    room = _FAR * float(max(*(high - low), around_mm))
    box = shapely.box(*(low - room), *(high + room))
    present = np.unique(labels)
    if len(present) == 1:
        return [Territory(box, int(present[0]))]
    moved = sites + np.random.default_rng(1).uniform(-_ASIDE, _ASIDE, sites.shape)
    lines = shapely.line_merge(shapely.multilinestrings(_borders(moved, labels, low, high, room)))
    lines = shapely.simplify(shapely.get_parts(lines), tolerance_mm)
    noded = shapely.union_all([*lines, box.exterior])
    faces = shapely.get_parts(shapely.polygonize([noded]))
    inner = shapely.point_on_surface(faces)
    faces, inner = faces[shapely.within(inner, box)], inner[shapely.within(inner, box)]
    places: Any = shapely.points(moved)
    nearest = shapely.STRtree(places).nearest(inner)
    return [Territory(face, int(label)) for face, label in zip(faces, labels[nearest], strict=True)]


def _borders(sites: Floats, labels: NDArray[np.int64], low: Floats, high: Floats, room: float) -> Floats:
    """Return the borders between sites of different labels as lines, shape (k, 2, 2).

    Sites far around, of a label of their own, keep the triangulation's edge away.
    """
    middle, reach = (low + high) / 2.0, 3.0 * (float(max(high - low)) + room)
    turn = np.linspace(0.1, 0.1 + 2.0 * np.pi, 12, endpoint=False)
    frame = middle + reach * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    points = np.concatenate([sites, frame])
    label = np.concatenate([labels, np.full(len(frame), -1)])
    triangles: Any = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(points)))
    corner = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    order = np.lexsort((points[:, 1], points[:, 0]))
    of = order[_rows_of(points[order], corner.reshape(-1, 2))].reshape(-1, 3)
    centre = _circumcentres(corner - middle) + middle
    edges = np.concatenate([of[:, [0, 1]], of[:, [1, 2]], of[:, [2, 0]]])
    edges.sort(axis=1)
    triangle = np.tile(np.arange(len(of)), 3)
    differing = np.flatnonzero(label[edges[:, 0]] != label[edges[:, 1]])
    edges, triangle = edges[differing], triangle[differing]
    key = np.lexsort((edges[:, 1], edges[:, 0]))
    edges, triangle = edges[key], triangle[key]
    pair = np.flatnonzero((edges[1:] == edges[:-1]).all(axis=1))
    lines: Floats = np.stack([centre[triangle[pair]], centre[triangle[pair + 1]]], axis=1)
    return lines


def _rows_of(ordered: Floats, wanted: Floats) -> NDArray[np.int64]:
    """Return where each wanted point stands among points ordered by x, then y; all are there to the bit."""
    kind = np.dtype([("x", np.float64), ("y", np.float64)])
    table = np.ascontiguousarray(ordered).view(kind).ravel()
    rows: NDArray[np.int64] = np.searchsorted(table, np.ascontiguousarray(wanted).view(kind).ravel())
    return rows


def _circumcentres(corner: Floats) -> Floats:
    """Return the centre of the circle through each triangle's corners, shape (t, 2)."""
    start = corner[:, 0]
    one, two = corner[:, 1] - start, corner[:, 2] - start
    double = 2.0 * (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    double = np.where(np.abs(double) < 1e-300, 1e-300, double)
    first, second = (one**2).sum(axis=1), (two**2).sum(axis=1)
    x = (two[:, 1] * first - one[:, 1] * second) / double
    y = (one[:, 0] * second - two[:, 0] * first) / double
    centre: Floats = start + np.stack([x, y], axis=1)
    return centre
