"""The canvas with its foot: which view, how large, where the pointer is, in which unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout

from bladewise.units import MM_PER_UNIT, format_number
from bladewise.window.canvas.snapping import SnapRules
from bladewise.window.controls import Segments, flat_button, label
from bladewise.window.kinds import DashLegend

if TYPE_CHECKING:
    from PySide6.QtCore import QObject

    from bladewise.document import Changes
    from bladewise.findings import Finding
    from bladewise.window.actions import Actions
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.materials.layers_apart import LayersApart

GO_TO_MM = 30.0
"""How much around a finding is shown at the least when going there; else the smallest shape it is about."""

_NARROW = frozenset({"narrow-bridge", "narrow-gap"})
NARROW_TO_MM = 4.0
"""How far around a narrow place is shown at the least: near enough for its gauge."""


class CanvasPane(QFrame):
    """Keeps the canvas in step with the desk."""

    menu_wanted = Signal(object)

    def __init__(self, desk: Desk, canvas: Canvas, actions: Actions) -> None:
        """Put the canvas in place and listen both ways."""
        super().__init__()
        self.setObjectName("panel")
        self._desk = desk
        self.canvas = canvas
        self.apart: LayersApart | None = None
        self._current: Finding | None = None
        self._spot = 0
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(canvas, 1)
        column.addWidget(self._make_foot(actions))
        canvas.set_unit(desk.unit)
        canvas.selection_changed.connect(lambda ids: desk.select(ids))
        canvas.step_wanted.connect(self._step)
        canvas.view_mode_changed.connect(self._mode_changed)
        canvas.view_changed.connect(self._view_changed)
        canvas.pointer_moved.connect(self._pointer)
        canvas.hint_changed.connect(self._hinted)
        canvas.context_wanted.connect(lambda place: self.menu_wanted.emit(place))
        desk.job_changed.connect(self._job_changed)
        desk.selection_changed.connect(self._selected)
        desk.ghost_changed.connect(lambda job, changed: canvas.set_ghost(job, changed))
        desk.material_filter_changed.connect(self._filtered)
        canvas.mark_chosen.connect(self._mark_chosen)
        canvas.installEventFilter(self)
        for changed in (desk.checking, desk.checked, desk.reached):
            changed.connect(self._show_findings)
        desk.place_wanted.connect(self._go_to)
        desk.apart_wanted.connect(self.layers_apart)
        desk.preferences.unit_changed.connect(self._unit_changed)
        desk.preferences.changed.connect(lambda _what: self._take_preferences())
        self._take_preferences()
        self._job_changed(None)

    def layers_apart(self) -> None:
        """Show the layers drawn apart over the canvas; again: leave that."""
        from bladewise.window.materials.layers_apart import LayersApart

        if self.apart is not None:
            apart, self.apart = self.apart, None
            apart.end()
            self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.apart = LayersApart(self.canvas, self._desk)
        self.apart.left.connect(self.layers_apart)
        self.apart.show()
        self.apart.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- desk to canvas -------------------------------------------------------------------------------------------

    def _job_changed(self, changes: Changes | None) -> None:
        self.canvas.set_job(self._desk.job, changes)
        if changes is None:
            self._current = None
            self.canvas.set_findings([], None)
            self.canvas.set_material_filter(None)
            self.canvas.zoom_to_fit()
        else:
            self.canvas.repaint()  # what was done is seen before the panels count and list it
        self._show_legend()

    def _selected(self, ids: frozenset[str]) -> None:
        """Show what is selected; groups and leaves the canvas knows, layers stand for what they hold."""
        shown = set(ids)
        for layer in self._desk.job.layers:
            if layer.id in shown:
                shown.discard(layer.id)
                shown.update(child.id for child in layer.children)
        self.canvas.set_selection(frozenset(shown))

    def _filtered(self, material_id: str | None) -> None:
        self.canvas.set_material_filter(material_id)
        self._show_findings()

    def _show_findings(self) -> None:
        shown = self._desk.findings_shown()
        findings = [finding for finding, _ in shown]
        current = findings.index(self._current) if self._current in findings else None
        self.canvas.set_findings(findings, current, self._spot, [reach for _, reach in shown])

    def _mark_chosen(self, index: int, x: float, y: float) -> None:
        """Point at the finding whose mark was clicked; the view stays where it is."""
        self._current = self._desk.findings_shown()[index][0]
        places = np.array(self._current.all_places)
        self._spot = int(np.argmin(np.hypot(*(places - (x, y)).T)))
        self._show_findings()
        self._desk.pointed_at.emit(self._current, self._spot)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let no check run while the hand moves art or the sheet: its thread would take turns with the frames."""
        kind = event.type()
        if kind in (QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonDblClick):
            self._desk.check.hold()
        elif kind in (QEvent.Type.MouseButtonRelease, QEvent.Type.Leave, QEvent.Type.Hide):
            self._desk.check.let_go()
        elif kind in (QEvent.Type.Wheel, QEvent.Type.KeyPress, QEvent.Type.NativeGesture):
            self._desk.check.wait_a_moment()
        return super().eventFilter(watched, event)

    def _go_to(self, finding: Finding, x: float, y: float) -> None:
        places = finding.all_places
        self._current, self._spot = finding, places.index((x, y)) if (x, y) in places else 0
        self._show_findings()
        leaves = [placed.leaf for each in finding.shapes if (placed := self._desk.job.placed(each)) is not None]
        sizes = [max(box[2] - box[0], box[3] - box[1]) for leaf in leaves if (box := leaf.bounds) is not None]
        if finding.rule in _NARROW:
            reach = max(NARROW_TO_MM, 10.0 * finding.measure)
        else:
            reach = GO_TO_MM / 2.0 if len(places) > 1 else max(GO_TO_MM / 2.0, 0.75 * min(sizes, default=0.0))
        self.canvas.zoom_to_box((x - reach, y - reach, x + reach, y + reach), 20.0)

    def _unit_changed(self, unit: str) -> None:
        self.canvas.set_unit(unit)
        self._take_preferences()
        self.units.set_value(unit)

    def _take_preferences(self) -> None:
        """Snap to what the operator chose, and nudge by the lengths that were set."""
        kept = self._desk.preferences
        kinds = kept.snap_to if kept.snapping else frozenset()
        self.canvas.snap_rules = SnapRules(kinds, kept.grid_mm, kept.unit)
        self.canvas.nudge_mm, self.canvas.nudge_far_mm = kept.nudge_mm, kept.big_nudge_mm
        self.canvas.update()

    # --- canvas to desk -------------------------------------------------------------------------------------------

    def _step(self, step: Any) -> None:
        self._desk.do(step, failed=self._not_moved)

    def _not_moved(self, error: Any) -> None:
        self.canvas.settle()
        self._desk.tell_error(error)

    def _mode_changed(self, mode: str) -> None:
        self.modes.set_value(str(mode))
        self._show_legend()

    def _show_legend(self) -> None:
        """Say what the dashes stand for, where outlines are seen."""
        self.legend.show_job(self._desk.job, wanted=str(self.canvas.view_mode) == "outline")

    def _view_changed(self) -> None:
        scale = self.canvas.view.scale * 25.4 / 96.0
        self.zoom.setText(f"{format_number(scale * 100.0, 0)} %")

    def _pointer(self, x: float, y: float) -> None:
        scale, places = MM_PER_UNIT[self._desk.unit], 3 if self._desk.unit == "in" else 1
        self.place.setText(f"{x / scale:.{places}f}, {y / scale:.{places}f}")

    def _hinted(self, text: str) -> None:
        self.what.setText(text)

    # --- the foot -------------------------------------------------------------------------------------------------

    def _make_foot(self, actions: Actions) -> QFrame:
        foot = QFrame()
        foot.setObjectName("canvasFoot")
        foot.setFixedHeight(38)
        row = QHBoxLayout(foot)
        row.setContentsMargins(8, 0, 8, 0)
        row.setSpacing(4)
        self.modes = Segments([("fill", self.tr("Fill")), ("outline", self.tr("Outlines"))], "fill", self.tr("View"))
        for mode, action in (("fill", actions["fill-view"]), ("outline", actions["outline-view"])):
            self.modes.button(mode).setToolTip(action.toolTip())
        self.modes.chosen.connect(lambda mode: self.canvas.set_view_mode(mode))
        row.addWidget(self.modes)
        row.addSpacing(8)
        row.addWidget(flat_button("minus", self.tr("Smaller"), actions["zoom-out"].trigger))
        self.zoom = label("100 %", "muted", scale=0.9)
        self.zoom.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.zoom.setMinimumWidth(54)
        row.addWidget(self.zoom)
        row.addWidget(flat_button("plus", self.tr("Larger"), actions["zoom-in"].trigger))
        row.addWidget(flat_button("fit", self.tr("Whole job"), actions["zoom-fit"].trigger))
        apart = actions["layers-apart"]
        row.addWidget(flat_button("layers-apart", self.tr("Layers apart"), apart.trigger, tip=apart.toolTip()))
        row.addSpacing(8)
        self.what = label("", "muted", scale=0.9)
        row.addWidget(self.what)
        self.legend = DashLegend()
        row.addWidget(self.legend)
        row.addStretch(1)
        self.place = label("", "muted", scale=0.9)
        row.addWidget(self.place)
        row.addSpacing(8)
        self.units = Segments([("mm", "mm"), ("in", "in")], self._desk.unit, self.tr("Unit"))
        self.units.chosen.connect(self._desk.preferences.set_unit)
        row.addWidget(self.units)
        return foot
