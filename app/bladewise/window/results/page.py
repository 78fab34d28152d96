"""The page "As printed, as cut": a result, and beside it how far the cut is off and what that does.

Nothing here changes the job. The pieces and the bleed are measured once, in a worker; then each move of the knob only
paints the cut elsewhere and measures what shows.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from bladewise.layout.films import GROUNDS, Film
from bladewise.layout.results import Cutting, printed_result
from bladewise.operations.misregistration import FARTHEST_MM, Registration, WhiteShowing
from bladewise.units import format_length, format_number
from bladewise.window.canvas.canvas import WHEEL_FACTOR
from bladewise.window.controls import IconLabel, Segments, flat_button, label, push_button, restyle
from bladewise.window.design import APART, FAR, HEAD_TYPE, NEAR, PAGE_MARGINS, SMALL, WIDE
from bladewise.window.language import say
from bladewise.window.length_line import LengthLine
from bladewise.window.results.pad import ShiftPad
from bladewise.window.results.view import ResultView
from bladewise.window.worker import Progress, Worker

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.errors import BladewiseError
    from bladewise.geometry.path import Point
    from bladewise.window.desk import Desk

SIDE = 280
WORST_MM = 1.0
"""The error of which the worst way is sought while the cut is not off at all: a common one (no source)."""

_LEAST_MM2 = 0.005
"""Less white than this nobody sees."""


class Measured(NamedTuple):
    """What is found out once: both results, and how print and cut lie to one another."""

    printed: Job
    cutting: Cutting
    registration: Registration
    clear_mm: float


def measure(job: Job, progress: Progress) -> Measured:
    """Return what the page shows of a job."""
    printed, cutting = printed_result(job), Cutting(job)
    progress(0.3)
    registration = Registration(job)
    progress(0.5)
    clear_mm = registration.clear(lambda done: progress(0.5 + 0.5 * done))
    return Measured(printed, cutting, registration, clear_mm)


class Looks(NamedTuple):
    """Both results on one film."""

    film: Film
    printed: Job
    cutting: Cutting


def looks(job: Job, film: Film) -> Looks:
    """Return both results on a film."""
    return Looks(film, printed_result(job, ground=GROUNDS[film]), Cutting(job, ground=GROUNDS[film]))


class ResultsDialog(QDialog):
    """Shows what comes of the job on the desk."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        """Begin with the sheet as printed."""
        super().__init__(parent)
        self._desk = desk
        self._worker = Worker(self)
        self.measured: Measured | None = None
        self.looks: Looks | None = None
        self.shift: Point = (0.0, 0.0)
        self.setWindowTitle(self.tr("As printed, as cut"))
        self.setMinimumSize(760, 600)
        self.resize(1060, 720)
        row = QHBoxLayout(self)
        row.setContentsMargins(*PAGE_MARGINS)
        row.setSpacing(FAR)
        row.addWidget(self._make_side())
        row.addLayout(self._make_picture(), 1)
        self.finished.connect(lambda _code: self._close_down())
        self._tell()
        self._job = job = desk.job
        self._worker.start(lambda _progress: printed_result(job), self._show_printed, self._failed)
        self._worker.start(lambda progress: measure(job, progress), self._show_measured, self._failed)
        self.modes.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- parts ----------------------------------------------------------------------------------------------------

    def _make_side(self) -> QWidget:
        side = QWidget()
        side.setFixedWidth(SIDE)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(NEAR)
        column.addWidget(label(self.tr("As printed, as cut"), "title", scale=HEAD_TYPE))
        self.modes = Segments(
            [("printed", self.tr("As printed")), ("cut", self.tr("As cut"))], "printed", self.tr("Which result")
        )
        self.modes.chosen.connect(lambda _mode: self._show())
        column.addWidget(self.modes, 0, Qt.AlignmentFlag.AlignLeft)
        self.says = label("", "muted")
        self.says.setWordWrap(True)
        column.addWidget(self.says)
        column.addSpacing(WIDE)
        column.addWidget(label(self.tr("How far the cut is off")))
        unit = self._desk.unit
        self.pad = ShiftPad(unit)
        self.pad.shifted.connect(lambda dx, dy: self.set_shift(dx, dy))
        column.addWidget(self.pad, 0, Qt.AlignmentFlag.AlignLeft)
        most = {"unit": unit, "least_mm": -10.0, "most_mm": 10.0}
        self.across = LengthLine(0.0, self.tr("Off to the right"), **most)  # type: ignore[arg-type]
        self.down = LengthLine(0.0, self.tr("Off downwards"), **most)  # type: ignore[arg-type]
        grid = QGridLayout()
        grid.setHorizontalSpacing(NEAR)
        grid.setVerticalSpacing(SMALL)
        grid.setColumnStretch(2, 1)
        for number, (words, line) in enumerate(((self.tr("To the right"), self.across), (self.tr("Down"), self.down))):
            called = label(words)
            called.setBuddy(line)
            line.settled.connect(lambda _mm: self._typed())
            grid.addWidget(called, number, 0)
            grid.addWidget(line, number, 1)
        column.addLayout(grid)
        buttons = QHBoxLayout()
        buttons.setSpacing(NEAR)
        self.middle = push_button(self.tr("Dead on"), lambda: self.set_shift(0.0, 0.0))
        self.middle.setToolTip(self.tr("Put the cut where it should be"))
        self.worst = push_button(self.tr("Worst way"), self._go_worst)
        self.worst.setToolTip(self.tr("Turn the error to where most white shows"))
        buttons.addWidget(self.middle)
        buttons.addWidget(self.worst)
        buttons.addStretch(1)
        column.addLayout(buttons)
        column.addSpacing(APART)
        verdict = QHBoxLayout()
        verdict.setSpacing(NEAR)
        self.mark = IconLabel("mark-good", "good")
        self.clear = label("")
        self.clear.setWordWrap(True)
        verdict.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        verdict.addWidget(self.clear, 1)
        column.addLayout(verdict)
        self.white = label("", "muted")
        self.white.setWordWrap(True)
        column.addWidget(self.white)
        column.addStretch(1)
        return side

    def _make_picture(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(NEAR)
        films = [
            (str(Film.WHITE), self.tr("White")),
            (str(Film.CLEAR), self.tr("Clear")),
            (str(Film.DARK), self.tr("Dark")),
        ]
        self.films = Segments(films, str(Film.WHITE), self.tr("Film to print on"))
        self.films.chosen.connect(lambda _film: self._change_film())
        on_film = QHBoxLayout()
        on_film.setSpacing(NEAR)
        on_film.addStretch(1)
        on_film.addWidget(label(self.tr("Film")))
        on_film.addWidget(self.films)
        column.addLayout(on_film)
        self.view = ResultView()
        self.view.set_unit(self._desk.unit)
        column.addWidget(self.view, 1)
        foot = QHBoxLayout()
        foot.setSpacing(SMALL)
        foot.addWidget(flat_button("minus", self.tr("Smaller"), lambda: self.view.zoom_by(1.0 / WHEEL_FACTOR)))
        foot.addWidget(flat_button("plus", self.tr("Larger"), lambda: self.view.zoom_by(WHEEL_FACTOR)))
        foot.addWidget(flat_button("fit", self.tr("Whole job"), self.view.zoom_to_fit))
        self.to_place = push_button(self.tr("Where it shows"), self._go_to_place, kind="flat", icon="goto")
        self.to_place.setToolTip(self.tr("Go to the place where most white shows"))
        foot.addWidget(self.to_place)
        foot.addStretch(1)
        self.close_button = push_button(self.tr("Close"), self.accept)
        self.close_button.setAutoDefault(False)
        foot.addWidget(self.close_button)
        column.addLayout(foot)
        return column

    # --- what is shown --------------------------------------------------------------------------------------------

    @property
    def is_cut(self) -> bool:
        """Whether what is shown is what the customer holds."""
        return self.modes.value() == "cut"

    @property
    def can_be_off(self) -> bool:
        """Whether there is a print and a cut line."""
        return self.measured is not None and self.measured.registration.is_print_and_cut

    @property
    def film(self) -> Film:
        """The film that is looked at."""
        return Film(self.films.value())

    def set_shift(self, dx: float, dy: float) -> None:
        """Move the cut off its place, and show what that does."""
        self.shift = dx, dy
        self.pad.show_shift(dx, dy)
        self.across.set_mm(dx)
        self.down.set_mm(dy)
        if (dx or dy) and not self.is_cut:
            self.modes.set_value("cut")  # shows it
        else:
            self._show()

    def _typed(self) -> None:
        try:
            wanted = self.across.mm(), self.down.mm()
        except ValueError:
            return  # the field itself says what is wrong
        if wanted != self.shift:
            self.set_shift(*wanted)

    def _go_worst(self) -> None:
        if self.measured is None or not self.can_be_off:
            return
        size = math.hypot(*self.shift) or WORST_MM
        dx, dy = self.measured.registration.worst(size).shift_mm
        self.set_shift(round(dx, 3), round(dy, 3))

    def _change_film(self) -> None:
        """Show the results on the film that is chosen now."""
        job, film = self._job, self.film
        self._worker.start(lambda _progress: looks(job, film), self._show_looks, self._failed)

    def _show_looks(self, found: Looks) -> None:
        if found.film is self.film:  # else another is on its way
            self.looks = found
            self._show()

    def _show_printed(self, printed: Job) -> None:
        """Show the print meanwhile: how print and cut lie to one another takes long in a large job."""
        if self.measured is None and not self.is_cut:
            self.view.show_result(printed, None)

    def _show_measured(self, measured: Measured) -> None:
        self.measured = measured
        if self.looks is None:
            self.looks = Looks(Film.WHITE, measured.printed, measured.cutting)
        self.pad.show_clear(measured.clear_mm if self.can_be_off else None)
        self._show()

    def _failed(self, error: BladewiseError) -> None:
        self.clear.setText(f"{say(error.what)} {say(error.hint)}".strip())
        self.mark.show_icon("mark-may-spoil", "may_spoil")

    def _show(self) -> None:
        if self.measured is not None and self.looks is not None:
            white = self._white()
            job = self.looks.cutting.at(self.shift) if self.is_cut else self.looks.printed
            self.view.show_result(job, white.place if self.is_cut and white.area_mm2 >= _LEAST_MM2 else None)
        self._tell()

    def _white(self) -> WhiteShowing:
        assert self.measured is not None
        return self.measured.registration.about(self.shift)

    def _go_to_place(self) -> None:
        if (place := self.view.place) is not None:
            x, y = place
            self.view.zoom_to_box((x - 10.0, y - 10.0, x + 10.0, y + 10.0), 20.0)

    # --- what is said ---------------------------------------------------------------------------------------------

    def _tell(self) -> None:
        self.says.setText(
            self.tr("What the customer holds: waste taken off, holes gone.")
            if self.is_cut
            else self.tr("What leaves the printer, the cut lines over it.")
        )
        on = self.can_be_off
        for each in (self.pad, self.across, self.down, self.middle, self.worst):
            each.setEnabled(on)
        self.to_place.setEnabled(self.view.place is not None)
        self.mark.setVisible(self.measured is not None)
        self._tell_clear()
        self.white.setText(self._white_words() if on else "")
        name = self.tr("As cut") if self.is_cut else self.tr("As printed")
        self.view.setAccessibleName(name)
        self.view.setAccessibleDescription(f"{self.clear.text()} {self.white.text()}".strip())

    def _tell_clear(self) -> None:
        if self.measured is None:
            self.clear.setText(self.tr("Measuring…"))
            return
        if not self.can_be_off:
            self.mark.show_icon("note", "muted")
            self.clear.setText(
                self.tr("There is no closed cut line yet.")
                if not self.measured.cutting.regions
                else self.tr("Nothing inside the cut line is printed.")
            )
            return
        clear = self.measured.clear_mm
        shown = self._length(math.floor(clear * 100.0 + 0.5) / 100.0)
        white = self.film is Film.WHITE
        good = clear >= 0.05
        if clear >= FARTHEST_MM:
            text = (
                self.tr("No white shows, however far off a cut may be.")
                if white
                else self.tr("No bare film shows, however far off a cut may be.")
            )
        elif not good:
            text = (
                self.tr("White shows as soon as the cut is off: the print does not run on beyond it.")
                if white
                else self.tr("Bare film shows as soon as the cut is off: the print does not run on beyond it.")
            )
        else:
            text = (
                self.tr("No white shows up to {length}, whichever way.")
                if white
                else self.tr("No bare film shows up to {length}, whichever way.")
            ).format(length=shown)
        self.mark.show_icon("mark-good" if good else "mark-may-spoil", "good" if good else "may_spoil")
        self.clear.setText(text)

    def _white_words(self) -> str:
        if self.shift == (0.0, 0.0):
            return self.tr("The cut is where it should be.")
        size = self._white().area_mm2
        off = self._length(math.hypot(*self.shift))
        if size < _LEAST_MM2:
            restyle(self.white, "role", "muted")
            none = (
                self.tr("Off by {length} this way: no white.")
                if self.film is Film.WHITE
                else self.tr("Off by {length} this way: no bare film.")
            )
            return none.format(length=off)
        restyle(self.white, "role", "trouble")
        figure = format_number(size, 2 if size < 10.0 else 1)
        some = (
            self.tr("Off by {length} this way: {area} mm² of white.")
            if self.film is Film.WHITE
            else self.tr("Off by {length} this way: {area} mm² of bare film.")
        )
        return some.format(length=off, area=figure)

    def _length(self, mm: float) -> str:
        return format_length(mm, unit=self._desk.unit, decimals=3 if self._desk.unit == "in" else 2)

    def _close_down(self) -> None:
        self._worker.close()
        self.view.stop()
