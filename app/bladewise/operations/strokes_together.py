"""The area many strokes paint with the fills about them, when nobody asks which of them paints where.

One stroke after the other is slow. Three things make it quick: strokes that lie wholly under a fill, as most lines
drawn on a figure do, add nothing; strokes that are copies of one are worked out once; and strokes of one width, caps
and joins are worked out in one go.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineJoin, StrokeGeometry, stroke_to_shape
from bladewise.geometry.topology import region_polygons

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Floats

_FEW = 6
"""So few strokes are as quick one by one."""
_CHORDS_MM = 0.01
"""How near the chords stay to the curves where it is asked what lies under a fill."""
_GRAIN_MM = 1e-7
"""Copies that differ by less are the same: the rounding of a move."""


class Drawn(NamedTuple):
    """A line and the stroke along it."""

    path: Path
    stroke: StrokeGeometry


def strokes_together(strokes: Sequence[Drawn], fills: Sequence[Region]) -> list[Region]:
    """Return regions that, merged with the fills, are what strokes and fills paint.

    Parameters
    ----------
    strokes
        Lines and their strokes.
    fills
        What is filled, over or under them.
    """
    if len(strokes) <= _FEW:
        return [Region(area) for each in strokes if (area := stroke_to_shape(*each))]
    kinds: dict[StrokeGeometry, list[Path]] = {}
    for each in _beside(strokes, fills):
        kinds.setdefault(each.stroke, []).append(each.path)
    found: list[Path] = []
    for stroke, paths in kinds.items():
        found += [stroke_to_shape(path, stroke) for path in paths] if stroke.dash else _of_one_kind(paths, stroke)
    return [Region(area) for area in found if area]


def _of_one_kind(paths: Sequence[Path], stroke: StrokeGeometry) -> list[Path]:
    alike: dict[tuple[bytes, ...], list[Floats]] = {}
    first: dict[tuple[bytes, ...], Path] = {}
    key: tuple[bytes, ...]
    for path in paths:
        origin = path.points[0, 0]
        form = np.rint((path.points - origin) / _GRAIN_MM).astype(np.int64)
        key = form.tobytes(), path.kinds.tobytes(), path.weights.tobytes(), path.starts.tobytes(), path.closed.tobytes()
        first.setdefault(key, path)
        alike.setdefault(key, []).append(origin)
    single = joined(first[key] for key, places in alike.items() if len(places) == 1)
    areas = [stroke_to_shape(single, stroke)] if single else []
    for key, places in alike.items():
        if len(places) > 1:
            area = stroke_to_shape(first[key], stroke)
            areas += [area.transformed(Affine.moved(*(place - places[0]).tolist())) for place in places]
    return areas


def _beside(strokes: Sequence[Drawn], fills: Sequence[Region]) -> list[Drawn]:
    """Return the strokes that do not lie wholly under the fills."""
    if not fills:
        return list(strokes)
    under = shapely.union_all(_polygons(fills))
    rims = shapely.get_parts(shapely.boundary(under))
    if not len(rims):
        return list(strokes)
    flat = flatten(joined(each.path for each in strokes), _CHORDS_MM)
    owner = np.repeat(np.arange(len(strokes)), [len(each.path.starts) for each in strokes])
    lines: Any = np.array([shapely.LineString(part) for part in np.split(flat.coords, flat.starts[1:])])
    reach = np.array([_reach(each.stroke) for each in strokes])[owner] + 2.0 * _CHORDS_MM
    near, _ = shapely.STRtree(rims).query(lines, predicate="dwithin", distance=reach)
    shapely.prepare(under)
    hidden = shapely.contains_xy(under, flat.coords[flat.starts])
    hidden[near] = False
    shown = np.unique(owner[~hidden])
    return [strokes[index] for index in shown.tolist()]


def _polygons(fills: Sequence[Region]) -> Any:
    flat = flatten(joined(region.path for region in fills), _CHORDS_MM)
    sizes = np.diff(np.append(flat.starts, len(flat.coords)))
    coords = np.insert(flat.coords, flat.starts + sizes, flat.coords[flat.starts], axis=0)
    of_vertex = np.repeat(np.arange(len(sizes)), sizes + 1)
    rings = np.array([len(region.path.starts) for region in fills])
    return region_polygons(coords, of_vertex, np.repeat(np.arange(len(fills)), rings), [each.rule for each in fills])


def _reach(stroke: StrokeGeometry) -> float:
    """Return how far a stroke reaches from its line at most, corners and square ends too, in mm."""
    pen = stroke.pen
    scale = 1.0 if pen is None else max(abs(pen.a) + abs(pen.c), abs(pen.b) + abs(pen.d)) * np.sqrt(2.0)
    sharp = stroke.miter_limit if stroke.join is LineJoin.MITER else 1.0
    return float(0.5 * stroke.width_mm * scale * max(1.5, sharp))
