"""The hand-off: one screen that answers which file goes to which machine, and then writes the files.

Every destination is a band under the operator's own name. What a band shows is what was made for it already, byte by
byte; writing only puts it on the disk.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from bladewise.document import MaterialKind
from bladewise.errors import BladewiseError
from bladewise.formats import Destination, file_name
from bladewise.units import format_length
from bladewise.window.controls import ElidedLabel, FlowLayout, label, push_button, rule
from bladewise.window.design import APART, FAR, HEAD_TYPE, NEAR, PAGE_MARGINS, SMALL
from bladewise.window.desk import Message, Tone
from bladewise.window.hand_off import said
from bladewise.window.hand_off.answers import Answers, answers_for, keep_answers
from bladewise.window.hand_off.band import stops_in
from bladewise.window.hand_off.large import LargeLook
from bladewise.window.hand_off.listing import DestinationList
from bladewise.window.hand_off.results import ResultPage
from bladewise.window.hand_off.tile import MaterialTick
from bladewise.window.hand_off.warnings import Warnings
from bladewise.window.hand_off.working_out import WorkingOut
from bladewise.window.hand_off.writing import Order, Result
from bladewise.window.job_strip.strip import short_names
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from bladewise.document import Job, Material
    from bladewise.findings import Finding
    from bladewise.window.desk import Desk
    from bladewise.window.hand_off.looks import Look

MATERIALS_HIGH = 86
"""Room for two rows of materials; more of them scroll."""


class HandOff(QDialog):
    """Shows what will be written, and writes it."""

    def __init__(self, desk: Desk, source: Path | None = None, parent: QWidget | None = None) -> None:
        """Start with what was answered last for the folder the job comes from."""
        super().__init__(parent)
        self._desk = desk
        self._source = source
        place = desk.session.path or source
        self._place = place.parent if place is not None else None
        self._answers = answers_for(self._place, desk.preferences)
        self._failed = ""
        self.files = WorkingOut(desk, self)
        self.setWindowTitle(self.tr("Hand-off"))
        self.setMinimumSize(880, 600)
        self.resize(1120, 780)
        column = QVBoxLayout(self)
        column.setContentsMargins(*PAGE_MARGINS)
        self.stack = QStackedWidget()
        column.addWidget(self.stack)
        self.stack.addWidget(self._make_main())
        self.large = LargeLook(desk.unit)
        self.large.left.connect(self._show_main)
        self.stack.addWidget(self.large)
        self.results = ResultPage()
        self.stack.addWidget(self.results)
        self.results.closed.connect(self.accept)
        self.results.back_wanted.connect(self._show_main)
        self.results.ended.connect(self._ended)
        desk.job_changed.connect(self._job_changed)
        self.warnings.changed.connect(self._tell)
        self.finished.connect(lambda _code: self._close_workers())
        self.destinations.changed.connect(self._tell)
        self.files.begin_anew(self.left_out)
        self.destinations.fill()
        self.folder.setFocus()

    # --- the main page --------------------------------------------------------------------------------------------

    def _make_main(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(APART)
        job = self._desk.job
        head = QHBoxLayout()
        head.setSpacing(NEAR)
        head.addWidget(label(self.tr("What goes to which machine"), "title", scale=HEAD_TYPE))
        size = " × ".join(format_length(each, unit=self._desk.unit) for each in (job.width_mm, job.height_mm))
        head.addWidget(ElidedLabel(self.tr("{job}, sheet {size}").format(job=job.name, size=size), "muted"))
        head.addStretch(1)
        self.ticket = push_button(self.tr("Job ticket…"), partial(self._show_paper, "ticket"), icon="job-ticket")
        self.proof = push_button(self.tr("Customer proof…"), partial(self._show_paper, "proof"), icon="customer-proof")
        head.addWidget(self.ticket)
        head.addWidget(self.proof)
        column.addLayout(head)
        column.addWidget(self._make_materials(job))
        self.destinations = DestinationList(
            self._desk, self.files, self._answers.to, self.folder_of, self._materials_of_job
        )
        self.destinations.look_wanted.connect(self._show_large)
        self.destinations.place_wanted.connect(self._show_place)
        column.addWidget(self.destinations, 1)
        self.warnings = Warnings(self._desk, lambda: self.left_out)
        self.warnings.place_wanted.connect(self._show_finding)
        column.addWidget(self.warnings)
        column.addWidget(rule())
        column.addLayout(self._make_foot())
        return page

    def _make_materials(self, job: Job) -> QWidget:
        materials = [each for each in job.materials_in_use() if each.kind is not MaterialKind.GUIDE]
        names = short_names(materials)
        self.materials: dict[str, MaterialTick] = {}
        holder = QWidget()
        holder.setObjectName("scrolled")
        flow = FlowLayout(holder, gap=NEAR, row_gap=NEAR)
        for material in materials:
            tick = MaterialTick(material, names[material.id])
            tick.setChecked(material.id not in self._answers.without)
            tick.toggled.connect(lambda _on: self._materials_changed())
            self.materials[material.id] = tick
            flow.addWidget(tick)
        if not materials:
            flow.addWidget(label(self.tr("There is nothing in the job yet."), "muted"))
        area = QScrollArea()
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidgetResizable(True)
        area.setWidget(holder)
        high = flow.heightForWidth(self.width() - 3 * FAR)
        area.setFixedHeight(min(high + SMALL, MATERIALS_HIGH))
        return area

    def _make_foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        start = (self._place or Path(self._desk.preferences.folder)) / "cut"
        self.folder = QLineEdit(self._answers.folder or str(start))
        self.folder.setAccessibleName(self.tr("Folder for the files"))
        self.folder.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.folder.textChanged.connect(lambda _text: self._tell())
        self.folder.editingFinished.connect(self.destinations.show_all)
        words = label(self.tr("Folder"))
        words.setBuddy(self.folder)
        self.choose = push_button(self.tr("Choose…"), self._choose)
        self.choose.setAccessibleName(self.tr("Choose a folder"))
        self.problem = label("", "trouble")
        self.cancel = push_button(self.tr("Cancel"), self.reject)
        self.write_button = push_button("", self.write, kind="primary", icon="export")
        self.write_button.setDefault(True)
        foot.addWidget(words)
        foot.addWidget(self.folder, 1)
        foot.addWidget(self.choose)
        foot.addSpacing(NEAR)
        foot.addWidget(self.problem)
        foot.addWidget(self.cancel)
        foot.addWidget(self.write_button)
        return foot

    # --- Tab ------------------------------------------------------------------------------------------------------

    def _stops(self) -> list[QWidget]:
        """Return what Tab comes to, from the top to the bottom; bands are made anew, and Qt would put them last."""
        stops: list[QWidget] = [self.ticket, self.proof, *self.materials.values()]
        stops += [*self.destinations.stops(), *stops_in(self.warnings)]
        return [*stops, self.folder, self.choose, self.cancel, self.write_button]

    def focusNextPrevChild(self, next_: bool) -> bool:  # noqa: FBT001 - Qt's signature
        """Go on from the top to the bottom, or back."""
        here = self.focusWidget()
        if self.stack.currentIndex() != 0 or here is None:
            return super().focusNextPrevChild(next_)
        stops = [each for each in self._stops() if each is here or _takes_focus(each)]
        if here not in stops or len(stops) < 2:
            return super().focusNextPrevChild(next_)
        reason = Qt.FocusReason.TabFocusReason if next_ else Qt.FocusReason.BacktabFocusReason
        target = stops[(stops.index(here) + (1 if next_ else -1)) % len(stops)]
        target.setFocus(reason)
        if self.destinations.isAncestorOf(target):
            self.destinations.ensureWidgetVisible(target)
        return True

    # --- the files ------------------------------------------------------------------------------------------------

    def _materials_of_job(self) -> list[Material]:
        return [tick.material for tick in self.materials.values()]

    @property
    def left_out(self) -> frozenset[str]:
        """Ids of the materials that stay."""
        return frozenset(key for key, tick in self.materials.items() if not tick.isChecked())

    def folder_of(self, destination: Destination) -> Path:
        """Return where a destination's files go: a folder of its own where several get some."""
        folder = self._folder()
        return folder / file_name(destination.name) if len(self.destinations.chosen) > 1 else folder

    def _job_changed(self, _changes: object) -> None:
        self._materials_changed()

    def _materials_changed(self) -> None:
        self.files.begin_anew(self.left_out)
        self.warnings.look_again()
        self.destinations.show_all()

    # --- what stands against it -----------------------------------------------------------------------------------

    def _tell(self) -> None:
        """Say what stands against writing, and whether it can begin."""
        self.warnings.show_cautions(said.cautions(self._desk.job, self.left_out, self.destinations.chosen))
        count = sum(len(self.files.looks(each)) for each in self.destinations.chosen)
        words = self.tr("Write") if not count else self.tr("Write 1 file")
        self.write_button.setText(words if count < 2 else self.tr("Write {n} files").format(n=count))
        problem = self._problem()
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        waits = any(self.files.of(each) is None for each in self.destinations.chosen) or not self.warnings.has_checked
        is_held = self.warnings.is_in_the_way
        is_open = self.destinations.is_open
        self.write_button.setEnabled(bool(count) and not problem and not waits and not is_held and not is_open)
        self.write_button.setToolTip(self._why_waiting(waits=waits, is_held=is_held, is_open=is_open))
        self.write_button.setAccessibleDescription(self.write_button.toolTip())

    def _problem(self) -> str:
        if not self.folder.text().strip():
            return self.tr("Say into which folder.")
        if self.destinations.bands and not self.destinations.chosen:
            return self.tr("Tick a destination.")
        return ""

    def _why_waiting(self, *, waits: bool, is_held: bool, is_open: bool) -> str:
        if is_open:
            return self.tr("Keep or leave the destination that is open.")
        if waits:
            return self.tr("The files are being worked out, and the job is being checked.")
        return self.tr("The findings above stand against it.") if is_held else ""

    def _show_finding(self, finding: Finding) -> None:
        self.reject()
        self._desk.go_to(finding)

    def _show_place(self, where: str) -> None:
        identity = self.destinations.placed(where)
        if identity is not None:
            self.reject()
            self._desk.select([identity])

    # --- pages ----------------------------------------------------------------------------------------------------

    def _show_large(self, look: Look) -> None:
        self._came_from = self.focusWidget()
        self.large.show_look(look)
        self.stack.setCurrentWidget(self.large)
        (self.large.slider if look.outlines else self.large.back).setFocus()

    def _show_main(self) -> None:
        self.stack.setCurrentIndex(0)
        self.destinations.show_all()
        self.write_button.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves one thing after the other."""
        if event.key() == Qt.Key.Key_Escape and self.stack.currentWidget() is self.large:
            self._show_main()
        elif event.key() == Qt.Key.Key_Escape and self.results.worker.is_busy:
            self.results.worker.cancel()
        else:
            super().keyPressEvent(event)

    def _show_paper(self, sort: str) -> None:
        from bladewise.window.hand_off.paper_making import Sort
        from bladewise.window.hand_off.papers import PapersDialog

        self.keep_answers()
        dialog = PapersDialog(self._desk, Sort(sort), self._source, self, to=self.destinations.chosen)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _choose(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, self.tr("Folder for the files"), self.folder.text())
        if folder:
            self.folder.setText(folder)
            self.destinations.show_all()

    # --- writing --------------------------------------------------------------------------------------------------

    def write(self) -> None:
        """Write what is shown."""
        if not self.write_button.isEnabled():
            return
        self.keep_answers()
        orders = [
            Order(each.name, self.folder_of(each), tuple(look.file for look in looks))
            for each in self.destinations.chosen
            if (looks := self.files.looks(each))
        ]
        self.stack.setCurrentWidget(self.results)
        without = [
            (each.name, say(str(error)))
            for each in self.destinations.chosen
            if isinstance(error := self.files.of(each), BladewiseError)
        ]
        self.results.write(orders, self._folder(), without)

    def _ended(self, results: list[Result]) -> None:
        good = sum(1 for each in results if each.refusal is None)
        if results:
            self._failed = "" if good else self.folder.text().strip()
            self.keep_answers()
        text = self.tr("1 file written to {folder}.") if good == 1 else self.tr("{n} files written to {folder}.")
        tone = Tone.GOOD if good == len(results) else Tone.TROUBLE
        self._desk.tell(Message(text.format(n=good, folder=self._folder()), tone))

    def _folder(self) -> Path:
        return Path(self.folder.text().strip()).expanduser()

    def keep_answers(self) -> None:
        """Keep what was answered, for the jobs of this folder; where nothing could be written is not proposed again."""
        folder = self.folder.text().strip()
        if folder == self._failed:
            folder = self._answers.folder if self._answers.folder != self._failed else ""
        answers = Answers(folder, tuple(each.name for each in self.destinations.chosen), tuple(self.left_out))
        keep_answers(self._place, answers, self._desk.preferences)

    def _close_workers(self) -> None:
        self.files.close()
        self.results.worker.close()


def _takes_focus(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isVisible() and widget.isEnabled()
