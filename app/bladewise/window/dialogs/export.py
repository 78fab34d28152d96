"""The last look before the cutter: where the files go, which, with what marks; and what stands against it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFileDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from bladewise import checks, formats
from bladewise.window.controls import IconLabel, Segments, label, push_button
from bladewise.window.job_strip.strip import short_names
from bladewise.window.language import say
from bladewise.window.length_line import LengthLine

if TYPE_CHECKING:
    from bladewise.findings import Finding
    from bladewise.window.desk import Desk


class ExportDialog(QDialog):
    """Asks how to write the files; the window writes them."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        """Start with the answers given last time."""
        super().__init__(parent)
        self._desk = desk
        self.setWindowTitle(self.tr("Export"))
        self.setMinimumWidth(640)
        answers = desk.preferences
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 16)
        column.setSpacing(12)
        head = label(self.tr("Files for cutting and printing"), "title", scale=1.15)
        column.addWidget(head)
        self.what = label("", "muted")
        self.what.setWordWrap(True)
        column.addWidget(self.what)
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(12)
        grid.setColumnStretch(1, 1)
        start = desk.session.path.parent if desk.session.path else Path(answers.folder)
        self.folder = QLineEdit(answers.text("export-folder") or str(start / "cut"))
        self.folder.setAccessibleName(self.tr("Folder"))
        self.folder.textChanged.connect(lambda _text: self._look())
        choose = push_button(self.tr("Choose…"), self._choose)
        choose.setAccessibleName(self.tr("Choose a folder"))
        row = QHBoxLayout()
        row.addWidget(self.folder, 1)
        row.addWidget(choose)
        grid.addWidget(label(self.tr("Folder")), 0, 0)
        grid.addLayout(row, 0, 1)
        self.per_colour = QCheckBox(self.tr("One file for each material to cut, all on one origin"))
        self.per_colour.setChecked(answers.text("export-per-colour", "yes") == "yes")
        self.per_colour.toggled.connect(lambda _on: self._look())
        grid.addWidget(label(self.tr("Files")), 1, 0)
        grid.addWidget(self.per_colour, 1, 1)
        kinds = [("none", self.tr("None")), *((kind, say(kind.capitalize())) for kind in formats.MARK_KINDS)]
        self.marks = Segments(kinds, answers.text("export-marks", "none"), self.tr("Registration marks"))
        self.marks.chosen.connect(lambda _kind: self._look())
        grid.addWidget(label(self.tr("Registration marks")), 2, 0)
        grid.addWidget(self.marks, 2, 1, Qt.AlignmentFlag.AlignLeft)
        sizes = QHBoxLayout()
        sizes.setSpacing(8)
        self.mark_size = self._length("export-mark-size", 6.0, self.tr("Size of the marks"))
        self.mark_inset = self._length("export-mark-inset", 5.0, self.tr("Distance of the marks from the corners"))
        sizes.addWidget(label(self.tr("size"), "muted"))
        sizes.addWidget(self.mark_size)
        sizes.addSpacing(8)
        sizes.addWidget(label(self.tr("from the corners"), "muted"))
        sizes.addWidget(self.mark_inset)
        sizes.addStretch(1)
        grid.addLayout(sizes, 3, 1)
        column.addLayout(grid)
        self.warning = self._make_warning()
        column.addWidget(self.warning)
        cautions = label(
            self.tr("Before the good vinyl: a test cut in a corner for blade and force. Heat transfer: mirror first."),
            "muted",
        )
        cautions.setWordWrap(True)
        column.addWidget(cautions)
        self.problem = label("", "trouble")
        self.problem.setWordWrap(True)
        column.addWidget(self.problem)
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(push_button(self.tr("Cancel"), self.reject))
        self.export_button = push_button(self.tr("Export"), self.accept, kind="primary", icon="export")
        self.export_button.setDefault(True)
        foot.addWidget(self.export_button)
        column.addLayout(foot)
        desk.checked.connect(self._look)
        desk.checking.connect(self._look)
        self._look()

    @property
    def double_cuts(self) -> list[Finding]:
        """The findings for which the knife would go through vinyl it should leave whole."""
        return [finding for finding in self._desk.findings if finding.rule in checks.DOUBLE_CUTS]

    def registration_marks(self) -> formats.RegistrationMarks | None:
        """Return the marks asked for.

        Raises
        ------
        ValueError
            If a size is no length.
        """
        if self.marks.value() == "none":
            return None
        return formats.RegistrationMarks(self.marks.value(), size_mm=self.mark_size.mm(), inset_mm=self.mark_inset.mm())

    def accept(self) -> None:
        """Keep the answers for the next time."""
        answers = self._desk.preferences
        answers.set_text("export-folder", self.folder.text())
        answers.set_text("export-per-colour", "yes" if self.per_colour.isChecked() else "no")
        answers.set_text("export-marks", self.marks.value())
        if self.marks.value() != "none":
            answers.set_text("export-mark-size", repr(self.mark_size.mm()))
            answers.set_text("export-mark-inset", repr(self.mark_inset.mm()))
        super().accept()

    def _length(self, key: str, first_mm: float, name: str) -> LengthLine:
        line = LengthLine(self._desk.preferences.number(key, first_mm), name, unit=self._desk.unit)
        line.textChanged.connect(lambda _text: self._look())
        return line

    def _make_warning(self) -> QFrame:
        frame = QFrame()
        frame.setObjectName("caution")
        row = QHBoxLayout(frame)
        row.setContentsMargins(12, 12, 12, 12)
        row.setSpacing(12)
        row.addWidget(IconLabel("mark-spoils", "spoils", 22), 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout()
        column.setSpacing(6)
        self.warning_text = label("")
        self.warning_text.setWordWrap(True)
        self.warning_text.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        self.despite = QCheckBox(self.tr("Write the files despite the findings"))
        self.despite.toggled.connect(lambda _on: self._look())
        column.addWidget(self.warning_text)
        column.addWidget(self.despite)
        row.addLayout(column, 1)
        return frame

    def _look(self) -> None:
        """Show what will be written and what stands against it."""
        cut = formats.cut_materials(self._desk.job)
        names = ", ".join(short_names(list(cut)).values()) or self.tr("nothing yet")
        self.what.setText(self.tr("To cut: {names}.").format(names=names))
        marked = self.marks.value() != "none"
        self.mark_size.setEnabled(marked)
        self.mark_inset.setEnabled(marked)
        double = self.double_cuts
        self.warning.setVisible(bool(double))
        if double:
            self.warning_text.setText(
                self.tr("The knife would cut twice or through good vinyl in {n} places. {first}").format(
                    n=len(double), first=say(double[0].message)
                )
                if len(double) > 1
                else say(double[0].message)
            )
        problem = self._problem(marked=marked)
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        self.export_button.setEnabled(not problem and (not double or self.despite.isChecked()))

    def _problem(self, *, marked: bool) -> str:
        problem = ""
        for line in (self.mark_size, self.mark_inset):
            if marked and line.problem:
                problem = problem or f"{line.accessibleName()}: {line.problem}"
        if not self.folder.text().strip():
            problem = self.tr("Say into which folder.")
        return problem

    def _choose(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, self.tr("Folder for the files"), self.folder.text())
        if folder:
            self.folder.setText(folder)
