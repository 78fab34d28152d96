"""Ctrl+K: any action or verb by its words. Every word typed must be found in its name or its help."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QAbstractListModel, QCoreApplication, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFocusEvent, QFont, QFontMetrics, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from bladewise.operations import OPERATIONS
from bladewise.window import icons, menus, theme
from bladewise.window.bench import fitting
from bladewise.window.bench.fields import words
from bladewise.window.controls import label
from bladewise.window.design import FINE_TYPE, RADIUS

if TYPE_CHECKING:
    from bladewise.window.actions import Actions
    from bladewise.window.desk import Desk

ITEM = int(Qt.ItemDataRole.UserRole) + 1
WIDTH, HEIGHT, ROW = 560, 420, 44


@dataclass(frozen=True, slots=True)
class Item:
    """Something that can be done."""

    title: str
    help: str
    icon: str
    keys: str
    reason_not: str
    run: Callable[[], object]

    def rank(self, typed: str) -> int | None:
        """Return how well it fits what was typed, best lowest; None if it does not."""
        title, rest, sought = (_plain(text) for text in (self.title, self.help, typed))
        wanted = sought.split()
        if not all(word in title or word in rest for word in wanted):
            return None
        if not wanted:
            return 1 if self.reason_not else 0
        if title == sought:
            return -1
        begins = title.startswith(sought)
        inside = all(word in title for word in wanted)
        return (0 if begins else 2 if inside else 4) + (1 if self.reason_not else 0)


def _plain(text: str) -> str:
    """Return a text as it is compared: hyphens, dots and capitals make no difference."""
    return text.casefold().replace("-", " ").strip(" .…")


def items(actions: Actions, desk: Desk, open_verb: Callable[[str], None]) -> list[Item]:
    """Return everything that can be found."""
    selected = fitting.Selected.on(desk)
    within = {
        inner: entry[0]
        for _, entries in menus.declared()
        for entry in entries
        if isinstance(entry, tuple)
        for inner in entry[1]
    }
    not_now = QCoreApplication.translate("Palette", "not now")
    found = [
        Item(
            words(operation.title),
            words(operation.help),
            operation.name,
            "",
            fitting.reason_not(operation, desk, selected),
            partial(open_verb, operation.name),
        )
        for operation in OPERATIONS
        if fitting.is_offered(operation) and operation.name not in actions.all
    ]
    for name, action in actions.all.items():
        if name != "find":
            found.append(
                Item(
                    title_of(action.text(), within.get(name, "")),
                    action.toolTip() if action.toolTip() != action.text().replace("&", "") else "",
                    icon_of(name),
                    action.shortcut().toString(action.shortcut().SequenceFormat.NativeText),
                    "" if action.isEnabled() else not_now,
                    action.trigger,
                )
            )
    return found


def title_of(text: str, menu: str = "") -> str:
    """Return what an action is called apart from its menu; "Dark" alone says little, "Theme: Dark" is plain."""
    plain = text.replace("&", "").rstrip("…")
    return f"{menu.replace('&', '')}: {plain}" if menu else plain


def icon_of(name: str) -> str:
    """Return the icon of an action."""
    from bladewise.window.actions import declared

    return next((each.icon for each in declared() if each.name == name and each.icon), "dot")


class Palette(QFrame):
    """A line to type in, and what fits; lies over the window and goes when the focus goes."""

    def __init__(self, found: list[Item], parent: QWidget) -> None:
        """Show all there is, until something is typed."""
        super().__init__(parent)
        self.setObjectName("card")
        self.setAccessibleName(self.tr("Find any action"))
        self._before = parent.focusWidget()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setFixedSize(WIDTH, HEIGHT)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 12, 12, 8)
        column.setSpacing(8)
        self.line = _Line(self)
        self.line.setPlaceholderText(self.tr("What do you want to do?"))
        self.line.setAccessibleName(self.tr("Words of an action"))
        self.line.addAction(icons.icon("search", "muted"), QLineEdit.ActionPosition.LeadingPosition)
        column.addWidget(self.line)
        self.model = _Found(found)
        self.list = QListView()
        self.list.setAccessibleName(self.tr("Actions found"))
        self.list.setModel(self.model)
        self.list.setItemDelegate(_Delegate(self.list))
        self.list.setUniformItemSizes(True)
        self.list.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.clicked.connect(lambda _index: self.run())
        column.addWidget(self.list, 1)
        self.none = label(self.tr("Nothing is called so."), "muted")
        self.none.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self.none.hide()
        column.addWidget(self.none)
        self.line.textChanged.connect(self._typed)
        self._typed("")

    def open_over(self, window: QWidget) -> None:
        """Open in the upper middle of a window."""
        self.move((window.width() - WIDTH) // 2, max(40, window.height() // 8))
        self.show()
        self.raise_()
        self.line.setFocus()

    def run(self) -> None:
        """Do what is chosen."""
        item: Item | None = self.list.currentIndex().data(ITEM)
        if item is not None and not item.reason_not:
            self.leave()
            item.run()

    def leave(self) -> None:
        """Go, and put the focus back where it was."""
        if self._before is not None:
            self._before.setFocus()
        self.close()

    def step(self, rows: int) -> None:
        """Go up or down in the list."""
        row = max(0, min(self.model.rowCount() - 1, self.list.currentIndex().row() + rows))
        self.list.setCurrentIndex(self.model.index(row))

    def _typed(self, text: str) -> None:
        self.model.fit(text)
        self.list.setCurrentIndex(self.model.index(0))
        self.none.setVisible(self.model.rowCount() == 0)


class _Line(QLineEdit):
    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Whoever goes elsewhere does not want it any more."""
        super().focusOutEvent(event)
        if event.reason() not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            self._palette.close()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down go through the list, Enter does it, Escape closes."""
        match Qt.Key(event.key()):
            case Qt.Key.Key_Down:
                self._palette.step(1)
            case Qt.Key.Key_Up:
                self._palette.step(-1)
            case Qt.Key.Key_PageDown:
                self._palette.step(7)
            case Qt.Key.Key_PageUp:
                self._palette.step(-7)
            case Qt.Key.Key_Return | Qt.Key.Key_Enter:
                self._palette.run()
            case Qt.Key.Key_Escape:
                self._palette.leave()
            case _:
                super().keyPressEvent(event)


class _Found(QAbstractListModel):
    def __init__(self, found: list[Item]) -> None:
        super().__init__()
        self._all = found
        self._shown = list(found)

    def fit(self, typed: str) -> None:
        """Keep what fits, best first."""
        ranked = [(rank, index) for index, item in enumerate(self._all) if (rank := item.rank(typed)) is not None]
        self.beginResetModel()
        self._shown = [self._all[index] for _, index in sorted(ranked)]
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many fit."""
        return 0 if parent.isValid() else len(self._shown)

    def data(self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row shows and says."""
        if not 0 <= index.row() < len(self._shown):
            return None
        item = self._shown[index.row()]
        if role == ITEM:
            return item
        if role == Qt.ItemDataRole.DisplayRole:
            return item.title
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return ", ".join(part for part in (item.title, item.help, item.reason_not, item.keys) if part)
        return None


class _Delegate(QStyledItemDelegate):
    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        return QSize(100, ROW)

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        item: Item = index.data(ITEM)
        rect = QRect(option.rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.setPen(QPen(Qt.PenStyle.NoPen))
            painter.setBrush(theme.colour("soft"))
            painter.drawRoundedRect(rect.adjusted(0, 1, -2, -1), RADIUS, RADIUS)
        dim = bool(item.reason_not)
        icons.paint(painter, item.icon, QRect(rect.left() + 12, rect.top() + 13, 18, 18), "border" if dim else "accent")
        font = QFont(option.font)
        metrics = QFontMetrics(font)
        right = item.reason_not or item.keys
        wide = metrics.horizontalAdvance(right) + 18 if right else 8
        text = rect.adjusted(42, 5, -wide, -5)
        painter.setPen(theme.colour("on_soft" if chosen else "muted" if dim else "text"))
        painter.drawText(text, Qt.AlignmentFlag.AlignTop, item.title)
        small = QFont(font)
        small.setPointSizeF(font.pointSizeF() * FINE_TYPE)
        painter.setFont(small)
        painter.setPen(theme.colour("on_soft" if chosen else "muted"))
        shown = QFontMetrics(small).elidedText(item.help, Qt.TextElideMode.ElideRight, text.width())
        painter.drawText(text, Qt.AlignmentFlag.AlignBottom, shown)
        painter.drawText(
            rect.adjusted(0, 0, -10, 0), Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, right
        )
        painter.restore()
