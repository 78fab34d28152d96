"""Where what is selected lies and how large it is, as numbers to be typed about a reference point.

Enter does what was typed, as a step; Escape goes back to the canvas. What the strokes do when art is
scaled stands beside the numbers in plain words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QCheckBox, QGridLayout, QHBoxLayout, QWidget

from bladewise import operations
from bladewise.document import Box, bounds_of
from bladewise.operations.arrange import Anchor
from bladewise.operations.declaration import Parameter, ParameterType
from bladewise.window import theme
from bladewise.window.bench.fields import TypedField
from bladewise.window.controls import label
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.geometry.path import Point
    from bladewise.window.desk import Desk

_ROWS = (
    (Anchor.TOP_LEFT, Anchor.TOP, Anchor.TOP_RIGHT),
    (Anchor.LEFT, Anchor.CENTRE, Anchor.RIGHT),
    (Anchor.BOTTOM_LEFT, Anchor.BOTTOM, Anchor.BOTTOM_RIGHT),
)
_LONGEST = "1234.567 mm"
"""A field is wide enough for this."""

_STROKES = "scale-strokes"
_SAME_MM = 5e-4
"""What was not typed over stands in the field to a thousandth; less than half of that is no change."""


class ReferencePicker(QWidget):
    """Nine points of a box, one of them chosen; arrows go from one to the next."""

    chosen = Signal(object)

    def __init__(self) -> None:
        """Choose the centre."""
        super().__init__()
        self.setAccessibleName(self.tr("Reference point"))
        words = {
            Anchor.TOP_LEFT: self.tr("Top left corner"),
            Anchor.TOP: self.tr("Top side"),
            Anchor.TOP_RIGHT: self.tr("Top right corner"),
            Anchor.LEFT: self.tr("Left side"),
            Anchor.CENTRE: self.tr("Centre"),
            Anchor.RIGHT: self.tr("Right side"),
            Anchor.BOTTOM_LEFT: self.tr("Bottom left corner"),
            Anchor.BOTTOM: self.tr("Bottom side"),
            Anchor.BOTTOM_RIGHT: self.tr("Bottom right corner"),
        }
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(0)
        self._group = QButtonGroup(self)
        self.buttons: dict[Anchor, _Point] = {}
        for row, anchors in enumerate(_ROWS):
            for column, anchor in enumerate(anchors):
                button = _Point(row, column)
                button.setAccessibleName(self.tr("Reference point: {where}").format(where=words[anchor]))
                button.setToolTip(words[anchor])
                self._group.addButton(button)
                self.buttons[anchor] = button
                grid.addWidget(button, row, column)
                button.clicked.connect(lambda _on=False, anchor=anchor: self.chosen.emit(anchor))
        self.show_anchor(Anchor.CENTRE)

    def show_anchor(self, anchor: Anchor | None) -> None:
        """Show which is chosen; None where a point elsewhere is."""
        self._group.setExclusive(anchor is not None)
        for each, button in self.buttons.items():
            button.setChecked(each is anchor)
            button.setFocusPolicy(
                Qt.FocusPolicy.TabFocus if each is (anchor or Anchor.CENTRE) else Qt.FocusPolicy.ClickFocus
            )
        self.setFocusProxy(self.buttons[anchor or Anchor.CENTRE])


class _Point(QAbstractButton):
    """One of the nine."""

    def __init__(self, row: int, column: int) -> None:
        super().__init__()
        self._row, self._column = row, column
        self.setCheckable(True)
        self.setFixedSize(QSize(22, 22))

    def sizeHint(self) -> QSize:
        """Ask for a square."""
        return QSize(22, 22)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the point, and the sides of the box that run through it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = QRectF(self.rect()).center()
        painter.setPen(QPen(theme.colour("border"), 1.0))
        wide, high = float(self.width()), float(self.height())
        if self._row != 1:
            left, right = (middle.x() if self._column == 0 else 0.0), (middle.x() if self._column == 2 else wide)
            painter.drawLine(int(left), int(middle.y()), int(right), int(middle.y()))
        if self._column != 1:
            top, bottom = (middle.y() if self._row == 0 else 0.0), (middle.y() if self._row == 2 else high)
            painter.drawLine(int(middle.x()), int(top), int(middle.x()), int(bottom))
        size = 5.5 if self.isChecked() else 3.5 if self.underMouse() else 3.0
        painter.setPen(QPen(theme.colour("accent" if self.isChecked() else "muted"), 1.4))
        painter.setBrush(theme.colour("accent") if self.isChecked() else theme.colour("raised"))
        painter.drawRect(QRectF(middle.x() - size, middle.y() - size, 2.0 * size, 2.0 * size))
        if self.hasFocus():
            painter.setPen(QPen(theme.colour("focus"), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 3.0, 3.0)
        painter.end()

    def enterEvent(self, event: Any) -> None:
        """Grow a little under the pointer."""
        super().enterEvent(event)
        self.update()

    def leaveEvent(self, event: Any) -> None:
        """Shrink again."""
        super().leaveEvent(event)
        self.update()


class PlaceStrip(QWidget):
    """The numbers of what is selected."""

    reference_chosen = Signal(object)
    left = Signal()

    def __init__(self, desk: Desk) -> None:
        """Make the fields."""
        super().__init__()
        self.setAccessibleName(self.tr("Place and size"))
        self._desk = desk
        self.reference = Anchor.CENTRE
        self.pivot: Point | None = None
        self._box: Box | None = None
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(12)
        self.picker = ReferencePicker()
        self.picker.setToolTip(self.tr("The point that the numbers are about, and that turning is about"))
        row.addWidget(self.picker, 0, Qt.AlignmentFlag.AlignTop)
        grid = QGridLayout()
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(4)
        declared = (
            ("x_mm", self.tr("x"), self.tr("How far its reference point is from the left of the sheet"), None),
            ("y_mm", self.tr("y"), self.tr("How far its reference point is from the top of the sheet"), None),
            ("width_mm", self.tr("wide"), self.tr("Width to reach"), 0.001),
            ("height_mm", self.tr("high"), self.tr("Height to reach"), 0.001),
        )
        self.fields: dict[str, TypedField] = {}
        for number, (name, word, help_, least) in enumerate(declared):
            parameter = Parameter(name, ParameterType.LENGTH, help_, None, least, 1e6, optional=True)
            self._put(grid, name, word, parameter, number % 2, 2 * (number // 2))
        angle = Parameter("angle_deg", ParameterType.ANGLE, self.tr("Turn by so much, clockwise"), 0.0, -36e3, 36e3)
        self._put(grid, "angle_deg", self.tr("turn by"), angle, 0, 4)
        row.addLayout(grid)
        self.lock = QCheckBox(self.tr("Keep ratio"))
        self.lock.setChecked(True)
        self.lock.setToolTip(self.tr("A new width brings the height along, and the other way round"))
        self.strokes = QCheckBox(self.tr("Scale strokes too"))
        self.strokes.setChecked(desk.preferences.text(_STROKES, "yes") == "yes")
        self.strokes.toggled.connect(lambda on: desk.preferences.set_text(_STROKES, "yes" if on else "no"))
        self.strokes.setToolTip(self.tr("Strokes grow with the art; otherwise they keep their width"))
        ticks = QHBoxLayout()
        ticks.setSpacing(8)
        ticks.addWidget(self.lock)
        ticks.addWidget(self.strokes)
        grid.addLayout(ticks, 1, 4, 1, 2)
        self.picker.chosen.connect(self._picked)
        desk.selection_changed.connect(lambda _ids: self.refresh())
        desk.job_changed.connect(lambda _changes: self.refresh())
        desk.preferences.unit_changed.connect(lambda _unit: self.refresh())
        self.refresh()

    def _put(self, grid: QGridLayout, name: str, word: str, parameter: Parameter, row: int, column: int) -> None:
        field = TypedField(parameter, self._desk)
        field.caption.hide()
        field.line.setAccessibleName(word)
        field.line.setFixedWidth(field.line.fontMetrics().horizontalAdvance(_LONGEST) + 22)
        field.line.returnPressed.connect(lambda: self._typed(name))
        caption = label(word, "muted", scale=0.9)
        caption.setBuddy(field.line)
        grid.addWidget(caption, row, column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        grid.addWidget(field, row, column + 1)
        self.fields[name] = field

    # --- in step --------------------------------------------------------------------------------------------------

    def set_pivot(self, reference: Anchor, pivot: Point | None) -> None:
        """Work about another point."""
        self.reference, self.pivot = reference, pivot
        self.picker.show_anchor(reference if pivot is None else None)
        self.refresh()

    def refresh(self) -> None:
        """Show the numbers of what is selected now."""
        leaves = self._desk.selected_leaves()
        self._box = bounds_of([placed.leaf for placed in leaves]) if leaves else None
        free = self._box is not None and not any(placed.locked for placed in leaves)
        self.setVisible(self._box is not None)
        self.setEnabled(free)
        if self._box is None:
            return
        x, y = self.point()
        values = {
            "x_mm": x,
            "y_mm": y,
            "width_mm": self._box[2] - self._box[0],
            "height_mm": self._box[3] - self._box[1],
            "angle_deg": 0.0,
        }
        for name, field in self.fields.items():
            field.set_value(values[name])
            field.mark(wrong=False)
        self.fields["width_mm"].setEnabled(values["width_mm"] > 0.0)
        self.fields["height_mm"].setEnabled(values["height_mm"] > 0.0)

    def point(self) -> Point:
        """Return the reference point on the sheet."""
        if self.pivot is not None:
            return self.pivot
        assert self._box is not None
        return self.reference.point(self._box)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape: as it was, and back to the canvas."""
        if event.key() == Qt.Key.Key_Escape:
            self.refresh()
            self.left.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _picked(self, anchor: Anchor) -> None:
        self.set_pivot(anchor, None)
        self.reference_chosen.emit(anchor)

    # --- steps ----------------------------------------------------------------------------------------------------

    def _typed(self, name: str) -> None:
        """Do what was typed into a field, and into the others with it."""
        if self._box is None:
            return
        try:
            typed = {each: field.read() for each, field in self.fields.items()}
        except ValueError as error:
            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self._desk.tell(Message(""))
        step = self._step(name, typed)
        if step is not None:
            do, values = step
            self._desk.do(operations.step(do, {"on": self._desk.on_selection(), **values}))
        self.refresh()
        self.fields[name].line.selectAll()

    def _step(self, name: str, typed: dict[str, Any]) -> tuple[str, dict[str, Any]] | None:
        assert self._box is not None
        x, y = self.point()
        about: dict[str, Any] = (
            {"anchor": self.reference.value}
            if self.pivot is None
            else {"about_x_mm": self.pivot[0], "about_y_mm": self.pivot[1]}
        )
        if name == "angle_deg":
            return ("rotate", {"angle_deg": typed[name], **about}) if typed[name] else None
        if name in ("x_mm", "y_mm"):
            dx, dy = (
                new - old if new is not None and abs(new - old) > _SAME_MM else 0.0
                for new, old in ((typed["x_mm"], x), (typed["y_mm"], y))
            )
            return ("move", {"dx_mm": round(dx, 9), "dy_mm": round(dy, 9)}) if dx or dy else None
        sizes = {"width_mm": self._box[2] - self._box[0], "height_mm": self._box[3] - self._box[1]}
        changed = {
            each: typed[each]
            for each, old in sizes.items()
            if typed[each] is not None and old > 0.0 and abs(typed[each] - old) > _SAME_MM
        }
        if self.lock.isChecked() and name in changed:
            changed = {name: changed[name]}
        if not changed:
            return None
        values = {**changed, **about, "scale_strokes": self.strokes.isChecked()}
        if len(changed) == 1 and not self.lock.isChecked():
            values["keep_ratio"] = False
        return "scale", values
