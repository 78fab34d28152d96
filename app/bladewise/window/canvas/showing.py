"""What the canvas has to show: the job, what is selected of it, the ghost, the findings, and art on its way.

How it is painted is said in `surface`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPoint, QTimer, Signal

from bladewise.document import Box, Element, bounds_of, measure_together
from bladewise.operations.arrange import Anchor
from bladewise.window.canvas import marks, reaches
from bladewise.window.canvas.back_buffer import BackBuffer
from bladewise.window.canvas.colours import CanvasColours
from bladewise.window.canvas.ghost import Ghost
from bladewise.window.canvas.lifted import LiftedArt
from bladewise.window.canvas.signs import Signs
from bladewise.window.canvas.snapping import Landmarks, SnapRules
from bladewise.window.canvas.viewing import IS_LOST, WAS_SEEN, Viewing
from bladewise.window.painting import ViewMode

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtWidgets import QWidget

    from bladewise.checks.reach import Reach
    from bladewise.document import Changes, Job
    from bladewise.findings import Finding
    from bladewise.geometry.path import Point
    from bladewise.window.canvas.gestures import Gesture
    from bladewise.window.canvas.grip import Grip
    from bladewise.window.canvas.handiwork import Handiwork
    from bladewise.window.canvas.scene import Row


class Held(NamedTuple):
    """A selection: the boxes of its elements, the box of all, the rows shown of it, whether it may be moved."""

    boxes: list[Box]
    box: Box | None
    rows: list[Row]
    is_movable: bool


class Showing(Viewing):
    """What is shown, kept in step with the job."""

    selection_changed = Signal(object)
    hint_changed = Signal(str)

    invites = True
    """Whether an empty sheet says how to begin."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Begin with no job."""
        super().__init__(parent)
        self.colours = CanvasColours.of(self.palette())
        self.entered_group: str | None = None
        self._dropping = False
        self._selection: frozenset[str] = frozenset()
        self._elements: dict[str, Element] | None = None
        self._held: Held | None = None
        self._ghost: Ghost | None = None
        self.grip: Grip | None = None
        self._findings: Sequence[Finding] = ()
        self._trouble = marks.Trouble()
        self._drawn = reaches.Drawn()
        self._current: int | None = None
        self._spot = 0
        self.signs = Signs()
        self._gesture: Gesture | None = None
        self.work: Handiwork | None = None
        self.snap_rules = SnapRules()
        self.reference = Anchor.CENTRE
        self.pivot: Point | None = None
        self.landmarks = Landmarks()
        self._lifted: LiftedArt | None = None
        self._pointer: QPoint | None = None
        self._buffers = {mode: BackBuffer(self.scene, mode, self.colours, self) for mode in ViewMode}
        for buffer in self._buffers.values():
            buffer.changed.connect(self.update)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(60)
        self._rest.timeout.connect(self._on_rest)
        self.setMouseTracking(True)

    # --- the job -------------------------------------------------------------------------------------------------

    def set_job(self, job: Job, changes: Changes | None = None) -> None:
        """Show a job; `changes` is what differs from the one shown before, None for a job that is new altogether."""
        fresh = changes is None or self.scene.job is None
        self._end_gesture()
        before = self._landmarks_in_view()
        boxes = self.scene.set_job(job, None if fresh else changes)
        self._elements = self._held = None
        if fresh:
            self.set_ghost(None)
            self.set_findings(())
        if self._lifted is not None:
            if boxes is not None:
                boxes = boxes + self._lifted.boxes
                lifted, ratio = self._lifted, self.devicePixelRatioF()
                self._buffers[self.shown_mode].overlay(lambda painter: lifted.lay_on(painter, ratio))
            self._lifted.end()
            self._lifted = None
            self._leave_out(frozenset())
        still = changes is not None and not changes.structure and not changes.removed
        kept = self._selection if still else frozenset(each for each in self._selection if job.has_id(each))
        self.set_selection(frozenset() if fresh else kept)
        self._mend(boxes)
        if fresh or self._has_left_the_view(before):
            self.zoom_to_fit()
        self.update()

    def _landmarks_in_view(self) -> tuple[bool, bool]:
        """Say whether the whole sheet and all the art are in view; on an empty sheet art is where the sheet is."""
        boxes = self._sheet_and_art()
        sheet = boxes[0] is not None and self.seen(boxes[0]) >= WAS_SEEN
        return sheet, sheet if boxes[1] is None else self.seen(boxes[1]) >= WAS_SEEN

    def _has_left_the_view(self, before: tuple[bool, bool]) -> bool:
        """Say whether an edit took the sheet or the art out of a view that had it; who looks closely stays there."""
        pairs = zip(before, self._sheet_and_art(), strict=True)
        return any(was and box is not None and self.seen(box) < IS_LOST for was, box in pairs)

    def _sheet_and_art(self) -> tuple[Box | None, Box | None]:
        job = self.job
        return None if job is None else (0.0, 0.0, job.width_mm, job.height_mm), self.scene.extent()

    def elements(self) -> dict[str, Element]:
        """Return every element of the job by id."""
        if self._elements is None:
            self._elements = {} if self.job is None else {each.id: each for each in self.job.elements()}
        return self._elements

    # --- selection -----------------------------------------------------------------------------------------------

    @property
    def selection(self) -> frozenset[str]:
        """Ids of the elements that are selected, leaves or groups."""
        return self._selection

    def set_selection(self, ids: frozenset[str]) -> None:
        """Select elements by id; those that the job does not hold are left out."""
        chosen = frozenset(each for each in ids if each in self.elements())
        if chosen == self._selection:
            return
        self._selection = chosen
        self._held = None
        self.selection_changed.emit(chosen)
        self.update()

    def held(self) -> Held:
        """Return what there is to know about the selection; found once and kept until it or the job changes."""
        if self._held is None:
            elements, scene = self.elements(), self.scene
            measure_together(elements[each] for each in self._selection)
            boxes = [box for each in self._selection if (box := elements[each].bounds) is not None]
            rows = [scene.row(each) for each in scene.leaf_ids(self._selection)]
            shown = [row for row in rows if row is not None]
            movable = bool(shown) and not any(row.placed.locked for row in shown)
            self._held = Held(boxes, bounds_of([elements[each] for each in self._selection]), shown, movable)
        return self._held

    def selection_box(self) -> Box | None:
        """Return the extent of all that is selected, in mm."""
        return self.held().box

    def pivot_mm(self) -> Point:
        """Return the point about which art is turned and leant: the one set by hand, or the reference point."""
        if self.pivot is not None:
            return self.pivot
        box = self.held().box
        return self.reference.point(box) if box is not None else (0.0, 0.0)

    def is_movable(self) -> bool:
        """Whether what is selected may be moved by hand: something is shown of it, and nothing is locked."""
        return self.held().is_movable

    def set_signs(self, *, direction: bool, hidden: bool) -> None:
        """Show in outline-only view which way the knife goes and where it begins, and what is hidden."""
        self.signs = replace(self.signs, direction=direction, hidden=hidden)
        self._refresh()

    def set_material_filter(self, material_id: str | None) -> None:
        """Show only one material strongly; None: all."""
        self.scene.set_material_filter(material_id)
        for buffer in self._buffers.values():
            buffer.forget()
        self._refresh()

    # --- above the art -------------------------------------------------------------------------------------------

    def set_ghost(self, job: Job | None, changed: frozenset[str] | None = None) -> None:
        """Show what a step would make of the job; None takes it away."""
        ghost = None if job is None or self.job is None else Ghost(self.job, job, changed)
        if ghost is None and self._ghost is None:
            return
        self._ghost = ghost
        self.update()

    def set_grip(self, grip: Grip | None) -> None:
        """Show a grip on the ghost, or none."""
        if grip != self.grip:
            self.grip = grip
            self.update()

    @property
    def has_ghost(self) -> bool:
        """Whether a ghost is shown that holds anything."""
        return self._ghost is not None and self._ghost.cost > 0

    def set_findings(
        self, findings: Sequence[Finding], current: int | None = None, spot: int = 0, drawn: Sequence[Reach] = ()
    ) -> None:
        """Mark findings where they are, and draw what they reach over, as far as that is known.

        `current` is the index of the one to emphasise, `spot` that of its place.
        """
        if findings is not self._findings:
            self._trouble = marks.Trouble(findings)
        self._drawn = reaches.Drawn(findings, drawn)
        self._findings, self._current, self._spot = findings, current, spot
        self.update()

    def marks(self) -> list[marks.Mark]:
        """Return the marks that are to be seen now."""
        return self._trouble.marks(self._view, self.window_box(), self._current, self._spot)

    def say(self, hint: str) -> None:
        """Say something about what the hand is doing, for the status line and for screen readers."""
        self.hint_changed.emit(hint)

    # --- art on its way ------------------------------------------------------------------------------------------

    def lift(self, ids: frozenset[str]) -> LiftedArt:
        """Take leaves out of the picture so that a gesture can show them elsewhere."""
        if self._lifted is not None:
            self._lifted.end()
        self._lifted = LiftedArt(self.scene, ids, self.shown_mode, self.colours.paper(self.shown_mode))
        self._leave_out(ids)
        self._mend(self._lifted.boxes)
        return self._lifted

    def lay_down(self) -> None:
        """Put lifted art back into the picture."""
        if self._lifted is not None:
            boxes = self._lifted.boxes
            self._lifted.end()
            self._lifted = None
            self._leave_out(frozenset())
            self._mend(boxes)
        self.update()

    def _leave_out(self, ids: frozenset[str]) -> None:
        for buffer in self._buffers.values():
            buffer.leave_out(ids)

    def _mend(self, boxes: list[Box] | None) -> None:
        """Mend the picture that is shown; the one that is not is painted anew when it is asked for."""
        for mode, buffer in self._buffers.items():
            if mode is self.shown_mode:
                buffer.mend(boxes)
            else:
                buffer.expire()

    def _end_gesture(self) -> None:
        self._gesture = None

    def _on_rest(self) -> None:
        self._sharpen_ghost()
        self.update()

    def _sharpen_ghost(self) -> None:
        if self._ghost is not None:
            ratio = self.devicePixelRatioF()
            self._ghost.render(self._view.times(ratio), self.size() * ratio, self.colours.ghost)
