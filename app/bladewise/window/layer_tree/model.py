"""The layer tree as an item model over the immutable job.

After every change the tree of nodes is made anew (it holds no art, only references) and Qt is told as a change of
layout, with the persistent indexes moved by id: what was open stays open, and what was selected stays selected.
"""

from __future__ import annotations

from dataclasses import dataclass, field
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

from bladewise.document import Changes, Element, Group, Layer, Lettering, Material, Picture, Shape

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.document import Job

MIME = "application/x-bladewise-elements"
NODE = int(Qt.ItemDataRole.UserRole) + 1
NAME, SHOWN, LOCKED = range(3)

Index: TypeAlias = QModelIndex | QPersistentModelIndex


@dataclass(eq=False)
class Node:
    """A row: a layer, a group or a leaf."""

    id: str
    what: Layer | Element | None
    parent: Node | None
    row: int = 0
    children: list[Node] = field(default_factory=list)
    material: Material | None = None
    shown: bool = True
    fast: bool = False

    @property
    def icon(self) -> str:
        """The name of its icon."""
        match self.what:
            case Layer():
                return "layer"
            case Group():
                return "group"
            case Lettering():
                return "lettering"
            case Picture():
                return "picture"
            case _:
                return "shape"

    @property
    def name(self) -> str:
        """What it is called."""
        if self.what is None:
            return ""
        return self.what.name or self.id

    def walk(self) -> Iterator[Node]:
        """Yield it and all below it."""
        yield self
        for child in self.children:
            yield from child.walk()


class LayerModel(QAbstractItemModel):
    """Rows for everything in the job, the front at the top."""

    reorder_wanted = Signal(object, object)
    rename_wanted = Signal(str, str)
    show_wanted = Signal(object, bool)
    lock_wanted = Signal(object, bool)

    def __init__(self, parent: QObject | None = None) -> None:
        """Start with no job."""
        super().__init__(parent)
        self._root = Node("", None, None)
        self._by_id: dict[str, Node] = {}
        self._numbers: dict[str, int] = {}
        self._nodes: dict[int, Node] = {}
        self._filter = ""

    # --- the job --------------------------------------------------------------------------------------------------

    def set_job(self, job: Job, changes: Changes | None) -> None:
        """Show a job; None in place of changes means that everything is new."""
        if changes is None:
            self.beginResetModel()
            self._build(job)
            self.endResetModel()
            return
        self.layoutAboutToBeChanged.emit()
        before = self.persistentIndexList()
        kept = [(index.column(), self.node(index).id) for index in before]
        self._build(job)
        after = [self.index_of(each, column) for column, each in kept]
        self.changePersistentIndexList(before, after)
        self.layoutChanged.emit()

    def set_filter(self, text: str) -> None:
        """Show only what is named so, and what leads there."""
        self._filter = text.strip().casefold()

    def matches(self, node: Node) -> bool:
        """Whether a row, one below it, or a group or layer around it is what is searched for."""
        if not self._filter or any(self._is_meant(each) for each in node.walk()):
            return True
        above = node.parent
        while above is not None and above is not self._root:
            if self._is_meant(above):
                return True
            above = above.parent
        return False

    def node(self, index: Index) -> Node:
        """Return the node of an index; the root for an invalid one."""
        return self._nodes.get(index.internalId(), self._root) if index.isValid() else self._root

    def find(self, any_id: str) -> Node | None:
        """Return a node by id."""
        return self._by_id.get(any_id)

    def index_of(self, any_id: str, column: int = NAME) -> QModelIndex:
        """Return the index of a layer or element."""
        node = self._by_id.get(any_id)
        return QModelIndex() if node is None else self.createIndex(node.row, column, self._numbers[any_id])

    @property
    def root(self) -> Node:
        """The node above all layers."""
        return self._root

    # --- Qt's questions -------------------------------------------------------------------------------------------

    def index(self, row: int, column: int, parent: Index = QModelIndex()) -> QModelIndex:  # noqa: B008
        """Return the index of a row."""
        above = self.node(parent)
        if not (0 <= row < len(above.children) and 0 <= column < 3):
            return QModelIndex()
        return self.createIndex(row, column, self._numbers[above.children[row].id])

    def parent(self, index: Index = QModelIndex()) -> Any:  # noqa: B008
        """Return the row above."""
        above = self.node(index).parent if index.isValid() else None
        if above is None or above is self._root:
            return QModelIndex()
        return self.createIndex(above.row, NAME, self._numbers[above.id])

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many rows lie below one."""
        return len(self.node(parent).children) if parent.column() <= 0 else 0

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
        flag = Qt.ItemFlag
        if not index.isValid():
            return flag.ItemIsDropEnabled
        result = flag.ItemIsEnabled | flag.ItemIsSelectable | flag.ItemIsDragEnabled | flag.ItemIsDropEnabled
        return result | flag.ItemIsEditable if index.column() == NAME else result

    # --- dragging -------------------------------------------------------------------------------------------------

    def supportedDropActions(self) -> Qt.DropAction:
        """Things move; nothing is copied by dragging."""
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        """Return the one kind taken."""
        return [MIME]

    def mimeData(self, indexes: Sequence[QModelIndex]) -> QMimeData:
        """Return the ids being dragged."""
        ids = list(dict.fromkeys(self.node(index).id for index in indexes))
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
        row = len(above.children) if row < 0 else row
        for node in reversed(above.children[:row]):
            if node.id not in moving:
                return {"below": {"id": node.id}}
        for node in above.children[row:]:
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
        root = Node("", None, None)
        self._by_id = {}
        self._nodes = {}
        materials = {placed.leaf.id: job.material_of(placed) for placed in job.walk()}
        for layer in reversed(job.layers):
            node = self._put(root, layer.id, layer)
            self._fill(node, layer.children, materials)
        self._root = root

    def _fill(self, above: Node, children: tuple[Element, ...], materials: dict[str, Material]) -> None:
        for child in reversed(children):
            node = self._put(above, child.id, child)
            if isinstance(child, Group):
                self._fill(node, child.children, materials)
            else:
                node.material = materials.get(child.id)

    def _put(self, above: Node, any_id: str, what: Layer | Element) -> Node:
        node = Node(any_id, what, above, len(above.children))
        node.shown = what.visible and above.shown
        node.fast = what.locked or above.fast
        above.children.append(node)
        self._by_id[any_id] = node
        number = self._numbers.setdefault(any_id, len(self._numbers) + 1)
        self._nodes[number] = node
        return node

    def _is_meant(self, node: Node) -> bool:
        material = node.material.name.casefold() if node.material is not None else ""
        return self._filter in node.name.casefold() or self._filter in material

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
        if node.material is not None:
            parts.append(node.material.name)
        if isinstance(what, Shape) and not what.path:
            parts.append(self.tr("empty"))
        if what is not None and not what.visible:
            parts.append(self.tr("hidden"))
        if what is not None and what.locked:
            parts.append(self.tr("locked"))
        return ", ".join(parts)
