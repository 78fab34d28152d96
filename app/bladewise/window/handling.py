"""What the hand is about, started by action, key, verb or double-click: nodes, measuring, guides, drawing."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent

from bladewise.document import Group, Lettering, Shape
from bladewise.window.bench.hand_strips import MeasureStrip, strip_for
from bladewise.window.canvas.draw import Draw, DrawAbout, DrawBox, DrawFreehand, DrawLine, PartByLine, PlaceBaseline
from bladewise.window.canvas.draw_path import DrawPath
from bladewise.window.canvas.guides import SettingGuide
from bladewise.window.canvas.handiwork import PickingSmall
from bladewise.window.canvas.measure import Measuring
from bladewise.window.canvas.node_actions import NODE_ACTIONS
from bladewise.window.canvas.node_editing import NodeEditing
from bladewise.window.desk import Message
from bladewise.window.lettering.retyping import Retyping
from bladewise.window.measuring import measure

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QMenu

    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.canvas.handiwork import Handiwork
    from bladewise.window.desk import Desk
    from bladewise.window.measuring import Measured

_BY_HAND: dict[str, Callable[..., Draw]] = {
    "draw-rectangle": DrawBox,
    "draw-ellipse": DrawBox,
    "draw-polygon": DrawAbout,
    "draw-star": DrawAbout,
    "draw-line": DrawLine,
    "draw-path": DrawPath,
    "draw-outline": partial(DrawPath, curved=False),
    "draw-freehand": DrawFreehand,
    "set-lettering": PlaceBaseline,
    "part-along-line": PartByLine,
}
"""What the hand does on the canvas while a verb is open."""

HAND_PX = 2.0
"""A hand drawing a line is as exact as this on the screen; the smooth line may leave it by so much."""

MOST_SHAPES = 200
"""The nodes of more shapes than this at once help nobody."""


class Handling(QObject):
    """Takes up what the hand is to be about, and shows its strip on the bench."""

    def __init__(self, canvas: Canvas, bench: Bench, desk: Desk, parent: QObject) -> None:
        """Listen to canvas and bench."""
        super().__init__(parent)
        self._canvas, self._bench, self._desk = canvas, bench, desk
        self._strip: Any = None
        canvas.work_changed.connect(self._work_changed)
        canvas.opened_leaf.connect(self._opened)
        canvas.installEventFilter(self)
        bench.instead["retype"] = self.retype
        bench.opened.connect(self._verb_opened)
        bench.left.connect(self._verb_left)
        desk.opened.connect(canvas.put_down)
        bench.place.reference_chosen.connect(canvas.set_reference)
        canvas.scale_strokes = bench.place.strokes.isChecked()
        bench.place.strokes.toggled.connect(self._strokes_toggled)
        bench.place.left.connect(canvas.setFocus)
        canvas.pivot_changed.connect(lambda: bench.place.set_pivot(canvas.reference, canvas.pivot))
        desk.selection_changed.connect(lambda _ids: self._measure_selection())
        desk.job_changed.connect(lambda _changes: self._measure_selection())

    # --- starting -------------------------------------------------------------------------------------------------

    def edit_nodes(self) -> None:
        """Show the nodes of what is selected; again: leave them."""
        if isinstance(self._canvas.work, NodeEditing):
            self._canvas.put_down()
            return
        placed = [each for each in self._desk.selected_leaves() if each.visible and not each.locked]
        shapes = [each.leaf for each in placed if isinstance(each.leaf, Shape) and each.leaf.path]
        if not shapes:
            lettering = any(isinstance(each.leaf, Lettering) for each in placed)
            text = (
                self.tr("Live lettering has no nodes of its own yet: turn it into shapes first.")
                if lettering
                else self.tr("Select a shape that is not locked, then its nodes can be shown.")
            )
            self._desk.tell(Message(text))
            return
        self._take_up(NodeEditing(self._canvas, tuple(shape.id for shape in shapes[:MOST_SHAPES])))

    def retype(self) -> None:
        """Type the lettering that is selected anew, where it stands."""
        placed = [each for each in self._desk.selected_leaves() if isinstance(each.leaf, Lettering)]
        free = [each.leaf for each in placed if each.visible and not each.locked]
        if not free:
            text = self.tr("This lettering is locked or hidden.") if placed else self.tr("Select live lettering first.")
            self._desk.tell(Message(text))
            return
        if len(self._desk.selection) > 1:
            self._desk.select({free[0].id})
        self._take_up(Retyping(self._canvas, self._desk, free[0]))
        if self._strip is not None:
            self._strip.first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def measure(self) -> None:
        """Begin to measure; again: end."""
        if isinstance(self._canvas.work, Measuring):
            self._canvas.put_down()
            return
        self._take_up(Measuring(self._canvas))
        self._measure_selection()

    def select_smaller(self) -> None:
        """Ask on the bench how small, and select what is smaller."""
        self._take_up(PickingSmall(self._canvas))
        if self._strip is not None:
            self._strip.first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def set_guide(self, *, upright: bool) -> None:
        """Set a guide, upright or level."""
        self._take_up(SettingGuide(self._canvas, upright=upright))

    def _take_up(self, work: Handiwork) -> None:
        self._bench.leave()
        self._canvas.take_up(work)
        self._canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def _opened(self, any_id: str) -> None:
        element = self._desk.job.element(any_id)
        if isinstance(element, Group):
            return
        self._canvas.put_down()
        self._desk.select({any_id})
        if isinstance(element, Lettering):
            self.retype()
        else:
            self.edit_nodes()

    def _strokes_toggled(self, on: bool) -> None:  # noqa: FBT001 - connected to a signal
        self._canvas.scale_strokes = on

    # --- in step --------------------------------------------------------------------------------------------------

    def _work_changed(self, work: Handiwork | None) -> None:
        if self._strip is not None:
            self._bench.hide_strip()
            self._strip = None
        if work is None:
            if self._bench.operation is not None and self._bench.operation.name == "draw-guide":
                self._bench.leave()
            return
        self._strip = strip_for(work, self._desk)
        if self._strip is not None:
            self._bench.show_strip(self._strip)

    def _verb_opened(self, name: str) -> None:
        """Let the hand draw what the verb makes, if it makes something a hand can draw."""
        self._canvas.put_down()
        if name == "draw-guide":
            self._canvas.take_up(SettingGuide(self._canvas, upright=self._is_upright(), is_verb=True))
            assert self._bench.form is not None
            self._bench.form.changed.connect(self._guide_turned)
            return
        maker = _BY_HAND.get(name)
        if maker is None:
            return
        work = maker(self._canvas, name, self._bench.by_hand.numbers)
        work.drawn.connect(self._bench.by_hand.draw)
        work.shaping.connect(lambda values: self._bench.by_hand.show_numbers(values, tell=work.tells))
        self._canvas.take_up(work)
        if name == "draw-freehand":  # what a hand can mean is a matter of the screen, not of the sheet
            tolerance = round(HAND_PX / self._canvas.view.scale, 3)
            self._bench.by_hand.show_numbers({"tolerance_mm": max(tolerance, 0.001)}, tell=False)

    def _is_upright(self) -> bool:
        return bool(self._bench.by_hand.numbers().get("way", "upright") == "upright")

    def _guide_turned(self) -> None:
        work = self._canvas.work
        if isinstance(work, SettingGuide):
            work.upright = self._is_upright()
            self._canvas.update()

    def _verb_left(self) -> None:
        if isinstance(self._canvas.work, (Draw, SettingGuide)):
            self._canvas.put_down()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter applies an open verb and Escape leaves it from the canvas too, unless the hand has a use for them."""
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress or self._bench.operation is None:
            return False
        work = self._canvas.work
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if work is None or not work.key(event) or (self._bench.by_hand.is_drawn and isinstance(work, DrawPath)):
                self._bench.apply()
            return True
        if event.key() == Qt.Key.Key_Escape:
            if work is None or not work.escape():
                self._bench.leave()
            return True
        return False

    def _measure_selection(self) -> None:
        work = self._canvas.work
        if not isinstance(work, Measuring):
            return
        leaves = [placed.leaf for placed in self._desk.selected_leaves()]
        if not leaves:
            work.set_measured(None)
            return

        work.wait()

        def finish(found: Measured) -> None:
            if self._canvas.work is work and [each.leaf for each in self._desk.selected_leaves()] == leaves:
                work.set_measured(found)

        self._desk.ghosts.start(lambda _progress: measure(leaves), finish, self._desk.tell_error, instead=True)

    # --- menu and keys --------------------------------------------------------------------------------------------

    def fill_menu(self, menu: QMenu) -> bool:
        """Put into a menu what fits what the hand is about; False if the verbs of the selection belong there."""
        work = self._canvas.work
        if not isinstance(work, NodeEditing):
            return False
        for name, action in NODE_ACTIONS.items():
            entry = menu.addAction(action.title(), partial(work.do, name))
            entry.setEnabled(action.fits(work))
        menu.addSeparator()
        menu.addAction(self.tr("Leave the nodes"), self._canvas.put_down)
        return True

    def copy_text(self) -> bool:
        """Copy what was measured, if the hand is about measuring."""
        if isinstance(self._strip, MeasureStrip) and self._strip.copy_button.isEnabled():
            self._strip.copy()
            return True
        return False
