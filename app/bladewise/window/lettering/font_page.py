"""Choosing a font: families in the operator's own words, their weights, axes and instances, what they permit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QModelIndex, Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QHBoxLayout, QLabel, QLineEdit, QSlider, QVBoxLayout, QWidget

from bladewise.lettering.catalogue import Facts, facts
from bladewise.lettering.fonts import Face, faces_of, find_face
from bladewise.units import format_number
from bladewise.window import icons
from bladewise.window.controls import label
from bladewise.window.language import quoted, say
from bladewise.window.lettering.beginnings import first_lettering
from bladewise.window.lettering.font_list import FontList
from bladewise.window.lettering.samples import Sampler
from bladewise.window.lettering.side import SidePage
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from bladewise.lettering.catalogue import Axis
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk

MOST_RECENT = 8
_RECENT = "fonts-used"
_TICKS = 1000
_STEPS = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1, Qt.Key.Key_PageDown: 6, Qt.Key.Key_PageUp: -6}


def _tr(text: str) -> str:
    return QCoreApplication.translate("FontPage", text)


class FontPage(SidePage):
    """The fonts there are; choosing one writes it into the fields of the open verb."""

    wide_px = 380

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Show the families as they are found."""
        super().__init__(bench, desk, canvas, _tr("Fonts"), "set-font")
        self.takes_focus = bench.operation is not None and bench.operation.name == "set-font"
        self.sampler = Sampler(self)
        self._details = Worker(self)
        self._axes: dict[str, tuple[Axis, QSlider, QLabel]] = {}
        self._facts = Facts()
        self._filling = False
        self.search = _Search(self)
        self.search.setObjectName("search")
        self.search.setPlaceholderText(_tr("Find a font"))
        self.search.setAccessibleName(_tr("Find a font"))
        self.search.setClearButtonEnabled(True)
        self.search.addAction(icons.icon("search", "muted"), QLineEdit.ActionPosition.LeadingPosition)
        self.joined = QCheckBox(_tr("Only fonts whose letters join"))
        self.list = FontList(self.sampler)
        self.none = label(_tr("Looking for fonts…"), "muted")
        self.column.addWidget(self.search)
        self.column.addWidget(self.joined)
        self.column.addWidget(self.none)
        self.column.addWidget(self.list, 1)
        self._lay_out_details()
        self.search.textChanged.connect(lambda _text: self._fit())
        self.joined.toggled.connect(lambda _on: self._fit())
        self.list.selectionModel().currentChanged.connect(self._chosen)
        self._words()
        desk.families(self._families_found)

    def _lay_out_details(self) -> None:
        self.style_ = QComboBox()
        self.style_.setAccessibleName(_tr("Weight and style"))
        self.style_.activated.connect(lambda _index: self._style_chosen())
        self.column.addWidget(self.style_)
        self._sliders = QWidget()
        self._sliders_column = QVBoxLayout(self._sliders)
        self._sliders_column.setContentsMargins(0, 0, 0, 0)
        self._sliders_column.setSpacing(4)
        self.column.addWidget(self._sliders)
        self.told = label("", "muted", scale=0.9)
        self.told.setWordWrap(True)
        self.column.addWidget(self.told)

    # --- families -------------------------------------------------------------------------------------------------

    def first_stop(self) -> QWidget:
        """Return the line to search by."""
        return self.search

    def family(self) -> str:
        """Return the family chosen in the list."""
        return str(self.list.currentIndex().data() or "")

    def leave(self) -> None:
        """Remember what was used, and stop."""
        history = self.desk.session.history
        if history.position:
            record = history.rows[history.position - 1].entry.step.record
            used = getattr(record, "family", "")
            if used and self.family().casefold() == used.casefold():
                kept = [self.family(), *(each for each in recent(self.desk) if each != self.family())]
                self.desk.preferences.set_text(_RECENT, "\n".join(kept[:MOST_RECENT]))
        self.sampler.close()
        self._details.close()

    def numbers_changed(self) -> None:
        """Show the words as they are typed; a family typed on the bench is found here too."""
        if not self._filling:
            self._words()
            typed = str(self.value("family") or "")
            if typed.casefold() != self.family().casefold():
                self._show_row(typed)

    def selection_changed(self) -> None:
        """Show the words of what is selected."""
        self._words()

    def _words(self) -> None:
        live = first_lettering(self.desk)
        typed = self.value("text")
        words = str(typed or "") if typed is not None else live.text if live is not None else ""
        before = self.sampler.text
        self.sampler.set_text(words or _tr("Lettering"))
        if self.sampler.text != before:
            self.list.look_again()

    def _families_found(self, families: list[str]) -> None:
        from shiboken6 import isValid

        if not isValid(self):
            return
        self.list.fonts.set_families(families, recent(self.desk))
        self._say_none()
        wanted = str(self.value("family") or "")
        self._show_row(wanted)
        if not wanted and (face := find_face("")) is not None:
            self._show_row(face.family)

    def _show_row(self, family: str) -> None:
        """Make a family's row the current one without choosing it anew."""
        index = self.list.fonts.row_of(family)
        self._filling = True
        self.list.setCurrentIndex(index)
        self._filling = False
        if index.isValid():
            self.list.scrollTo(index)
            self._show_styles(self.family())

    def _fit(self) -> None:
        current = self.family()
        self._filling = True
        self.list.fonts.fit(self.search.text(), joined_only=self.joined.isChecked())
        self.list.setCurrentIndex(self.list.fonts.row_of(current))
        self._filling = False
        self._say_none()

    def _say_none(self) -> None:
        if self.list.fonts.unmeasured():
            self.none.setText(_tr("Letters are being looked at…"))
        else:
            self.none.setText(_tr("No font is called so."))
        self.none.setVisible(not self.list.fonts.shown)

    def _chosen(self, index: QModelIndex, _before: QModelIndex) -> None:
        if self._filling or not index.isValid():
            return
        family = str(index.data())
        self._show_styles(family)
        self._style_chosen()

    # --- weight, axes ---------------------------------------------------------------------------------------------

    def _show_styles(self, family: str) -> None:
        """Show the faces of a family, and what is known of the one in the fields as soon as that has been read."""
        self.style_.clear()
        for each in faces_of(family):
            self.style_.addItem(_named(each), each)
        weight, italic = int(self.value("weight") or 400), bool(self.value("italic"))
        face = find_face(family, weight, italic=italic)
        for row in range(self.style_.count()):
            data = self.style_.itemData(row)
            if face is not None and (data.weight, data.italic) == (face.weight, face.italic):
                self.style_.setCurrentIndex(row)
        self._show_axes(Facts())
        if face is None:
            return
        self._details.start(lambda _progress: facts(face), lambda found: self._facts_found(family, found), instead=True)

    def _facts_found(self, family: str, found: Facts) -> None:
        if family != self.family():
            return
        for each in found.instances:
            self.style_.addItem(each.name, each)
        self._show_axes(found)
        said = [_tr("Letters join, as in handwriting.")] if found.joins else []
        sample = self.sampler.samples.get(family)
        if sample is not None and sample.lacks:
            said.append(_tr("It has no {letters}.").format(letters=", ".join(quoted(each) for each in sample.lacks)))
        said.append(_tr("The font file {permission}.").format(permission=say(str(found.embedding))))
        self.told.setText(" ".join(said))

    def _show_axes(self, found: Facts) -> None:
        self._facts = found
        while (item := self._sliders_column.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.deleteLater()
        self._axes = {}
        places = dict(_places(str(self.value("axes") or "")))
        fields = self.form.fields if self.form is not None else {}
        for axis in found.axes:
            if axis.tag != "wght" and "axes" not in fields:
                continue
            place = places.get(axis.tag, axis.default)
            if axis.tag == "wght":
                place = places.get("wght", float(self.value("weight") or axis.default))
            self._sliders_column.addWidget(self._slider(axis, place))
        self._sliders.setVisible(bool(self._axes))

    def _slider(self, axis: Axis, place: float) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        name = label(axis.name, "muted", scale=0.9)
        name.setFixedWidth(84)
        slider = QSlider(Qt.Orientation.Horizontal)
        slider.setRange(0, _TICKS)
        slider.setPageStep(_TICKS // 10)
        slider.setSingleStep(_TICKS // 100)
        slider.setValue(_tick(axis, place))
        slider.setAccessibleName(axis.name)
        figure = label(format_number(place, 1), scale=0.9)
        figure.setFixedWidth(48)
        slider.valueChanged.connect(lambda _tick: self._slid())
        for each in (name, slider, figure):
            row.addWidget(each)
        self._axes[axis.tag] = axis, slider, figure
        return holder

    def _slid(self) -> None:
        places = {tag: _place(axis, slider.value()) for tag, (axis, slider, _) in self._axes.items()}
        for tag, (_, _, figure) in self._axes.items():
            figure.setText(format_number(places[tag], 1))
        self._put(places)

    def _put(self, places: dict[str, float]) -> None:
        weight = places.pop("wght", None)
        values = {"axes": " ".join(f"{tag}={format_number(place, 2)}" for tag, place in places.items())}
        self._filling = True
        self.put(**values, **({} if weight is None else {"weight": round(weight)}))
        self._filling = False

    def _style_chosen(self) -> None:
        data = self.style_.currentData()
        self._filling = True
        if isinstance(data, Face):
            self.put(family=self.family(), weight=data.weight, italic=data.italic, axes="")
        elif data is not None:
            self.put(family=self.family())
            places = dict(data.axes)
            for tag, (axis, slider, figure) in self._axes.items():
                slider.blockSignals(True)  # noqa: FBT003 - Qt's signature
                slider.setValue(_tick(axis, places.get(tag, axis.default)))
                slider.blockSignals(False)  # noqa: FBT003
                figure.setText(format_number(places.get(tag, axis.default), 1))
            self._put(places)
        self._filling = False


class _Search(QLineEdit):
    """The line to search by; arrows go through the list below it."""

    def __init__(self, page: FontPage) -> None:
        super().__init__()
        self._page = page

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go up and down in the list while typing."""
        steps = _STEPS.get(Qt.Key(event.key()))
        if steps is None:
            super().keyPressEvent(event)
        else:
            self._page.list.step(steps)


def recent(desk: Desk) -> list[str]:
    """Return the families used of late, the latest first."""
    return [each for each in desk.preferences.text(_RECENT).split("\n") if each]


def _named(face: Face) -> str:
    names = {
        100: _tr("Thin"),
        200: _tr("Extra light"),
        300: _tr("Light"),
        400: _tr("Regular"),
        500: _tr("Medium"),
        600: _tr("Semibold"),
        700: _tr("Bold"),
        800: _tr("Extra bold"),
        900: _tr("Black"),
    }
    name = names.get(face.weight, "")
    parts = [name, str(face.weight), _tr("italic") if face.italic else ""]
    return " ".join(part for part in parts if part)


def _places(text: str) -> list[tuple[str, float]]:
    found = []
    for word in text.split():
        tag, _, place = word.partition("=")
        try:
            found.append((tag, float(place)))
        except ValueError:
            continue
    return found


def _tick(axis: Axis, place: float) -> int:
    span = axis.most - axis.least
    return round(_TICKS * (place - axis.least) / span) if span > 0.0 else 0


def _place(axis: Axis, tick: int) -> float:
    return axis.least + (axis.most - axis.least) * tick / _TICKS
