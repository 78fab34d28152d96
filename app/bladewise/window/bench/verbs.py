"""The verbs on the bench: those that fit what is selected, sheaf by sheaf, none out of sight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFrame, QMenu, QPushButton, QScrollArea, QWidget

from bladewise import operations
from bladewise.window import icons
from bladewise.window.bench.fields import words
from bladewise.window.bench.sheaves import GAP, plan, sheaves
from bladewise.window.controls import FlowLayout, push_button

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.operations import Operation
    from bladewise.window.bench.sheaves import Plan, Sheaf
    from bladewise.window.desk import Desk

_ROWS = 3
"""So many rows of verbs are in sight."""


class Verbs(QScrollArea):
    """What can be done with what is selected."""

    def __init__(self, desk: Desk, makers: list[QAction], opens: Callable[[str], None]) -> None:
        """`makers` are the ways to bring in art, offered when nothing is selected; `opens` opens a verb by name."""
        super().__init__()
        dress(self)
        self._desk, self._makers, self._open = desk, makers, opens
        self._shown: object = None
        self._widths: dict[str, int] = {}

    def first_stop(self) -> QWidget | None:
        """Return the first button."""
        page = self.widget()
        return page.findChild(QPushButton) if page is not None else None

    def refresh(self, room: int) -> None:
        """Show the verbs that fit what is selected, in so many pixels."""
        every = sheaves(self._desk)
        nothing = not self._desk.selected_leaves()
        empty = not any(True for _ in self._desk.job.walk())
        key = (empty, nothing, tuple(tuple(each.name for each in sheaf.verbs) for sheaf in every), room)
        if key == self._shown:
            return
        self._shown = key
        before = [self._widths.setdefault(each.objectName(), _maker(each).sizeHint().width()) for each in self._makers]
        found = plan(every, self._width_of, room, _ROWS, before if nothing else ())
        self.setWidget(self._verbs_page(every, found, nothing=nothing, empty=empty))

    def _width_of(self, name: str) -> float:
        """Return how wide the button of a verb or of a sheaf is; it is made once to be measured."""
        if name not in self._widths:
            if name == "fold-more":
                button = self._fold("more", self.tr("More"), "more", ())
            elif name.startswith("fold-"):
                sheaf = next(each for each in sheaves(self._desk) if f"fold-{each.name}" == name)
                button = self._fold(sheaf.name, sheaf.title, sheaf.icon, ())
            else:
                button = self._verb(operations.operation(name))
            button.ensurePolished()
            self._widths[name] = button.sizeHint().width()
            button.deleteLater()
        return self._widths[name]

    def _verbs_page(self, every: list[Sheaf], found: Plan, *, nothing: bool, empty: bool) -> QWidget:
        page = QWidget()
        page.setObjectName("scrolled")
        flow = FlowLayout(page, gap=GAP, row_gap=4)
        if nothing:
            for number, action in enumerate(self._makers):
                flow.addWidget(_maker(action, first=empty and number == 0))
        was_open = nothing
        for number, sheaf in enumerate(every[: found.shown]):
            is_open = sheaf.name not in found.folded and len(sheaf.verbs) > 1
            if (number or nothing) and (is_open or was_open):
                flow.addWidget(_gap())
            was_open = is_open
            if sheaf.name in found.folded:
                flow.addWidget(self._fold(sheaf.name, sheaf.title, sheaf.icon, [sheaf]))
                continue
            for operation in sheaf.verbs:
                flow.addWidget(self._verb(operation))
        if found.shown < len(every):
            flow.addWidget(self._fold("more", self.tr("More"), "more", every[found.shown :]))
        return page

    def verb(self, name: str) -> QPushButton | None:
        """Return a verb's button if it is on the bench."""
        return self.findChild(QPushButton, f"verb-{name}")

    def entry(self, name: str) -> QPushButton | QAction | None:
        """Return what does a verb from the bench: its button, or its place in a menu of folded ones; None for none."""
        return self.verb(name) or self.findChild(QAction, f"verb-{name}")

    def _verb(self, operation: Operation) -> QPushButton:
        button = push_button(words(operation.title), kind="verb")
        button.setObjectName(f"verb-{operation.name}")
        icons.put(button, operation.name)
        button.setToolTip(words(operation.help))
        button.setAccessibleName(words(operation.title))
        button.setAccessibleDescription(words(operation.help))
        button.clicked.connect(lambda _checked=False: self._open(operation.name))
        return button

    def _fold(self, name: str, title: str, icon: str, within: Sequence[Sheaf]) -> QPushButton:
        """Return one button for several verbs, which it shows as a menu."""
        button = push_button(f"{title} …", kind="verb")
        button.setObjectName(f"fold-{name}")
        icons.put(button, icon)
        button.setAccessibleName(title)
        names = [words(each.title) for sheaf in within for each in sheaf.verbs]
        button.setAccessibleDescription(", ".join(names))
        button.setToolTip(button.accessibleDescription())
        menu = QMenu(button)
        menu.setAccessibleName(title)
        for sheaf in within:
            under = menu if len(within) == 1 or len(sheaf.verbs) == 1 else menu.addMenu(sheaf.title)
            for each in sheaf.verbs:
                action = under.addAction(words(each.title))
                action.setObjectName(f"verb-{each.name}")
                icons.put(action, each.name)
                action.setToolTip(words(each.help))
                action.triggered.connect(lambda _checked=False, name=each.name: self._open(name))
        button.setMenu(menu)
        return button


def _maker(action: QAction, *, first: bool = False) -> QPushButton:
    """Return the button of one of the window's ways to bring in art; the first on an empty sheet stands out."""
    button = push_button(
        action.text().replace("&", "").rstrip("…"), action.trigger, kind="primary" if first else "verb"
    )
    button.setObjectName(f"make-{action.objectName()}")
    icons.put(button, action.objectName(), "on_accent" if first else "text")
    button.setToolTip(action.toolTip())
    return button


def _gap() -> QWidget:
    gap = QWidget()
    gap.setFixedSize(8, 4)
    return gap


def dress(area: QScrollArea) -> None:
    """Let a part of the bench scroll without a frame."""
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.viewport().setAutoFillBackground(False)
