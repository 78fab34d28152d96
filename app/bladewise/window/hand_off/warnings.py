"""What stands against writing the files: the worst the check found, each to be shown; and what to think of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QVBoxLayout, QWidget

from bladewise import checks
from bladewise.findings import Severity
from bladewise.window.controls import IconLabel, label, push_button
from bladewise.window.design import APART, NEAR, SMALL
from bladewise.window.hand_off.tile import TroubleMark
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.findings import Finding
    from bladewise.window.desk import Desk

MOST_WARNINGS = 3


class Warnings(QWidget):
    """Shows the findings of the desk's job, and the cautions."""

    place_wanted = Signal(object)
    changed = Signal()

    def __init__(self, desk: Desk, left_out: Callable[[], frozenset[str]] = frozenset) -> None:
        """Start with what is known; `left_out` tells which materials get no file."""
        super().__init__()
        self._desk = desk
        self._left_out = left_out
        self._told: tuple[tuple[Finding, ...], bool] | None = None
        self.shown: list[str] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        self.frame = QFrame()
        self.frame.setObjectName("caution")
        inside = QVBoxLayout(self.frame)
        inside.setContentsMargins(APART, NEAR, APART, NEAR)
        inside.setSpacing(SMALL)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(SMALL)
        inside.addLayout(self._rows)
        self.despite = QCheckBox(self.tr("Write the files despite the findings"))
        self.despite.toggled.connect(lambda _on: self.changed.emit())
        inside.addWidget(self.despite)
        column.addWidget(self.frame)
        self.cautions = label("", "muted")
        self.cautions.setWordWrap(True)
        self._mark = IconLabel("mark-note", "muted")
        row = QHBoxLayout()
        row.setSpacing(NEAR)
        row.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.cautions, 1)
        column.addLayout(row)
        desk.checked.connect(self._look)
        desk.checking.connect(self._look)
        self._look()

    @property
    def double_cuts(self) -> list[Finding]:
        """The findings for which the knife would go through vinyl it should leave whole."""
        return [finding for finding in self.findings if finding.rule in checks.DOUBLE_CUTS]

    @property
    def findings(self) -> list[Finding]:
        """What was found in the materials that get a file; what is between two shapes is nothing without either."""
        return [finding for finding in self._desk.findings if self._is_about_files(finding)]

    def _is_about_files(self, finding: Finding) -> bool:
        without, job = self._left_out(), self._desk.job
        if not without or not finding.shapes:
            return True
        placed = [job.placed(each) for each in finding.shapes]
        kept = sum(each is not None and job.material_of(each).id not in without for each in placed)
        return kept >= min(len(finding.shapes), 2)

    def look_again(self) -> None:
        """Show what holds of the materials that get a file now."""
        self._look()

    @property
    def has_checked(self) -> bool:
        """Whether the check has spoken about the job as it is."""
        return self._desk.is_checked or bool(self._desk.check_failure)

    @property
    def is_in_the_way(self) -> bool:
        """Whether something was found that forbids to write, and nobody has said to do it nevertheless."""
        return bool(self.double_cuts) and not self.despite.isChecked()

    def show_cautions(self, cautions: Sequence[str]) -> None:
        """Show what to think of before blade and press come down."""
        self.cautions.setText("  ".join(cautions))
        for each in (self.cautions, self._mark):
            each.setVisible(bool(cautions))

    def _look(self) -> None:
        now = tuple(self.findings), self.has_checked
        if now != self._told:  # else whoever has the focus on one of the rows keeps it
            self._told = now
            self._fill()
        self.changed.emit()

    def _fill(self) -> None:
        while (item := self._rows.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self.shown = []
        of_rule: dict[str, list[Finding]] = {}
        against = [each for each in self.findings if each.severity is not Severity.WASTES]
        for each in sorted(against, key=lambda finding: finding.rule not in checks.DOUBLE_CUTS):
            of_rule.setdefault(each.rule, []).append(each)
        for findings in list(of_rule.values())[:MOST_WARNINGS]:
            self._rows.addWidget(self._row(findings))
        rest = len(of_rule) - MOST_WARNINGS
        if rest > 0:
            text = self.tr("and {n} more kinds of trouble in the readiness check").format(n=rest)
            self._rows.addWidget(label(text))
        if not self.has_checked:
            self._rows.addWidget(label(self.tr("The job is being checked…")))
        self.despite.setVisible(bool(self.double_cuts))
        self.frame.setVisible(self._rows.count() > 0)

    def _row(self, findings: list[Finding]) -> QWidget:
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
        show = push_button(self.tr("Show me"), lambda: self.place_wanted.emit(first), kind="link")
        show.setAccessibleName(self.tr("Show me: {text}").format(text=text))
        row.addWidget(TroubleMark(first.rule), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(words, 1)
        row.addWidget(show, 0, Qt.AlignmentFlag.AlignTop)
        self.shown.append(text)
        return holder
