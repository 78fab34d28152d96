"""The canvas: the hand's side of it. Pointer, wheel, keys and drops become selections, views and steps."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, QPointF, Qt
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QWheelEvent,
)

from bladewise.document import Group
from bladewise.window.canvas import grips, marks, overlay, picking, rulers
from bladewise.window.canvas.gestures import Band, Gesture, Move, Nudge, Pull
from bladewise.window.canvas.grips import Grip, Lean, MovePivot, Turn
from bladewise.window.canvas.guides import SettingGuide
from bladewise.window.canvas.handiwork import ARROWS
from bladewise.window.canvas.receiving import Receiving
from bladewise.window.canvas.resizing import Resize
from bladewise.window.painting import ViewMode

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from bladewise.document import Box
    from bladewise.window.canvas.scene import Row

WHEEL_FACTOR = 1.25
"""How much one notch of the wheel enlarges."""
TAP_S = 0.25
"""A peek key let go within this time was tapped, not held."""
PAN_PX = 48

_OPENING = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2)
_Button = Qt.MouseButton
_Shift = Qt.KeyboardModifier.ShiftModifier


class Canvas(Receiving):
    """The job, to look at and to take hold of.

    Signals
    -------
    selection_changed(frozenset)
        Ids of elements.
    step_wanted(Step)
        A move or a scaling by hand; the canvas shows it until `set_job` or `settle` answers.
    view_mode_changed(str), view_changed()
        Another view mode; another part of the sheet.
    pointer_moved(float, float)
        Where the pointer is, in mm.
    hint_changed(str)
        What the hand is doing, in words; empty when it rests.
    context_wanted(QPoint)
        A menu is wanted, at a place of the screen.
    files_dropped(list)
        Paths of files.
    group_entered(object)
        The id of the group in which clicks now select, or None.
    work_changed(object)
        Another `Handiwork` was taken up, or None: it was put down.
    mark_chosen(int, float, float)
        A mark was clicked: the index of its finding, and which place of it, in mm.
    opened_leaf(str)
        A shape was double-clicked, or Enter was pressed on it: its nodes are wanted.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        """Make an empty canvas."""
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAcceptDrops(True)
        self.setMinimumSize(160, 120)
        self.setAccessibleName(QCoreApplication.translate("Canvas", "Canvas"))
        self.setAccessibleDescription(
            QCoreApplication.translate(
                "Canvas",
                "The job. Tab steps through the art, arrows move it, Enter shows its nodes, + and - zoom, 0 shows all, "
                "E shows outlines.",
            )
        )
        self._over: Grip | None = None
        self._space = False
        self._peek_since = 0.0

    # --- pointer -------------------------------------------------------------------------------------------------

    def row_at(self, pixel: QPointF) -> Row | None:
        """Return the topmost art under a pixel."""
        return next(picking.under(self.scene, self.view, pixel.x(), pixel.y(), self.shown_mode), None)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a gesture."""
        pixel, modifiers = event.position(), event.modifiers()
        if self._settle.isActive() or self._gesture is not None or self.job is None:
            return
        if event.button() == _Button.MiddleButton or (event.button() == _Button.LeftButton and self._space):
            self._gesture = Pull(self, pixel)
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
            return
        if event.button() != _Button.LeftButton:
            return
        if self.work is not None:
            self.work.press(pixel, modifiers)
        elif (ruler := rulers.ruler_at(pixel)) is not None:
            self.take_up(SettingGuide(self, upright=ruler == "left"))
        else:
            self._gesture = self._pressed(pixel, modifiers)
        self.update()

    def _pressed(self, pixel: QPointF, modifiers: Qt.KeyboardModifier) -> Gesture | None:
        box = self.selection_box() if self.is_movable() else None
        if box is not None and (handle := overlay.handle_at(self.view, box, pixel)) is not None:
            return Resize(self, handle, box, pixel)
        grip = grips.grip_at(self.view, box, self.pivot_mm(), pixel) if box is not None else None
        free = self.pivot is not None or modifiers & Qt.KeyboardModifier.ControlModifier
        if box is not None and grip is not None and (grip is not Grip.PIVOT or free):
            return self._taken(grip, box, pixel)
        found = [
            picking.outermost(row.placed, self.entered_group)
            for row in picking.under(self.scene, self.view, pixel.x(), pixel.y(), self.shown_mode)
        ]
        if not found:
            return Band(self, pixel, modifiers)
        target = found[0]
        if modifiers & _Shift:
            self.set_selection(self.selection ^ {target})
            return None
        held = next((each for each in found if each in self.selection), None)
        if held is None:
            self.set_selection(frozenset({target}))
        elif modifiers & Qt.KeyboardModifier.AltModifier:  # a click takes what lies beneath, a drag what is held
            below = found[found.index(held) + 1 :]
            target = next((each for each in below if each != held), target)
        if self.entered_group is not None and target not in picking.members_of(self.elements(), self.entered_group):
            self.leave_group()
        if not self.is_movable():
            return None
        return Move(self, pixel, clicked=target)

    def _taken(self, grip: Grip, box: Box, pixel: QPointF) -> Gesture:
        match grip:
            case Grip.TURN:
                return Turn(self, box, pixel)
            case Grip.PIVOT:
                return MovePivot(self, pixel)
            case _:
                return Lean(self, box, pixel, across=grip is Grip.ACROSS)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the pointer."""
        pixel = event.position()
        self._pointer = pixel.toPoint()
        self.pointer_moved.emit(*self.view.to_mm(pixel.x(), pixel.y()))
        if self._gesture is not None and not self._settle.isActive():
            self._gesture.move(pixel, event.modifiers())
        elif self.work is not None:
            self.work.move(pixel, event.modifiers())
        else:
            self._set_cursor(pixel)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the gesture."""
        gesture = self._gesture
        if gesture is None and self.work is not None and event.button() == _Button.LeftButton:
            self.work.release(event.position(), event.modifiers())
            self.update()
        if gesture is None or self._settle.isActive() or isinstance(gesture, Nudge):
            return
        if event.button() not in (_Button.LeftButton, _Button.MiddleButton):
            return
        self._end_gesture()
        is_click = not gesture.is_dragging and event.button() == _Button.LeftButton and not event.modifiers()
        gesture.release(event.position(), event.modifiers())
        if is_click and (mark := marks.mark_at(self.marks(), event.position())) is not None:
            self.mark_chosen.emit(mark.findings[0], *self.view.to_mm(mark.place.x(), mark.place.y()))
        self._set_cursor(event.position())
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Enter the group under the pointer, one level at a time."""
        if event.button() != _Button.LeftButton:
            return
        if self.work is not None:
            self.work.double_click(event.position(), event.modifiers())
            return
        box = self.selection_box() if self.is_movable() else None
        over = grips.grip_at(self.view, box, self.pivot_mm(), event.position()) if box is not None else None
        if over is Grip.PIVOT and self.pivot is not None:
            self.set_pivot(None)
            return
        row = self.row_at(event.position())
        if row is None:
            return
        top = picking.outermost(row.placed, self.entered_group)
        if isinstance(self.elements().get(top), Group):
            self.entered_group = top
            self.group_entered.emit(top)
            self.set_selection(frozenset({picking.outermost(row.placed, top)}))
            self.say(QCoreApplication.translate("Canvas", "Inside the group; Escape leaves it"))
        else:
            self.set_selection(frozenset({top}))
            if self.is_movable():
                self.opened_leaf.emit(top)

    def leaveEvent(self, event: QEvent) -> None:
        """Take the pointer's mark off the rulers."""
        self._pointer = None
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer; with Shift go sideways."""
        notches = event.angleDelta().y() / 120.0 or event.angleDelta().x() / 120.0
        if event.modifiers() & _Shift:
            self.set_view(self.view.panned(round(notches * PAN_PX), 0.0))
        elif notches:
            self.zoom_by(WHEEL_FACTOR**notches, event.position().toPoint())
        event.accept()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Select what is under the pointer if nothing of it is, then ask for a menu."""
        if event.reason() == QContextMenuEvent.Reason.Mouse and self.work is not None:
            self.work.context(QPointF(event.pos()))
        elif event.reason() == QContextMenuEvent.Reason.Mouse:
            found = self.row_at(QPointF(event.pos()))
            if found is not None:
                top = picking.outermost(found.placed, self.entered_group)
                if top not in self.selection:
                    self.set_selection(frozenset({top}))
        self.context_wanted.emit(event.globalPos())

    def _rest_cursor(self) -> None:
        if self.work is not None:
            self.setCursor(self.work.cursor)
        else:
            self.unsetCursor()

    def _set_cursor(self, pixel: QPointF) -> None:
        if self._space:
            self.setCursor(Qt.CursorShape.OpenHandCursor)
            return
        if self.work is not None:
            self.setCursor(self.work.cursor)
            return
        box = self.selection_box() if self.selection and self.is_movable() else None
        handle = overlay.handle_at(self.view, box, pixel) if box is not None else None
        grip = None
        if handle is not None:
            self.setCursor(handle.cursor)
        elif box is not None and (grip := grips.grip_at(self.view, box, self.pivot_mm(), pixel)) is not None:
            self.setCursor(grips.cursor_of(grip))
        else:
            self.unsetCursor()
        if grip is not self._over:
            self._over = grip
            self.say(grips.hint_of(grip) if grip is not None else "")

    # --- keys ----------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Take Tab for stepping through the art, tell what a mark means, and zoom by pinching."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride and self._is_meant(event):
            event.accept()
            return True
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            back = event.key() == Qt.Key.Key_Backtab
            plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, _Shift)
            if self.work is not None and self.work.key(event):
                event.accept()
                return True
            if (event.key() == Qt.Key.Key_Tab or back) and plain and self.step_through(back=back):
                event.accept()
                return True
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            self.explain(event)
            return True
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self.zoom_by(1.0 + event.value(), event.position().toPoint())
            return True
        return super().event(event)

    def _is_meant(self, event: QKeyEvent) -> bool:
        """Whether a key that is also an action of the window is meant for what the hand is about."""
        return self.work is not None and self.work.wants(event.key(), event.modifiers())

    def step_through(self, *, back: bool = False) -> bool:
        """Select the next element that can be picked; False at the end, where the focus goes on."""
        order: list[str] = []
        for row in self.scene.rows:
            if not row.placed.locked and not self.scene.is_faint(row):
                top = picking.outermost(row.placed, self.entered_group)
                if not order or order[-1] != top:
                    order.append(top)
        order = list(dict.fromkeys(order))
        here = [index for index, each in enumerate(order) if each in self.selection]
        index = (len(order) - 1 if back else 0) if not here else (here[0] - 1 if back else here[-1] + 1)
        if not 0 <= index < len(order):
            self.set_selection(frozenset())
            return False
        self.set_selection(frozenset({order[index]}))
        self._reveal()
        return True

    def _reveal(self) -> None:
        box = self.selection_box()
        if box is not None and not self.window_box().intersects(self.view.rect(box).adjusted(-1.0, -1.0, 1.0, 1.0)):
            self.center_on((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom, pan, nudge, peek, let go."""
        key = event.key()
        if key == Qt.Key.Key_Escape and self.work is not None:
            if not self.work.escape():
                self.put_down()
            return
        held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if held not in (Qt.KeyboardModifier.NoModifier, _Shift):
            super().keyPressEvent(event)
        elif key in ARROWS:
            self._arrow(*ARROWS[Qt.Key(key)], far=bool(held & _Shift))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(WHEEL_FACTOR)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.zoom_by(1.0 / WHEEL_FACTOR)
        elif key == Qt.Key.Key_0:
            self.zoom_to_fit()
        elif key == Qt.Key.Key_Escape:
            self._escape(event)
        elif key == Qt.Key.Key_Space:
            if not event.isAutoRepeat():
                self._space = True
                self.setCursor(Qt.CursorShape.OpenHandCursor)
        elif key == Qt.Key.Key_E:
            if not event.isAutoRepeat():
                self._peek_since = time.monotonic()
                self.peek(on=True)
        elif key in _OPENING and len(self.selection) == 1 and self.is_movable():
            self.opened_leaf.emit(next(iter(self.selection)))
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """End a nudge, a peek, a pull."""
        if event.isAutoRepeat():
            return
        if self.work is not None and self.work.key_released(event):
            return
        if event.key() in ARROWS and isinstance(self._gesture, Nudge) and not self._settle.isActive():
            nudge = self._gesture
            self._end_gesture()
            nudge.release(QPointF(), event.modifiers())
        elif event.key() == Qt.Key.Key_Space:
            self._space = False
            self._rest_cursor()
        elif event.key() == Qt.Key.Key_E and self._peeking:
            self.peek(on=False)
            if time.monotonic() - self._peek_since < TAP_S:
                self.set_view_mode(ViewMode.FILL if self.view_mode is ViewMode.OUTLINE else ViewMode.OUTLINE)
        else:
            super().keyReleaseEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Let go of what was held by a key."""
        super().focusOutEvent(event)
        self._space = False
        self.peek(on=False)
        self._stop_gesture()
        self._rest_cursor()

    def _arrow(self, across: float, down: float, *, far: bool) -> None:
        if not self.selection or not self.is_movable():
            self.set_view(self.view.panned(-across * PAN_PX, -down * PAN_PX))
            return
        if self._settle.isActive():
            return
        if self._gesture is None:
            self._gesture = Nudge(self)
        if isinstance(self._gesture, Nudge):
            size = self.nudge_far_mm if far else self.nudge_mm
            self._gesture.by(across * size, down * size)

    def _escape(self, event: QKeyEvent) -> None:
        if self._gesture is not None and not self._settle.isActive():
            self._stop_gesture()
        elif self.entered_group is not None:
            group = self.entered_group
            self.leave_group()
            self.set_selection(frozenset({group}))
        elif self.selection:
            self.set_selection(frozenset())
        else:
            super().keyPressEvent(event)
