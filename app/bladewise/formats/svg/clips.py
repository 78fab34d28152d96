"""Clip paths resolved into geometry: what a knife can follow has no clip, only an outline.

SVG 2 and CSS Masking 1, "Clipping Paths". A clip path is the union of what its children paint, under
their own clip-rule; clips inside clips intersect. All of it lies on the sheet, in mm.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from bladewise.document import Element, Group, Shape
from bladewise.geometry.booleans import fit_inside
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import contains
from bladewise.geometry.path import Floats, Path, SegmentKind
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import StrokeGeometry, stroke_to_shape

if TYPE_CHECKING:
    from bladewise.document.elements import Box

Clip: TypeAlias = tuple[Region, ...]
"""Regions whose union is shown."""
EDGE_TOLERANCE_MM = 0.05
"""How near to a clip's edge, in mm, a shape may come before it is taken to touch it."""


def clipped(shape: Shape, clips: tuple[Clip, ...]) -> tuple[list[Element], bool]:
    """Return what is left of a shape inside every clip, and whether the clips changed it.

    A shape whose stroke crosses a clip comes back as a group of two shapes, its fill and its stroke,
    because the stroke of the cut outline would run along the clip's edge.
    """
    box = painted_bounds(shape)
    if box is None:
        return [shape], False
    sides = [_side(clip, box) for clip in clips]
    if any(side < 0.0 for side in sides):
        return [], True
    needed = [clip for clip, side in zip(clips, sides, strict=True) if side == 0.0]
    if not needed:
        return [shape], False
    stroke = shape.style.stroke
    if stroke is None:
        path = _kept(Region(shape.path, shape.style.fill_rule), needed)
        return ([replace(shape, path=path)] if path else []), True
    parts: list[Shape] = []
    if shape.style.fill is not None and (path := _kept(Region(shape.path, shape.style.fill_rule), needed)):
        parts.append(replace(shape, path=path, style=replace(shape.style, stroke=None, opacity=1.0)))
    geometry = StrokeGeometry(
        stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit, stroke.dash, stroke.dash_offset, stroke.pen
    )
    if path := _kept(Region(stroke_to_shape(shape.path, geometry)), needed):
        style = replace(shape.style, fill=stroke.paint, fill_opacity=stroke.opacity, stroke=None, opacity=1.0)
        parts.append(replace(shape, id=f"{shape.id}-stroke" if parts else shape.id, path=path, style=style))
    if len(parts) < 2:
        return [replace(part, style=replace(part.style, opacity=shape.style.opacity)) for part in parts], True
    if shape.style.stroke_first:
        parts.reverse()
    parts = [replace(part, visible=True) for part in parts]
    group = Group(
        f"{shape.id}-clipped", tuple(parts), name=shape.name, opacity=shape.style.opacity, visible=shape.visible
    )
    return [group], True


def painted_bounds(shape: Shape) -> Box | None:
    """Return a box that surely holds the shape's outline and its stroke, in mm."""
    box = shape.bounds
    stroke = shape.style.stroke
    if box is None or stroke is None:
        return box
    scale = 1.0
    if stroke.pen is not None:
        scale = max(abs(stroke.pen.a) + abs(stroke.pen.c), abs(stroke.pen.b) + abs(stroke.pen.d))
    reach = stroke.width_mm / 2.0 * scale * max(1.5, stroke.miter_limit if stroke.join.value == "miter" else 1.0)
    return box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach


def _kept(subject: Region, clips: list[Clip]) -> Path:
    for clip in clips:
        subject = Region(fit_inside(subject, clip))
    return subject.path


def _side(clip: Clip, box: Box) -> float:
    """Return 1 where a box lies well inside a clip, −1 where outside all of it, 0 where it may cross its edge.

    A box that no segment of an edge comes near lies wholly on one side; one point then tells which.
    """
    if len(clip) == 1 and _is_upright_rectangle(clip[0].path):  # flush with its edge counts as inside
        x0, y0, x1, y1 = clip[0].path.bounds() or (0.0, 0.0, 0.0, 0.0)
        if x0 <= box[0] and y0 <= box[1] and x1 >= box[2] and y1 >= box[3]:
            return 1.0
    result = -1.0
    middle = np.array([[(box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0]])
    for region in clip:
        edges = _edge_boxes(region.path)
        near = (edges[:, 0] <= box[2]) & (edges[:, 2] >= box[0]) & (edges[:, 1] <= box[3]) & (edges[:, 3] >= box[1])
        if near.any():
            result = 0.0
        elif bool(contains(region, middle)[0]):
            return 1.0
    return result


def _edge_boxes(path: Path) -> Floats:
    """Return boxes that hold the edge of what a path paints, chord by chord: x min, y min, x max, y max in mm."""
    if not path:
        return np.zeros((0, 4))
    flat = flatten(path, EDGE_TOLERANCE_MM)
    ends = np.append(flat.starts[1:], len(flat.coords))
    following = np.arange(1, len(flat.coords) + 1)
    following[ends - 1] = flat.starts  # painting closes what is open
    pair = np.stack([flat.coords, flat.coords[following]])
    boxes: Floats = np.concatenate([pair.min(axis=0) - EDGE_TOLERANCE_MM, pair.max(axis=0) + EDGE_TOLERANCE_MM], axis=1)
    return boxes


def _is_upright_rectangle(path: Path) -> bool:
    if len(path) != 4 or len(path.starts) != 1 or not (path.kinds == SegmentKind.LINE).all():
        return False
    steps = path.points[:, 3] - path.points[:, 0]
    return bool(np.count_nonzero(steps) == 4 and np.count_nonzero(steps[:, 0]) == 2)
