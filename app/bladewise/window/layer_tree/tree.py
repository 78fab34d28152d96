"""The rows themselves: what keys and presses mean there, and how a selection scattered over many rows is dragged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QItemSelectionModel, QPoint, Qt
from PySide6.QtGui import QDrag, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTreeView

from bladewise.window import keys
from bladewise.window.layer_tree.delegate import LayerDelegate
from bladewise.window.layer_tree.model import LOCKED, NAME, SHOWN, Index
from bladewise.window.layer_tree.thumbnails import Thumbnails

if TYPE_CHECKING:
    from bladewise.window.layer_tree.panel import LayerPanel


class LayerTree(QTreeView):
    """A tree view whose steps are the panel's."""

    def __init__(self, panel: LayerPanel) -> None:
        """Belong to a panel."""
        super().__init__()
        self._panel = panel
        self.adds = False
        """Whether the last press or key adds to what is selected instead of taking its place."""
        self.setAccessibleName(self.tr("Layers"))
        self.setHeaderHidden(True)
        self.setUniformRowHeights(True)
        self.setIndentation(14)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.setDefaultDropAction(Qt.DropAction.MoveAction)
        self.setDropIndicatorShown(True)
        self.setAutoExpandDelay(500)
        self.setAnimated(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed)
        self.thumbnails = Thumbnails(self)
        self.thumbnails.drawn.connect(self.viewport().update)
        self.setItemDelegate(LayerDelegate(self.thumbnails, self))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMouseTracking(True)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(self._open_menu)

    def dress(self) -> None:
        """Set the widths of the columns."""
        header = self.header()
        header.setStretchLastSection(False)
        header.setMinimumSectionSize(20)
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        for column in (SHOWN, LOCKED):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            header.resizeSection(column, 26)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A press on a toggle toggles, and selects nothing."""
        index = self.indexAt(event.position().toPoint())
        if event.button() is Qt.MouseButton.LeftButton and index.isValid() and index.column() != NAME:
            self._panel.toggle(self._panel.model.node(index), index.column())
            event.accept()
            return
        super().mousePressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """A second press on a toggle is another press."""
        if self.indexAt(event.position().toPoint()).column() in (SHOWN, LOCKED):
            self.mousePressEvent(event)
            return
        super().mouseDoubleClickEvent(event)

    def event(self, event: QEvent) -> bool:
        """Let Delete mean the rows, whole layers among them, while the tree has the focus."""
        own = isinstance(event, QKeyEvent) and keys.meant(keys.layer_keys(), event) == "delete"
        if own and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the keys of the rows mean; the rest is a tree's."""
        index = self.currentIndex()
        node = self._panel.model.node(index)
        match keys.meant(keys.layer_keys(), event):
            case "show" if index.isValid():
                self._panel.toggle(node, SHOWN)
            case "lock" if index.isValid():
                self._panel.toggle(node, LOCKED)
            case "unfold" if node.holds:
                self.setExpanded(index, not self.isExpanded(index))
            case "delete":
                self._panel.delete()
            case _:
                super().keyPressEvent(event)
                return
        event.accept()

    def selectionCommand(self, index: Index, event: QEvent | None = None) -> QItemSelectionModel.SelectionFlag:
        """Note whether rows are added; a press on a scattered selection leaves it, for it may be dragged."""
        command = super().selectionCommand(index, event)
        flag = QItemSelectionModel.SelectionFlag
        self.adds = bool(command & flag.Toggle)
        press = isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseButtonPress
        if press and not self.adds and self._panel.model.node(index).id in self._panel.model.scattered:
            return flag.NoUpdate
        return command

    def startDrag(self, supportedActions: Qt.DropAction) -> None:
        """Drag what is selected, all of it, though Qt may know of none."""
        model = self._panel.model
        if not model.scattered:
            super().startDrag(supportedActions)
            return
        drag = QDrag(self)
        drag.setMimeData(model.mime_of(sorted(model.scattered)))
        drag.exec(supportedActions, Qt.DropAction.MoveAction)

    def _open_menu(self, place: QPoint) -> None:
        menu = self._panel.menu()
        if menu.actions():
            menu.exec(self.viewport().mapToGlobal(place))
