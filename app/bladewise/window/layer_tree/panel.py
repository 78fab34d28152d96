"""The panel with the layer tree: search on top, rows below, in step with the canvas both ways."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QItemSelection, QItemSelectionModel, QModelIndex, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QInputDialog,
    QLineEdit,
    QMenu,
    QTreeView,
    QVBoxLayout,
)

from bladewise.document import Group, Layer
from bladewise.window import icons
from bladewise.window.controls import label
from bladewise.window.layer_tree.delegate import LayerDelegate
from bladewise.window.layer_tree.model import LOCKED, NAME, SHOWN, LayerModel, Node

if TYPE_CHECKING:
    from PySide6.QtGui import QMouseEvent

    from bladewise.document import Changes
    from bladewise.window.desk import Desk

OPEN_AT_FIRST = 60
"""A job of no more rows than this opens with all its groups unfolded; a larger one with its layers only."""


class LayerPanel(QFrame):
    """Layers, groups and shapes."""

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self.setObjectName("panel")
        self._desk = desk
        self._ours = False
        self._filtered = False
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 10, 0, 0)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.setContentsMargins(14, 0, 12, 0)
        head.addWidget(label(self.tr("Layers"), "title"))
        head.addStretch(1)
        self.count = label("", "muted", scale=0.9)
        head.addWidget(self.count)
        column.addLayout(head)
        self.search = QLineEdit()
        self.search.setObjectName("search")
        self.search.setPlaceholderText(self.tr("Find by name or material"))
        self.search.setAccessibleName(self.tr("Find in layers"))
        self.search.setClearButtonEnabled(True)
        glass = self.search.addAction(icons.icon("search", "muted"), QLineEdit.ActionPosition.LeadingPosition)
        icons.put(glass, "search", "muted")
        self.search.textChanged.connect(self._filter)
        field = QHBoxLayout()
        field.setContentsMargins(12, 0, 12, 0)
        field.addWidget(self.search)
        column.addLayout(field)
        self.model = LayerModel(self)
        self.tree = _Tree(self)
        self.tree.setModel(self.model)
        self.tree.dress()
        column.addWidget(self.tree, 1)
        self.model.reorder_wanted.connect(self._reorder)
        self.model.rename_wanted.connect(lambda each, name: desk.do_plain("rename", on=[each], name=name))
        self.tree.selectionModel().selectionChanged.connect(lambda _on, _off: self._tree_selected())
        desk.job_changed.connect(self._job_changed)
        desk.selection_changed.connect(self._desk_selected)
        self._job_changed(None)

    # --- in step with the desk ------------------------------------------------------------------------------------

    def _job_changed(self, changes: Changes | None) -> None:
        self._ours = True
        self.model.set_job(self._desk.job, changes)
        if changes is None:
            self.search.clear()
            if len(list(self._desk.job.elements())) <= OPEN_AT_FIRST:
                self.tree.expandAll()
            else:
                self.tree.expandToDepth(0)
        elif changes.added or changes.structure:
            for layer in self._desk.job.layers:
                if any(child.id in changes.added for child in layer.children):
                    self.tree.expand(self.model.index_of(layer.id))
        self._ours = False
        count = sum(1 for _ in self._desk.job.walk())
        self.count.setText(self.tr("1 shape") if count == 1 else self.tr("{n} shapes").format(n=count) if count else "")
        self._filter(self.search.text())
        self._desk_selected(self._desk.selection)

    def _desk_selected(self, ids: frozenset[str]) -> None:
        if self._ours or self._selected_ids() == ids:
            return
        nodes = [node for each in ids if (node := self.model.find(each)) is not None]
        chosen = self._ranges(nodes)
        first = self.model.index_of(nodes[0].id) if nodes else QModelIndex()
        self._ours = True
        self.tree.selectionModel().select(chosen, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        if first.isValid():
            self.tree.selectionModel().setCurrentIndex(first, QItemSelectionModel.SelectionFlag.NoUpdate)
            if len(ids) <= OPEN_AT_FIRST:
                self.tree.scrollTo(first)
        self._ours = False

    def _tree_selected(self) -> None:
        if not self._ours:
            self._ours = True
            self._desk.select(self._selected_ids())
            self._ours = False

    def _selected_nodes(self) -> list[Node]:
        nodes: list[Node] = []
        selection = self.tree.selectionModel().selection()
        for part in (selection.at(index) for index in range(selection.count())):
            nodes += self.model.node(part.parent()).children[part.top() : part.bottom() + 1]
        return nodes

    def _ranges(self, nodes: list[Node]) -> QItemSelection:
        """Return rows as a selection of as few ranges as can be: Qt's own work grows with their number."""
        chosen = QItemSelection()
        rows = sorted(
            ((node.parent.id if node.parent else "", node.row, node) for node in nodes), key=lambda row: row[:2]
        )
        start = 0
        for index in range(1, len(rows) + 1):
            if index < len(rows) and rows[index][:2] == (rows[index - 1][0], rows[index - 1][1] + 1):
                continue
            top, bottom = (self.model.index_of(rows[each][2].id) for each in (start, index - 1))
            chosen.select(top, bottom.siblingAtColumn(LOCKED))
            start = index
        return chosen

    def _selected_ids(self) -> frozenset[str]:
        """Return what the rows stand for on the canvas: a layer stands for all it holds."""
        ids: set[str] = set()
        for node in self._selected_nodes():
            if isinstance(node.what, Layer):
                ids.update(child.id for child in node.children)
            else:
                ids.add(node.id)
        return frozenset(ids)

    def _filter(self, text: str) -> None:
        if not text.strip() and not self._filtered:
            return
        self._filtered = bool(text.strip())
        self.model.set_filter(text)

        def show(node: Node) -> None:
            for child in node.children:
                seen = self.model.matches(child)
                self.tree.setRowHidden(child.row, self.model.index_of(node.id) if node.id else QModelIndex(), not seen)
                if seen and text:
                    self.tree.expand(self.model.index_of(child.id))
                show(child)

        show(self.model.root)

    # --- steps ----------------------------------------------------------------------------------------------------

    def _reorder(self, ids: list[str], place: dict[str, Any]) -> None:
        self._desk.do_plain("reorder", on=ids, **place)

    def toggle(self, node: Node, column: int) -> None:
        """Show or hide, lock or free a row; with several selected, all of them."""
        nodes = self._selected_nodes()
        chosen = nodes if node in nodes else [node]
        assert node.what is not None
        if column == SHOWN:
            self._each(chosen, "show", visible=not node.what.visible)
        else:
            self._each(chosen, "lock", locked=not node.what.locked)

    def _each(self, nodes: list[Node], name: str, **values: Any) -> None:
        layers = [node.id for node in nodes if isinstance(node.what, Layer)]
        others = [node.id for node in nodes if not isinstance(node.what, Layer)]
        for ids in (layers, others):
            if ids:
                self._desk.do_plain(name, on=ids, **values)

    def delete(self) -> None:
        """Delete the rows selected; a layer goes with all it holds."""
        ids = [node.id for node in self._selected_nodes()]
        if ids:
            self._desk.do_plain("delete", on=ids)

    def menu(self) -> QMenu:
        """Return what can be done with the rows selected."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        nodes = self._selected_nodes()
        if not nodes:
            return menu
        first = nodes[0]
        assert first.what is not None
        if len(nodes) == 1:
            menu.addAction(self.tr("Rename\tF2"), lambda: self.tree.edit(self.model.index_of(first.id)))
        menu.addAction(
            icons.icon("hidden" if first.what.visible else "show"),
            (self.tr("Hide") if first.what.visible else self.tr("Show")) + "\tH",
            lambda: self.toggle(first, SHOWN),
        )
        menu.addAction(
            icons.icon("free" if first.what.locked else "lock"),
            (self.tr("Free") if first.what.locked else self.tr("Lock")) + "\tL",
            lambda: self.toggle(first, LOCKED),
        )
        menu.addSeparator()
        materials = menu.addMenu(self.tr("Material"))
        known = {**dict.fromkeys(self._desk.job.materials_in_use()), **dict.fromkeys(self._desk.job.materials)}
        for material in known:
            materials.addAction(material.name, partial(self._set_material, material.name))
        materials.addSeparator()
        materials.addAction(self.tr("New…"), self._new_material)
        menu.addSeparator()
        for text, to in (
            (self.tr("To the front"), "front"),
            (self.tr("Forward"), "forward"),
            (self.tr("Backward"), "backward"),
            (self.tr("To the back"), "back"),
        ):
            menu.addAction(text, partial(self._desk.do_plain, "reorder", on=[node.id for node in nodes], to=to))
        menu.addSeparator()
        menu.addAction(
            icons.icon("delete"),
            self.tr("Delete\tDel"),
            self.delete,
        )
        return menu

    def _set_material(self, name: str) -> None:
        ids = [node.id for node in self._selected_nodes()]
        self._desk.do_plain("set-material", on=ids, material=name)

    def _new_material(self) -> None:
        name, well = QInputDialog.getText(self, self.tr("New material"), self.tr("Name of the material:"))
        if well and name.strip():
            self._set_material(name.strip())


class _Tree(QTreeView):
    def __init__(self, panel: LayerPanel) -> None:
        super().__init__()
        self._panel = panel
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
        self.setItemDelegate(LayerDelegate(self))
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
        own = isinstance(event, QKeyEvent) and event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
        if own and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """H hides or shows, L locks or frees, Delete deletes; the rest is a tree's."""
        index = self.currentIndex()
        plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        if plain and index.isValid() and event.key() in (Qt.Key.Key_H, Qt.Key.Key_L):
            self._panel.toggle(self._panel.model.node(index), SHOWN if event.key() == Qt.Key.Key_H else LOCKED)
            event.accept()
            return
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._panel.delete()
            event.accept()
            return
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and index.isValid():
            node = self._panel.model.node(index)
            if isinstance(node.what, (Layer, Group)):
                self.setExpanded(index, not self.isExpanded(index))
                event.accept()
                return
        super().keyPressEvent(event)

    def _open_menu(self, place: QPoint) -> None:
        menu = self._panel.menu()
        if menu.actions():
            menu.exec(self.viewport().mapToGlobal(place))
