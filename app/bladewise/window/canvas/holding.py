"""What the canvas holds besides the picture: the step it waits for, what the hand is about, the pivot.

Events come in `canvas`; this is what they change, and what the window may change from outside.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QTimer, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent

from bladewise.document import Group
from bladewise.units import format_length
from bladewise.window.canvas.surface import Surface

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from bladewise.document import Changes, Job
    from bladewise.geometry.path import Point
    from bladewise.operations import Step
    from bladewise.operations.arrange import Anchor
    from bladewise.window.canvas.gestures import Gesture
    from bladewise.window.canvas.handiwork import Handiwork

NUDGE_MM = 0.1
NUDGE_FAR_MM = 1.0
SETTLE_MS = 4_000
"""How long moved art may hang in the air when no step answers."""


class Holding(Surface):
    """The surface with a hand on it; see `Canvas` for the signals."""

    step_wanted = Signal(object)
    pointer_moved = Signal(float, float)
    context_wanted = Signal(QPoint)
    files_dropped = Signal(list)
    group_entered = Signal(object)
    work_changed = Signal(object)
    mark_chosen = Signal(int, float, float)
    opened_leaf = Signal(str)
    pivot_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Begin with an empty hand."""
        super().__init__(parent)
        self.nudge_mm, self.nudge_far_mm = NUDGE_MM, NUDGE_FAR_MM
        self.scale_strokes = True
        """Whether strokes grow with art that is scaled by a handle."""
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self.settle)

    # --- the job and steps ---------------------------------------------------------------------------------------

    def set_job(self, job: Job, changes: Changes | None = None) -> None:
        """Show a job; see `Surface.set_job`."""
        self._settle.stop()
        super().set_job(job, changes)
        if self.work is not None:
            self.work.job_changed()
        if self.entered_group is not None and not isinstance(self.elements().get(self.entered_group), Group):
            self.leave_group()

    def selection_plain(self) -> dict[str, list[str]]:
        """Return the selection as a step refers to it, back to front."""
        order = {key: index for index, key in enumerate(self.elements())}
        return {"id": sorted(self.selection, key=order.__getitem__)}

    def ask(self, step: Step, gesture: Gesture) -> None:
        """Ask for a step; the gesture is shown as it ended until the answer comes."""
        self._gesture = gesture
        self._settle.start()
        self.step_wanted.emit(step)

    def settle(self) -> None:
        """Lay art back that no step moved: for when the step did not apply."""
        self._settle.stop()
        self._end_gesture()
        self.lay_down()
        if self.work is not None:
            self.work.settle()

    # --- what the hand is about ----------------------------------------------------------------------------------

    def take_up(self, work: Handiwork) -> None:
        """Let the hand be about something; what it was about before is left."""
        self.put_down()
        self._stop_gesture()
        self.work = work
        self.say("")
        self.setCursor(work.cursor)
        self.work_changed.emit(work)
        self.update()

    def put_down(self) -> None:
        """Leave what the hand is about."""
        work, self.work = self.work, None
        if work is not None:
            work.leave()
            self.unsetCursor()
            self.say("")
            self.work_changed.emit(None)
            self.update()

    def say_place(self, x_mm: float, y_mm: float, what: str = "") -> None:
        """Tell where the aim of the keys is, and what it has snapped to."""
        self.pointer_moved.emit(x_mm, y_mm)
        place = ", ".join(format_length(each, unit=self.unit) for each in (x_mm, y_mm))
        self.announce(f"{place}: {what}" if what else place)

    def announce(self, text: str) -> None:
        """Say something aloud where a screen reader listens; for what is done by keys."""
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    def _stop_gesture(self) -> None:
        if self._gesture is not None and not self._settle.isActive():
            gesture = self._gesture
            self._end_gesture()
            gesture.cancel()
            self.update()

    # --- selection and pivot -------------------------------------------------------------------------------------

    def set_selection(self, ids: frozenset[str]) -> None:
        """Select elements by id; see `Surface.set_selection`."""
        before = self.selection
        super().set_selection(ids)
        if self.selection == before:
            return
        self.set_pivot(None)
        if self.work is not None:
            self.work.selection_changed()

    def set_pivot(self, place: Point | None) -> None:
        """Turn and lean about a place of the sheet; None: about the reference point."""
        if place != self.pivot:
            self.pivot = place
            self.pivot_changed.emit()
            self.update()

    def set_reference(self, anchor: Anchor) -> None:
        """Turn, lean and place by a point of what is selected."""
        self.reference, self.pivot = anchor, None
        self.pivot_changed.emit()
        self.update()

    def leave_group(self) -> None:
        """Let clicks select outermost groups again."""
        if self.entered_group is not None:
            self.entered_group = None
            self.group_entered.emit(None)
