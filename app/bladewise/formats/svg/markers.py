"""Where the markers of a line stand and how they are turned (SVG 2, "Markers").

A marker stands at each place where a path command ends. The path value keeps segments, not commands,
and parts a long arc into quarters; quarters of one ellipse that run on smoothly count as one command.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from bladewise.formats.svg.values import Frame, angle_deg, length, number
from bladewise.formats.svg.viewport import fitted, view_box
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, Point, SegmentKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bladewise.formats.svg.tree import Node

MARKERS = ("marker-start", "marker-mid", "marker-end")
MARKED = frozenset({"path", "line", "polyline", "polygon"})


class Vertex(NamedTuple):
    """A place of a marker: "start", "mid" or "end", the point, and the direction of the path there in degrees."""

    kind: str
    point: Point
    angle_deg: float


class MarkerPlace(NamedTuple):
    """A marker's map into the user space of its line, its own viewport, and its clip in its line's user units."""

    affine: Affine
    frame: Frame
    clip: tuple[float, float, float, float]


def vertices(path: Path) -> Iterator[Vertex]:
    """Yield the places of markers along a path in user units."""
    found: list[tuple[Point, float]] = []
    for part in path.subpaths():
        rows, kinds, weights = part.points.tolist(), part.kinds.tolist(), part.weights.tolist()
        directions = [_directions(row) for row in rows]
        corners = [0]
        for index in range(1, len(rows)):
            arcs = kinds[index] == kinds[index - 1] == SegmentKind.ARC
            same = abs(weights[index] - weights[index - 1]) < 1e-9
            if not (arcs and same and abs(_turn(directions[index - 1][1], directions[index][0])) < 1e-6):
                corners.append(index)
        is_closed = bool(part.closed[0])
        before = directions[-1][1] if is_closed else None
        for corner in corners:
            found.append((tuple(rows[corner][0]), _between(before, directions[corner][0])))
            following = corners[corners.index(corner) + 1] if corner != corners[-1] else len(rows)
            before = directions[following - 1][1]
        after = directions[0][0] if is_closed else None
        found.append((tuple(rows[-1][3]), _between(before, after)))
    for place, (point, angle) in enumerate(found):
        yield Vertex("start" if place == 0 else "end" if place == len(found) - 1 else "mid", point, angle)


def marker_place(marker: Node, vertex: Vertex, stroke_width: float, frame: Frame) -> MarkerPlace | None:
    """Return how a marker lies at a vertex, or None if its size is nothing."""
    told = marker.attributes.get
    width = length(told("markerWidth"), frame.width, frame)
    height = length(told("markerHeight"), frame.height, frame)
    width, height = 3.0 if width is None else width, 3.0 if height is None else height
    if width <= 0.0 or height <= 0.0:
        return None
    orient = (told("orient") or "0").strip()
    if orient == "auto-start-reverse":
        turn = vertex.angle_deg + (180.0 if vertex.kind == "start" else 0.0)
    else:
        turn = vertex.angle_deg if orient == "auto" else angle_deg(orient) or 0.0
    scale = 1.0 if told("markerUnits") == "userSpaceOnUse" else stroke_width
    if scale <= 0.0:
        return None
    box = view_box(marker)
    fit = fitted(box, width, height, told("preserveAspectRatio") or "") if box else Affine()
    inner = Frame(box[2], box[3]) if box else Frame(width, height)
    words = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
    x, y = told("refX", "0"), told("refY", "0")
    ref_x = words[x] * inner.width if x in words else number(x, 0.0) or 0.0
    ref_y = words[y] * inner.height if y in words else number(y, 0.0) or 0.0
    shift_x, shift_y = fit.a * ref_x + fit.e, fit.d * ref_y + fit.f
    placed = Affine.moved(*vertex.point).after(Affine.rotated(turn)).after(Affine.scaled(scale))
    placed = placed.after(Affine.moved(-shift_x, -shift_y))
    edge = box or (0.0, 0.0, width, height)
    return MarkerPlace(placed.after(fit), inner, edge)


def _directions(row: list[list[float]]) -> tuple[float | None, float | None]:
    """Return the directions in which a segment leaves and arrives, in degrees; None where it is a dot."""
    start, end = row[0], row[3]
    leaving = next((point for point in (row[1], row[2], row[3]) if point != start), None)
    arriving = next((point for point in (row[2], row[1], row[0]) if point != end), None)
    return (
        None if leaving is None else math.degrees(math.atan2(leaving[1] - start[1], leaving[0] - start[0])),
        None if arriving is None else math.degrees(math.atan2(end[1] - arriving[1], end[0] - arriving[0])),
    )


def _turn(one: float | None, other: float | None) -> float:
    return 360.0 if one is None or other is None else (other - one + 180.0) % 360.0 - 180.0


def _between(before: float | None, after: float | None) -> float:
    """Return the direction halfway between arriving and leaving."""
    if before is None or after is None:
        return after if after is not None else before if before is not None else 0.0
    return before + _turn(before, after) / 2.0
