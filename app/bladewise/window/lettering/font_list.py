"""The list of fonts: each row shows the operator's own words in a family, and what there is to know about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import (
    QAbstractListModel,
    QCoreApplication,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    QTimer,
)
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from bladewise.window import theme
from bladewise.window.design import FINE_TYPE, FOCUS_PX, RADIUS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.window.lettering.samples import Sampler

ROW_PX = 70
_EM_PX = 30.0
_HIGH_PX = 40.0


def _tr(text: str) -> str:
    return QCoreApplication.translate("FontList", text)


class FontModel(QAbstractListModel):
    """The families that fit what was typed, those used of late first."""

    def __init__(self, sampler: Sampler) -> None:
        """Begin with none."""
        super().__init__()
        self._sampler = sampler
        self._families: list[str] = []
        self._recent: list[str] = []
        self._typed = ""
        self._joined_only = False
        self.shown: list[str] = []

    def set_families(self, families: Sequence[str], recent: Sequence[str]) -> None:
        """Take all families there are."""
        self._families = list(families)
        known = {each.casefold(): each for each in families}
        self._recent = [known[each.casefold()] for each in recent if each.casefold() in known]
        self._fit()

    def fit(self, typed: str, *, joined_only: bool) -> None:
        """Keep what holds all the words typed, and, if asked for, only fonts whose letters join."""
        self._typed, self._joined_only = typed, joined_only
        self._fit()

    def unmeasured(self) -> list[str]:
        """Return the families of which it must be known whether they join before it can be said what fits."""
        if not self._joined_only:
            return []
        return [each for each in self._families if self._sampler.joins(each) is None]

    def sampled(self, family: str) -> None:
        """A family's sample has come."""
        if self._joined_only and (family in self.shown) != (self._sampler.joins(family) is True):
            self._fit()
        elif family in self.shown:
            index = self.index(self.shown.index(family))
            self.dataChanged.emit(index, index)

    def is_recent(self, family: str) -> bool:
        """Whether a family was used of late."""
        return family in self._recent

    def row_of(self, family: str) -> QModelIndex:
        """Return the row of a family; an invalid one if it does not show."""
        wanted = family.casefold()
        rows = (row for row, each in enumerate(self.shown) if each.casefold() == wanted)
        return self.index(next(rows, -1))

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many fit."""
        return 0 if parent.isValid() else len(self.shown)

    def data(self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row shows and says."""
        if not 0 <= index.row() < len(self.shown):
            return None
        family = self.shown[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return family
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return ", ".join((family, *self.marks(family)))
        return None

    def marks(self, family: str) -> list[str]:
        """Return what there is to say about a family, in few words."""
        sample = self._sampler.samples.get(family)
        said = [_tr("used of late")] if self.is_recent(family) else []
        if self._sampler.joins(family):
            said.append(_tr("letters join"))
        if sample is not None and sample.lacks:
            said.append(_tr("lacks {letters}").format(letters=" ".join(sample.lacks[:8])))
        return said

    def _fit(self) -> None:
        wanted = self._typed.casefold().split()
        recent = set(self._recent)
        ordered = [*self._recent, *(each for each in self._families if each not in recent)]
        self.beginResetModel()
        self.shown = [
            each
            for each in ordered
            if all(word in each.casefold() for word in wanted)
            and (not self._joined_only or self._sampler.joins(each) is True)
        ]
        self.endResetModel()


class FontList(QListView):
    """The rows; asks for the samples of those that are seen."""

    def __init__(self, sampler: Sampler) -> None:
        """Show a model that fills as the families come."""
        super().__init__()
        self._sampler = sampler
        self.fonts = FontModel(sampler)
        self.setModel(self.fonts)
        self.setItemDelegate(_Delegate(self, sampler))
        self.setUniformItemSizes(True)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMouseTracking(True)
        self.setAccessibleName(_tr("Fonts"))
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._look)
        self.verticalScrollBar().valueChanged.connect(lambda _value: self._soon.start(0))
        self.fonts.modelReset.connect(lambda: self._soon.start(0))
        sampler.sampled.connect(self.fonts.sampled)

    def look_again(self) -> None:
        """Ask for the samples anew: other words are shown."""
        self._soon.start(0)
        self.viewport().update()

    def seen(self) -> list[str]:
        """Return the families whose rows are in view."""
        if not self.fonts.shown:
            return []
        first = max(self.indexAt(self.viewport().rect().topLeft()).row(), 0)
        return self.fonts.shown[first : first + self.viewport().height() // ROW_PX + 2]

    def step(self, rows: int) -> None:
        """Go up or down, from wherever the keys are typed."""
        row = max(0, min(len(self.fonts.shown) - 1, self.currentIndex().row() + rows))
        self.setCurrentIndex(self.fonts.index(row))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More or fewer rows are seen."""
        super().resizeEvent(event)
        self._soon.start(0)

    def _look(self) -> None:
        self._sampler.want(self.seen(), self.fonts.unmeasured())


class _Delegate(QStyledItemDelegate):
    def __init__(self, parent: FontList, sampler: Sampler) -> None:
        super().__init__(parent)
        self._list, self._sampler = parent, sampler

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        return QSize(100, ROW_PX)

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        family = str(index.data())
        rect = QRect(option.rect).adjusted(1, 1, -3, -1)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        has_focus = chosen and self._list.hasFocus()
        if chosen or option.state & QStyle.StateFlag.State_MouseOver:
            painter.setPen(QPen(theme.colour("focus"), FOCUS_PX) if has_focus else Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("soft" if chosen else "hover"))
            painter.drawRoundedRect(QRectF(rect).adjusted(1, 1, -1, -1), RADIUS, RADIUS)
        small = QFont(option.font)
        small.setPointSizeF(small.pointSizeF() * FINE_TYPE)
        metrics = QFontMetrics(small)
        painter.setFont(small)
        painter.setPen(theme.colour("on_soft" if chosen else "muted"))
        line = rect.adjusted(10, 6, -10, 0)
        line.setHeight(metrics.height())
        marks = " · ".join(self._list.fonts.marks(family))
        painter.drawText(line, Qt.AlignmentFlag.AlignRight, marks)
        name = line.adjusted(0, 0, -(metrics.horizontalAdvance(marks) + 10), 0)
        painter.drawText(
            name, Qt.AlignmentFlag.AlignLeft, metrics.elidedText(family, Qt.TextElideMode.ElideRight, name.width())
        )
        sample = self._sampler.samples.get(family)
        if sample is not None and not sample.path.isEmpty():
            room = QRectF(rect.left() + 10, line.bottom() + 2, rect.width() - 20, rect.bottom() - line.bottom() - 6)
            box = sample.path.boundingRect()
            scale = min(
                _EM_PX, room.width() / max(box.width(), 1e-6), min(room.height(), _HIGH_PX) / max(box.height(), 1e-6)
            )
            painter.translate(room.left() - box.left() * scale, room.center().y() - box.center().y() * scale)
            painter.scale(scale, scale)
            painter.fillPath(sample.path, theme.colour("on_soft" if chosen else "text"))
        painter.restore()
