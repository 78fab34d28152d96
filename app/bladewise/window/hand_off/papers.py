"""Job ticket and customer proof: what is said of the order, the pages as they will be printed, and the file.

What is filled in is a step of the job: it is saved with it, and stands on every paper from then on.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLocale, Qt, QUrl
from PySide6.QtGui import QDesktopServices, QResizeEvent
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from bladewise.document import DETAILS
from bladewise.errors import BladewiseError, Cancelled
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.window.controls import Segments, label, push_button
from bladewise.window.design import APART, FAR, FINE_TYPE, HEAD_TYPE, NEAR, PAGE_MARGINS, SMALL
from bladewise.window.hand_off.answers import answers_for
from bladewise.window.hand_off.paper_making import Made, Sort, file_bytes, make, today
from bladewise.window.hand_off.paper_page import PaperPage
from bladewise.window.language import say
from bladewise.window.worker import Progress, Worker

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Job
    from bladewise.formats import Destination
    from bladewise.window.desk import Desk

AFTER_TYPING_MS = 300
SIDE = 300


class PapersDialog(QDialog):
    """Makes the papers of the job on the desk."""

    def __init__(
        self,
        desk: Desk,
        sort: Sort,
        source: Path | None = None,
        parent: QWidget | None = None,
        *,
        to: Sequence[Destination] = (),
    ) -> None:
        """Begin with a job ticket or with a proof; `to` says which destinations get the files the ticket goes with."""
        super().__init__(parent)
        self._to = tuple(to)
        self._desk = desk
        self._maker, self._writer = Worker(self), Worker(self)
        self.made: Made | None = None
        self.written: Path | None = None
        self._date = today()
        place = desk.session.path or source
        answers = answers_for(place.parent if place is not None else None, desk.preferences)
        start = place.parent if place is not None else Path(desk.preferences.folder)
        self._folder = Path(answers.folder).expanduser() if answers.folder else start / "cut"
        self.setWindowTitle(self.tr("Job ticket and proof"))
        self.setMinimumSize(860, 600)
        self.resize(1040, 780)
        column = QVBoxLayout(self)
        column.setContentsMargins(*PAGE_MARGINS)
        column.setSpacing(APART)
        row = QHBoxLayout()
        row.setSpacing(FAR)
        row.addWidget(self._make_side(sort))
        row.addWidget(self._make_area(), 1)
        column.addLayout(row, 1)
        column.addLayout(self._make_foot())
        desk.checked.connect(self._make_soon)
        desk.job_changed.connect(self._job_changed)
        self.finished.connect(lambda _code: self._close_workers())
        self._sort_changed()
        next(iter(self.details.values())).setFocus()

    @property
    def sort(self) -> Sort:
        """Which paper it is."""
        return Sort(self.sorts.value())

    @property
    def kind(self) -> str:
        """Which kind of file it will be."""
        return self.kinds.value()

    @property
    def path(self) -> Path:
        """Where it will be written."""
        return Path(self.file.text().strip()).expanduser()

    # --- parts ----------------------------------------------------------------------------------------------------

    def _make_side(self, sort: Sort) -> QWidget:
        side = QWidget()
        side.setFixedWidth(SIDE)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(NEAR)
        self.title = label("", "title", scale=HEAD_TYPE)
        column.addWidget(self.title)
        self.sorts = Segments(
            [(Sort.TICKET, self.tr("Job ticket")), (Sort.PROOF, self.tr("Customer proof"))], sort, self.tr("Paper")
        )
        self.sorts.chosen.connect(lambda _sort: self._sort_changed())
        column.addWidget(self.sorts, 0, Qt.AlignmentFlag.AlignLeft)
        self.says = label("", "muted", scale=FINE_TYPE)
        self.says.setWordWrap(True)
        column.addWidget(self.says)
        column.addSpacing(SMALL)
        self.details: dict[str, QLineEdit] = {}
        for name, (called, hint) in self._words().items():
            line = QLineEdit(getattr(self._desk.job.details, name))
            line.setAccessibleName(called)
            line.setPlaceholderText(hint)
            line.textChanged.connect(lambda _text: self._make_soon())
            words = label(called)
            words.setBuddy(line)
            column.addWidget(words)
            column.addWidget(line)
            self.details[name] = line
        column.addSpacing(SMALL)
        self.papers = Segments(
            [("a4", "A4"), ("letter", "Letter")], self._desk.preferences.text("paper", "a4"), self.tr("Size of paper")
        )
        self.papers.chosen.connect(lambda _paper: self._make_soon())
        column.addWidget(label(self.tr("Size of paper")))
        column.addWidget(self.papers, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(label(self.tr("File")))
        self._kinds_row = QHBoxLayout()
        self._kinds_row.setSpacing(0)
        self.kinds = Segments([("pdf", "PDF")], "pdf", self.tr("Kind of file"))
        self._kinds_row.addWidget(self.kinds)
        self._kinds_row.addStretch(1)
        column.addLayout(self._kinds_row)
        column.addStretch(1)
        return side

    def _words(self) -> dict[str, tuple[str, str]]:
        words = {
            "customer": (self.tr("Customer"), self.tr("who ordered it")),
            "order_number": (self.tr("Order number"), ""),
            "due_date": (self.tr("Due"), self.tr("a date, as you write dates")),
            "revision": (self.tr("Revision"), self.tr("1, 2, B …")),
            "remark": (self.tr("Remark"), self.tr("a line for whoever makes it")),
        }
        return {name: words.get(name, (name, "")) for name in DETAILS}

    def _make_area(self) -> QScrollArea:
        self.area = QScrollArea()
        self.area.setObjectName("page")
        self.area.setAccessibleName(self.tr("The pages as they will be printed"))
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.pages: list[PaperPage] = []
        self._show_pages([], self.tr("Working out the pages…"))
        return self.area

    def _make_foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        words = label(self.tr("File"))
        self.file = QLineEdit()
        self.file.setAccessibleName(self.tr("File to write"))
        self.file.textChanged.connect(lambda _text: self._tell())
        words.setBuddy(self.file)
        self.choose = push_button(self.tr("Choose…"), self._choose)
        self.choose.setAccessibleName(self.tr("Choose a file"))
        self.message = QLabel()
        self.message.setProperty("role", "trouble")
        self.message.setWordWrap(True)
        self.message.hide()
        self.open_folder = push_button(self.tr("Open folder"), self._open_folder, icon="open")
        self.open_folder.hide()
        self.close_button = push_button(self.tr("Close"), self.accept)
        self.write_button = push_button(self.tr("Write"), self.write, kind="primary", icon="export")
        self.write_button.setDefault(True)
        foot.addWidget(words)
        foot.addWidget(self.file, 1)
        foot.addWidget(self.choose)
        foot.addWidget(self.open_folder)
        foot.addWidget(self.close_button)
        foot.addWidget(self.write_button)
        whole = QVBoxLayout()
        whole.setSpacing(NEAR)
        whole.addWidget(self.message)
        whole.addLayout(foot)
        outer = QHBoxLayout()
        outer.addLayout(whole)
        return outer

    # --- what is shown --------------------------------------------------------------------------------------------

    def job(self) -> Job:
        """Return the job with what is filled in."""
        job = self._desk.job
        return replace(job, details=replace(job.details, **self._said()))

    def _said(self) -> dict[str, str]:
        return {name: line.text().strip() for name, line in self.details.items()}

    def _sort_changed(self) -> None:
        words = {
            Sort.TICKET: (
                self.tr("Job ticket"),
                self.tr("For whoever runs the machine: what to load, what to cut, in which order, and who did it."),
            ),
            Sort.PROOF: (
                self.tr("Customer proof"),
                self.tr("For the customer to agree to: one page, its scale said and shown, colours named."),
            ),
        }
        title, says = words[self.sort]
        self.title.setText(title)
        self.says.setText(says)
        kind = self.kinds.value() if self.kinds.value() in self.sort.kinds else "pdf"
        kinds = Segments([(each, each.upper()) for each in self.sort.kinds], kind, self.tr("Kind of file"))
        kinds.chosen.connect(lambda _kind: self._name_file())
        self._kinds_row.replaceWidget(self.kinds, kinds)
        self.kinds.hide()
        self.kinds.deleteLater()
        self.kinds = kinds
        self._name_file()
        self._make_soon()

    def _name_file(self) -> None:
        folder = self.path.parent if self.file.text().strip() else self._folder
        self.file.setText(str(folder / self.sort.file_of(self._desk.job, self.kind)))

    def _job_changed(self, _changes: object) -> None:
        self._make_soon()

    def _make_soon(self) -> None:
        """Lay the pages out anew, when the hand has rested."""
        self.made = None
        self._tell()
        findings = list(self._desk.findings)
        work = partial(
            make,
            self.sort,
            self.job(),
            findings,
            unit=self._desk.unit,
            paper=self.papers.value(),
            made=self._date,
            to=self._to,
        )

        def failed(error: BladewiseError) -> None:
            if not isinstance(error, Cancelled):
                self._show_pages([], f"{say(error.what)} {say(error.hint)}".strip())

        self._maker.start(
            lambda progress: work(progress=progress), self._show_made, failed, instead=True, after_ms=AFTER_TYPING_MS
        )

    def _show_made(self, made: Made) -> None:
        self.made = made
        self._show_pages(list(made.shown), made.remark)
        self._tell()

    def _show_pages(self, jobs: list[Job], remark: str) -> None:
        at = self.area.verticalScrollBar().value()
        holder = QWidget()
        holder.setObjectName("scrolled")
        column = QVBoxLayout(holder)
        column.setContentsMargins(SMALL, SMALL, SMALL, SMALL)
        column.setSpacing(APART)
        self.remark = label(remark, "muted")
        self.remark.setWordWrap(True)
        self.remark.setVisible(bool(remark))
        column.addWidget(self.remark)
        self.pages = [PaperPage(job, number, len(jobs)) for number, job in enumerate(jobs, start=1)]
        for page in self.pages:
            column.addWidget(page, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(1)
        self._fit_pages()
        self.area.setWidget(holder)
        self.area.verticalScrollBar().setValue(at)

    def _fit_pages(self) -> None:
        room = self.area.width() - 4 * SMALL - self.area.verticalScrollBar().sizeHint().width()
        for page in self.pages:
            page.fit(room)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the pages within the window."""
        super().resizeEvent(event)
        self.layout().activate()  # type: ignore[union-attr]
        self._fit_pages()

    def _tell(self) -> None:
        has_file = bool(self.file.text().strip())
        self.write_button.setEnabled(self.made is not None and has_file and not self._writer.is_busy)

    # --- the file -------------------------------------------------------------------------------------------------

    def write(self) -> None:
        """Write the paper as it is shown, and keep in the job what was filled in."""
        made, path, kind = self.made, self.path, self.kind
        if made is None:
            return
        if not path.suffix:
            path = path.with_suffix(f".{kind}")
        self._desk.preferences.set_text("paper", self.papers.value())
        language = QLocale().bcp47Name() or "en"

        def work(progress: Progress) -> Path:
            data = file_bytes(made, kind, language)
            progress(0.9)
            make_folder(path.parent)
            write_atomically(path, data)
            return path

        self._say(self.tr("Writing {name}…").format(name=path.name), "muted")
        self._writer.start(work, self._wrote, self._failed)
        self._tell()

    def _wrote(self, path: Path) -> None:
        self.written = path
        self._say(self.tr("“{name}” is written.").format(name=path.name), "good")
        self.open_folder.show()
        self.keep_details()
        self._tell()

    def _failed(self, error: BladewiseError) -> None:
        where = f"{say(error.where)}: " if error.where else ""
        self._say(f"{where}{say(error.what)} {say(error.hint)}".strip(), "trouble")
        self._tell()

    def _say(self, text: str, role: str) -> None:
        self.message.setProperty("role", role)
        self.message.setText(text)
        self.message.show()
        self.message.style().unpolish(self.message)
        self.message.style().polish(self.message)

    def keep_details(self) -> None:
        """Put into the job, as a step, what was filled in and is not there yet."""
        details = self._desk.job.details
        news = {name: text for name, text in self._said().items() if text != getattr(details, name)}
        if news:
            self._desk.do_plain("job-details", **news)

    def accept(self) -> None:
        """Keep what was filled in, and go."""
        self.keep_details()
        super().accept()

    def _choose(self) -> None:
        kinds = {"pdf": self.tr("PDF (*.pdf)"), "html": self.tr("Web page (*.html)"), "png": self.tr("Picture (*.png)")}
        chosen, _ = QFileDialog.getSaveFileName(self, self.tr("Write to"), str(self.path), kinds[self.kind])
        if chosen:
            path = Path(chosen)
            self.file.setText(str(path if path.suffix else path.with_suffix(f".{self.kind}")))

    def _open_folder(self) -> None:
        if self.written is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.written.parent)))

    def _close_workers(self) -> None:
        for worker in (self._maker, self._writer):
            worker.close()
