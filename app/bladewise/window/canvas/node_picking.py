"""Which nodes, segments and handles are picked, and how to get from one to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication

from bladewise.document import Shape
from bladewise.geometry.nodes import numbering
from bladewise.units import format_length
from bladewise.window.canvas.gestures import decimals_of
from bladewise.window.canvas.handiwork import Handiwork
from bladewise.window.canvas.node_shapes import HandleAt, NodeShape, SegmentAt

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.window.canvas.canvas import Canvas

translate = QCoreApplication.translate


class NodePicking(Handiwork):
    """Shapes with their nodes shown, and what is picked of them."""

    def __init__(self, canvas: Canvas, ids: tuple[str, ...]) -> None:
        """Show the nodes of some shapes."""
        super().__init__(canvas)
        self.shapes: dict[str, NodeShape] = {}
        for each in ids:
            leaf = canvas.elements().get(each)
            if isinstance(leaf, Shape) and leaf.path:
                self.shapes[each] = NodeShape.of(each, leaf.path)
        self.held: HandleAt | None = None
        """The handle that was taken hold of last: arrows and the fields of the bench move it."""
        self.segment: SegmentAt | None = None
        """The segment that was clicked last."""

    # --- what is picked -------------------------------------------------------------------------------------------

    @property
    def chosen(self) -> dict[str, list[int]]:
        """The picked nodes, as a step refers to them."""
        return {key: shape.rows() for key, shape in self.shapes.items() if shape.chosen}

    def segments(self) -> dict[str, list[int]]:
        """Return the segments meant: the one clicked, else all between picked nodes."""
        if self.segment is not None and self.segment.shape in self.shapes:
            return {self.segment.shape: [self.segment.segment]}
        found = {key: shape.segments() for key, shape in self.shapes.items()}
        return {key: rows for key, rows in found.items() if rows}

    def choose(self, nodes: Mapping[str, Any], *, adding: bool = False, toggling: bool = False) -> None:
        """Pick nodes; `adding` to those picked, `toggling` them."""
        for key, shape in self.shapes.items():
            new = frozenset(nodes.get(key, ()))
            if toggling:
                new = shape.chosen ^ new
            elif adding:
                new = shape.chosen | new
            if new != shape.chosen:
                self.shapes[key] = shape.choosing(new)
        self.held = None
        self.segment = None
        self.changed.emit()
        self.canvas.update()

    def choose_segment(self, found: SegmentAt) -> None:
        """Pick a segment: both its nodes."""
        ends = numbering(self.shapes[found.shape].path)
        self.choose({found.shape: (int(ends.start_node[found.segment]), int(ends.end_node[found.segment]))})
        self.segment = found
        self.changed.emit()

    def choose_all(self) -> None:
        """Pick every node."""
        self.choose({key: range(len(shape.table.points)) for key, shape in self.shapes.items()})

    def step_through(self, *, back: bool) -> None:
        """Pick the next node, or the one before; round and round."""
        order = [(key, node) for key, shape in self.shapes.items() for node in range(len(shape.table.points))]
        if not order:
            return
        here = [index for index, (key, node) in enumerate(order) if node in self.shapes[key].chosen]
        index = (len(order) - 1 if back else 0) if not here else (here[0] - 1 if back else here[-1] + 1)
        key, node = order[index % len(order)]
        self.choose({key: (node,)})
        self.say_node(key, node)

    def step_handles(self) -> None:
        """Let the arrows move the next of: the node, its handle before, its handle after."""
        picked = [(key, node) for key, shape in self.shapes.items() for node in shape.rows()]
        if len(picked) != 1:
            self.canvas.say(translate("Canvas", "Pick one node to go to its handles"))
            return
        key, node = picked[0]
        sides = [side for number, side, _ in self.shapes[key].shown_handles() if number == node]
        order: list[HandleAt | None] = [None, *(HandleAt(key, node, side) for side in sides)]
        self.held = order[(order.index(self.held) + 1) % len(order)] if self.held in order else None
        words = (
            translate("Canvas", "Arrows move the node")
            if self.held is None
            else translate("Canvas", "Arrows move the handle")
        )
        self.canvas.say(words)
        self.changed.emit()
        self.canvas.update()

    def place(self) -> tuple[float, float] | None:
        """Return where the picked handle or the one picked node is; None if that is not one place."""
        if self.held is not None and self.held.shape in self.shapes:
            for node, side, end in self.shapes[self.held.shape].shown_handles():
                if (node, side) == (self.held.node, self.held.side):
                    return float(end[0]), float(end[1])
        picked = [(shape, node) for shape in self.shapes.values() for node in shape.chosen]
        if len(picked) != 1:
            return None
        shape, node = picked[0]
        x, y = shape.table.points[node].tolist()
        return x, y

    def say_node(self, key: str, node: int) -> None:
        """Tell which node it is, of which kind, and where."""
        shape = self.shapes[key]
        x, y = shape.table.points[node].tolist()
        decimals = max(decimals_of(self.canvas.view.scale), 2)
        words = {
            "corner": translate("Canvas", "Corner node {number} of {count} at {x}, {y}"),
            "smooth": translate("Canvas", "Smooth node {number} of {count} at {x}, {y}"),
            "balanced": translate("Canvas", "Balanced node {number} of {count} at {x}, {y}"),
        }[shape.table.kind(node).value]
        unit = self.canvas.unit
        text = words.format(
            number=node + 1,
            count=len(shape.table.points),
            x=format_length(x, unit=unit, decimals=decimals),
            y=format_length(y, unit=unit, decimals=decimals),
        )
        self.canvas.say(text)
        self.canvas.announce(text)
