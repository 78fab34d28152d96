"""One destination on the screen: ticked or not, what it asks for, its files; opened, its settings beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QVBoxLayout, QWidget

from bladewise.window.controls import (
    ElidedLabel,
    FlowLayout,
    IconLabel,
    KeyFrame,
    flat_button,
    label,
    push_button,
    restyle,
)
from bladewise.window.design import APART, FAR, INDENT, NEAR, SMALL
from bladewise.window.hand_off import said
from bladewise.window.hand_off.form import DestinationForm
from bladewise.window.hand_off.tile import TILE, FileTile
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from PySide6.QtGui import QResizeEvent

    from bladewise.document import Material
    from bladewise.errors import BladewiseError
    from bladewise.formats import Destination
    from bladewise.window.hand_off.looks import Look

_ANY_WIDTH = 16777215
MOST_TILES = 24
"""More files than this are counted, not shown: the first ones tell whether it is right."""


class DestinationBand(QFrame):
    """A destination and what goes to it."""

    ticked = Signal()
    change_wanted = Signal()
    copy_wanted = Signal()
    remove_wanted = Signal()
    look_wanted = Signal(object)
    place_wanted = Signal(str)
    edited = Signal()
    kept = Signal(object)
    left = Signal()

    def __init__(self, destination: Destination, unit: str, *, is_on: bool) -> None:
        """Show a destination."""
        super().__init__()
        self.setObjectName("card")
        self.destination = destination
        self.form: DestinationForm | None = None
        self.tiles: list[FileTile] = []
        self._unit = unit
        self._where = ""
        self._shown: list[Look | str] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(APART, NEAR, APART, APART)
        column.setSpacing(NEAR)
        column.addLayout(self._make_head(is_on=is_on))
        self._middle = QHBoxLayout()
        self._middle.setSpacing(FAR)
        right = QVBoxLayout()
        right.setSpacing(NEAR)
        right.addWidget(self._make_problem())
        self._flow_holder = _Tiles()
        beside = QHBoxLayout()
        beside.setSpacing(APART)
        self.facts = label("", "muted")
        beside.addWidget(self._flow_holder, 1)
        beside.addWidget(self.facts, 3, Qt.AlignmentFlag.AlignTop)
        right.addLayout(beside)
        self.more = label("", "muted")
        right.addWidget(self.more)
        right.addStretch(1)
        self._middle.addLayout(right, 1)
        column.addLayout(self._middle)
        self.show_waiting()

    @property
    def is_on(self) -> bool:
        """Whether files go there."""
        return self.tick.isChecked()

    @property
    def is_open(self) -> bool:
        """Whether its settings are being changed."""
        return self.form is not None

    # --- what goes there ------------------------------------------------------------------------------------------

    def show_waiting(self) -> None:
        """Say that the files are being worked out, or nothing where none go there."""
        self._show(waiting=self.is_on or self.is_open)

    def show_progress(self, fraction: float) -> None:
        """Say how far the files are."""
        if not self.tiles and (self.is_on or self.is_open) and self.problem.isHidden():
            self.state.setText(self.tr("working out the files… {n} %").format(n=round(100.0 * fraction)))

    def show_looks(self, looks: Sequence[Look], there: Collection[str]) -> None:
        """Show the files; `there` are names of files that are in the folder already."""
        shown: list[Look | str] = [*looks, *sorted(there)]
        if shown == self._shown:  # whoever has the focus on one of them keeps it
            return
        self._show(count=len(looks))
        self._shown = shown
        self.state.setText(said.totals(looks, self._unit))
        for look in looks[:MOST_TILES]:
            tile = FileTile(look, self._unit, replaces=look.file.name in there)
            tile.clicked.connect(lambda _on=False, look=look: self.look_wanted.emit(look))
            self.tiles.append(tile)
            self._flow_holder.flow.addWidget(tile)
            tile.show()
        alone = len(looks) == 1 and not self.is_open
        self.facts.setText("\n".join(said.facts(looks[0], self._unit)) if alone else "")
        self.facts.setVisible(alone)
        self._flow_holder.setMaximumWidth(TILE.width() if alone else _ANY_WIDTH)
        rest = len(looks) - MOST_TILES
        self.more.setText(self.tr("and {n} more").format(n=rest) if rest > 0 else "")
        self.more.setVisible(rest > 0)
        self._flow_holder.fit()

    def show_refusal(self, error: BladewiseError, *, can_show: bool) -> None:
        """Say why there are no files."""
        self._show(problem=True)
        self.state.setText(self.tr("not yet"))
        where = f"{say(error.where)}: " if error.where else ""
        self.problem_text.setText(f"{where}{say(error.what)} {say(error.hint)}".strip())
        self._where = error.where
        self.problem_show.setVisible(can_show)

    def _show(self, *, waiting: bool = False, count: int = 0, problem: bool = False) -> None:
        self._shown = None
        for tile in self.tiles:
            self._flow_holder.flow.removeWidget(tile)
            tile.hide()
            tile.deleteLater()
        self.tiles = []
        self.state.setText(self.tr("working out the files…") if waiting else "")
        self.problem.setVisible(problem)
        self._flow_holder.setVisible(count > 0)
        self.facts.hide()
        self.more.hide()

    def stops(self) -> list[QWidget]:
        """Return what Tab comes to, one after the other."""
        inside = stops_in(self.form) if self.form is not None else []
        ends: list[QWidget] = [self.keep_button, self.leave_button] if self.form is not None else []
        return [self.tick, self.change, self.copy, self.remove, *inside, *ends, self.problem_show, *self.tiles]

    # --- changing it ----------------------------------------------------------------------------------------------

    def open(self, others: list[str], materials: Sequence[Material], *, is_new: bool) -> None:
        """Show the settings beside the files."""
        self.form = DestinationForm(self.destination, others, materials, self._unit)
        self.form.changed.connect(self._form_changed)
        self._frame = KeyFrame()
        self._frame.setFixedWidth(TILE.width() * 2 + INDENT * 3)
        self._frame.entered.connect(self._keep)
        self._frame.escaped.connect(self.left)
        column = QVBoxLayout(self._frame)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(APART)
        column.addWidget(self.form)
        foot = QHBoxLayout()
        self.keep_button = push_button(
            self.tr("Keep destination") if is_new else self.tr("Keep changes"), self._keep, kind="primary"
        )
        self.leave_button = push_button(self.tr("Leave it") if is_new else self.tr("Leave as it was"), self.left.emit)
        foot.addWidget(self.keep_button)
        foot.addWidget(self.leave_button)
        foot.addStretch(1)
        column.addLayout(foot)
        column.addStretch(1)
        self._middle.insertWidget(0, self._frame)
        self._frame.show()  # at once, so that it can take the focus
        for control in (self.tick, self.change, self.copy, self.remove):
            control.setVisible(control is self.tick)
        self._form_changed()
        self.form.name.setFocus(Qt.FocusReason.OtherFocusReason)
        self.form.name.selectAll()

    def _form_changed(self) -> None:
        assert self.form is not None
        changed = self.form.destination()
        self.keep_button.setEnabled(changed is not None)
        if changed is not None:
            self.title.setText(changed.name)
            self.summary.setText(said.summary(changed))
        self.edited.emit()

    def _keep(self) -> None:
        changed = self.form.destination() if self.form is not None else None
        if changed is not None:
            self.kept.emit(changed)

    # --- parts ----------------------------------------------------------------------------------------------------

    def _make_head(self, *, is_on: bool) -> QHBoxLayout:
        head = QHBoxLayout()
        head.setSpacing(NEAR)
        name = self.destination.name
        self.tick = QCheckBox()
        self.tick.setAccessibleName(self.tr("Write files for {name}").format(name=name))
        self.tick.setToolTip(self.tick.accessibleName())
        self.tick.setChecked(is_on)
        self.tick.toggled.connect(lambda _on: self._tick_changed())
        self.title = ElidedLabel(name, "title")
        self.summary = ElidedLabel(said.summary(self.destination), "muted")
        self.state = label("", "muted")
        self.change = push_button(self.tr("Change"), self.change_wanted.emit, kind="link")
        self.change.setAccessibleName(self.tr("Change {name}").format(name=name))
        self.copy = flat_button("copy", self.tr("Copy {name}").format(name=name), self.copy_wanted.emit)
        self.remove = flat_button("delete", self.tr("Remove {name}").format(name=name), self.remove_wanted.emit)
        head.addWidget(self.tick)
        head.addWidget(self.title)
        head.addWidget(self.summary)
        head.addStretch(1)
        head.addWidget(self.state)
        head.addSpacing(NEAR)
        for button in (self.change, self.copy, self.remove):
            head.addWidget(button)
        self._mark_off()
        return head

    def _make_problem(self) -> QFrame:
        self.problem = QFrame()
        self.problem.setObjectName("caution")
        row = QHBoxLayout(self.problem)
        row.setContentsMargins(APART, NEAR, APART, NEAR)
        row.setSpacing(APART)
        row.addWidget(IconLabel("mark-spoils", "spoils", 18), 0, Qt.AlignmentFlag.AlignTop)
        self.problem_text = label("")
        self.problem_text.setWordWrap(True)
        row.addWidget(self.problem_text, 1)
        self.problem_show = push_button(self.tr("Show me"), lambda: self.place_wanted.emit(self._where), kind="link")
        row.addWidget(self.problem_show, 0, Qt.AlignmentFlag.AlignTop)
        row.setContentsMargins(APART, SMALL * 2, APART, SMALL * 2)
        return self.problem

    def _tick_changed(self) -> None:
        self._mark_off()
        self.ticked.emit()

    def _mark_off(self) -> None:
        restyle(self.title, "role", "title" if self.is_on else "muted")


def stops_in(within: QWidget) -> list[QWidget]:
    """Return the controls in a widget that take the focus, in the order in which they were put there."""
    return [
        each
        for each in within.findChildren(QWidget)
        if each.focusPolicy() & Qt.FocusPolicy.TabFocus
        and each.focusProxy() is None
        and each.isVisibleTo(within)
        and each.window() is within.window()  # a box to choose from keeps its list in a window of its own
    ]


class _Tiles(QWidget):
    """Tiles in rows; as high as its width makes them, so that none is cut off in a list that scrolls."""

    def __init__(self) -> None:
        super().__init__()
        self.flow = FlowLayout(self, gap=NEAR, row_gap=NEAR)

    def fit(self) -> None:
        """Be as high as the rows."""
        self.setFixedHeight(max(1, self.flow.heightForWidth(self.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the tiles out anew."""
        super().resizeEvent(event)
        self.fit()
