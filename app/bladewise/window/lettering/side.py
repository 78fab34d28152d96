"""The right column: command stack and readiness, or a page that belongs to the verb that is open on the bench.

A page is no dialog: canvas, bench and keys go on as ever. Enter in it applies the verb, Escape leaves it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from bladewise.window import icons
from bladewise.window.controls import IconLabel, label

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from bladewise.window.bench.bench import Bench
    from bladewise.window.bench.form import StepForm
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk


LEAST_CANVAS_PX = 372
"""The canvas keeps so much, which its foot needs to be read."""


class SidePage(QFrame):
    """What helps with an open verb: its fields stay on the bench, and the page writes into them."""

    wide_px = 340
    of_verb = True
    """Whether it goes when the verb is done or left."""

    takes_focus = False
    """Whether typing begins here rather than in the first field on the bench."""

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas, title: str, icon: str) -> None:
        """Lay out the head; subclasses fill `self.column`."""
        super().__init__()
        self.setObjectName("panel")
        self.setAccessibleName(title)
        self.bench, self.desk, self.canvas = bench, desk, canvas
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(12, 12, 12, 8)
        self.column.setSpacing(8)
        head = self.head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(IconLabel(icon if icons.exists(icon) else "dot", "accent", 18))
        head.addWidget(label(title, "title", scale=1.15))
        head.addStretch(1)
        self.column.addLayout(head)

    @property
    def form(self) -> StepForm | None:
        """The fields of the open verb."""
        return self.bench.form

    def value(self, name: str) -> Any:
        """Return what stands in a field; None while it is wrong or not there."""
        field = self.form.fields.get(name) if self.form is not None else None
        if field is None:
            return None
        try:
            return field.value()
        except ValueError:
            return None

    def put(self, **values: Any) -> None:
        """Write into fields of the open verb, those that it has, and show what comes of it."""
        form = self.form
        if form is None:
            return
        for name, value in values.items():
            if name in form.fields:
                form.fields[name].set_value(value)
        form.changed.emit()

    def numbers_changed(self) -> None:
        """Something in the fields is different."""

    def selection_changed(self) -> None:
        """Something else is selected, or the art is different."""

    def leave(self) -> None:
        """The verb is done or left; stop whatever is under way."""

    def first_stop(self) -> QWidget | None:
        """Return where the focus goes when it comes to the page."""
        return None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter applies the open verb, Escape leaves it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.bench.apply()
            event.accept()
        elif event.key() == Qt.Key.Key_Escape:
            self.bench.leave()
            event.accept()
        else:
            super().keyPressEvent(event)


class Side(QStackedWidget):
    """The right column."""

    def __init__(self, usual: QWidget) -> None:
        """Show what is usually there."""
        super().__init__()
        self._usual = usual
        self.page: SidePage | None = None
        self._before: list[int] = []
        self.addWidget(usual)

    def show_page(self, page: SidePage) -> None:
        """Show a page in place of the usual, as wide as it needs to be."""
        self.drop_page()
        self.page = page
        self.addWidget(page)
        self.setCurrentWidget(page)
        split = self._split()
        if split is not None:
            sizes = split.sizes()
            mine, canvas = split.indexOf(self), split.indexOf(self) - 1
            more = min(page.wide_px - sizes[mine], sizes[canvas] - LEAST_CANVAS_PX)
            if more > 0:
                self._before = sizes
                split.setSizes(
                    [
                        size + (more if index == mine else -more if index == canvas else 0)
                        for index, size in enumerate(sizes)
                    ]
                )

    def drop_page(self) -> None:
        """Show the usual again."""
        page, self.page = self.page, None
        if page is None:
            return
        page.leave()
        self.setCurrentWidget(self._usual)
        self.removeWidget(page)
        page.hide()
        page.deleteLater()
        split, before = self._split(), self._before
        self._before = []
        if split is not None and before and sum(before) == sum(split.sizes()):
            split.setSizes(before)

    def _split(self) -> QSplitter | None:
        above = self.parentWidget()
        return above if isinstance(above, QSplitter) else None
