"""The panel with the layer tree: search on top, rows below, in step with the canvas both ways."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QItemSelection, QItemSelectionModel, Qt, QTimer
from PySide6.QtWidgets import QFrame, QHBoxLayout, QInputDialog, QLineEdit, QMenu, QVBoxLayout

from bladewise.document import Layer
from bladewise.window import icons, keys
from bladewise.window.controls import label
from bladewise.window.layer_tree.model import LOCKED, SHOWN, LayerModel
from bladewise.window.layer_tree.tree import LayerTree

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from bladewise.document import Changes
    from bladewise.window.desk import Desk
    from bladewise.window.layer_tree.node import Node

OPEN_AT_FIRST = 60
"""A job of no more rows than this opens with all its groups unfolded; a larger one with its layers only."""

MOST_RANGES = 24
"""A selection in more stretches than this is kept by the model and painted by the rows: Qt takes too long over it."""

FIND_AFTER_MS = 120
"""How long the typing rests before a large tree is searched."""


class LayerPanel(QFrame):
    """Layers, groups and shapes."""

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self.setObjectName("panel")
        self._desk = desk
        self._ours = False
        self._unfolded: list[str] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.setContentsMargins(12, 0, 12, 0)
        head.addWidget(label(self.tr("Layers"), "title"))
        head.addStretch(1)
        self.count = label("", "muted", scale=0.9)
        head.addWidget(self.count)
        column.addLayout(head)
        self.search = _Search(self)
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.timeout.connect(self._find)
        self.search.textChanged.connect(self._typed)
        field = QHBoxLayout()
        field.setContentsMargins(12, 0, 12, 0)
        field.addWidget(self.search)
        column.addLayout(field)
        self.model = LayerModel(self)
        self.tree = LayerTree(self)
        self.tree.setModel(self.model)
        self.tree.dress()
        column.addWidget(self.tree, 1)
        self.nothing = label("", "muted")
        self.nothing.setWordWrap(True)
        self.nothing.setContentsMargins(12, 0, 12, 12)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        column.addWidget(self.nothing, 1)
        self.model.reorder_wanted.connect(self._reorder)
        self.model.rename_wanted.connect(lambda each, name: desk.do_plain("rename", on=[each], name=name))
        self.tree.selectionModel().selectionChanged.connect(lambda _on, _off: self._tree_selected())
        desk.job_changed.connect(self._job_changed)
        desk.selection_changed.connect(self._desk_selected)
        self._job_changed(None)

    # --- in step with the desk ------------------------------------------------------------------------------------

    def _job_changed(self, changes: Changes | None) -> None:
        self._ours = True
        if changes is None:
            self.search.clear()
            self._late.stop()
            self.model.set_filter("")
            self._unfolded = None
        self.model.set_job(self._desk.job, changes)
        if changes is None:
            self._unfold(None if len(list(self._desk.job.elements())) <= OPEN_AT_FIRST else 1)
        elif changes.added or changes.structure:
            self._reveal(changes.added)
            if self.model.is_filtered:
                self._unfold(None)
        self._ours = False
        self._count()
        self._desk_selected(self._desk.selection)

    def _desk_selected(self, ids: frozenset[str]) -> None:
        if self._ours or self.selected_ids() == ids:
            return
        self._ours = True
        nodes = [node for each in ids if (node := self.model.find(each)) is not None and node.row >= 0]
        spans = _spans(nodes)
        scattered = len(spans) > MOST_RANGES
        if self.model.set_scattered(ids if scattered else frozenset()):
            self.tree.viewport().update()
        chosen = QItemSelection()
        if not scattered:
            for first, last in spans:
                chosen.select(self.model.index_of(first.id), self.model.index_of(last.id, LOCKED))
        self.tree.selectionModel().select(chosen, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        if spans:
            top = self.model.index_of(spans[0][0].id)
            self.tree.selectionModel().setCurrentIndex(top, QItemSelectionModel.SelectionFlag.NoUpdate)
            if len(ids) <= OPEN_AT_FIRST:
                self.tree.scrollTo(top)
        self._ours = False

    def _tree_selected(self) -> None:
        if self._ours:
            return
        ids = self._marked_ids()
        if self.model.scattered:
            ids = self.model.scattered ^ ids if self.tree.adds else ids
        self._ours = True
        self._desk.select(ids)
        self._ours = False
        if self.model.scattered or self.tree.selectionModel().selection().count() > MOST_RANGES:
            QTimer.singleShot(0, self, self._show_again)  # Qt is still telling of the rows it has marked

    def _show_again(self) -> None:
        """Show what the desk has selected, whoever keeps it."""
        self.model.set_scattered(frozenset())
        self.tree.viewport().update()
        self._ours = True
        self.tree.clearSelection()
        self._ours = False
        self._desk_selected(self._desk.selection)

    def selected_nodes(self) -> list[Node]:
        """Return the rows that are selected, the front first."""
        if self.model.scattered:
            return [node for each in self.model.scattered if (node := self.model.find(each)) is not None]
        nodes: list[Node] = []
        selection = self.tree.selectionModel().selection()
        for part in (selection.at(index) for index in range(selection.count())):
            nodes += self.model.node(part.parent()).rows[part.top() : part.bottom() + 1]
        return nodes

    def selected_ids(self) -> frozenset[str]:
        """Return what the selected rows stand for on the canvas: a layer stands for all it holds."""
        return self.model.scattered or self._marked_ids()

    def _marked_ids(self) -> frozenset[str]:
        ids: set[str] = set()
        selection = self.tree.selectionModel().selection()
        for part in (selection.at(index) for index in range(selection.count())):
            for node in self.model.node(part.parent()).rows[part.top() : part.bottom() + 1]:
                if isinstance(node.what, Layer):
                    ids.update(child.id for child in node.children)
                else:
                    ids.add(node.id)
        return frozenset(ids)

    # --- searching ------------------------------------------------------------------------------------------------

    def _typed(self, _text: str) -> None:
        if self._ours:
            return
        if self._desk.leaf_count <= OPEN_AT_FIRST or not self.search.text():
            self._find()
        else:
            self._late.start(FIND_AFTER_MS)

    def _find(self) -> None:
        self._late.stop()
        if self._unfolded is None and self.search.text().strip():
            nodes = [node for node in self.model.root.walk() if node.holds]
            self._unfolded = [node.id for node in nodes if self.tree.isExpanded(self.model.index_of(node.id))]
        self._ours = True
        self.model.set_filter(self.search.text())
        if self.model.is_filtered:
            self._unfold(None)
        elif self._unfolded is not None:
            for each in self._unfolded:
                self.tree.expand(self.model.index_of(each))
            self._unfolded = None
        self._ours = False
        self.model.set_scattered(frozenset())
        self._count()
        self._desk_selected(self._desk.selection)

    def select_found(self) -> None:
        """Select all that is called as is searched for."""
        if self._late.isActive():
            self._find()
        if self.model.is_filtered:
            ids: set[str] = set()
            for node in self.model.meant:
                ids.update([node.id] if not isinstance(node.what, Layer) else [child.id for child in node.children])
            self._desk.select(ids)

    def _reveal(self, added: frozenset[str]) -> None:
        """Unfold what new art lies in: its layers, and in a small job its groups too."""
        small = self._desk.leaf_count <= OPEN_AT_FIRST
        unfolded: set[str] = set()
        for each in added:
            node = self.model.find(each)
            above = node.parent if node is not None else None
            while above is not None and above.what is not None:
                if above.id not in unfolded and (small or isinstance(above.what, Layer)):
                    unfolded.add(above.id)
                    self.tree.expand(self.model.index_of(above.id))
                above = above.parent

    def _unfold(self, depth: int | None) -> None:
        """Unfold what holds something, down to a depth; leaves are left out, for Qt would keep an index for each."""

        def unfold(node: Node, left: int) -> None:
            for child in node.rows:
                if child.rows and left:
                    self.tree.expand(self.model.index_of(child.id))
                    unfold(child, left - 1)

        unfold(self.model.root, -1 if depth is None else depth)

    def _count(self) -> None:
        count = self._desk.leaf_count
        found = len(self.model.meant)
        if self.model.is_filtered:
            self.count.setText(self.tr("{n} found").format(n=found))
        else:
            text = self.tr("1 shape") if count == 1 else self.tr("{n} shapes").format(n=count) if count else ""
            self.count.setText(text)
        words = ""
        if not self.model.root.children:
            words = self.tr(
                "What lies on the sheet is listed here, the front at the top. Open artwork or draw something."
            )
        elif self.model.is_filtered and not found:
            words = self.tr("Nothing is called so, nor made of such a material. Escape shows all again.")
        self.nothing.setText(words)
        self.nothing.setVisible(bool(words))
        self.tree.setVisible(not words)

    # --- steps ----------------------------------------------------------------------------------------------------

    def _reorder(self, ids: list[str], place: dict[str, Any]) -> None:
        self._desk.do_plain("reorder", on=ids, **place)

    def toggle(self, node: Node, column: int) -> None:
        """Show or hide, lock or free a row; with several selected, all of them."""
        nodes = self.selected_nodes()
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
        ids = [node.id for node in self.selected_nodes()]
        if ids:
            self._desk.do_plain("delete", on=ids)

    def menu(self) -> QMenu:
        """Return what can be done with the rows selected."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        nodes = self.selected_nodes()
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
        ids = [node.id for node in self.selected_nodes()]
        self._desk.do_plain("set-material", on=ids, material=name)

    def _new_material(self) -> None:
        name, well = QInputDialog.getText(self, self.tr("New material"), self.tr("Name of the material:"))
        if well and name.strip():
            self._set_material(name.strip())


