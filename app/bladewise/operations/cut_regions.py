"""What the lines about a print enclose: the pieces that the knife takes out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.document import CutKind, Picture, Shape
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import parallel
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.operations.coats import is_line_to_cut

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bladewise.document import Box, Job, Leaf, Placed


class CutRegion(NamedTuple):
    """What one cut line encloses: outer rings clockwise on the screen, holes the other way."""

    leaf_id: str
    kind: CutKind
    path: Path


def lines_to_cut(job: Job, placed: Iterable[Placed] | None = None) -> list[Placed]:
    """Return the lines about a print that take pieces out, of some leaves or of all that show; creases take none."""
    some = (each for each in job.walk() if each.visible) if placed is None else placed
    return [each for each in some if is_line_to_cut(each) and job.material_of(each).cut is not CutKind.CREASE]


def cut_regions(job: Job, placed: Iterable[Placed] | None = None) -> list[CutRegion]:
    """Return what the closed lines about a print enclose, of some leaves or of all that show."""
    found = []
    for each in lines_to_cut(job, placed):
        assert isinstance(each.leaf, Shape)
        path = each.leaf.path
        closed = joined(ring for ring, shut in zip(path.subpaths(), path.closed.tolist(), strict=True) if shut)
        if closed and (inside := booleans.resolve(Region(closed, each.leaf.style.fill_rule))):
            found.append(CutRegion(each.leaf.id, job.material_of(each).cut, inside))
    return found


_CHORDS_MM = 0.05
"""How near the chords of a line stay to it where only nearness is asked."""


def near_lines(placed: Iterable[Placed], outlines: Sequence[Path], room_mm: float) -> list[Placed]:
    """Return those leaves whose box comes within a distance of a line; what lies deep inside one has no part in it."""
    some = [(each, box) for each in placed if (box := _painted_box(each.leaf)) is not None]
    if not some:
        return []
    flat = flatten(joined(outlines), _CHORDS_MM)
    ends = np.append(flat.starts[1:], len(flat.coords)) - 1
    first = np.delete(np.arange(len(flat.coords)), ends)
    chords: Any = shapely.linestrings(np.stack([flat.coords[first], flat.coords[first + 1]], axis=1))
    boxes: Any = shapely.box(*np.array([box for _, box in some]).T)
    near, _ = shapely.STRtree(chords).query(boxes, predicate="dwithin", distance=room_mm + _CHORDS_MM)
    return [some[place][0] for place in np.unique(near).tolist()]


def _painted_box(leaf: Leaf) -> Box | None:
    """Return a box that surely holds what a leaf paints."""
    box = leaf.bounds
    if box is None or isinstance(leaf, Picture) or (stroke := leaf.style.stroke) is None:
        return box
    pen = stroke.pen
    scale = 1.0 if pen is None else max(abs(pen.a) + abs(pen.c), abs(pen.b) + abs(pen.d))
    room = 0.5 * stroke.width_mm * scale * max(1.5, stroke.miter_limit)
    return box[0] - room, box[1] - room, box[2] + room, box[3] + room


class Parallels:
    """Parallels of lines, worked out once for all copies of one line: a sheet is mostly one sticker many times."""

    _GRAIN_MM = 1e-7
    """Copies that differ by less are the same: the rounding of a move."""

    def __init__(self) -> None:
        """Start with none."""
        self._known: dict[tuple[bytes, float], tuple[Path, Path]] = {}

    def of(self, path: Path, distance_mm: float) -> Path:
        """Return a line's parallel outside (> 0) or inside (< 0), as `geometry.parallels.parallel` gives it."""
        if not path:
            return path
        form = np.rint((path.points - path.points[0, 0]) / self._GRAIN_MM).astype(np.int64)
        key = form.tobytes() + path.kinds.tobytes() + path.starts.tobytes() + path.weights.tobytes(), distance_mm
        if key not in self._known:
            self._known[key] = path, parallel(Region(path), distance_mm)
        first, made = self._known[key]
        dx, dy = (path.points[0, 0] - first.points[0, 0]).tolist()
        return made.transformed(Affine.moved(dx, dy)) if made and (dx or dy) else made
