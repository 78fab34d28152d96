"""Make cut-ready: the proposed steps in a list, and beside it what each makes of the outlines.

Everything is worked out on values in a worker; the job stays as it is until the steps that are ticked are done, each
as a step of its own. When the job changes meanwhile the page says so, and does nothing with what it showed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal

from bladewise.document import bounds_of
from bladewise.operations import ALL, Selection
from bladewise.window import keys
from bladewise.window.controls import label
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say
from bladewise.window.readying.chain import Chain, places, proposed, ticked
from bladewise.window.readying.frame import PageFrame
from bladewise.window.readying.rows import LeftRow, StepRow, WholeRow
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent
    from PySide6.QtWidgets import QWidget

    from bladewise.document import Box
    from bladewise.errors import BladewiseError
    from bladewise.findings import Finding
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

MOST_LEFT = 60
"""So many findings that are left are listed; of more the number is told."""

NEAR_MM = 15.0
"""How much around a small place is shown when the pictures go there."""


class ReadyingPage(PageFrame):
    """The page that takes the place of layers, canvas and stack while it is open."""

    left = Signal()

    def __init__(self, desk: Desk, *, whole: bool = False) -> None:
        """Lay out the page and begin to plan: for what is selected if anything is, unless it is to be for all."""
        super().__init__()
        self._desk = desk
        self._worker = Worker(self)
        self._worker.progressed.connect(lambda fraction: self.bar.setValue(int(fraction * 1000)))
        self.chain: Chain | None = None
        self.rows: list[StepRow] = []
        self.left_rows: list[LeftRow] = []
        self.current = -1
        self.whole = WholeRow()
        self._tail: list[QWidget] = []
        self._places: list[Box] = []
        ids = desk.on_selection()
        self._selected = Selection() if ids == "all" else Selection.of(*ids)
        self.build(len(self._selected.id), whole=whole)
        desk.job_changed.connect(self._job_changed)
        self.plan()

    # --- planning -------------------------------------------------------------------------------------------------

    @property
    def on(self) -> Selection:
        """What is to be made ready."""
        return self._selected if self.about.value() == "selection" else ALL

    @property
    def is_stale(self) -> bool:
        """Whether the job is another than the one the steps were worked out for."""
        return self.chain is not None and self.chain.job is not self._desk.job

    def plan(self) -> None:
        """Work out the steps anew."""
        job, on = self._desk.job, self.on
        self._clear()
        self.chain = None
        self._begin(self.tr("Working out the steps…"))
        self.summary.setText("")
        self.pair.show_jobs(job, job, self.tr("After"), (frozenset(), frozenset()), [])

        def finish(chain: Chain) -> None:
            self._end()
            self.chain = chain
            self._fill()
            self._choose(-1)
            if self._desk.job is not job:
                self._show_state()
            if self.rows and self._has_no_focus_within():
                self.whole.setFocus(Qt.FocusReason.OtherFocusReason)

        self._worker.start(lambda progress: proposed(job, on, progress), finish, self._failed, instead=True)

    def _retick(self) -> None:
        """Work out what comes of the steps that are ticked now."""
        chain = self.chain
        if chain is None:
            return
        ticks = [row.tick.isChecked() for row in self.rows]
        self._begin(self.tr("Working out what changes…"))

        def work(progress: Progress) -> Chain:
            return ticked(chain, ticks, progress)

        def finish(after: Chain) -> None:
            self._end()
            if self.chain is not chain:
                return
            self.chain = after
            for row, link in zip(self.rows, after.links, strict=True):
                row.show_link(link)
            self._fill_left()
            self._choose(self.current, zoom=False)

        self._worker.start(work, finish, self._failed, instead=True)

    def _begin(self, text: str) -> None:
        self.work.setText(text)
        self.bar.setValue(0)
        for each in (self.work, self.bar, self.stop):
            each.show()
        self.do_button.setEnabled(False)
        self.stale.hide()

    def _end(self) -> None:
        for each in (self.work, self.bar, self.stop):
            each.hide()

    def _failed(self, error: BladewiseError) -> None:
        if self._worker.is_busy:
            return  # something newer is under way
        self._end()
        self.work.setText(say(error.what))
        self.work.show()
        if self.chain is not None:  # the ticks no longer match what is known
            for row, link in zip(self.rows, self.chain.links, strict=True):
                row.set_ticked(on=link.ticked)
            self._show_state()
        else:
            self.stale.hide()
            self.summary.setText(self.tr("Stopped; nothing is proposed, and nothing was changed."))

    def stop_work(self) -> None:
        """Stop what is being worked out."""
        self._worker.cancel()

    # --- what is shown --------------------------------------------------------------------------------------------

    def _clear(self) -> None:
        while self.list.count():
            item = self.list.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.rows, self.left_rows, self._tail = [], [], []
        self.do_button.setText(self.tr("Do these steps"))

    def _fill(self) -> None:
        self._clear()
        assert self.chain is not None
        if self.chain.links:
            self.whole = WholeRow()
            self.whole.chosen.connect(lambda: self._choose(-1))
            self.whole.stepped.connect(self._step_to)
            self.list.addWidget(self.whole)
        for number, link in enumerate(self.chain.links):
            row = StepRow(number + 1, link)
            row.chosen.connect(lambda number=number: self._choose(number))
            row.ticked.connect(self._retick)
            row.stepped.connect(self._step_to)
            self.rows.append(row)
            self.list.addWidget(row)
        self.list.addStretch(1)
        self._fill_left()

    def _fill_left(self) -> None:
        """List what a person must decide below the steps."""
        assert self.chain is not None
        for widget in self._tail:
            self.list.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        self._tail, self.left_rows = [], []
        left = [finding for finding in self.chain.left if not finding.remedy.is_safe_step]
        again = len(self.chain.left) - len(left)
        at = self.list.count() - 1
        if left:
            head = label(self.tr("Left for you to decide"), "title")
            head.setContentsMargins(16, 16, 16, 4)
            self._tail.append(head)
            for finding in left[:MOST_LEFT]:
                row = LeftRow(finding)
                row.wanted.connect(lambda finding=finding: self.show_finding(finding))
                self.left_rows.append(row)
                self._tail.append(row)
        if len(left) > MOST_LEFT:
            self._tail.append(self._note(self.tr("and {n} more").format(n=len(left) - MOST_LEFT)))
        if again:
            text = self.tr("1 finding stays though there is a remedy: its step is not ticked here.")
            many = self.tr("{n} findings stay though there are remedies: their steps are not ticked here.")
            self._tail.append(self._note(text if again == 1 else many.format(n=again)))
        for number, widget in enumerate(self._tail):
            self.list.insertWidget(at + number, widget)
        self._show_state()

    def _note(self, text: str) -> QWidget:
        note = label(text, "muted")
        note.setWordWrap(True)
        note.setContentsMargins(16, 6, 16, 4)
        return note

    def _show_state(self) -> None:
        """Say how much would be done, and whether it still can."""
        chain = self.chain
        assert chain is not None
        count = len(chain.steps)
        self.stale.setVisible(self.is_stale)
        self.do_button.setEnabled(count > 0 and not self.is_stale and not self._worker.is_busy)
        many = self.tr("Do these {n} steps").format(n=count) if count else self.tr("Do these steps")
        self.do_button.setText(self.tr("Do this step") if count == 1 else many)
        if not chain.links and not chain.left:
            self.summary.setText(self.tr("Nothing stands in the way of a clean cut: there is no step to do."))
        elif not chain.links:
            self.summary.setText(self.tr("No step can be proposed; what stands in the way is for you to decide."))
        else:
            self.summary.setText(
                self.tr("Choose a step to see what it does. Without its tick it is left out. Nothing is done yet.")
            )

    def _choose(self, number: int, *, zoom: bool = True) -> None:
        """Show what a step does; -1 for all of them together."""
        chain = self.chain
        if chain is None:
            return
        self.current = number
        self.whole.set_current(on=number < 0)
        for index, row in enumerate(self.rows):
            row.set_current(on=index == number)
        if number < 0:
            before, after = chain.job, chain.after
            title = self.tr("After all steps")
            told = self.tr("The job as it is, and after the steps that are ticked")
        else:
            link = chain.links[number]
            before, after = link.before, link.after
            title = self.tr("After step {n}").format(n=number + 1)
            told = self.tr("Before and after step {n}").format(n=number + 1)
            self.area.ensureWidgetVisible(self.rows[number], 0, 30)
        changes = before.changes_to(after)
        where = places(before, after, changes)
        if not chain.links:
            title = self.tr("After")
        self.told.setText(told if where else self.tr("No outline changes"))
        self.pair.mark(None)
        self.pair.show_jobs(
            before, after, title, (changes.removed | changes.altered, changes.added | changes.altered), where
        )
        self._places = where
        self.to_changes.setEnabled(bool(where))
        if zoom:
            if number < 0 or not where:
                self.pair.zoom_to_job()
            else:
                self.zoom_to_changes()

    def zoom_to_changes(self) -> None:
        """Show the places that change."""
        if self._places:
            self.pair.zoom_to(_around(self._places))

    def show_finding(self, finding: Finding) -> None:
        """Go to what a person must decide, as it is after the steps that are ticked."""
        self._choose(-1, zoom=False)
        assert self.chain is not None
        self.pair.mark(finding)
        x, y = finding.x_mm, finding.y_mm
        found = [self.chain.after.placed(each) for each in finding.shapes[:40]]
        box = bounds_of([placed.leaf for placed in found if placed is not None])
        reach = NEAR_MM
        if box is not None and len(finding.all_places) == 1:
            reach = max(NEAR_MM, 0.75 * max(box[2] - box[0], box[3] - box[1]))
        self.pair.zoom_to((x - reach, y - reach, x + reach, y + reach))
        self.told.setText(say(finding.message))

    def _job_changed(self, _changes: object) -> None:
        if self._worker.is_busy and self.chain is None:
            self.plan()  # it was still being worked out: for the job as it is now
        elif self.chain is not None:
            self._show_state()

    # --- doing ----------------------------------------------------------------------------------------------------

    def do(self) -> None:
        """Add the ticked steps to the stack, one by one, and leave."""
        chain, desk = self.chain, self._desk
        if chain is None or self.is_stale or self._worker.is_busy or desk.steps.is_busy or not chain.steps:
            return
        desk.job_changed.disconnect(self._job_changed)
        steps = chain.steps
        for step, outcome in steps:
            desk.session.adopt_step(step, outcome)
        count, left = len(steps), len(chain.left)
        text = self.tr("1 step done.") if count == 1 else self.tr("{n} steps done; each can be undone by itself.")
        hint = self.tr("Nothing is left.") if not left else self.tr("Still to look at: {n}.").format(n=left)
        self.left.emit()
        desk.tell(Message(text.format(n=count), Tone.GOOD, hint))

    def leave(self) -> None:
        """Leave the job as it is."""
        self.left.emit()

    def close_down(self) -> None:
        """Stop all work; for when the page goes."""
        self._worker.close()
        self.pair.stop()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ctrl+Enter does the steps, Escape leaves."""
        match keys.meant(keys.readying_keys(), event):
            case "leave":
                self.leave()
            case "do":
                self.do()
            case _:
                super().keyPressEvent(event)
                return
        event.accept()

    def _step_to(self, by: int) -> None:
        """Go on to the step after the current one, or before."""
        number = max(-1, min(self.current + by, len(self.rows) - 1))
        row = self.whole if number < 0 else self.rows[number]
        row.setFocus(Qt.FocusReason.OtherFocusReason)
        self._choose(number)

    def first_stop(self) -> QWidget:
        """Return where the focus goes when it comes to the page."""
        return self.whole if self.chain is not None and self.rows else self.leave_button

    def _has_no_focus_within(self) -> bool:
        focus = self.focusWidget()
        return focus is None or not focus.hasFocus() or focus is self.leave_button


def _around(boxes: list[Box]) -> Box:
    """Return what all boxes lie in, with a little around it."""
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, bottom = max(box[2] for box in boxes), max(box[3] for box in boxes)
    more = max(0.0, NEAR_MM - (right - left) / 2.0), max(0.0, NEAR_MM - (bottom - top) / 2.0)
    return left - more[0], top - more[1], right + more[0], bottom + more[1]
