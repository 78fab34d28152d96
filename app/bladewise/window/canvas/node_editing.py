"""Editing the nodes of shapes by hand and by keys: the state, the keys, and what is shown.

What a drag would make is computed from the shape as it was at every move of the pointer; one step is
asked for when the button goes up. What can be done with what is picked stands in `node_actions`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QPointF, QRectF, Qt

from bladewise import operations
from bladewise.document import Shape
from bladewise.geometry.node_edits import handle_moved, nodes_moved
from bladewise.window.canvas import node_painting
from bladewise.window.canvas.handiwork import ARROWS, ENTER
from bladewise.window.canvas.node_drags import BandDrag, Drag, HandleDrag, NodesDrag, SegmentDrag
from bladewise.window.canvas.node_picking import NodePicking
from bladewise.window.canvas.node_shapes import (
    NodeShape,
    carried,
    handle_at,
    node_at,
    segment_at,
)
from bladewise.window.drawing import Drawing
from bladewise.window.painting import ViewMode, paint_hairline, paint_leaf
from bladewise.window.paints import material_pen

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QPainter

    from bladewise.geometry.node_parts import Edited
    from bladewise.operations import Step
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers

_Shift = Qt.KeyboardModifier.ShiftModifier
_Ctrl = Qt.KeyboardModifier.ControlModifier

PAINTED_WHOLE = 2_500
"""So many segments are painted whole in each frame of a drag; of longer shapes only the outline follows."""

translate = QCoreApplication.translate


class NodeEditing(NodePicking):
    """The nodes of one shape or several."""

    name = "nodes"
    hides_selection = True
    aims_by_keys = False
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: Canvas, ids: tuple[str, ...]) -> None:
        """Show the nodes of some shapes."""
        super().__init__(canvas, ids)
        self.drag: Drag | None = None
        self.preview: dict[str, Edited] = {}
        self._shown: dict[str, NodeShape] = {}
        self._expected: dict[str, Edited] = {}
        self._nudged = (0.0, 0.0)
        self._lifted = False
        self._over = ""

    # --- pointer --------------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Take hold of a handle, a node, a segment, or begin a rubber band."""
        if self._expected:
            return
        view, adding = self.canvas.view, bool(modifiers & _Shift)
        node = node_at(self.shapes, view, pixel)
        handle = handle_at(self.shapes, view, pixel)
        if handle is not None and (node is None or node[1] not in self.shapes[node[0]].chosen):
            self.held, self.segment = handle, None
            self.drag = HandleDrag(self, handle, pixel)
            self.changed.emit()
            return
        if node is not None:
            key, number = node
            was = number in self.shapes[key].chosen
            if adding:
                self.choose({key: (number,)}, toggling=True)
            elif not was:
                self.choose({key: (number,)})
            self.held = self.segment = None
            if number in self.shapes[key].chosen:
                self.drag = NodesDrag(self, node, pixel, lone_click=was and not adding)
            self.say_node(key, number)
            return
        found = segment_at(self.shapes, view, pixel)
        if found is not None:
            if adding:
                before = self.chosen
                self.choose_segment(found)
                self.choose(before, adding=True)
            else:
                self.choose_segment(found)
            self.drag = SegmentDrag(self, found, pixel)
            return
        self.drag = BandDrag(self, pixel, adding=adding)

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the hand."""
        if self.drag is not None and not self._expected:
            self.drag.move(pixel, modifiers)
        else:
            self._hover(pixel)
        self.canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """End the drag as one step."""
        drag, self.drag = self.drag, None
        self.spot = None
        if drag is not None and not self._expected:
            drag.release(pixel, modifiers)
        self.canvas.update()

    def double_click(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """On a segment: a new node there. Beside everything: leave, and select what lies there."""
        if node_at(self.shapes, self.canvas.view, pixel) is not None:
            return
        found = segment_at(self.shapes, self.canvas.view, pixel)
        if found is not None:
            self.drag = None
            self.choose_segment(found)
            self.do("add")
        elif self.canvas.row_at(pixel) is None:
            self.canvas.put_down()

    def context(self, pixel: QPointF) -> None:
        """Pick the node or the segment under the pointer, unless it is picked."""
        node = node_at(self.shapes, self.canvas.view, pixel)
        if node is not None:
            if node[1] not in self.shapes[node[0]].chosen:
                self.choose({node[0]: (node[1],)})
        elif (found := segment_at(self.shapes, self.canvas.view, pixel)) is not None:
            self.choose_segment(found)

    def beside(self, pixel: QPointF) -> None:
        """A click beside all nodes lets go of those picked; where none was, the shape there shows its own instead."""
        if self.chosen or self.held is not None:
            self.choose({})
            return
        row = self.canvas.row_at(pixel)
        if row is not None and isinstance(row.placed.leaf, Shape) and row.placed.leaf.id not in self.shapes:
            self.canvas.opened_leaf.emit(row.placed.leaf.id)

    def _hover(self, pixel: QPointF) -> None:
        view = self.canvas.view
        if handle_at(self.shapes, view, pixel) is not None:
            over = translate("Canvas", "Drag the handle; Alt frees it from the other one, Shift keeps to 45°")
        elif node_at(self.shapes, view, pixel) is not None:
            over = translate("Canvas", "Drag the node; Shift adds it to those picked")
        elif segment_at(self.shapes, view, pixel) is not None:
            over = translate("Canvas", "Drag to bend the segment; a double-click adds a node here")
        else:
            over = translate("Canvas", "Drag a band over nodes to pick them; Escape leaves the nodes")
        if over != self._over:
            self._over = over
            self.canvas.say(over)

    # --- keys -----------------------------------------------------------------------------------------------------

    def wants(self, key: int, modifiers: Modifiers) -> bool:
        """Take Delete and Ctrl+A for nodes."""
        plain = modifiers == Qt.KeyboardModifier.NoModifier
        return (plain and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)) or (
            modifiers == _Ctrl and key == Qt.Key.Key_A
        )

    def key(self, event: QKeyEvent) -> bool:
        """Tab goes from node to node, arrows nudge, letters do what the bench offers."""
        from bladewise.window.canvas.node_actions import action_of_key

        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            self.step_through(back=key == Qt.Key.Key_Backtab)
        elif held == _Ctrl and key == Qt.Key.Key_A:
            self.choose_all()
        elif held & ~_Shift:
            return False
        elif key in ARROWS and (self.chosen or self.held is not None):
            self._nudge(ARROWS[key], far=bool(held & _Shift))
        elif key in ARROWS:
            self.canvas.say(translate("Canvas", "Tab picks a node to be moved"))
        elif key == Qt.Key.Key_H and not held:
            self.step_handles()
        elif key in ENTER:
            self.canvas.put_down()
        elif not held and (action := action_of_key(key)) is not None:
            self.do(action)
        else:
            return False
        return True

    def key_released(self, event: QKeyEvent) -> bool:
        """End a nudge as one step."""
        if Qt.Key(event.key()) not in ARROWS:
            return False
        if self._nudged != (0.0, 0.0) and not self._expected:
            self._end_nudge()
        return True

    def escape(self) -> bool:
        """Give up a drag; else let go of what is picked; else there is nothing to give up."""
        if self.drag is not None or self._nudged != (0.0, 0.0):
            self.drag = None
            self._nudged = (0.0, 0.0)
            self.show_preview({})
            return True
        if self.chosen or self.held is not None:
            self.choose({})
            return True
        return False

    def _nudge(self, way: tuple[float, float], *, far: bool) -> None:
        if self._expected:
            return
        size = self.canvas.nudge_far_mm if far else self.canvas.nudge_mm
        dx, dy = self._nudged[0] + way[0] * size, self._nudged[1] + way[1] * size
        self._nudged = round(dx, 6), round(dy, 6)
        self.show_preview(self._moved(*self._nudged))

    def _moved(self, dx: float, dy: float) -> dict[str, Edited]:
        if self.held is not None and (at := self.place()) is not None:
            path = self.shapes[self.held.shape].path
            to = (at[0] + dx, at[1] + dy)
            return {self.held.shape: handle_moved(path, self.held.node, self.held.side, to)}
        return {key: nodes_moved(self.shapes[key].path, rows, dx, dy) for key, rows in self.chosen.items()}

    def _end_nudge(self) -> None:
        (dx, dy), self._nudged = self._nudged, (0.0, 0.0)
        if self.held is not None and (at := self.place()) is not None:
            values = {
                "nodes": {self.held.shape: [self.held.node]},
                "side": self.held.side.value,
                "x_mm": at[0] + dx,
                "y_mm": at[1] + dy,
            }
            self.ask(operations.step("move-handle", values), self.preview)
        else:
            step = operations.step("move-nodes", {"nodes": self.chosen, "dx_mm": dx, "dy_mm": dy})
            self.ask(step, self.preview)

    # --- steps ----------------------------------------------------------------------------------------------------

    def do(self, action: str) -> None:
        """Do one of the node actions with what is picked."""
        from bladewise.window.canvas.node_actions import NODE_ACTIONS

        NODE_ACTIONS[action].do(self)

    def show_preview(self, edited: dict[str, Edited]) -> None:
        """Show what would come of it; the art is taken out of the picture meanwhile where it is painted anew."""
        self.preview = edited
        self._shown = {key: carried(self.shapes[key], each) for key, each in edited.items()}
        small = frozenset(key for key, each in edited.items() if len(each.path) <= PAINTED_WHOLE)
        if small and not self._lifted:
            self.canvas.lift(small)
            self._lifted = True
        elif not edited and self._lifted:
            self._lifted = False
            self.canvas.lay_down()
        self.canvas.update()

    def ask(self, step: Step, edited: dict[str, Edited]) -> None:
        """Ask for a step; `edited` is what it makes of the shapes, so that what is picked stays picked."""
        self._expected = dict(edited)
        self.canvas.step_wanted.emit(step)

    def job_changed(self) -> None:
        """Show the nodes as they are now."""
        expected, self._expected = self._expected, {}
        self.preview, self._lifted, self.drag = {}, False, None
        self._nudged = (0.0, 0.0)
        elements = self.canvas.elements()
        for key, shape in list(self.shapes.items()):
            leaf = elements.get(key)
            if not isinstance(leaf, Shape) or not leaf.path:
                del self.shapes[key]
            elif key in expected and expected[key].path == leaf.path:
                self.shapes[key] = carried(shape, expected[key])
            elif leaf.path is not shape.path:
                same = len(shape.table.points) == len(NodeShape.of(key, leaf.path).table.points)
                self.shapes[key] = NodeShape.of(key, leaf.path, shape.chosen if same else ())
                self.held = None
        self.segment = None
        if not self.shapes:
            self.canvas.put_down()
            return
        self.changed.emit()

    def selection_changed(self) -> None:
        """Another shape was selected somewhere: its nodes are shown instead, or none."""
        chosen = self.canvas.selection
        if chosen and not chosen & self.shapes.keys() and not self._expected:
            self.canvas.put_down()

    def settle(self) -> None:
        """The step did not apply: show everything as it is."""
        self._expected = {}
        self._nudged = (0.0, 0.0)
        self.preview, self._lifted = {}, False
        self.canvas.update()

    def leave(self) -> None:
        """Lay everything back."""
        self.drag = None
        if self._lifted:
            self._lifted = False
            self.canvas.lay_down()
        self.preview = {}

    # --- showing --------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter) -> None:
        """Show the shapes as they would be, their nodes and handles."""
        canvas = self.canvas
        window = QRectF(canvas.rect())
        for key, shape in self.shapes.items():
            edited = self.preview.get(key)
            row = canvas.scene.row(key)
            if row is None:
                continue
            shown = shape
            if edited is None:
                node_painting.paint_outline(painter, row.drawing, canvas.view, canvas.colours)
            else:
                leaf = row.placed.leaf
                assert isinstance(leaf, Shape)
                if len(edited.path) > PAINTED_WHOLE:
                    node_painting.paint_outline(painter, row.drawing, canvas.view, canvas.colours)
                    node_painting.paint_changed(painter, shape.path, edited.path, canvas.view, canvas.colours)
                else:
                    drawing = Drawing(replace(leaf, path=edited.path), exact_stroke=False)
                    if self._lifted:
                        self._paint_leaf(painter, drawing, key)
                    node_painting.paint_outline(painter, drawing, canvas.view, canvas.colours)
                shown = self._shown[key]
            held = self.held
            lone = self.segment.segment if self.segment is not None and self.segment.shape == key else None
            node_painting.paint_nodes(
                painter, shown, canvas.view, window, canvas.colours, held=held, lone_segment=None if edited else lone
            )
        if self.drag is not None:
            self.drag.paint(painter)

    def _paint_leaf(self, painter: QPainter, drawing: Drawing, key: str) -> None:
        canvas = self.canvas
        if canvas.shown_mode is ViewMode.FILL:
            paint_leaf(painter, drawing, canvas.view)
        elif (row := canvas.scene.row(key)) is not None:
            pen = material_pen(row.material, canvas.colours.paper(canvas.shown_mode))
            paint_hairline(painter, drawing, canvas.view, pen)
