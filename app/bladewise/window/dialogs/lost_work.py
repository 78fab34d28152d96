"""Work that was not saved when the program ended: brought back, thrown away, or left for later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QDateTime, QLocale, Signal
from PySide6.QtWidgets import QAbstractItemView, QDialog, QHBoxLayout, QListWidget, QVBoxLayout, QWidget

from bladewise.window.controls import label, push_button

if TYPE_CHECKING:
    from bladewise.window.recovery import Lost


MOST_SHOWN, ITEM_PX = 6, 34


class LostWorkDialog(QDialog):
    """Lists what was lost, the latest first."""

    wanted = Signal(object)
    unwanted = Signal(object)

    def __init__(self, lost: list[Lost], parent: QWidget | None = None) -> None:
        """Offer jobs."""
        super().__init__(parent)
        self._lost = list(lost)
        self.setWindowTitle(self.tr("Unsaved work"))
        self.setMinimumWidth(520)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 16)
        column.setSpacing(12)
        column.addWidget(label(self.tr("There is work that was not saved"), "title", scale=1.15))
        lead = label(
            self.tr("The program ended before it was saved. Your files are as they were; choose what to bring back."),
            "muted",
        )
        lead.setWordWrap(True)
        column.addWidget(lead)
        self.list = QListWidget()
        self.list.setAccessibleName(self.tr("Unsaved work"))
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setSpacing(2)
        self.list.itemActivated.connect(lambda _item: self._bring_back())
        self.list.setFixedHeight(min(len(lost), MOST_SHOWN) * ITEM_PX + ITEM_PX // 2)
        column.addWidget(self.list)
        foot = QHBoxLayout()
        self.throw_button = push_button(self.tr("Throw away"), self._throw_away)
        self.later_button = push_button(self.tr("Later"), self.reject)
        self.back_button = push_button(self.tr("Bring back"), self._bring_back, kind="primary")
        self.back_button.setDefault(True)
        foot.addWidget(self.throw_button)
        foot.addStretch(1)
        foot.addWidget(self.later_button)
        foot.addWidget(self.back_button)
        column.addLayout(foot)
        self._fill()

    def _fill(self) -> None:
        self.list.clear()
        for each in self._lost:
            when = QDateTime.fromSecsSinceEpoch(int(each.when))
            day = QLocale().toString(when, QLocale.FormatType.ShortFormat)
            file = each.source.name if each.source is not None else self.tr("never saved")
            self.list.addItem(self.tr("{name} ({file}), {when}").format(name=each.name, file=file, when=day))
        self.list.setCurrentRow(0)

    def _chosen(self) -> Lost | None:
        row = self.list.currentRow()
        return self._lost[row] if 0 <= row < len(self._lost) else None

    def _bring_back(self) -> None:
        chosen = self._chosen()
        self.accept()
        if chosen is not None:
            self.wanted.emit(chosen)

    def _throw_away(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self._lost.remove(chosen)
            self.unwanted.emit(chosen)
            self._fill()
        if not self._lost:
            self.accept()
