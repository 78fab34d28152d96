"""Other forms of letters: the font's features by plain names, and for any one letter the forms it can take, drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QButtonGroup, QCheckBox, QFrame, QPushButton, QScrollArea, QVBoxLayout, QWidget

from bladewise.lettering import find_face
from bladewise.lettering.alternates import Form, for_letter, forms_of, of_letter
from bladewise.lettering.catalogue import substitutions
from bladewise.window import theme
from bladewise.window.controls import FlowLayout, label
from bladewise.window.lettering.beginnings import first_lettering
from bladewise.window.lettering.side import SidePage
from bladewise.window.paths import curves
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from bladewise.document import Lettering
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk

MOST_LETTERS = 200
_TILE_PX = 62
_USUALLY_ON = ("liga", "clig", "calt")


def _tr(text: str) -> str:
    return QCoreApplication.translate("AlternatesPage", text)


def feature_name(tag: str) -> str:
    """Return what a feature does in plain words; its tag where there are none (OpenType 1.9, registered features)."""
    names = {
        "smcp": _tr("small capitals"),
        "c2sc": _tr("capitals as small capitals"),
        "salt": _tr("other forms"),
        "swsh": _tr("swashes"),
        "cswh": _tr("swashes where they fit"),
        "titl": _tr("capitals for titles"),
        "onum": _tr("old-style figures"),
        "lnum": _tr("figures as tall as capitals"),
        "pnum": _tr("figures as wide as they come"),
        "tnum": _tr("figures of one width"),
        "frac": _tr("fractions"),
        "ordn": _tr("ordinals"),
        "zero": _tr("zero with a stroke"),
        "sups": _tr("raised figures"),
        "subs": _tr("lowered figures"),
        "case": _tr("signs for capitals"),
        "dlig": _tr("rare ligatures"),
        "hlig": _tr("old ligatures"),
        "hist": _tr("old forms"),
        "liga": _tr("ligatures"),
        "clig": _tr("ligatures where they fit"),
        "calt": _tr("joins that fit"),
        "aalt": _tr("any other form"),
    }
    if tag in names:
        return names[tag]
    if tag[:2] == "ss" and tag[2:].isdigit():
        return _tr("stylistic set {number}").format(number=int(tag[2:]))
    if tag[:2] == "cv" and tag[2:].isdigit():
        return _tr("letter variant {number}").format(number=int(tag[2:]))
    return tag


class AlternatesPage(SidePage):
    """What the font offers, to be ticked; and the forms of one letter, to be clicked."""

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Read what the font has."""
        super().__init__(bench, desk, canvas, _tr("Alternates"), "alternates")
        self.worker = Worker(self)
        self._index = -1
        self._text = ""
        self.none = label("", "muted")
        self.none.setWordWrap(True)
        self.column.addWidget(self.none)
        self.column.addWidget(label(_tr("All letters"), "muted", scale=0.9))
        holder = QWidget()
        self._switches = QVBoxLayout(holder)
        self._switches.setContentsMargins(0, 0, 0, 0)
        self._switches.setSpacing(0)
        self.column.addWidget(_scrolled(holder), 2)
        self.column.addWidget(label(_tr("One letter"), "muted", scale=0.9))
        self._letters_area, self._letters = _flow()
        self.column.addWidget(self._letters_area, 1)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self._forms_area, self._forms = _flow()
        self.column.addWidget(self._forms_area, 2)
        self.switches: dict[str, QCheckBox] = {}
        self.letters: dict[int, QPushButton] = {}
        self.forms: list[FormButton] = []
        self.selection_changed()

    def first_stop(self) -> QWidget | None:
        """Return the first switch, or the first letter."""
        return next(iter(self.switches.values()), None) or next(iter(self.letters.values()), None)

    def features(self) -> tuple[str, ...]:
        """Return the features in the field."""
        return tuple(str(self.value("features") or "").split())

    def selection_changed(self) -> None:
        """Show what the font of the lettering selected has."""
        live = first_lettering(self.desk)
        if live is None:
            return
        face = find_face(live.family, live.weight, italic=live.italic)
        tags = substitutions(face) if face is not None else ()
        wanted = [tag for tag in tags if feature_name(tag) != tag and tag != "aalt"]
        if list(self.switches) != wanted:
            for each in self.switches.values():
                self._switches.removeWidget(each)
                each.deleteLater()
            self.switches = {tag: self._switch(tag) for tag in wanted}
        self.none.setText(_tr("This font has no other forms of its letters.") if not wanted else "")
        self.none.setVisible(not wanted)
        if live.text != self._text:
            self._text = live.text
            self._show_letters()
        self.numbers_changed()

    def numbers_changed(self) -> None:
        """Tick what the field says."""
        features = self.features()
        for tag, switch in self.switches.items():
            switch.blockSignals(True)  # noqa: FBT003 - Qt's signature
            switch.setChecked(f"-{tag}" not in features if tag in _USUALLY_ON else tag in features)
            switch.blockSignals(False)  # noqa: FBT003
        for each in self.forms:
            each.setChecked(each.form.feature == of_letter(features, self._index))

    def leave(self) -> None:
        """Stop."""
        self.worker.close()

    # --- all letters ----------------------------------------------------------------------------------------------

    def _switch(self, tag: str) -> QCheckBox:
        name = feature_name(tag)
        switch = QCheckBox(f"{name[:1].upper()}{name[1:]}  ({tag})")
        switch.toggled.connect(lambda on: self._switched(tag, on=on))
        self._switches.addWidget(switch)
        return switch

    def _switched(self, tag: str, *, on: bool) -> None:
        kept = [each for each in self.features() if each not in (tag, f"-{tag}", f"+{tag}")]
        if tag in _USUALLY_ON:
            kept += [] if on else [f"-{tag}"]
        elif on:
            kept.append(tag)
        self.put(features=" ".join(kept))
        if self._index >= 0:
            self.show_forms(self._index)

    # --- one letter -----------------------------------------------------------------------------------------------

    def _show_letters(self) -> None:
        for button in self.letters.values():
            self._group.removeButton(button)
        _empty(self._letters)
        self.letters = {}
        for index, letter in enumerate(self._text[:MOST_LETTERS]):
            if letter.isspace():
                continue
            button = QPushButton(letter.replace("&", "&&"))
            button.setProperty("kind", "segment")
            button.setProperty("place", "alone")
            button.setCheckable(True)
            button.setAutoDefault(False)
            button.setAccessibleName(_tr("Letter {number}: {letter}").format(number=index + 1, letter=letter))
            button.clicked.connect(lambda _on=False, index=index: self.show_forms(index))
            self._group.addButton(button)
            self._letters.addWidget(button)
            self.letters[index] = button
        self._index = -1
        self._show([])

    def show_forms(self, index: int) -> None:
        """Show the forms that a letter of the text can take."""
        live = first_lettering(self.desk)
        if live is None:
            return
        self._index = index
        if index in self.letters:
            self.letters[index].setChecked(True)
        words = _with(live, self.features())
        self.worker.start(
            lambda _progress: forms_of(words, index),
            lambda found: self._show(found) if index == self._index else None,
            instead=True,
        )

    def _show(self, found: list[Form]) -> None:
        _empty(self._forms)
        chosen = of_letter(self.features(), self._index)
        self.forms = []
        for each in found:
            button = FormButton(each)
            button.setChecked(each.feature == chosen)
            button.clicked.connect(lambda _on=False, feature=each.feature: self._take(feature))
            self._forms.addWidget(button)
            self.forms.append(button)
        if len(found) == 1:
            self._forms.addWidget(label(_tr("This letter has one form only."), "muted", scale=0.9))

    def _take(self, feature: str) -> None:
        self.put(features=" ".join(for_letter(self.features(), self._index, feature)))
        self.numbers_changed()


