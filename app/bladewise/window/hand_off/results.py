"""What became of the files: each written, or refused with the reason and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QProgressBar,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from bladewise.errors import BladewiseError, Cancelled
from bladewise.window.controls import ElidedLabel, IconLabel, label, push_button
from bladewise.window.design import APART, HEAD_TYPE, NEAR, SMALL
from bladewise.window.hand_off import said
from bladewise.window.hand_off.writing import Order, Result, not_written, write_orders
from bladewise.window.language import say
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from collections.abc import Sequence


class ResultPage(QWidget):
    """The last page of the hand-off."""

    back_wanted = Signal()
    closed = Signal()
    ended = Signal(object)
    """Writing has come to an end: what became of each file."""

    def __init__(self) -> None:
        """Start with nothing written."""
        super().__init__()
        self.worker = Worker(self)
        self.worker.progressed.connect(self._progressed)
        self._orders: list[Order] = []
        self._results: list[Result] = []
        self._folder = Path()
        self._without: list[tuple[str, str]] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(APART)
        self.title = label("", "title", scale=HEAD_TYPE)
        self.where = ElidedLabel("", "muted", Qt.TextElideMode.ElideMiddle)
        column.addWidget(self.title)
        column.addWidget(self.where)
        self.bar = QProgressBar()
        self.bar.setAccessibleName(self.tr("Writing the files"))
        self.bar.setTextVisible(False)
        self.bar.setRange(0, 1000)
        column.addWidget(self.bar)
        self.area = QScrollArea()
        self.area.setObjectName("page")
        self.area.setAccessibleName(self.tr("What became of each file"))
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self._holder = QWidget()
        self._holder.setObjectName("scrolled")
        self.area.setWidget(self._holder)
        column.addWidget(self.area, 1)
        foot = QHBoxLayout()
        foot.setSpacing(NEAR)
        self.folder = push_button(self.tr("Open folder"), self._open_folder, icon="open")
        self.again = push_button(self.tr("Try again"), self._write_again)
        self.back = push_button(self.tr("Back to the destinations"), self.back_wanted.emit)
        self.stop = push_button(self.tr("Stop"), self.worker.cancel)
        self.close_button = push_button(self.tr("Close"), self.closed.emit, kind="primary")
        for button in (self.folder, self.again, self.back):
            foot.addWidget(button)
        foot.addStretch(1)
        foot.addWidget(self.stop)
        foot.addWidget(self.close_button)
        column.addLayout(foot)
        self.rows: list[str] = []

    def write(self, orders: list[Order], folder: Path, without: list[tuple[str, str]]) -> None:
        """Write files in a worker.

        `folder` is what they all lie under; `without` are the names of destinations that get none, and why.
        """
        self._orders, self._folder, self._without = orders, folder, without
        self._write(orders, [])

    def _write_again(self) -> None:
        self._write(not_written(self._orders, self._results), [each for each in self._results if not each.refusal])

    def _write(self, orders: list[Order], results: list[Result]) -> None:
        self._results = results
        self._show_writing()

        def end(error: BladewiseError | None) -> None:
            rest = not_written(self._orders, results)
            self.show_results(results, rest, is_stopped=isinstance(error, Cancelled))
            self.ended.emit(results)

        self.worker.start(lambda progress: write_orders(orders, results, progress), end, end)

    def _progressed(self, part: float) -> None:
        self.bar.setValue(round(part * 1000))

    def _open_folder(self) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder)))

    def _show_writing(self) -> None:
        """Say that the files are being written."""
        self.title.setText(self.tr("Writing the files"))
        self.where.setText(str(self._folder))
        self.bar.setValue(0)
        self.bar.show()
        self.area.hide()
        for button in (self.folder, self.again, self.back, self.close_button):
            button.hide()
        self.stop.show()
        self.stop.setFocus()

    def show_results(self, results: Sequence[Result], rest: Sequence[Order], *, is_stopped: bool) -> None:
        """Show what became of each file; `rest` is what is still to be written."""
        refused = [each for each in results if each.refusal is not None]
        good = [each for each in results if each.refusal is None]
        if refused:
            text = self.tr("{n} of {all} files could not be written").format(n=len(refused), all=len(results))
        elif is_stopped:
            text = self.tr("Stopped; {n} files are written whole").format(n=len(good))
        elif len(good) == 1:
            text = self.tr("1 file is written")
        else:
            text = self.tr("{n} files are written").format(n=len(good))
        self.title.setText(text)
        self.bar.hide()
        self.stop.hide()
        self.area.show()
        self.folder.setVisible(bool(good))
        self.again.setVisible(bool(rest))
        self.back.show()
        self.close_button.show()
        self._fill(results, rest, is_stopped=is_stopped)
        (self.again if refused else self.close_button).setFocus()

    def _fill(self, results: Sequence[Result], rest: Sequence[Order], *, is_stopped: bool) -> None:
        holder = QWidget()
        holder.setObjectName("scrolled")
        column = QVBoxLayout(holder)
        column.setContentsMargins(0, 0, NEAR, 0)
        column.setSpacing(APART)
        self.rows = []
        for name in dict.fromkeys(each.to for each in results):
            column.addWidget(self._card(name, [each for each in results if each.to == name]))
        for name, why in self._without:
            column.addWidget(self._empty_card(name, why))
        if is_stopped and rest:
            left = label(
                self.tr("Not come to: {names}.").format(
                    names=", ".join(file.name for order in rest for file in order.files)
                ),
                "muted",
            )
            left.setWordWrap(True)
            column.addWidget(left)
        column.addStretch(1)
        self.area.setWidget(holder)

    def _card(self, name: str, results: Sequence[Result]) -> QFrame:
        card = QFrame()
        card.setObjectName("card")
        grid = QGridLayout(card)
        grid.setContentsMargins(APART, NEAR, APART, APART)
        grid.setHorizontalSpacing(NEAR)
        grid.setVerticalSpacing(SMALL)
        grid.setColumnStretch(1, 1)
        grid.addWidget(label(name, "title"), 0, 0, 1, 3)
        for number, each in enumerate(sorted(results, key=lambda result: result.refusal is None), start=1):
            row = 2 * number
            good = each.refusal is None
            grid.addWidget(IconLabel("mark-good" if good else "mark-spoils", "good" if good else "spoils"), row, 0)
            name_shown = ElidedLabel(each.path.name, "", Qt.TextElideMode.ElideLeft)
            name_shown.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            grid.addWidget(name_shown, row, 1)
            grid.addWidget(label(said.size_text(each.size) if good else self.tr("not written"), "muted"), row, 2)
            spoken = each.path.name
            if each.refusal is not None:
                why = label(f"{say(each.refusal.what)} {say(each.refusal.hint)}".strip(), "trouble")
                why.setWordWrap(True)
                grid.addWidget(why, row + 1, 1, 1, 2)
                spoken = f"{spoken}: {why.text()}"
            self.rows.append(spoken)
        return card

    def _empty_card(self, name: str, why: str) -> QFrame:
        card = QFrame()
        card.setObjectName("card")
        row = QGridLayout(card)
        row.setContentsMargins(APART, NEAR, APART, APART)
        row.setHorizontalSpacing(NEAR)
        row.setVerticalSpacing(SMALL)
        row.setColumnStretch(1, 1)
        row.addWidget(label(name, "title"), 0, 0, 1, 2)
        row.addWidget(IconLabel("mark-spoils", "spoils"), 1, 0, Qt.AlignmentFlag.AlignTop)
        words = label(self.tr("Gets no file. {why}").format(why=why), "trouble")
        words.setWordWrap(True)
        row.addWidget(words, 1, 1)
        self.rows.append(f"{name}: {words.text()}")
        return card
