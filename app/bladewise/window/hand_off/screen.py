"""The hand-off: one screen that answers which file goes to which machine, and then writes the files.

Every destination is a band under the operator's own name. What a band shows is what was made for it already, byte by
byte; writing only puts it on the disk.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
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

from bladewise import checks, formats
from bladewise.document import MaterialKind
from bladewise.errors import BladewiseError, Cancelled, CannotWrite
from bladewise.findings import Severity
from bladewise.formats import Destination, destinations_folder, file_name, only_made_of
from bladewise.units import format_length
from bladewise.window.controls import FlowLayout, IconLabel, label, push_button, rule
from bladewise.window.design import APART, FAR, HEAD_TYPE, NEAR, PAGE_MARGINS, SMALL
from bladewise.window.desk import Message, Tone
from bladewise.window.hand_off import said
from bladewise.window.hand_off.answers import Answers, Shelf, answers_for, keep_answers, told
from bladewise.window.hand_off.band import DestinationBand, stops_in
from bladewise.window.hand_off.large import LargeLook
from bladewise.window.hand_off.looks import Look, looks_of
from bladewise.window.hand_off.results import ResultPage
from bladewise.window.hand_off.tile import MaterialTick, TroubleMark
from bladewise.window.hand_off.writing import Order, Result, not_written, write_orders
from bladewise.window.job_strip.strip import short_names
from bladewise.window.language import say
from bladewise.window.picture import paint_picture
from bladewise.window.worker import Progress, Worker

if TYPE_CHECKING:
    from bladewise.document import Job, Material
    from bladewise.findings import Finding
    from bladewise.window.desk import Desk

AFTER_TYPING_MS = 250
MOST_WARNINGS = 3
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
        self.shelf = Shelf(destinations_folder())
        self._looker, self._trial, self._writer = Worker(self), Worker(self), Worker(self)
        self._looks: dict[Destination, list[Look] | BladewiseError] = {}
        self._going: set[Destination] = set()
        self._on: set[str] = {name for name in self._answers.to if name in self.shelf.names()}
        if not self._on:
            self._on = set(self.shelf.names()[:2])
        self.bands: dict[str, DestinationBand] = {}
        self._new: Destination | None = None
        self._open = ""
        self._orders: list[Order] = []
        self._removed: Destination | None = None
        self._warned_of: tuple[tuple[Finding, ...], bool] | None = None
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
        self.results.stop_wanted.connect(self._writer.cancel)
        self.results.closed.connect(self.accept)
        self.results.back_wanted.connect(self._show_main)
        self.results.folder_wanted.connect(self._open_folder)
        self.results.again_wanted.connect(self._write_again)
        self._writer.progressed.connect(lambda part: self.results.bar.setValue(round(part * 1000)))
        desk.job_changed.connect(self._job_changed)
        desk.checked.connect(self._tell)
        desk.checking.connect(self._tell)
        self.finished.connect(lambda _code: self._close_workers())
        self._fill_bands()
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
        head.addWidget(label(self.tr("{job}, sheet {size}").format(job=job.name, size=size), "muted"))
        head.addStretch(1)
        self.ticket = push_button(self.tr("Job ticket…"), partial(self._show_paper, "ticket"), icon="job-ticket")
        self.proof = push_button(self.tr("Customer proof…"), partial(self._show_paper, "proof"), icon="customer-proof")
        head.addWidget(self.ticket)
        head.addWidget(self.proof)
        column.addLayout(head)
        column.addWidget(self._make_materials(job))
        column.addWidget(self._make_list(), 1)
        column.addWidget(self._make_warnings())
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

    def _make_list(self) -> QScrollArea:
        self.area = QScrollArea()
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        holder = QWidget()
        holder.setObjectName("scrolled")
        self._list = QVBoxLayout(holder)
        self._list.setContentsMargins(0, 0, NEAR, 0)
        self._list.setSpacing(NEAR)
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        self.new_button = push_button(self.tr("New destination"), self._begin_new, icon="plus")
        self.shelf_says = label("", "muted")
        self.shelf_says.setWordWrap(True)
        self.bring_back = push_button(self.tr("Bring it back"), self._bring_back, kind="link")
        self.bring_back.hide()
        foot.addWidget(self.new_button)
        foot.addWidget(self.shelf_says, 1)
        foot.addWidget(self.bring_back)
        self._list.addLayout(foot)
        self._list.addStretch(1)
        self.area.setWidget(holder)
        return self.area

    def _make_warnings(self) -> QWidget:
        holder = QWidget()
        column = QVBoxLayout(holder)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        self.warning = QFrame()
        self.warning.setObjectName("caution")
        inside = QVBoxLayout(self.warning)
        inside.setContentsMargins(APART, NEAR, APART, NEAR)
        inside.setSpacing(SMALL)
        self._warning_rows = QVBoxLayout()
        self._warning_rows.setSpacing(SMALL)
        inside.addLayout(self._warning_rows)
        self.despite = QCheckBox(self.tr("Write the files despite the findings"))
        self.despite.toggled.connect(lambda _on: self._tell())
        inside.addWidget(self.despite)
        column.addWidget(self.warning)
        self.cautions = label("", "muted")
        self.cautions.setWordWrap(True)
        row = QHBoxLayout()
        row.setSpacing(NEAR)
        self._caution_mark = IconLabel("mark-note", "muted")
        row.addWidget(self._caution_mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.cautions, 1)
        column.addLayout(row)
        self.shown_warnings: list[str] = []
        return holder

    def _make_foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        start = (self._place or Path(self._desk.preferences.folder)) / "cut"
        self.folder = QLineEdit(self._answers.folder or str(start))
        self.folder.setAccessibleName(self.tr("Folder for the files"))
        self.folder.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.folder.textChanged.connect(lambda _text: self._tell())
        self.folder.editingFinished.connect(self._show_all)
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

    # --- destinations ---------------------------------------------------------------------------------------------

    def _fill_bands(self) -> None:
        for band in self.bands.values():
            self._list.removeWidget(band)
            band.hide()
            band.deleteLater()
        self.bands = {}
        shown = [*self.shelf.destinations, *([self._new] if self._new is not None else [])]
        for number, destination in enumerate(shown):
            is_new = destination is self._new
            band = DestinationBand(destination, self._desk.unit, is_on=is_new or destination.name in self._on)
            self._connect(band, destination)
            self.bands[destination.name] = band
            self._list.insertWidget(number, band)
            band.show()  # at once, so that it can take the focus
            if is_new or destination.name == self._open:
                others = [each for each in self.shelf.names() if is_new or each != destination.name]
                band.open(others, self._materials_of_job(), is_new=is_new)
        self.new_button.setEnabled(not self._open and self._new is None)
        self._say_of_shelf()
        self._show_all()

    def _stops(self) -> list[QWidget]:
        """Return what Tab comes to, from the top to the bottom; bands are made anew, and Qt would put them last."""
        stops: list[QWidget] = [self.ticket, self.proof, *self.materials.values()]
        for band in self.bands.values():
            stops += band.stops()
        stops += [self.new_button, self.bring_back, *stops_in(self.warning)]
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
        if self.area.isAncestorOf(target):
            self.area.ensureWidgetVisible(target)
        return True

    def _connect(self, band: DestinationBand, destination: Destination) -> None:
        band.ticked.connect(partial(self._ticked, destination.name))
        band.change_wanted.connect(partial(self._begin_change, destination.name))
        band.copy_wanted.connect(partial(self._begin_copy, destination))
        band.remove_wanted.connect(partial(self._remove, destination))
        band.look_wanted.connect(self._show_large)
        band.place_wanted.connect(self._show_place)
        band.edited.connect(partial(self._try_out, band))
        band.kept.connect(partial(self._keep, destination))
        band.left.connect(self._leave_form)

    def _say_of_shelf(self, text: str = "") -> None:
        if not text and self.shelf.troubles:
            text = " ".join(told(each) for each in self.shelf.troubles)
        if not text and not self.bands:
            text = self.tr("A destination says what a machine, or a print shop, wants its files to be like.")
        self.shelf_says.setText(text)
        self.bring_back.setVisible(self._removed is not None)

    def _ticked(self, name: str) -> None:
        (self._on.add if self.bands[name].is_on else self._on.discard)(name)
        self._show_all()

    def _begin_new(self) -> None:
        name = self.shelf.free_name(self.tr("New destination"))
        self._new, self._removed = Destination("svg", name), None
        self._fill_bands()
        self._see_open()

    def _begin_copy(self, destination: Destination) -> None:
        from dataclasses import replace

        name = self.shelf.free_name(self.tr("{name}, copy").format(name=destination.name))
        self._new, self._removed = replace(destination, name=name), None
        self._fill_bands()
        self._see_open()

    def _begin_change(self, name: str) -> None:
        self._open, self._new, self._removed = name, None, None
        self._fill_bands()
        self._see_open()

    def _see_open(self) -> None:
        band = next((each for each in self.bands.values() if each.is_open), None)
        if band is not None and band.form is not None:
            self._list.activate()
            self.area.ensureWidgetVisible(band, 0, 0)
            band.form.name.setFocus()

    def _leave_form(self) -> None:
        self._open, self._new = "", None
        self._trial.cancel()
        self._fill_bands()
        self.new_button.setFocus()

    def _keep(self, before: Destination, after: Destination) -> None:
        is_new = before is self._new
        try:
            self.shelf.put(after, "" if is_new else before.name)
        except CannotWrite as error:
            self._say_of_shelf(say(str(error)))
            return
        if is_new or before.name in self._on:
            self._on.discard(before.name)
            self._on.add(after.name)
        self._leave_form()
        if after.name in self.bands:
            self.bands[after.name].change.setFocus()

    def _remove(self, destination: Destination) -> None:
        try:
            self.shelf.remove(destination.name)
        except CannotWrite as error:
            self._say_of_shelf(say(str(error)))
            return
        self._on.discard(destination.name)
        self._removed = destination
        self._fill_bands()
        self._say_of_shelf(self.tr("“{name}” is removed.").format(name=destination.name))
        self.bring_back.setFocus()

    def _bring_back(self) -> None:
        if self._removed is not None:
            back, self._removed = self._removed, None
            self._keep(back, back)

    # --- the files ------------------------------------------------------------------------------------------------

    def _materials_of_job(self) -> list[Material]:
        return [tick.material for tick in self.materials.values()]

    @property
    def left_out(self) -> frozenset[str]:
        """Ids of the materials that stay."""
        return frozenset(key for key, tick in self.materials.items() if not tick.isChecked())

    @property
    def chosen(self) -> list[Destination]:
        """The destinations that get files."""
        return [each for each in self.shelf.destinations if each.name in self._on]

    def folder_of(self, destination: Destination) -> Path:
        """Return where a destination's files go: a folder of its own where several get some."""
        folder = Path(self.folder.text().strip()).expanduser()
        return folder / file_name(destination.name) if len(self.chosen) > 1 else folder

    def _job_changed(self, _changes: object) -> None:
        self._materials_changed()

    def _materials_changed(self) -> None:
        self._looker.cancel()
        self._looks.clear()
        self._going.clear()
        self._show_all()

    def _show_all(self) -> None:
        """Bring every band up to date, and begin on what is not worked out yet."""
        for destination in self.shelf.destinations:
            band = self.bands.get(destination.name)
            if band is None or band.is_open:
                continue
            if destination.name not in self._on:
                band.show_waiting()
            elif destination in self._looks:
                self._show_band(band, destination, self._looks[destination])
            else:
                band.show_waiting()
                self._work_out(destination)
        self._tell()

    def _show_band(self, band: DestinationBand, destination: Destination, found: list[Look] | BladewiseError) -> None:
        if isinstance(found, BladewiseError):
            band.show_refusal(found, can_show=self._placed(found.where) is not None)
            return
        folder = self.folder_of(destination)
        band.show_looks(found, {look.file.name for look in found if (folder / look.file.name).exists()})

    def _work(self, destination: Destination, progress: Progress) -> list[Look]:
        job, left_out = self._desk.job, self.left_out
        if left_out:
            job = only_made_of(job, {each.id for each in job.materials_in_use()} - left_out)
        progress(0.3)
        files = formats.prepared(job, destination, paint_picture)
        progress(0.8)
        return looks_of(files, destination)

    def _work_out(self, destination: Destination) -> None:
        if destination in self._going:
            return
        self._going.add(destination)

        def finish(found: list[Look] | BladewiseError) -> None:
            if isinstance(found, Cancelled):
                return
            self._going.discard(destination)
            self._looks[destination] = found
            band = self.bands.get(destination.name)
            if band is not None and not band.is_open and destination.name in self._on:
                self._show_band(band, destination, found)
            self._tell()

        self._looker.start(partial(self._work, destination), finish, finish)

    def _try_out(self, band: DestinationBand) -> None:
        """Show the files as they would be with the settings as they are filled in now."""
        destination = band.form.destination() if band.form is not None else None
        if destination is None:
            return

        def finish(found: list[Look] | BladewiseError) -> None:
            if band.is_open and not isinstance(found, Cancelled):
                self._looks[destination] = found
                self._show_band(band, destination, found)

        if destination in self._looks:
            finish(self._looks[destination])
            return
        band.show_waiting()
        self._trial.start(partial(self._work, destination), finish, finish, instead=True, after_ms=AFTER_TYPING_MS)

    # --- what stands against it -----------------------------------------------------------------------------------

    @property
    def double_cuts(self) -> list[Finding]:
        """The findings for which the knife would go through vinyl it should leave whole."""
        return [finding for finding in self._desk.findings if finding.rule in checks.DOUBLE_CUTS]

    def _tell(self) -> None:
        """Say what stands against writing, and whether it can begin."""
        self._fill_warnings()
        cautions = said.cautions(self._desk.job, self.left_out, self.chosen)
        self.cautions.setText("  ".join(cautions))
        for shown in (self.cautions, self._caution_mark):
            shown.setVisible(bool(cautions))
        files = [look for each in self.chosen for look in self._found(each)]
        count = len(files)
        self.write_button.setText(
            self.tr("Write 1 file") if count == 1 else self.tr("Write {n} files").format(n=count or "")
        )
        problem = self._problem()
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        waits = any(each not in self._looks for each in self.chosen) or not self._has_checked
        is_held = bool(self.double_cuts) and not self.despite.isChecked()
        is_open = any(band.is_open for band in self.bands.values())
        self.write_button.setEnabled(bool(count) and not problem and not waits and not is_held and not is_open)
        self.write_button.setToolTip(self._why_waiting(waits=waits, is_held=is_held, is_open=is_open))
        self.write_button.setAccessibleDescription(self.write_button.toolTip())

    @property
    def _has_checked(self) -> bool:
        return self._desk.is_checked or bool(self._desk.check_failure)

    def _found(self, destination: Destination) -> list[Look]:
        found = self._looks.get(destination)
        return found if isinstance(found, list) else []

    def _problem(self) -> str:
        if not self.folder.text().strip():
            return self.tr("Say into which folder.")
        if self.bands and not self.chosen:
            return self.tr("Tick a destination.")
        return ""

    def _why_waiting(self, *, waits: bool, is_held: bool, is_open: bool) -> str:
        if is_open:
            return self.tr("Keep or leave the destination that is open.")
        if waits:
            return self.tr("The files are being worked out, and the job is being checked.")
        return self.tr("The findings above stand against it.") if is_held else ""

    def _fill_warnings(self) -> None:
        key = tuple(self._desk.findings), self._has_checked
        if key == self._warned_of:
            return
        self._warned_of = key
        while (item := self._warning_rows.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self.shown_warnings = []
        against = [each for each in self._desk.findings if each.severity is not Severity.WASTES]
        of_rule: dict[str, list[Finding]] = {}
        for each in sorted(against, key=lambda finding: finding.rule not in checks.DOUBLE_CUTS):
            of_rule.setdefault(each.rule, []).append(each)
        for findings in list(of_rule.values())[:MOST_WARNINGS]:
            self._warning_rows.addWidget(self._warning_row(findings))
        rest = len(of_rule) - MOST_WARNINGS
        if rest > 0:
            text = self.tr("and {n} more kinds of trouble in the readiness check").format(n=rest)
            self._warning_rows.addWidget(label(text, "muted"))
        if not self._has_checked:
            self._warning_rows.addWidget(label(self.tr("The job is being checked…")))
        self.despite.setVisible(bool(self.double_cuts))
        self.warning.setVisible(self._warning_rows.count() > 0)

    def _warning_row(self, findings: list[Finding]) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(NEAR)
        first = findings[0]
        text = say(first.message)
        if len(findings) > 1:
            text = self.tr("{first} And {n} more of the kind.").format(first=text, n=len(findings) - 1)
        words = label(text)
        words.setWordWrap(True)
        show = push_button(self.tr("Show me"), lambda: self._show_finding(first), kind="link")
        show.setAccessibleName(self.tr("Show me: {text}").format(text=text))
        row.addWidget(TroubleMark(first.rule), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(words, 1)
        row.addWidget(show, 0, Qt.AlignmentFlag.AlignTop)
        self.shown_warnings.append(text)
        return holder

    def _show_finding(self, finding: Finding) -> None:
        self.reject()
        self._desk.go_to(finding)

    def _placed(self, where: str) -> str | None:
        """Return the id of what an error speaks of, if it is in the job."""
        for placed in self._desk.job.walk():
            if where and where in (placed.leaf.id, placed.leaf.name):
                return placed.leaf.id
        return None

    def _show_place(self, where: str) -> None:
        identity = self._placed(where)
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
        self._show_all()
        self.write_button.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves one thing after the other."""
        if event.key() == Qt.Key.Key_Escape and self.stack.currentWidget() is self.large:
            self._show_main()
        elif event.key() == Qt.Key.Key_Escape and self._writer.is_busy:
            self._writer.cancel()
        else:
            super().keyPressEvent(event)

    def _show_paper(self, sort: str) -> None:
        from bladewise.window.hand_off.paper_making import Sort
        from bladewise.window.hand_off.papers import PapersDialog

        self.keep_answers()
        dialog = PapersDialog(self._desk, Sort(sort), self._source, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _choose(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, self.tr("Folder for the files"), self.folder.text())
        if folder:
            self.folder.setText(folder)
            self._show_all()

    # --- writing --------------------------------------------------------------------------------------------------

    def write(self) -> None:
        """Write what is shown."""
        if not self.write_button.isEnabled():
            return
        self.keep_answers()
        self._orders = [
            Order(each.name, self.folder_of(each), tuple(look.file for look in self._found(each)))
            for each in self.chosen
            if self._found(each)
        ]
        self._write(self._orders, [])

    def _write_again(self) -> None:
        self._write(not_written(self._orders, self._results), [each for each in self._results if not each.refusal])

    def _write(self, orders: list[Order], results: list[Result]) -> None:
        self._results = results
        self.results.show_writing(self.folder.text())
        self.stack.setCurrentWidget(self.results)

        def finish(error: BladewiseError | None) -> None:
            rest = not_written(self._orders, results)
            self.results.show_results(results, rest, is_stopped=isinstance(error, Cancelled))
            self._tell_desk(results)

        self._writer.start(
            lambda progress: write_orders(orders, results, progress), finish, finish, title=self.tr("Writing the files")
        )

    def _tell_desk(self, results: list[Result]) -> None:
        good = sum(1 for each in results if each.refusal is None)
        folder = Path(self.folder.text().strip()).expanduser()
        text = self.tr("1 file written to {folder}.") if good == 1 else self.tr("{n} files written to {folder}.")
        self._desk.tell(
            Message(text.format(n=good, folder=folder), Tone.GOOD if good == len(results) else Tone.TROUBLE)
        )

    def _open_folder(self) -> None:
        folder = Path(self.folder.text().strip()).expanduser()
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))

    def keep_answers(self) -> None:
        """Keep what was answered, for the jobs of this folder."""
        answers = Answers(self.folder.text().strip(), tuple(each.name for each in self.chosen), tuple(self.left_out))
        keep_answers(self._place, answers, self._desk.preferences)

    def _close_workers(self) -> None:
        for worker in (self._looker, self._trial, self._writer):
            worker.close()


def _takes_focus(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isVisible() and widget.isEnabled()
