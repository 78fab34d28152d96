"""The panel that answers "is it ready to cut?"."""

from __future__ import annotations

import itertools
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QWidget

from bladewise.window.controls import push_button
from bladewise.window.desk import Message
from bladewise.window.language import say
from bladewise.window.readiness.frame import PanelFrame, has_focus
from bladewise.window.readiness.mending import Mending, alike, together
from bladewise.window.readiness.row import FindingRow, RuleHeading, SeverityHeading
from bladewise.window.readiness.wording import called

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.findings import Finding, Severity
    from bladewise.window.desk import Desk

AT_FIRST = 40
"""Rows of one rule made at first; more on demand: nobody reads a thousand, but the count is told."""

FEW = 6
"""So many findings of a rule stand open; more are told as a count that opens."""

Group = tuple["Severity", str]


class ReadinessPanel(PanelFrame):
    """Findings in order of harm, rule by rule; or that there are none."""

    current_changed = Signal(object)

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self._desk = desk
        self.mending = Mending(desk, self)
        self.shown: list[Finding] = []
        self._opened: dict[Group, bool] = {}
        self._most: dict[Group, int] = {}
        self._current: Finding | None = None
        self._spot = 0
        self.build()
        desk.checking.connect(self._checking)
        desk.checked.connect(self.refresh)
        desk.opened.connect(self._forget)
        desk.material_filter_changed.connect(lambda _id: self._again())
        desk.pointed_at.connect(self._pointed_at)
        desk.preferences.unit_changed.connect(lambda _unit: self.dress())
        self._checking()

    def refresh(self) -> None:
        """Show what the check found."""
        desk = self._desk
        self.shown = [finding for finding, _ in desk.findings_shown()]
        only = next((each for each in desk.job.materials_in_use() if each.id == desk.material_filter), None)
        self.filter.setVisible(only is not None and bool(desk.findings))
        if only is not None:
            self.filter_text.setText(self.tr("Only {material}").format(material=only.name))
        safe = sum(finding.remedy.is_safe_step for finding in self.shown)
        self.deeds.setVisible(bool(self.shown) and any(True for _ in desk.job.walk()))
        self.mend_all.setVisible(safe > 0)
        count = self.tr("Mend 1 that is safe") if safe == 1 else self.tr("Mend all {n} that are safe").format(n=safe)
        self.mend_all.setText(count)
        if desk.check_failure:
            self.state.setText(self.tr("The check could not be run"))
            self._say("mark-spoils", "spoils", desk.check_failure, "")
        elif not any(True for _ in desk.job.walk()):
            self.state.setText("")
            self._say(
                "mark-note",
                "muted",
                self.tr("Nothing to check yet"),
                self.tr("Bring in art, and what stands between it and a clean cut is listed here."),
            )
        elif not desk.findings:
            self.state.setText("")
            self._say_ready()
        else:
            total = len(desk.findings)
            state = self.tr("1 finding") if total == 1 else self.tr("{n} findings").format(n=total)
            self.state.setText(f"{self.tr('Ready to cut')} · {state}" if desk.is_ready else state)
            if self.shown:
                self._fill()
            else:
                self._say("mark-good", "good", self.tr("Nothing found in this material"), "")

    def go_to(self, index: int, spot: int | None = None) -> None:
        """Go to a finding by its place in the list, and to one of its places on the sheet; left out: the worst."""
        if 0 <= index < len(self.shown):
            finding = self.shown[index]
            self._make_current(finding, _worst(finding) if spot is None else spot)
            self._desk.go_to(finding, self._spot)

    def next_trouble(self) -> None:
        """Go to the place after the current one, of the same finding or the next."""
        self._step_trouble(1)

    def previous_trouble(self) -> None:
        """Go to the place before the current one, of the same finding or the one before."""
        self._step_trouble(-1)

    def _step_trouble(self, by: int) -> None:
        findings = self.shown
        if not findings:
            return
        index = next((number for number, each in enumerate(findings) if each is self._current), None)
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

    def open_rule(self, rule: str) -> None:
        """Bring the findings of a rule into view."""
        for severity, findings in _by_group(self.shown):
            if severity[1] == rule and not self._is_open(severity, findings):
                self._opened[severity] = True
        self._fill()

    def mend_safe(self) -> None:
        """Do every step that changes nothing a customer would see."""
        self.mending.mend_safe()

    def show_all_materials(self) -> None:
        """List the findings of all materials again."""
        self._desk.filter_material(None)

    def dress(self) -> None:
        """Take on the theme and the unit that hold now."""
        for widget in self._kept.values():
            self._drop(widget)
        self._kept = {}
        self._again()

    def first_stop(self) -> QWidget | None:
        """Return where the focus goes when it comes to this panel."""
        if self._said is not None:
            return self._said.findChild(QPushButton)
        if self.rows:
            return next((row for row in self.rows if row.is_current), self.rows[0])
        return next((stop for stop in self._stops()), None)

    # --- within ---------------------------------------------------------------------------------------------------

    def _checking(self) -> None:
        self.state.setText(self.tr("Checking…"))
        hold = {id(finding) for finding in self._desk.findings}
        for row in self.rows:
            row.set_stale(on=id(row.finding) not in hold)

    def _forget(self) -> None:
        self._opened, self._most, self._current = {}, {}, None

    def _again(self) -> None:
        if self._desk.is_checked or self._desk.check_failure:
            self.refresh()

    def _is_open(self, group: Group, findings: list[Finding]) -> bool:
        return self._opened.get(group, len(findings) <= FEW)

    def _fill(self) -> None:
        """Lay out headings and rows; those that are there already stay, with the focus they may have."""
        self._say_nothing()
        before, self._kept = self._kept, {}
        had_focus = next((number for number, row in enumerate(self.rows) if has_focus(row)), None)
        self.rows = []
        self._page.setUpdatesEnabled(False)
        while self._list.count():
            self._list.takeAt(0)
        last: Severity | None = None
        harms = [finding.severity for finding in self.shown]
        for group, findings in _by_group(self.shown):
            severity, rule = group
            if severity is not last:
                count, last = harms.count(severity), severity
                self._keep(before, ("severity", severity, count), partial(SeverityHeading, severity, count))
            self._add_group(before, group, rule, findings)
        for key, widget in before.items():
            if self._kept.get(key) is not widget:
                self._drop(widget)
        self._list.addStretch(1)
        stops = self._stops()
        for one, other in itertools.pairwise(stops):
            self.setTabOrder(one, other)
        self._page.setUpdatesEnabled(True)
        if had_focus is not None and not any(has_focus(row) for row in self.rows):
            stop = self.rows[min(had_focus, len(self.rows) - 1)] if self.rows else next(iter(stops), self)
            stop.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add_group(
        self, before: dict[tuple[Any, ...], QWidget], group: Group, rule: str, findings: list[Finding]
    ) -> None:
        title = called(rule, _place_count(findings))
        mend = self._mend_all(findings)
        is_open = self._is_open(group, findings)
        name = mend[0] if mend else ""
        heading = self._keep(
            before, ("rule", *group, title, name), lambda: self._make_heading(group, title, findings, name)
        )
        assert isinstance(heading, RuleHeading)
        heading.fold.set_open(on=is_open)
        if not is_open:
            return
        most = self._most.get(group, AT_FIRST)
        for number, finding in enumerate(findings[:most]):
            remedy = finding.remedy
            key: tuple[Any, ...] = "finding", group, finding.shapes, finding.message, remedy.do, remedy.text
            key = (*key, number) if key in self._kept else key
            row = self._keep(before, key, partial(self._make_row, finding))
            assert isinstance(row, FindingRow)
            if row.finding is not finding:
                row.take(finding, self._desk.unit)
            row.set_stale(on=False)
            row.set_current(on=finding == self._current)
            if row.is_current:
                self._current = finding
            self.rows.append(row)
        if most < len(findings):
            more = len(findings) - most
            self._keep(before, ("more", *group, more), lambda: self._make_more(group, more))

    def _keep(
        self, before: dict[tuple[Any, ...], QWidget], key: tuple[Any, ...], make: Callable[[], QWidget]
    ) -> QWidget:
        """Put a widget at the end of the list: the one that stood for the same thing, or a new one."""
        widget = before.get(key) or make()
        self._kept[key] = widget
        self._list.addWidget(widget)
        return widget

    def _make_heading(self, group: Group, title: str, findings: list[Finding], mend: str) -> RuleHeading:
        deed = (mend, lambda: self._mend_group(group)) if mend else None
        heading = RuleHeading(title, group[1], deed, say(findings[0].remedy.text))
        heading.toggled.connect(lambda on: self._toggle(group, on=on))
        return heading

    def _make_row(self, finding: Finding) -> FindingRow:
        row = FindingRow(finding, self._desk.unit, self._mend)
        row.chosen.connect(lambda: self.go_to(self._index(row.finding)))
        return row

    def _make_more(self, group: Group, more: int) -> QWidget:
        return push_button(self.tr("Show {n} more").format(n=more), lambda: self._show_more(group), kind="link")

    def _toggle(self, group: Group, *, on: bool) -> None:
        self._opened[group] = on
        self._fill()

    def _show_more(self, group: Group) -> None:
        self._most[group] = self._most.get(group, AT_FIRST) + 5 * AT_FIRST
        self._fill()

    def _index(self, finding: Finding) -> int:
        return next((number for number, each in enumerate(self.shown) if each is finding), -1)

    def _stops(self) -> list[QWidget]:
        stops: list[QWidget] = []
        for widget in self._kept.values():
            if isinstance(widget, (FindingRow, RuleHeading)):
                stops += widget.stops()
            elif isinstance(widget, QPushButton):
                stops.append(widget)
        return stops

    def _pointed_at(self, finding: Finding, spot: int) -> None:
        """Select the row of a finding whose mark was clicked on the canvas."""
        self._make_current(finding, spot)
        self._desk.select(finding.shapes)

    def _make_current(self, finding: Finding, spot: int) -> None:
        self._current, self._spot = finding, spot
        group = finding.severity, finding.rule
        kin = [each for each in self.shown if (each.severity, each.rule) == group]
        place = next((number for number, each in enumerate(kin) if each is finding), 0)
        if not self._is_open(group, kin) or place >= self._most.get(group, AT_FIRST):
            self._opened[group] = True
            self._most[group] = max(self._most.get(group, AT_FIRST), place + AT_FIRST)
            self._fill()
        for row in self.rows:
            row.set_current(on=row.finding is finding)
            if row.is_current:
                self._list.activate()  # a row just made has its place only then
                self.area.ensureWidgetVisible(row, 0, 20)
        self.current_changed.emit(finding)

    def _mend(self, finding: Finding) -> None:
        self._desk.do_plain(finding.remedy.do or "", **dict(finding.remedy.values))

    def _mend_all(self, findings: list[Finding]) -> tuple[str, list[Finding]] | None:
        """Return the words and the findings of the one step that mends as many of a rule as one step can."""
        best = max(alike(findings), key=len, default=[])
        if together(best) is None:
            return None
        text = self.tr("Mend all {n}") if len(best) == len(findings) else self.tr("Mend {n} of them")
        return text.format(n=_place_count(best)), best

    def _mend_group(self, group: Group) -> None:
        found = self._mend_all([each for each in self.shown if (each.severity, each.rule) == group])
        values = together(found[1]) if found is not None else None
        if found is not None and values is not None and self._desk.is_checked:
            self._desk.do_plain(found[1][0].remedy.do or "", **values)


def _by_group(findings: list[Finding]) -> list[tuple[Group, list[Finding]]]:
    """Return the findings of each severity and rule, in the order of the check."""
    groups = itertools.groupby(findings, key=lambda finding: (finding.severity, finding.rule))
    return [(group, list(members)) for group, members in groups]


def _place_count(findings: list[Finding]) -> int:
    """Return at how many places findings are: what a heading counts, and so what the button beside it counts."""
    return sum(len(finding.all_places) for finding in findings)


def _worst(finding: Finding) -> int:
    places, worst = finding.all_places, (finding.x_mm, finding.y_mm)
    return places.index(worst) if worst in places else 0