class FormButton(QPushButton):
    """One form of a letter, drawn."""

    def __init__(self, form: Form) -> None:
        """Show it."""
        super().__init__()
        self.form = form
        self.setProperty("kind", "form")
        self.setCheckable(True)
        self.setAutoDefault(False)
        tag, _, value = form.feature.partition("=")
        name = feature_name(tag) if form.feature else _tr("as it is")
        self.setAccessibleName(f"{name} {value}".strip())
        self.setToolTip(self.accessibleName() + (f" ({form.feature})" if form.feature else ""))
        self._path = curves(form.outline)

    def sizeHint(self) -> QSize:
        """Return the size of a tile."""
        return QSize(_TILE_PX, _TILE_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the tile, and the letter on it."""
        super().paintEvent(event)
        box = self._path.boundingRect()
        if box.isEmpty():
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        room = QRectF(self.rect()).adjusted(9.0, 9.0, -9.0, -9.0)
        scale = min(46.0, room.width() / box.width(), room.height() / box.height())
        painter.translate(room.center().x() - box.center().x() * scale, room.center().y() - box.center().y() * scale)
        painter.scale(scale, scale)
        painter.fillPath(self._path, theme.colour("on_accent" if self.isChecked() else "text"))
        painter.end()


def _with(lettering: Lettering, features: tuple[str, ...]) -> Lettering:
    return replace(lettering, setting=replace(lettering.setting, features=features))


def _scrolled(holder: QWidget) -> QScrollArea:
    holder.setObjectName("scrolled")
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.viewport().setAutoFillBackground(False)
    area.setWidget(holder)
    return area


def _flow() -> tuple[QScrollArea, FlowLayout]:
    holder = QWidget()
    flow = FlowLayout(holder, gap=5, row_gap=5)
    return _scrolled(holder), flow


def _empty(flow: FlowLayout) -> None:
    while (item := flow.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()
