"""The page of materials: those of this job and the shop's own stock, one list beside the other, and all said of one.

Changes to the job are steps and can be undone; changes to the stock are saved at once. The page belongs to no verb: it
stays until it is left.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, Qt, Signal
from PySide6.QtWidgets import QFileDialog, QFrame, QHBoxLayout, QMenu, QScrollArea, QSizePolicy, QWidget

from bladewise import operations
from bladewise.document import Colour, Material
from bladewise.document.stock import material_line
from bladewise.errors import BladewiseError
from bladewise.formats.stock import read_stock, write_stock
from bladewise.window.controls import Segments, flat_button, label, push_button
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say
from bladewise.window.lettering.side import SidePage
from bladewise.window.materials.card import Card
from bladewise.window.materials.editing import steps_for
from bladewise.window.materials.rows import Materials, swatch

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QKeyEvent

    from bladewise.operations import Step
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.materials.stock import Stock

JOB, STOCK = "job", "stock"


class MaterialsPage(SidePage):
    """Materials of the job and of the stock."""

    wide_px = 410
    of_verb = False
    left = Signal()

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas, stock: Stock) -> None:
        """Show the job's materials."""
        super().__init__(bench, desk, canvas, _tr("Materials"), "materials")
        self.stock = stock
        self._at: dict[str, str | None] = {JOB: None, STOCK: None}
        self._lay_out()
        stock.changed.connect(self.refresh)
        desk.job_changed.connect(self._job_changed)
        desk.preferences.unit_changed.connect(self._unit_changed)
        self.refresh()

    def _lay_out(self) -> None:
        self.head.addWidget(flat_button("close", _tr("Leave the materials"), self.left.emit, tip=_tr("Escape")))
        self.where = Segments([(JOB, _tr("This job")), (STOCK, _tr("Stock"))], JOB, _tr("Materials of"))
        self.where.chosen.connect(lambda _value: self.refresh())
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.where)
        row.addStretch(1)
        self.more = flat_button("more", _tr("The file of the stock"))
        self.more.setPopupMode(self.more.ToolButtonPopupMode.InstantPopup)
        self.more.setMenu(self._file_menu())
        row.addWidget(self.more)
        self.column.addLayout(row)
        self.trouble = label("", "trouble", scale=0.9)
        self.trouble.setWordWrap(True)
        self.column.addWidget(self.trouble)
        self.list = Materials(_tr("Materials"))
        self.list.chosen.connect(self._chosen)
        self.list.left.connect(self.left)
        self.column.addWidget(self.list, 2)
        self.nothing = label("", "muted")
        self.nothing.setWordWrap(True)
        self.column.addWidget(self.nothing)
        self.column.addLayout(self._buttons())
        self.card = Card(self.desk)
        self.card.changed.connect(self._changed)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.viewport().setAutoFillBackground(False)
        self.card.setObjectName("scrolled")
        area.setWidget(self.card)
        self.column.addWidget(area, 3)
        self.area = area

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(6)
        self.take = push_button(_tr("Take from stock"))
        self.take.setMenu(self._take_menu())
        self.keep = push_button(_tr("Put into stock"), self.put_into_stock)
        self.lend = push_button(_tr("Take for this job"), self.take_for_job)
        self.fresh = push_button(_tr("New"), self.new_in_stock)
        self.drop = push_button(_tr("Remove"), self.remove)
        for each in (self.fresh, self.take, self.lend, self.keep):
            each.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            row.addWidget(each)
        row.addStretch(1)
        row.addWidget(self.drop)
        return row

    # --- showing --------------------------------------------------------------------------------------------------

    @property
    def is_stock(self) -> bool:
        """Whether the stock is shown."""
        return self.where.value() == STOCK

    def materials(self) -> list[Material]:
        """Return the materials of the list that is shown."""
        if self.is_stock:
            return list(self.stock.materials)
        job = self.desk.job
        used = list(job.materials_in_use())
        known = {each.id for each in used}
        return [*used, *(each for each in job.materials if each.id not in known)]

    def show_at(self, material: Material) -> None:
        """Show the job's list with a material current."""
        self._at[JOB] = material.id
        self.where.set_value(JOB)
        self.refresh()

    def refresh(self) -> None:
        """Show what there is."""
        here, found = self.where.value(), self.materials()
        ids = [each.id for each in found]
        at = self._at[here] if self._at[here] in ids else next(iter(ids), None)
        self._at[here] = at
        self.list.show_materials(found, self.desk.unit, at)
        self.list.setVisible(bool(found))
        self.area.setVisible(bool(found))
        self.nothing.setVisible(not found)
        self.nothing.setText(
            _tr("Nothing in stock yet. Put in vinyls of a job, or a new one: they are kept between jobs.")
            if self.is_stock
            else _tr("The job has no materials yet. Bring in art, or take vinyls from the stock.")
        )
        trouble = self.stock.trouble
        self.trouble.setVisible(trouble is not None)
        if trouble is not None:
            self.trouble.setText(f"{say(trouble.where)}: {say(trouble.what)} {say(trouble.hint)}")
        current = self.current()
        self.card.show_material(current)
        used = current is not None and not self.is_stock and current in self.desk.job.materials_in_use()
        for each, shown in ((self.take, not self.is_stock), (self.keep, not self.is_stock and bool(found))):
            each.setVisible(shown)
        self.lend.setVisible(self.is_stock and bool(found))
        self.fresh.setVisible(self.is_stock)
        self.drop.setVisible(bool(found))
        self.drop.setEnabled(not used)
        self.drop.setToolTip(_tr("Something is made of it") if used else "")
        self.take.setEnabled(bool(self.stock.materials))
        self.fresh.setEnabled(trouble is None)
        self.keep.setEnabled(trouble is None)

    def current(self) -> Material | None:
        """Return the material that is shown in full."""
        at = self._at[self.where.value()]
        return next((each for each in self.materials() if each.id == at), None)

    def first_stop(self) -> QWidget:
        """Return the list."""
        return self.list if not self.list.isHidden() else self.fresh if not self.fresh.isHidden() else self.where

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves the page; Enter takes over what is typed, which the rows do themselves."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
            event.accept()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()
        else:
            QFrame.keyPressEvent(self, event)

    def _chosen(self, key: str | None) -> None:
        self._at[self.where.value()] = key
        self.refresh()

    def _job_changed(self, _changes: object) -> None:
        if not self.is_stock:
            self.refresh()

    def _unit_changed(self, _unit: str) -> None:
        self.refresh()
        self.card.show_unit()

    # --- changing -------------------------------------------------------------------------------------------------

    def _changed(self, before: Material, wanted: Material) -> None:
        if self.is_stock:
            if wanted.name != before.name and self.stock.material(wanted.name) is not None:
                text = _tr("There is a material “{name}” already.").format(name=wanted.name)
                self.card.refuse("name", text)
                return
            self._at[STOCK] = None
            if self._try(lambda: self.stock.put(wanted, instead_of=before.name)):
                kept = self.stock.material(wanted.name)
                self._at[STOCK] = None if kept is None else kept.id
                self.refresh()
            return
        self._at[JOB] = before.id
        self._do(steps_for(before, wanted))

    def _do(self, steps: list[Step], done: Callable[[], object] = lambda: None) -> None:
        """Do steps one after the other; the first that cannot be is told in place, and ends it."""
        if not steps:
            done()
            return
        self.desk.do(
            steps[0],
            done=lambda: self._do(steps[1:], done),
            failed=lambda error: self.card.refuse("name", say(error.what)),
        )

    def _go_to(self, name: str) -> None:
        now = next((each for each in self.desk.job.materials if each.name == name), None)
        self._at[JOB] = None if now is None else now.id
        self.refresh()

    def put_into_stock(self) -> None:
        """Keep the material for other jobs."""
        material = self.current()
        if material is not None and self._try(lambda: self.stock.put(material)):
            self._tell(_tr("{name} is in stock now.").format(name=material.name))

    def take_for_job(self) -> None:
        """Put the material of the stock onto the job's list."""
        material = self.current()
        if material is not None:
            self.take_from_stock(material)

    def take_from_stock(self, material: Material) -> None:
        """Put a material of the stock onto the job's list, as a step."""
        self.desk.do_plain("list-materials", materials=material_line(material))
        self._tell(_tr("{name} is on the job's list now.").format(name=material.name))

    def make_of(self, material: Material) -> None:
        """Let what is made of the current material be made of one in stock, as two steps."""
        old = self.current()
        if old is None or self.is_stock:
            return
        used = old in self.desk.job.materials_in_use() and old.name != material.name
        self._do(
            [
                operations.step("list-materials", {"materials": material_line(material)}),
                *(
                    [operations.step("set-material", {"on": {"material": old.id}, "material": material.name})]
                    if used
                    else []
                ),
            ],
            lambda: self._go_to(material.name),
        )

    def new_in_stock(self) -> None:
        """Begin a new material in stock."""
        name = self.stock.fresh_name(_tr("New vinyl"))
        if self._try(lambda: self.stock.put(Material(name, name, Colour(0x99, 0x99, 0x99)))):
            made = self.stock.material(name)
            self._at[STOCK] = None if made is None else made.id
            self.refresh()
            self.card.name.setFocus(Qt.FocusReason.OtherFocusReason)
            self.card.name.selectAll()

    def remove(self) -> None:
        """Take the material out of the stock, or off the job's list."""
        material = self.current()
        if material is None:
            return
        if self.is_stock:
            self._try(lambda: self.stock.drop(material.name))
        else:
            self.desk.do_plain("drop-material", material=material.name)

    # --- the file -------------------------------------------------------------------------------------------------

    def _file_menu(self) -> QMenu:
        menu = QMenu(self)
        menu.setAccessibleName(_tr("The file of the stock"))
        menu.addAction(_tr("Take in a stock file…"), self._ask_import)
        menu.addAction(_tr("Save the stock as a file…"), self._ask_export)
        menu.addSeparator()
        menu.addAction(_tr("Put all materials of the job into stock"), self._put_all)
        menu.addAction(_tr("Read the file again"), self.stock.read)
        return menu

    def _take_menu(self) -> QMenu:
        menu = QMenu(self)
        menu.setAccessibleName(_tr("Take from stock"))

        def fill() -> None:
            menu.clear()
            instead = menu.addMenu(_tr("In place of this one"))
            instead.setEnabled(self.current() is not None)
            menu.addSeparator()
            for each in self.stock.materials:
                for under, does in ((menu, self.take_from_stock), (instead, self.make_of)):
                    under.addAction(swatch(each, 16), each.name, lambda does=does, each=each: does(each))

        menu.aboutToShow.connect(fill)
        return menu

    def take_in(self, path: Path) -> None:
        """Take the materials of a stock file into the stock."""
        try:
            found = read_stock(path)
        except BladewiseError as error:
            self.desk.tell_error(error)
            return
        if self._try(lambda: self.stock.put_all(found)):
            self._tell(_tr("{count} materials taken in.").format(count=len(found)))

    def save_as(self, path: Path) -> None:
        """Save the stock as a file of its own."""
        if self._try(lambda: write_stock(path, self.stock.materials)):
            self._tell(_tr("The stock is saved as {name}.").format(name=path.name))

    def _ask_import(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, _tr("Take in a stock file"), "", "TOML (*.toml)")
        if name:
            self.take_in(Path(name))

    def _ask_export(self) -> None:
        name, _ = QFileDialog.getSaveFileName(self, _tr("Save the stock as a file"), "stock.toml", "TOML (*.toml)")
        if name:
            self.save_as(Path(name))

    def _put_all(self) -> None:
        found = [replace(each) for each in self.desk.job.materials_in_use()]
        if self._try(lambda: self.stock.put_all(found)):
            self._tell(_tr("{count} materials put into stock.").format(count=len(found)))

    def _try(self, work: Callable[[], object]) -> bool:
        try:
            work()
        except BladewiseError as error:
            self.desk.tell_error(error)
            return False
        return True

    def _tell(self, text: str) -> None:
        self.desk.tell(Message(text, Tone.GOOD))


def _tr(text: str) -> str:
    return QCoreApplication.translate("Materials", text)
