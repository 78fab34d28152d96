"""The panel that answers "is it ready to cut?"."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from bladewise.window.controls import IconLabel, label, push_button
from bladewise.window.desk import Message
from bladewise.window.language import say
from bladewise.window.readiness.row import FindingRow, RuleHeading

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.findings import Finding
    from bladewise.window.desk import Desk

AT_FIRST = 40
"""Rows made at first; more on demand: nobody reads a thousand, but the count is told."""


class ReadinessPanel(QFrame):
    """Findings in order of harm; or that there are none."""

    export_wanted = Signal()
    current_changed = Signal(object)

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self.setObjectName("panel")
        self._desk = desk
        self.rows: list[FindingRow] = []
        self._shown: list[Finding] | None = None
        self._most = AT_FIRST
        self._spot = 0
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(4)
        head = QHBoxLayout()
        head.setContentsMargins(12, 0, 12, 0)
        head.addWidget(label(self.tr("Readiness"), "title"))
        head.addStretch(1)
        self.state = label("", "muted")
        head.addWidget(self.state)
        column.addLayout(head)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setAccessibleName(self.tr("Findings"))
        column.addWidget(self.area, 1)
        desk.checking.connect(self._checking)
        desk.checked.connect(self.refresh)
        desk.opened.connect(self._forget)
        desk.preferences.unit_changed.connect(lambda _unit: self._again())
        self._checking()

    def refresh(self) -> None:
        """Show what the check found."""
        desk = self._desk
        findings = desk.findings
        if desk.check_failure:
            self.state.setText(self.tr("The check could not be run"))
            self._fill_with(self._words("mark-spoils", "spoils", desk.check_failure, ""))
            return
        has_art = any(True for _ in desk.job.walk())
        if not has_art:
            self.state.setText("")
            self._fill_with(
                self._words(
                    "mark-note",
                    "muted",
                    self.tr("Nothing to check yet"),
                    self.tr("Bring in art, and what stands between it and a clean cut is listed here."),
                )
            )
        elif not findings:
            self.state.setText("")
            self._fill_with(self._ready())
        else:
            count = len(findings)
            state = self.tr("1 finding") if count == 1 else self.tr("{n} findings").format(n=count)
            self.state.setText(f"{self.tr('Ready to cut')} · {state}" if desk.is_ready else state)
            if findings != self._shown:
                self._fill_with(self._list(findings))
        self._shown = list(findings) if has_art else None

    def go_to(self, index: int, spot: int | None = None) -> None:
        """Go to a finding by its place in the list, and to one of its places on the sheet; left out: the worst."""
        if not 0 <= index < len(self._desk.findings):
            return
        if index >= len(self.rows):
            self._most = index + AT_FIRST
            self._again()
        if index < len(self.rows):
            self._chosen(self.rows[index], spot)

    def next_trouble(self) -> None:
        """Go to the place after the current one, of the same finding or the next."""
        self._step_trouble(1)

    def previous_trouble(self) -> None:
        """Go to the place before the current one, of the same finding or the one before."""
        self._step_trouble(-1)

    def _step_trouble(self, by: int) -> None:
        findings = self._desk.findings
        if not findings:
            return
        index = next((number for number, row in enumerate(self.rows) if row.is_current), None)
        if index is None:
            index, spot = (0, 0) if by > 0 else (len(findings) - 1, -1)
        else:
            spot = self._spot + by
            if not 0 <= spot < len(findings[index].all_places):
                index, spot = (index + by) % len(findings), 0 if by > 0 else -1
        count = len(findings[index].all_places)
        spot %= count
        self.go_to(index, spot)
        text = self.tr("Trouble {n} of {all}, place {m} of {count}:") if count > 1 else self.tr("Trouble {n} of {all}:")
        text = text.format(n=index + 1, all=len(findings), m=spot + 1, count=count)
        self._desk.tell(Message(text, hint=say(findings[index].message)))

    def dress(self) -> None:
        """Take on the theme that holds now."""
        self._again()

    def first_stop(self) -> QWidget | None:
        """Return where the focus goes when it comes to this panel."""
        if self.rows:
            return next((row for row in self.rows if row.is_current), self.rows[0])
        page = self.area.widget()
        return page.findChild(QPushButton) if page is not None else None

    # --- within ---------------------------------------------------------------------------------------------------

    def _checking(self) -> None:
        self.state.setText(self.tr("Checking…"))

    def _forget(self) -> None:
        self._most = AT_FIRST

    def _again(self) -> None:
        self._shown = None
        if self._desk.is_checked:
            self.refresh()

    def _list(self, findings: list[Finding]) -> QWidget:
        page = QWidget()
        page.setObjectName("scrolled")
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 8)
        column.setSpacing(0)
        made = 0
        for _, members in itertools.groupby(findings, key=lambda finding: finding.rule):
            together = list(members)
            if made >= self._most:
                break
            column.addWidget(RuleHeading(together, self._mend_all(together)))
            for finding in together[: self._most - made]:
                row = FindingRow(finding, self._desk.unit, self._mend(finding))
                row.chosen.connect(lambda row=row: self._chosen(row))
                self.rows.append(row)
                column.addWidget(row)
                made += 1
        if made < len(findings):
            more = push_button(self.tr("Show {n} more").format(n=len(findings) - made), self._show_more, kind="link")
            column.addWidget(more)
        column.addStretch(1)
        return page

    def _ready(self) -> QWidget:
        page = self._words(
            "mark-good", "good", self.tr("Ready to cut"), self.tr("Nothing stands in the way of a clean cut.")
        )
        layout = page.layout()
        assert isinstance(layout, QVBoxLayout)
        row = QHBoxLayout()
        self.export_button = push_button(self.tr("Export…"), self.export_wanted.emit, kind="primary", icon="export")
        row.addStretch(1)
        row.addWidget(self.export_button)
        row.addStretch(1)
        layout.insertSpacing(layout.count() - 1, 6)
        layout.insertLayout(layout.count() - 1, row)
        return page

    def _words(self, icon: str, colour: str, title: str, text: str) -> QWidget:
        page = QWidget()
        page.setObjectName("scrolled")
        column = QVBoxLayout(page)
        column.setContentsMargins(24, 12, 24, 12)
        column.setSpacing(6)
        column.addStretch(1)
        column.addWidget(IconLabel(icon, colour, 30), 0, Qt.AlignmentFlag.AlignHCenter)
        head = label(title, "good" if colour == "good" else "title", scale=1.15)
        head.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        head.setWordWrap(True)
        column.addWidget(head)
        if text:
            body = label(text, "muted")
            body.setAlignment(Qt.AlignmentFlag.AlignHCenter)
            body.setWordWrap(True)
            column.addWidget(body)
        column.addStretch(2)
        return page

    def _fill_with(self, page: QWidget) -> None:
        kept = self.area.verticalScrollBar().value()
        focus = self.area.focusWidget()
        was_here = focus is not None and focus.hasFocus() and self.area.isAncestorOf(focus)
        holders = [
            number for number, row in enumerate(self.rows) if was_here and (row is focus or focus in row.children())
        ]
        place = holders[0] if holders else 0
        live = set(page.findChildren(FindingRow))
        self.rows = [row for row in self.rows if row in live]
        self.area.setWidget(page)
        self.area.verticalScrollBar().setValue(kept)
        if was_here:  # what had the focus is gone: go on with what has come into its place
            stop = self.rows[min(place, len(self.rows) - 1)] if self.rows else self.first_stop()
            (stop or self).setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_more(self) -> None:
        self._most += 5 * AT_FIRST
        self._again()

    def _chosen(self, chosen: FindingRow, spot: int | None = None) -> None:
        places = chosen.finding.all_places
        worst = chosen.finding.x_mm, chosen.finding.y_mm
        self._spot = spot if spot is not None else places.index(worst) if worst in places else 0
        for row in self.rows:
            row.set_current(on=row is chosen)
        self.current_changed.emit(chosen.finding)
        self.area.ensureWidgetVisible(chosen, 0, 20)
        self._desk.go_to(chosen.finding, self._spot)

    def _mend(self, finding: Finding) -> Callable[[], None]:
        remedy = finding.remedy
        return lambda: self._desk.do_plain(remedy.do or "", **dict(remedy.values))

    def _mend_all(self, findings: list[Finding]) -> tuple[str, Callable[[], None]] | None:
        """Return the words and the deed of the one step that mends as many findings of a rule as one step can."""
        best = max(alike(findings), key=len, default=[])
        values = together(best)
        if values is None:
            return None
        all_of_them = len(best) == len(findings)
        text = self.tr("Mend all {n}") if all_of_them else self.tr("Mend {n} of them")
        return text.format(n=len(best)), lambda: self._desk.do_plain(best[0].remedy.do or "", **values)


_JOINS_WHAT_IT_GETS = frozenset({"merge"})
"""Remedies that must not be given more shapes than one finding names: they would become one piece."""


def alike(findings: list[Finding]) -> list[list[Finding]]:
    """Return findings whose remedies are the same step with the same numbers, set by set."""
    sets: dict[str, list[Finding]] = {}
    for finding in findings:
        remedy = finding.remedy
        if remedy.do is not None and remedy.do not in _JOINS_WHAT_IT_GETS:
            sets.setdefault(f"{remedy.do} {remedy.text} {_rest(remedy.values)}", []).append(finding)
    return list(sets.values())


def together(findings: list[Finding]) -> dict[str, Any] | None:
    """Return the values of the one step that mends several findings that are alike."""
    ids: list[str] = []
    for finding in findings:
        on = finding.remedy.values.get("on")
        one = on.get("id") if isinstance(on, dict) else None
        if one is None:
            return None
        ids += [one] if isinstance(one, str) else list(one)
    unique = list(dict.fromkeys(ids))
    return {**_rest(findings[0].remedy.values), "on": unique} if len(findings) > 1 else None


def _rest(values: Any) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != "on"}
