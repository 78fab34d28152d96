"""The page of preferences: lengths, snapping, look. A change holds at once; a bad number is refused where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLocale, Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from bladewise.window import design
from bladewise.window.controls import Segments, label, push_button, rule
from bladewise.window.length_line import LengthLine
from bladewise.window.preferences import LANGUAGES, LENGTHS_MM, Snap
from bladewise.window.theme import Scheme

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.window.preferences import Preferences


class PreferencesDialog(QDialog):
    """Everything that can be set, on one page."""

    def __init__(
        self, preferences: Preferences, choose_theme: Callable[[Scheme], None], parent: QWidget | None = None
    ) -> None:
        """Show what is set now; `choose_theme` switches the theme of the whole application."""
        super().__init__(parent)
        self._preferences = preferences
        self._choose_theme = choose_theme
        self.lines: dict[str, LengthLine] = {}
        self.kinds: dict[Snap, QCheckBox] = {}
        self.setWindowTitle(self.tr("Preferences"))
        column = QVBoxLayout(self)
        column.setContentsMargins(*design.PAGE_MARGINS)
        column.setSpacing(design.APART)
        column.addWidget(label(self.tr("Preferences"), "title", scale=design.LEAD_TYPE))
        self.problem = label("", "trouble")
        self.problem.setWordWrap(True)
        for title, page in (
            (self.tr("Lengths"), self._lengths()),
            (self.tr("Snapping"), self._snapping()),
            (self.tr("Look"), self._look()),
        ):
            column.addWidget(label(title, "title"))
            column.addWidget(rule())
            column.addLayout(page)
            column.addSpacing(design.SMALL)
        column.addWidget(self.problem)
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.addWidget(label(self.tr("Changes hold at once."), "muted"))
        foot.addStretch(1)
        self.close_button = push_button(self.tr("Close"), self.accept, kind="primary")
        self.close_button.setDefault(True)
        foot.addWidget(self.close_button)
        column.addLayout(foot)
        preferences.unit_changed.connect(self._unit_changed)
        self._tell()

    # --- lengths --------------------------------------------------------------------------------------------------

    def _lengths(self) -> QGridLayout:
        grid = self._grid()
        self.units = Segments(
            [("mm", self.tr("Millimetres")), ("in", self.tr("Inches"))], self._preferences.unit, self.tr("Unit")
        )
        self.units.chosen.connect(self._preferences.set_unit)
        self._row(grid, self.tr("Unit"), self.units)
        sheet = QHBoxLayout()
        sheet.setSpacing(design.NEAR)
        sheet.addWidget(self._line("sheet-width", self.tr("Width of a new sheet")))
        sheet.addWidget(label("×", "muted"))
        sheet.addWidget(self._line("sheet-height", self.tr("Height of a new sheet")))
        sheet.addStretch(1)
        self._row(grid, self.tr("New sheet"), sheet, self.tr("width and height"))
        nudge = QHBoxLayout()
        nudge.setSpacing(design.NEAR)
        nudge.addWidget(self._line("nudge", self.tr("Nudge")))
        nudge.addWidget(label(self.tr("with Shift"), "muted"))
        nudge.addWidget(self._line("big-nudge", self.tr("Nudge with Shift")))
        nudge.addStretch(1)
        self._row(grid, self.tr("Nudge"), nudge, self.tr("how far an arrow key moves"))
        self._row(
            grid,
            self.tr("Fit within"),
            self._line("fit-tolerance", self.tr("Fit within")),
            self.tr("how far a fitted curve may leave the old one"),
        )
        return grid

    def _line(self, name: str, called: str) -> LengthLine:
        _, least, most = LENGTHS_MM[name]
        line = LengthLine(
            self._preferences.length_mm(name), called, unit=self._preferences.unit, least_mm=least, most_mm=most
        )
        line.settled.connect(lambda mm: self._set(name, mm))
        line.refused.connect(lambda _why: self._tell())
        self.lines[name] = line
        return line

    def _set(self, name: str, mm: float) -> None:
        shown = LengthLine(self._preferences.length_mm(name), "", unit=self._preferences.unit).text()
        if self.lines[name].text() != shown:  # else it is the same length, only rounded for reading
            self._preferences.set_length_mm(name, mm)

    def _tell(self) -> None:
        wrong = next((line for line in self.lines.values() if line.problem), None)
        self.problem.setText(f"{wrong.accessibleName()}: {wrong.problem}" if wrong is not None else "")
        self.problem.setVisible(wrong is not None)

    def _unit_changed(self, unit: str) -> None:
        self.units.set_value(unit)
        for line in self.lines.values():
            line.set_unit(unit)

    # --- snapping -------------------------------------------------------------------------------------------------

    def _snapping(self) -> QGridLayout:
        grid = self._grid()
        self.snapping = QCheckBox(self.tr("Moved and drawn art snaps; Alt leaves it out for once"))
        self.snapping.setChecked(self._preferences.snapping)
        self.snapping.toggled.connect(lambda on: self._preferences.set_snapping(on=on))
        grid.addWidget(self.snapping, 0, 0, 1, 3)
        kinds = QGridLayout()
        kinds.setHorizontalSpacing(design.FAR)
        kinds.setVerticalSpacing(design.TIGHT)
        for place, (kind, text) in enumerate(self._words().items()):
            box = QCheckBox(text)
            box.setChecked(kind in self._preferences.snap_to)
            box.setEnabled(self._preferences.snapping)
            self.snapping.toggled.connect(box.setEnabled)
            box.toggled.connect(lambda _on: self._set_kinds())
            self.kinds[kind] = box
            kinds.addWidget(box, place // 3, place % 3)
        kinds.setColumnStretch(3, 1)
        grid.addWidget(label(self.tr("Snap to")), 1, 0, Qt.AlignmentFlag.AlignTop)
        grid.addLayout(kinds, 1, 1, 1, 2)
        self._row(grid, self.tr("Grid"), self._line("grid", self.tr("Grid spacing")), self.tr("from line to line"))
        return grid

    def _words(self) -> dict[Snap, str]:
        return {
            Snap.NODES: self.tr("Nodes"),
            Snap.EDGES: self.tr("Edges"),
            Snap.MIDPOINTS: self.tr("Midpoints"),
            Snap.CENTRES: self.tr("Centres"),
            Snap.INTERSECTIONS: self.tr("Crossings"),
            Snap.TANGENTS: self.tr("Tangents"),
            Snap.GUIDES: self.tr("Guides"),
            Snap.GRID: self.tr("Grid"),
            Snap.EQUAL_GAPS: self.tr("Equal gaps"),
        }

    def _set_kinds(self) -> None:
        self._preferences.set_snap_to({kind for kind, box in self.kinds.items() if box.isChecked()})

    # --- look -----------------------------------------------------------------------------------------------------

    def _look(self) -> QGridLayout:
        grid = self._grid()
        schemes = [
            (str(Scheme.SYSTEM), self.tr("As the system")),
            (str(Scheme.LIGHT), self.tr("Light")),
            (str(Scheme.DARK), self.tr("Dark")),
        ]
        self.themes = Segments(schemes, str(self._preferences.scheme), self.tr("Theme"))
        self.themes.chosen.connect(lambda scheme: self._choose_theme(Scheme(scheme)))
        self._row(grid, self.tr("Theme"), self.themes)
        self.language = QComboBox()
        self.language.setAccessibleName(self.tr("Language"))
        for code in LANGUAGES:
            name = QLocale(code).nativeLanguageName().split(" ")[-1] if code else self.tr("As the system")
            self.language.addItem(name[:1].upper() + name[1:], code)
        self.language.setCurrentIndex(max(0, self.language.findData(self._preferences.language)))
        self.language.currentIndexChanged.connect(
            lambda _index: self._preferences.set_language(self.language.currentData())
        )
        self._row(grid, self.tr("Language"), self.language, self.tr("from the next start on"))
        return grid

    # --- rows -----------------------------------------------------------------------------------------------------

    def _grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(design.APART)
        grid.setVerticalSpacing(design.NEAR)
        grid.setColumnMinimumWidth(0, 110)
        grid.setColumnStretch(2, 1)
        return grid

    def _row(self, grid: QGridLayout, text: str, control: QWidget | QHBoxLayout, note: str = "") -> None:
        row = grid.rowCount()
        words = label(text)
        grid.addWidget(words, row, 0)
        if isinstance(control, QWidget):
            words.setBuddy(control)
            grid.addWidget(control, row, 1, Qt.AlignmentFlag.AlignLeft)
        else:
            grid.addLayout(control, row, 1)
        grid.addWidget(label(note, "muted"), row, 2)