class _Search(QLineEdit):
    """Where one types what to find; Enter selects what was found, Down goes into the rows, Escape shows all again."""

    def __init__(self, panel: LayerPanel) -> None:
        super().__init__()
        self._panel = panel
        self.setObjectName("search")
        self.setPlaceholderText(self.tr("Find by name or material"))
        self.setAccessibleName(self.tr("Find in layers"))
        self.setToolTip(self.tr("Find by name or material; Enter selects what was found, Escape shows all again"))
        self.setClearButtonEnabled(True)
        glass = self.addAction(icons.icon("search", "muted"), QLineEdit.ActionPosition.LeadingPosition)
        icons.put(glass, "search", "muted")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys that mean the rows."""
        match keys.meant(keys.find_keys(), event):
            case "select":
                self._panel.select_found()
            case "rows":
                self._panel.tree.setFocus(Qt.FocusReason.TabFocusReason)
            case "all" if self.text():
                self.clear()
            case _:
                super().keyPressEvent(event)
                return
        event.accept()


def _spans(nodes: list[Node]) -> list[tuple[Node, Node]]:
    """Return rows as stretches of neighbours, first and last: Qt's own work grows with the number of stretches."""
    rows = sorted(((node.parent.number if node.parent else 0, node.row, node) for node in nodes), key=lambda r: r[:2])
    spans: list[tuple[Node, Node]] = []
    for place, (above, row, node) in enumerate(rows):
        if place and rows[place - 1][:2] == (above, row - 1):
            spans[-1] = spans[-1][0], node
        else:
            spans.append((node, node))
    return spans
