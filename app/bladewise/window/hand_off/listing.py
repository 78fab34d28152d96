"""The destinations as bands one below the other: ticked, changed, copied, removed, and what each would get."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from bladewise.errors import BladewiseError, CannotWrite
from bladewise.formats import Destination, destinations_folder
from bladewise.window.controls import label, push_button
from bladewise.window.design import NEAR
from bladewise.window.hand_off.answers import Shelf, told
from bladewise.window.hand_off.band import DestinationBand
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from pathlib import Path

    from bladewise.document import Material
    from bladewise.window.desk import Desk
    from bladewise.window.hand_off.working_out import WorkingOut


class DestinationList(QScrollArea):
    """All destinations the operator keeps, and the one that is being made."""

    changed = Signal()
    """Other files would be written than before, or something about them is known now."""
    look_wanted = Signal(object)
    place_wanted = Signal(str)

    def __init__(
        self,
        desk: Desk,
        files: WorkingOut,
        ticked: Collection[str],
        folder_of: Callable[[Destination], Path],
        materials: Callable[[], list[Material]],
    ) -> None:
        """Show what is kept; `ticked` are the names of those that get files, as far as they are still there."""
        super().__init__()
        self._desk, self._files, self._folder_of, self._materials = desk, files, folder_of, materials
        self.shelf = Shelf(destinations_folder())
        names = self.shelf.names()
        self._on: set[str] = {name for name in ticked if name in names} or set(names[:2])
        self.bands: dict[str, DestinationBand] = {}
        self._new: Destination | None = None
        self._open = ""
        self._removed: Destination | None = None
        files.found.connect(self._found)
        files.progressed.connect(self._further)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        holder = QWidget()
        holder.setObjectName("scrolled")
        self._list = QVBoxLayout(holder)
        self._list.setContentsMargins(0, 0, NEAR, 0)
        self._list.setSpacing(NEAR)
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        self.new_button = push_button(self.tr("New destination"), self._begin_new, icon="plus")
        self.shelf_says = label("", "muted")
        self.shelf_says.setWordWrap(True)
        self.bring_back = push_button(self.tr("Bring it back"), self._bring_back, kind="link")
        self.bring_back.hide()
        foot.addWidget(self.new_button)
        foot.addWidget(self.shelf_says, 1)
        foot.addWidget(self.bring_back)
        self._list.addLayout(foot)
        self._list.addStretch(1)
        self.setWidget(holder)

    @property
    def is_open(self) -> bool:
        """Whether the settings of one are being changed."""
        return any(band.is_open for band in self.bands.values())

    def stops(self) -> list[QWidget]:
        """Return what Tab comes to, one after the other."""
        inside = [stop for band in self.bands.values() for stop in band.stops()]
        return [*inside, self.new_button, self.bring_back]

    @property
    def chosen(self) -> list[Destination]:
        """The destinations that get files."""
        return [each for each in self.shelf.destinations if each.name in self._on]

    # --- keeping them ----------------------------------------------------------------------------------------------

    def fill(self) -> None:
        """Make a band for each, anew."""
        for band in self.bands.values():
            self._list.removeWidget(band)
            band.hide()
            band.deleteLater()
        self.bands = {}
        shown = [*self.shelf.destinations, *([self._new] if self._new is not None else [])]
        for number, destination in enumerate(shown):
            is_new = destination is self._new
            band = DestinationBand(destination, self._desk.unit, is_on=is_new or destination.name in self._on)
            self._connect(band, destination)
            self.bands[destination.name] = band
            self._list.insertWidget(number, band)
            band.show()  # at once, so that it can take the focus
            if is_new or destination.name == self._open:
                others = [each for each in self.shelf.names() if is_new or each != destination.name]
                band.open(others, self._materials(), is_new=is_new)
        self.new_button.setEnabled(not self._open and self._new is None)
        self._say_of_shelf()
        self.show_all()

    def _connect(self, band: DestinationBand, destination: Destination) -> None:
        band.ticked.connect(partial(self._ticked, destination.name))
        band.change_wanted.connect(partial(self._begin_change, destination.name))
        band.copy_wanted.connect(partial(self._begin_copy, destination))
        band.remove_wanted.connect(partial(self._remove, destination))
        band.look_wanted.connect(self.look_wanted)
        band.place_wanted.connect(self.place_wanted)
        band.edited.connect(partial(self._try_out, band))
        band.kept.connect(partial(self._keep, destination))
        band.left.connect(self._leave_form)

    def _say_of_shelf(self, text: str = "") -> None:
        if not text and self.shelf.troubles:
            text = " ".join(told(each) for each in self.shelf.troubles)
        if not text and not self.bands:
            text = self.tr("A destination says what a machine, or a print shop, wants its files to be like.")
        self.shelf_says.setText(text)
        self.bring_back.setVisible(self._removed is not None)

    def _ticked(self, name: str) -> None:
        band = self.bands[name]
        (self._on.add if band.is_on else self._on.discard)(name)
        if not band.is_on:
            self._files.leave(band.destination)
        self.show_all()

    def _begin_new(self) -> None:
        name = self.shelf.free_name(self.tr("New destination"))
        self._new, self._removed = Destination("svg", name), None
        self.fill()
        self._see_open()

    def _begin_copy(self, destination: Destination) -> None:
        name = self.shelf.free_name(self.tr("{name}, copy").format(name=destination.name))
        self._new, self._removed = replace(destination, name=name), None
        self.fill()
        self._see_open()

    def _begin_change(self, name: str) -> None:
        self._open, self._new, self._removed = name, None, None
        self.fill()
        self._see_open()

    def _see_open(self) -> None:
        band = next((each for each in self.bands.values() if each.is_open), None)
        if band is not None and band.form is not None:
            band.form.name.setFocus()
            QTimer.singleShot(0, self, self._roll_to_open)  # when its form has got its room

    def _roll_to_open(self) -> None:
        """Bring the head of the band that is being changed to the top."""
        band = next((each for each in self.bands.values() if each.is_open), None)
        if band is not None:
            self._list.activate()
            self.verticalScrollBar().setValue(band.y())

    def _leave_form(self) -> None:
        self._open, self._new = "", None
        self._files.stop_trying()
        self.fill()
        self.new_button.setFocus()

    def _keep(self, before: Destination, after: Destination) -> None:
        is_new = before is self._new
        try:
            self.shelf.put(after, "" if is_new else before.name)
        except CannotWrite as error:
            self._say_of_shelf(say(str(error)))
            return
        if is_new or before.name in self._on:
            self._on.discard(before.name)
            self._on.add(after.name)
        self._leave_form()
        if after.name in self.bands:
            self.bands[after.name].change.setFocus()

    def _remove(self, destination: Destination) -> None:
        try:
            self.shelf.remove(destination.name)
        except CannotWrite as error:
            self._say_of_shelf(say(str(error)))
            return
        self._on.discard(destination.name)
        self._removed = destination
        self.fill()
        self._say_of_shelf(self.tr("“{name}” is removed.").format(name=destination.name))
        self.bring_back.setFocus()

    def _bring_back(self) -> None:
        if self._removed is not None:
            back, self._removed = self._removed, None
            self._keep(back, back)

    # --- the files ------------------------------------------------------------------------------------------------

    def show_all(self) -> None:
        """Bring every band up to date, and begin on what is not worked out yet."""
        for destination in self.shelf.destinations:
            band = self.bands.get(destination.name)
            if band is not None and not band.is_open:
                if destination.name in self._on:
                    self._files.ask(destination)
                self._show_band(band, destination)
        self.changed.emit()

    def _show_band(self, band: DestinationBand, destination: Destination) -> None:
        found = self._files.of(destination)
        if found is None or not (band.is_on or band.is_open):
            band.show_waiting()
        elif isinstance(found, BladewiseError):
            band.show_refusal(found, can_show=self.placed(found.where) is not None)
        else:
            folder = self._folder_of(destination)
            band.show_looks(found, {look.file.name for look in found if (folder / look.file.name).exists()})

    def _found(self, destination: Destination) -> None:
        for band in self.bands.values():
            shown = band.form.destination() if band.form is not None else band.destination
            if shown == destination:
                self._show_band(band, destination)
        self.changed.emit()

    def _further(self, name: str, fraction: float) -> None:
        for band in self.bands.values():
            if band.title.text() == name:
                band.show_progress(fraction)

    def _try_out(self, band: DestinationBand) -> None:
        """Show the files as they would be with the settings as they are filled in now."""
        destination = band.form.destination() if band.form is not None else None
        if destination is not None:
            if self._files.of(destination) is None:
                band.show_waiting()
            self._files.try_out(destination)

    def placed(self, where: str) -> str | None:
        """Return the id of what an error speaks of, if it is in the job."""
        for placed in self._desk.job.walk():
            if where and where in (placed.leaf.id, placed.leaf.name):
                return placed.leaf.id
        return None
