"""What the bench shows while the hand is about something on the canvas: nodes with their numbers, measures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from bladewise import operations
from bladewise.operations.declaration import Parameter, ParameterType
from bladewise.operations.selecting import smaller_than
from bladewise.window import icons
from bladewise.window.bench.fields import TypedField
from bladewise.window.canvas.node_actions import NODE_ACTIONS
from bladewise.window.controls import FlowLayout, IconLabel, KeyFrame, label, push_button, rule
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.window.canvas.handiwork import Handiwork
    from bladewise.window.canvas.measure import Measuring
    from bladewise.window.canvas.node_editing import NodeEditing
    from bladewise.window.desk import Desk

_ICONS = {
    "add": "add-node",
    "delete": "delete-nodes",
    "corner": "node-corner",
    "smooth": "node-smooth",
    "balanced": "node-balanced",
    "straighten": "straighten",
    "curve": "line-to-curve",
    "remove": "remove-segments",
    "break": "break-path",
    "join-line": "join-ends",
    "join-curve": "join-ends",
    "join-meet": "join-ends",
    "close": "close-path",
    "reverse": "reverse-path",
    "start": "start-node",
}


def length_parameter(name: str, help_: str, *, optional: bool = True, minimum: float | None = None) -> Parameter:
    """Return the declaration of a length that belongs to no operation."""
    return Parameter(name, ParameterType.LENGTH, help_, None, minimum, None, optional=optional)


class HandStrip(KeyFrame):
    """A title with a word of help at the left, what the work offers beside it, a way out at the right."""

    def __init__(self, work: Handiwork, title: str, help_: str, icon: str) -> None:
        """Lay out the frame; subclasses fill `self.middle`."""
        super().__init__()
        self.work = work
        self.setAccessibleName(title)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(16)
        name = QVBoxLayout()
        name.setSpacing(2)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(IconLabel(icon if icons.exists(icon) else "dot", "accent", 18))
        self.title = label(title, "title", scale=1.15)
        head.addWidget(self.title)
        head.addStretch(1)
        name.addLayout(head)
        self.help = label(help_, "muted", scale=0.9)
        self.help.setWordWrap(True)
        self.help.setFixedWidth(210)
        name.addWidget(self.help)
        name.addStretch(1)
        row.addLayout(name)
        row.addWidget(rule(upright=True))
        self.middle = QHBoxLayout()
        self.middle.setSpacing(12)
        row.addLayout(self.middle, 1)
        self.leave_button = push_button(self.tr("Done"), work.canvas.put_down)
        self.leave_button.setToolTip(self.tr("Escape"))
        way_out = QVBoxLayout()
        way_out.addWidget(self.leave_button)
        way_out.addStretch(1)
        row.addLayout(way_out)
        self.escaped.connect(self._escaped)

    def first_stop(self) -> QWidget:
        """Return where the focus goes when it comes to the bench."""
        return self.leave_button

    def _escaped(self) -> None:
        self.work.canvas.setFocus(Qt.FocusReason.OtherFocusReason)


class NodeStrip(HandStrip):
    """Where the picked node is, to be typed; and all that can be done with what is picked."""

    def __init__(self, work: NodeEditing, desk: Desk) -> None:
        """Make fields and buttons."""
        help_ = QCoreApplication.translate(
            "NodeStrip", "Drag nodes, handles, segments. Tab: next node. H: its handles. Arrows nudge."
        )
        super().__init__(work, QCoreApplication.translate("NodeStrip", "Nodes"), help_, "move-nodes")
        self._nodes, self._desk = work, desk
        places = QVBoxLayout()
        places.setSpacing(2)
        fields = QHBoxLayout()
        fields.setSpacing(8)
        self.fields = {
            "x_mm": TypedField(length_parameter("x", self.tr("How far from the left edge of the sheet")), desk),
            "y_mm": TypedField(length_parameter("y", self.tr("How far from the top edge of the sheet")), desk),
        }
        for field in self.fields.values():
            field.line.returnPressed.connect(self._place)
            fields.addWidget(field)
        places.addLayout(fields)
        self.what = label("", "muted", scale=0.9)
        places.addWidget(self.what)
        places.addStretch(1)
        self.middle.addLayout(places)
        page = QWidget()
        page.setObjectName("scrolled")
        flow = FlowLayout(page, gap=6, row_gap=6)
        self.buttons: dict[str, QPushButton] = {}
        for name, action in NODE_ACTIONS.items():
            button = push_button(action.title(), self._doing(name), kind="verb")
            icons.put(button, _ICONS[name])
            key = QKeySequence(action.keys[0]).toString(QKeySequence.SequenceFormat.NativeText)
            button.setToolTip(f"{action.title()} · {key}")
            button.setAccessibleName(action.title())
            button.setAccessibleDescription(action.tip())
            button.setObjectName(f"node-{name}")
            self.buttons[name] = button
            flow.addWidget(button)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.viewport().setAutoFillBackground(False)
        area.setWidget(page)
        self.middle.addWidget(area, 1)
        work.changed.connect(self.refresh)
        self.refresh()

    def first_stop(self) -> QWidget:
        """Return the field for x."""
        return self.fields["x_mm"].line

    def refresh(self) -> None:
        """Show what is picked."""
        work = self._nodes
        place = work.place()
        count = sum(len(rows) for rows in work.chosen.values())
        for axis, field in enumerate(self.fields.values()):
            if not field.line.hasFocus() or place is not None:
                field.set_value(None if place is None else place[axis])
                field.mark(wrong=False)
            field.setEnabled(bool(count) or work.held is not None)
            field.line.setPlaceholderText(self.tr("as it is") if count else "–")
        if work.held is not None:
            text = self.tr("one handle")
        elif not count:
            text = self.tr("no node picked")
        else:
            text = self.tr("1 node picked") if count == 1 else self.tr("{count} nodes picked").format(count=count)
        self.what.setText(text)
        for name, button in self.buttons.items():
            button.setEnabled(NODE_ACTIONS[name].fits(work))

    def _place(self) -> None:
        work = self._nodes
        try:
            values = {name: field.read() for name, field in self.fields.items()}
        except ValueError as error:
            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self._desk.tell(Message(""))
        if work.held is not None and None not in values.values():
            handle = {"nodes": {work.held.shape: [work.held.node]}, "side": work.held.side.value}
            work.ask(operations.step("move-handle", {**handle, **values}), {})
        elif work.chosen and any(value is not None for value in values.values()):
            given = {name: value for name, value in values.items() if value is not None}
            place = work.place()
            if place is not None:  # what was not typed over stays to the last digit
                given = {
                    name: value
                    for (name, value), was in zip(values.items(), place, strict=True)
                    if value is not None and abs(value - was) > 5e-4
                }
            if given:
                work.ask(operations.step("place-nodes", {"nodes": work.chosen, **given}), {})

    def _doing(self, name: str) -> Callable[[], None]:
        def do() -> None:
            self._nodes.do(name)
            if not self.buttons[name].isEnabled():
                self._nodes.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

        return do


class MeasureStrip(HandStrip):
    """What was measured, as text that can be copied."""

    def __init__(self, work: Measuring, desk: Desk) -> None:
        """Make the readout."""
        help_ = QCoreApplication.translate(
            "MeasureStrip",
            "Click two places, or drag. What is selected is measured too. Arrows and Enter pick by keys.",
        )
        super().__init__(work, QCoreApplication.translate("MeasureStrip", "Measure"), help_, "measure")
        self._measuring, self._desk = work, desk
        self.distance = label("")
        self.selection = label("")
        for each, name in (
            (self.distance, self.tr("Between two places")),
            (self.selection, self.tr("What is selected")),
        ):
            column = QVBoxLayout()
            column.setSpacing(2)
            column.addWidget(label(name, "muted", scale=0.9))
            each.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            column.addWidget(each)
            column.addStretch(1)
            self.middle.addLayout(column)
            self.middle.addSpacing(24)
        self.middle.addStretch(1)
        self.copy_button = push_button(self.tr("Copy as text"), self.copy, kind="verb")
        self.copy_button.setToolTip(self.tr("Ctrl+C"))
        self.middle.addWidget(self.copy_button, 0, Qt.AlignmentFlag.AlignTop)
        work.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show what was measured."""
        work = self._measuring
        _show(self.distance, work.distance_lines(), self.tr("nothing picked yet"))
        _show(
            self.selection,
            work.selection_lines(),
            self.tr("measuring…") if work.is_busy else self.tr("nothing selected"),
        )
        self.copy_button.setEnabled(bool(work.lines()))

    def copy(self) -> None:
        """Put it on the clipboard."""
        if text := self._measuring.text():
            QGuiApplication.clipboard().setText(text)
            self._desk.tell(Message(self.tr("What was measured is on the clipboard."), Tone.GOOD))


