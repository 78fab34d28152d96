"""The layer tree as an item model over the immutable job.

A change that leaves order and grouping alone only exchanges what the nodes stand for. After any other the tree of
nodes is made anew (5,000 nodes take some 10 ms) and Qt is told as a change of layout, with the persistent indexes
moved by id: what was open stays open, and what was selected stays selected.

A selection that is scattered over many rows is kept here, by id, and painted by the rows themselves: Qt asks for the
parent of every selected range at every cell it paints, which at 2,500 ranges takes most of a second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from PySide6.QtCore import (
    QAbstractItemModel,
    QByteArray,
    QMimeData,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)

from bladewise.document import Changes, Group, Job, Layer, Shape
from bladewise.window.layer_tree.node import Node, tree_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from bladewise.document import Element, Material

MIME = "application/x-bladewise-elements"
NODE = int(Qt.ItemDataRole.UserRole) + 1
NAME, SHOWN, LOCKED = range(3)

_OF_CELLS = (
    Qt.ItemFlag.ItemIsEnabled
    | Qt.ItemFlag.ItemIsSelectable
    | Qt.ItemFlag.ItemIsDragEnabled
    | Qt.ItemFlag.ItemIsDropEnabled
)
_OF_NAMES = _OF_CELLS | Qt.ItemFlag.ItemIsEditable
"""Put together once: Qt asks thousands of times a second."""

Index: TypeAlias = QModelIndex | QPersistentModelIndex


class LayerModel(QAbstractItemModel):
    """Rows for everything in the job, the front at the top."""

    reorder_wanted = Signal(object, object)
    rename_wanted = Signal(str, str)
    show_wanted = Signal(object, bool)
    lock_wanted = Signal(object, bool)

    def __init__(self, parent: QObject | None = None) -> None:
        """Start with no job."""
        super().__init__(parent)
        self._job = Job("", 0.0, 0.0)
        self._root = Node("", None, None)
        self._by_id: dict[str, Node] = {}
        self._numbers: dict[str, int] = {}
        self._nodes: dict[int, Node] = {}
        self._filter = ""
        self.meant: list[Node] = []
        """What is itself called as is searched for, the front first."""
        self.scattered: frozenset[str] = frozenset()
        """Ids selected, while they are too scattered for Qt to keep them."""

    # --- the job --------------------------------------------------------------------------------------------------

    def set_job(self, job: Job, changes: Changes | None) -> None:
        """Show a job; None in place of changes means that everything is new."""
        if changes is None:
            self.beginResetModel()
            self._build(job)
            self.endResetModel()
        elif changes.added or changes.removed or changes.structure or self._filter:
            self.layoutAboutToBeChanged.emit()
            before = self.persistentIndexList()
            kept = [(index.column(), self.node(index).id) for index in before]
            self._build(job)
            self.changePersistentIndexList(before, [self.index_of(each, column) for column, each in kept])
            self.layoutChanged.emit()
        else:
            self._exchange(job)

    def set_filter(self, text: str) -> None:
        """Show only what is named so or made of what is named so, with what leads there and what it holds."""
        text = text.strip().casefold()
        if text != self._filter:
            self.beginResetModel()
            self._filter = text
            self._sift()
            self.endResetModel()

    @property
    def is_filtered(self) -> bool:
        """Whether only some rows show."""
        return bool(self._filter)

    def material(self, node: Node) -> Material | None:
        """Return what a leaf is made of; None for layers and groups."""
        placed = self._job.placed(node.id)
        return None if placed is None else self._job.material_of(placed)

    def set_scattered(self, ids: frozenset[str]) -> bool:
        """Keep a selection that is too scattered for Qt; return whether that changed anything."""
        changed, self.scattered = ids != self.scattered, ids
        return changed

    def node(self, index: Index) -> Node:
        """Return the node of an index; the root for an invalid one."""
        return self._nodes.get(index.internalId(), self._root) if index.isValid() else self._root

    def find(self, any_id: str) -> Node | None:
        """Return a node by id."""
        return self._by_id.get(any_id)

    def index_of(self, any_id: str, column: int = NAME) -> QModelIndex:
        """Return the index of a layer or element; an invalid one if it does not show."""
        node = self._by_id.get(any_id)
        if node is None or node.row < 0:
            return QModelIndex()
        return self.createIndex(node.row, column, node.number)

    @property
    def root(self) -> Node:
        """The node above all layers."""
        return self._root

    # --- Qt's questions -------------------------------------------------------------------------------------------

    def index(self, row: int, column: int, parent: Index = QModelIndex()) -> QModelIndex:  # noqa: B008
        """Return the index of a row."""
        rows = self.node(parent).rows
        if not (0 <= row < len(rows) and 0 <= column < 3):
            return QModelIndex()
        return self.createIndex(row, column, rows[row].number)

    def parent(self, index: Index = QModelIndex()) -> Any:  # noqa: B008
        """Return the row above."""
        above = self.node(index).parent if index.isValid() else None
        if above is None or above is self._root:
            return QModelIndex()
        return self.createIndex(above.row, NAME, above.number)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many rows lie below one."""
        return len(self.node(parent).rows) if parent.column() <= 0 else 0

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Name, shown, locked."""
        return 3

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a cell shows and says."""
        node = self.node(index)
        if role == NODE:
            return node
        if index.column() != NAME:
            return self._toggle_data(node, index.column(), role)
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return node.name
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self._spoken(node)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._spoken(node)
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Ask for a new name; the job itself is changed by a step."""
        node = self.node(index)
        if role == Qt.ItemDataRole.EditRole and str(value).strip() and str(value) != node.name:
            self.rename_wanted.emit(node.id, str(value).strip())
        return False

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Say what can be done with a cell."""
        if not index.isValid():
            return Qt.ItemFlag.ItemIsDropEnabled
        return _OF_NAMES if index.column() == NAME else _OF_CELLS

    # --- dragging -------------------------------------------------------------------------------------------------

    def supportedDropActions(self) -> Qt.DropAction:
        """Things move; nothing is copied by dragging."""
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        """Return the one kind taken."""
        return [MIME]

    def mimeData(self, indexes: Sequence[QModelIndex]) -> QMimeData:
        """Return the ids being dragged."""
        return self.mime_of(dict.fromkeys(self.node(index).id for index in indexes))

    def mime_of(self, ids: Collection[str]) -> QMimeData:
        """Return ids in the form they are dragged in."""
        data = QMimeData()
        data.setData(MIME, QByteArray("\n".join(ids).encode()))
        return data

    def canDropMimeData(self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index) -> bool:
        """Say whether what is dragged may go there."""
        return data.hasFormat(MIME) and self.place(self._dragged(data), row, self.node(parent)) is not None

    def dropMimeData(self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index) -> bool:
        """Ask for the step; False, so that Qt removes nothing by itself."""
        ids = self._dragged(data)
        place = self.place(ids, row, self.node(parent))
        if place is not None:
            self.reorder_wanted.emit(ids, place)
        return False

    def place(self, ids: list[str], row: int, above: Node) -> dict[str, Any] | None:
        """Return where a drop would put things, as parameters of the step `reorder`; None if nowhere.

        The front is at the top: what is dropped under a row lies below it in the art.
        """
        moving = [self._by_id[each] for each in ids if each in self._by_id]
        if not moving:
            return None
        layers = all(isinstance(node.what, Layer) for node in moving)
        held = {inner.id for node in moving for inner in node.walk()}
        if above is not self._root and above.id in held:
            return None
        if layers:
            if above is not self._root:
                return None
            return self._beside(above, row, set(ids))
        if any(isinstance(node.what, Layer) for node in moving) or above is self._root:
            return None
        if row < 0:
            if isinstance(above.what, (Layer, Group)):
                return {"into": above.id}
            return {"above": {"id": above.id}}
        return self._beside(above, row, set(ids)) or {"into": above.id}

    def _beside(self, above: Node, row: int, moving: set[str]) -> dict[str, Any] | None:
        row = len(above.rows) if row < 0 else row
        for node in reversed(above.rows[:row]):
            if node.id not in moving:
                return {"below": {"id": node.id}}
        for node in above.rows[row:]:
            if node.id not in moving:
                return {"above": {"id": node.id}}
        return None

    def _dragged(self, data: QMimeData) -> list[str]:
        text = bytes(data.data(MIME).data()).decode()
        ids = [each for each in text.split("\n") if each in self._by_id]
        inside = {inner.id for each in ids for inner in self._by_id[each].walk() if inner.id != each}
        return [each for each in ids if each not in inside]

    # --- within ---------------------------------------------------------------------------------------------------

    def _build(self, job: Job) -> None:
        self._job = job
        self._root, self._by_id = tree_of(job, self._numbers)
        self._nodes = {node.number: node for node in self._by_id.values()}
        self._sift()

    def _exchange(self, job: Job) -> None:
        """Let the nodes stand for the elements of a job of the same order and grouping, and tell which rows differ."""
        self._job = job
        spans: list[tuple[Node, Node]] = []

        def exchange(above: Node, children: tuple[Layer, ...] | tuple[Element, ...]) -> None:
            first = last = None
            for node, what in zip(above.children, reversed(children), strict=True):
                if node.what is what and node.shown == (what.visible and above.shown):
                    continue
                node.what = what
                node.look(above)
                first, last = first or node, node
                if isinstance(what, (Layer, Group)):
                    exchange(node, what.children)
            if first is not None and last is not None:
                spans.append((first, last))

        exchange(self._root, job.layers)
        for first, last in spans:
            self.dataChanged.emit(self.index_of(first.id), self.index_of(last.id, LOCKED))

    def _sift(self) -> None:
        """Say which rows show, in one walk: what is meant, what it holds, and what leads there."""
        self.meant = []
        if not self._filter:
            for node in self._by_id.values():
                node.rows = node.children
            self._root.rows = self._root.children
            for node in [self._root, *self._by_id.values()]:
                for row, child in enumerate(node.children):
                    child.row = row
            return

        def sift(above: Node, *, all_of_it: bool) -> None:
            above.rows = []
            for child in above.children:
                meant = self._is_meant(child)
                if meant:
                    self.meant.append(child)
                sift(child, all_of_it=all_of_it or meant)
                child.row = -1
                if all_of_it or meant or child.rows:
                    child.row = len(above.rows)
                    above.rows.append(child)

        sift(self._root, all_of_it=False)

    def _is_meant(self, node: Node) -> bool:
        if self._filter in node.name.casefold():
            return True
        material = self.material(node)
        if material is None:
            return False
        named = material.name.casefold()
        return named.startswith(self._filter) or f" {self._filter}" in named

    def _toggle_data(self, node: Node, column: int, role: int) -> Any:
        what = node.what
        if what is None or role not in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return None
        if column == SHOWN:
            return self.tr("Shown; click to hide") if what.visible else self.tr("Hidden; click to show")
        return self.tr("Locked; click to free") if what.locked else self.tr("Free; click to lock")

    def _spoken(self, node: Node) -> str:
        what = node.what
        kind = {
            "layer": self.tr("layer"),
            "group": self.tr("group"),
            "lettering": self.tr("live lettering"),
            "picture": self.tr("picture"),
            "shape": self.tr("shape"),
        }[node.icon]
        parts = [node.name, kind]
        if isinstance(what, (Layer, Group)):
            parts.append(self.tr("holds {n}").format(n=len(node.children)))
        if (material := self.material(node)) is not None:
            parts.append(material.name)
        if isinstance(what, Shape) and not what.path:
            parts.append(self.tr("empty"))
        if what is not None and not what.visible:
            parts.append(self.tr("hidden"))
        if what is not None and what.locked:
            parts.append(self.tr("locked"))
        if node.id in self.scattered:
            parts.append(self.tr("selected"))
        return ", ".join(parts)
