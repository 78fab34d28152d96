"""A row of the layer tree: a layer, a group or a leaf of the job, with its place among the rows that show."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document import Element, Group, Layer, Lettering, Picture

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bladewise.document import Job


class Node:
    """What stands in a row. It holds no art, only references into the job.

    `children` is all it holds, the front first; `rows` those of them that show while something is searched for.
    `row` is its place among its parent's rows, -1 while it does not show.
    """

    __slots__ = ("children", "fast", "id", "number", "parent", "row", "rows", "shown", "what")

    def __init__(self, any_id: str, what: Layer | Element | None, parent: Node | None, number: int = 0) -> None:
        """Stand for a layer or an element; what is above it is given, what is below is put in later."""
        self.id = any_id
        self.what = what
        self.parent = parent
        self.number = number
        self.row = -1
        self.children: list[Node] = []
        self.rows: list[Node] = self.children
        self.shown = True
        self.fast = False

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
    def holds(self) -> bool:
        """Whether it is a layer or a group."""
        return isinstance(self.what, (Layer, Group))

    @property
    def name(self) -> str:
        """What it is called."""
        return "" if self.what is None else self.what.name or self.id

    def walk(self) -> Iterator[Node]:
        """Yield it and all below it."""
        yield self
        for child in self.children:
            yield from child.walk()

    def look(self, above: Node) -> None:
        """Take on what follows from itself and from what is above: whether it shows on the sheet, and is locked."""
        assert self.what is not None
        self.shown = self.what.visible and above.shown
        self.fast = self.what.locked or above.fast


def tree_of(job: Job, numbers: dict[str, int]) -> tuple[Node, dict[str, Node]]:
    """Return the nodes of a job below a root that stands for nothing, and all of them by id.

    `numbers` keeps a number for each id as long as the window lives; Qt's indexes carry it.
    """
    root = Node("", None, None)
    by_id: dict[str, Node] = {}

    def put(above: Node, children: tuple[Layer, ...] | tuple[Element, ...]) -> None:
        for what in reversed(children):
            any_id = what.id
            node = Node(any_id, what, above, numbers.setdefault(any_id, len(numbers) + 1))
            node.row = len(above.children)
            node.look(above)
            above.children.append(node)
            by_id[any_id] = node
            if isinstance(what, (Layer, Group)):
                put(node, what.children)

    put(root, job.layers)
    return root, by_id