class SmallerStrip(HandStrip):
    """A size; what is smaller is selected as it is typed."""

    def __init__(self, work: Handiwork, desk: Desk) -> None:
        """Make the field."""
        help_ = QCoreApplication.translate("SmallerStrip", "What is smaller than this across and down is selected.")
        super().__init__(work, QCoreApplication.translate("SmallerStrip", "Select small art"), help_, "same")
        self._desk = desk
        parameter = length_parameter("smaller_than", self.tr("Smaller than this"), optional=False, minimum=0.0)
        self.field = TypedField(parameter, desk)
        self.field.set_value(2.0)
        self.field.changed.connect(self._select)
        self.field.line.returnPressed.connect(work.canvas.put_down)
        self.middle.addWidget(self.field, 0, Qt.AlignmentFlag.AlignTop)
        self.count = label("", "muted")
        self.middle.addWidget(self.count, 1, Qt.AlignmentFlag.AlignTop)
        self.escaped.connect(work.canvas.put_down)
        self._select()

    def first_stop(self) -> QWidget:
        """Return the field."""
        return self.field.line

    def _select(self) -> None:
        try:
            size = self.field.read()
        except ValueError as error:
            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self._desk.tell(Message(""))
        found = smaller_than(self._desk.job, size)
        self._desk.select(found)
        self.count.setText(
            self.tr("1 shape") if len(found) == 1 else self.tr("{count} shapes").format(count=len(found))
        )


class PlainStrip(HandStrip):
    """Only says what the hand is about."""


def strip_for(work: Any, desk: Desk) -> HandStrip | None:
    """Return the strip of a work; works of an open verb have its form instead."""
    match work.name:
        case "nodes":
            return NodeStrip(work, desk)
        case "smaller":
            return SmallerStrip(work, desk)
        case "retype":
            from bladewise.window.lettering.retyping import RetypeStrip

            return RetypeStrip(work, desk)
        case "measure":
            return MeasureStrip(work, desk)
        case "guide" if not work.is_verb:
            return PlainStrip(
                work,
                QCoreApplication.translate("GuideStrip", "Guide"),
                QCoreApplication.translate(
                    "GuideStrip", "Click where it goes, or bring it there with the arrows and press Enter."
                ),
                "guide",
            )
        case _:
            return None


def _show(target: QLabel, lines: list[str], otherwise: str) -> None:
    target.setText("\n".join(lines) or otherwise)
