"""Shapes whose nodes are shown: where they are, which are picked, and what lies under the pointer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.landmarks import Neighbourhood, feet, segments_of
from bladewise.geometry.node_parts import Edited, count_of
from bladewise.geometry.nodes import NodeTable, Side, node_table, numbering
from bladewise.geometry.path import Path

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from PySide6.QtCore import QPointF

    from bladewise.geometry.path import Floats
    from bladewise.window.view import View

GRAB_PX = 8.0
"""How near to a node or a handle the pointer must be to take hold of it."""

Node = tuple[str, int]
"""A shape's id and the number of a node in it."""


class HandleAt(NamedTuple):
    """A handle: its shape, its node, its side."""

    shape: str
    node: int
    side: Side


class SegmentAt(NamedTuple):
    """A place on a segment of a shape."""

    shape: str
    segment: int
    t: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, eq=False)
class NodeShape:
    """A shape with its nodes."""

    id: str
    path: Path
    table: NodeTable
    chosen: frozenset[int] = frozenset()

    @classmethod
    def of(cls, key: str, path: Path, chosen: Iterable[int] = ()) -> NodeShape:
        """Return a shape with the nodes of its path; numbers that are not there are left out."""
        count = count_of(path)
        return cls(key, path, node_table(path), frozenset(each for each in chosen if each < count))

    @cached_property
    def hood(self) -> Neighbourhood:
        """Its segments in boxes, for what lies under the pointer; made when first asked for."""
        return Neighbourhood(self.path)

    def choosing(self, nodes: Iterable[int]) -> NodeShape:
        """Return the shape with other nodes picked."""
        return replace(self, chosen=frozenset(nodes))

    def rows(self) -> list[int]:
        """Return the picked nodes, rising."""
        return sorted(self.chosen)

    def segments(self) -> list[int]:
        """Return the segments between picked nodes."""
        ends = numbering(self.path)
        picked = np.zeros(len(self.table.points), np.bool_)
        picked[self.rows()] = True
        found: list[int] = np.flatnonzero(picked[ends.start_node] & picked[ends.end_node]).tolist()
        return found

    def shown_handles(self) -> list[tuple[int, Side, Floats]]:
        """Return the handles that are shown: those of picked nodes, and those that look at them."""
        table = self.table
        near = set(self.chosen)
        ends = numbering(self.path)
        for node in self.chosen:
            before, after = int(table.segment_before[node]), int(table.segment_after[node])
            if before >= 0:
                near.add(int(ends.start_node[before]))
            if after >= 0:
                near.add(int(ends.end_node[after]))
        found: list[tuple[int, Side, Floats]] = []
        for node in sorted(near):
            for side, handles, segment in (
                (Side.BEFORE, table.before, table.segment_before),
                (Side.AFTER, table.after, table.segment_after),
            ):
                if np.isnan(handles[node, 0]):
                    continue
                across = int(segment[node])
                other = int(ends.start_node[across] if side is Side.BEFORE else ends.end_node[across])
                if node in self.chosen or other in self.chosen:
                    found.append((node, side, handles[node]))
        return found


def node_at(shapes: Mapping[str, NodeShape], view: View, pixel: QPointF) -> Node | None:
    """Return the node under a pixel, the nearest of several; picked ones first where they lie on one another."""
    x, y = view.to_mm(pixel.x(), pixel.y())
    best: tuple[float, Node] | None = None
    for key, shape in shapes.items():
        if not len(shape.table.points):
            continue
        away = np.hypot(shape.table.points[:, 0] - x, shape.table.points[:, 1] - y) * view.scale
        for node in np.flatnonzero(away <= GRAB_PX).tolist():
            rank = float(away[node]) - (0.5 if node in shape.chosen else 0.0)
            if best is None or rank < best[0]:
                best = rank, (key, node)
    return best[1] if best else None


def handle_at(shapes: Mapping[str, NodeShape], view: View, pixel: QPointF) -> HandleAt | None:
    """Return the handle under a pixel, of those that are shown."""
    best: tuple[float, HandleAt] | None = None
    for key, shape in shapes.items():
        for node, side, end in shape.shown_handles() if len(shape.chosen) <= MOST_WITH_HANDLES else ():
            place = view.to_px(float(end[0]), float(end[1]))
            away = max(abs(place.x() - pixel.x()), abs(place.y() - pixel.y()))
            if away <= GRAB_PX and (best is None or away < best[0]):
                best = away, HandleAt(key, node, side)
    return best[1] if best else None


MOST_WITH_HANDLES = 200
"""With more nodes picked no handles are shown: nobody could tell them apart."""


def segment_at(shapes: Mapping[str, NodeShape], view: View, pixel: QPointF) -> SegmentAt | None:
    """Return the place of an outline under a pixel."""
    place = view.to_mm(pixel.x(), pixel.y())
    reach = GRAB_PX / view.scale
    best: tuple[float, SegmentAt] | None = None
    for key, shape in shapes.items():
        rows = shape.hood.near(place, reach)
        if not len(rows):
            continue
        t, away, points = feet(segments_of(shape.path, rows), place)
        nearest = int(away.argmin())
        if away[nearest] <= reach and (best is None or away[nearest] < best[0]):
            x, y = points[nearest].tolist()
            best = float(away[nearest]), SegmentAt(key, int(rows[nearest]), float(t[nearest]), x, y)
    return best[1] if best else None


def nodes_in(shape: NodeShape, low: tuple[float, float], high: tuple[float, float]) -> list[int]:
    """Return the nodes of a shape in a box of the sheet."""
    inside = ((shape.table.points >= low) & (shape.table.points <= high)).all(axis=1)
    found: list[int] = np.flatnonzero(inside).tolist()
    return found


def carried(shape: NodeShape, edited: Edited) -> NodeShape:
    """Return the shape after an edit, what was picked still picked."""
    now = [int(edited.now[node]) for node in shape.chosen]
    return NodeShape.of(shape.id, edited.path, [node for node in now if node >= 0])
