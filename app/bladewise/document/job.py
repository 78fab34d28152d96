"""The job: a sheet with layers of art, and the materials it is made of. One immutable value.

Layers and their elements run from the back to the front, as SVG paints them. A changed job shares
everything that did not change with the one it came from, so keeping each earlier version is cheap.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document.elements import Box, Element, Group, Leaf, Picture, Shape, bounds_of
from bladewise.document.materials import PRINT, UNPAINTED, Material, material_for_colour

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping


@dataclass(frozen=True)
class Layer:
    """A layer; `material` is what all its shapes are made of unless one says otherwise."""

    id: str
    name: str
    children: tuple[Element, ...] = ()
    material: str | None = None
    visible: bool = True
    locked: bool = False

    @property
    def bounds(self) -> Box | None:
        """Extent of all it holds, in mm."""
        return bounds_of(self.children)


class Placed(NamedTuple):
    """A leaf of the tree and how it comes to lie where it does."""

    leaf: Leaf
    layer: Layer
    groups: tuple[Group, ...]
    visible: bool
    locked: bool


class Changes(NamedTuple):
    """What differs between two jobs, as ids of leaves; `structure` when order, groups or layers differ."""

    added: frozenset[str]
    removed: frozenset[str]
    altered: frozenset[str]
    structure: bool

    def __bool__(self) -> bool:
        """Whether anything differs."""
        return self.structure or bool(self.added or self.removed or self.altered)


@dataclass(frozen=True, slots=True)
class JobDetails:
    """Who ordered it and by when; texts as the shop writes them, empty where nothing was said."""

    customer: str = ""
    order_number: str = ""
    due_date: str = ""
    revision: str = ""
    remark: str = ""


NO_DETAILS = JobDetails()
DETAILS = tuple(each.name for each in fields(JobDetails))
"""What can be said of an order."""


@dataclass(frozen=True)
class Job:
    """Everything to be made on one sheet.

    Parameters
    ----------
    name
        The job's name, for people.
    width_mm, height_mm
        The sheet.
    layers
        From the back to the front.
    materials
        Those the operator has named or changed; flat colours stand for materials of their own
        without being listed.
    notes
        What the reader could not take in from the artwork, one sentence each.
    ordered_width_mm, ordered_height_mm
        How large the art was ordered; None where nothing was said.
    details
        Customer, order number, due date, revision.
    """

    name: str
    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...] = ()
    materials: tuple[Material, ...] = ()
    notes: tuple[str, ...] = ()
    ordered_width_mm: float | None = None
    ordered_height_mm: float | None = None
    details: JobDetails = NO_DETAILS

    @cached_property
    def _index(self) -> dict[str, Placed]:
        return {placed.leaf.id: placed for placed in self.walk()}

    @cached_property
    def _elements(self) -> dict[str, Element]:
        return {element.id: element for element in self.elements()}

    @cached_property
    def _ids(self) -> frozenset[str]:
        return frozenset(layer.id for layer in self.layers) | self._elements.keys()

    def walk(self) -> Iterator[Placed]:
        """Yield every leaf from the back to the front."""
        for layer in self.layers:
            yield from _walk(layer.children, layer, (), visible=layer.visible, locked=layer.locked)

    def elements(self) -> Iterator[Element]:
        """Yield every element, groups before what they hold, back to front."""
        stack: list[Element] = [child for layer in reversed(self.layers) for child in reversed(layer.children)]
        while stack:
            element = stack.pop()
            yield element
            if isinstance(element, Group):
                stack.extend(reversed(element.children))

    def shapes(self, *, visible_only: bool = False) -> list[Shape]:
        """Return the shapes from the back to the front."""
        return [
            placed.leaf
            for placed in self.walk()
            if isinstance(placed.leaf, Shape) and (placed.visible or not visible_only)
        ]

    def placed(self, leaf_id: str) -> Placed | None:
        """Return a leaf and its surroundings by id."""
        return self._index.get(leaf_id)

    def element(self, element_id: str) -> Element | None:
        """Return an element, leaf or group, by id."""
        return self._elements.get(element_id)

    def layer(self, layer_id: str) -> Layer | None:
        """Return a layer by id."""
        return next((layer for layer in self.layers if layer.id == layer_id), None)

    def has_id(self, any_id: str) -> bool:
        """Whether a layer, group or leaf has this id."""
        return any_id in self._ids

    def fresh_id(self, stem: str, *, taken: Collection[str] = ()) -> str:
        """Return the first of stem, stem-2, stem-3 … that neither the job nor `taken` uses."""
        if stem not in self._ids and stem not in taken:
            return stem
        number = 2
        while f"{stem}-{number}" in self._ids or f"{stem}-{number}" in taken:
            number += 1
        return f"{stem}-{number}"

    @property
    def bounds(self) -> Box | None:
        """Extent of all the art, in mm."""
        return bounds_of([child for layer in self.layers for child in layer.children])

    def material_of(self, placed: Placed) -> Material:
        """Return what a leaf is made of: its own material, its layer's, or the one its colour stands for."""
        for chosen in (placed.leaf.material, placed.layer.material):
            if chosen is not None and (material := self.material(chosen)) is not None:
                return material
        style = None if isinstance(placed.leaf, Picture) else placed.leaf.style
        if style is None or (style.is_painted and style.colour is None):
            implied = PRINT
        elif style.colour is not None:
            implied = material_for_colour(style.colour)
        else:
            implied = UNPAINTED
        return self.material(implied.id) or implied

    def material(self, material_id: str) -> Material | None:
        """Return a listed material by id."""
        return next((material for material in self.materials if material.id == material_id), None)

    def materials_in_use(self) -> dict[Material, list[Leaf]]:
        """Return what each material is used for, in the order in which they appear from the back; visible art only."""
        uses: dict[Material, list[Leaf]] = {}
        for placed in self.walk():
            if placed.visible:
                uses.setdefault(self.material_of(placed), []).append(placed.leaf)
        return uses

    def with_material(self, material: Material) -> Job:
        """Return the job with a material listed, in place of one with the same id."""
        others = tuple(known for known in self.materials if known.id != material.id)
        return replace(self, materials=(*others, material))

    def replaced(self, replacements: Mapping[str, Iterable[Element]]) -> Job:
        """Return the job with elements replaced by none, one or several others, where they lay.

        Groups left empty disappear.
        """
        if not replacements:
            return self
        exchange = {key: tuple(value) for key, value in replacements.items()}
        return self._with_children(lambda children: _exchanged(children, exchange))

    def without(self, ids: Collection[str]) -> Job:
        """Return the job without some elements."""
        return self.replaced(dict.fromkeys(ids, ()))

    def with_layer(self, layer: Layer, *, index: int | None = None) -> Job:
        """Return the job with a layer put in at an index (left out: the front), or exchanged if its id is there."""
        layers = list(self.layers)
        for place, known in enumerate(layers):
            if known.id == layer.id:
                layers[place] = layer
                return replace(self, layers=tuple(layers))
        layers.insert(len(layers) if index is None else index, layer)
        return replace(self, layers=tuple(layers))

    def changes_to(self, other: Job) -> Changes:
        """Return what differs in `other`; costs no more than a look at each leaf."""
        if other is self:
            return Changes(frozenset(), frozenset(), frozenset(), structure=False)
        mine, theirs = self._index, other._index
        altered = frozenset(
            key
            for key, placed in theirs.items()
            if (old := mine.get(key)) is not None
            and (
                old.leaf is not placed.leaf
                or old.visible != placed.visible
                or old.layer.material != placed.layer.material
            )
        )
        structure = (
            self.materials != other.materials
            or _heading(self) != _heading(other)
            or _skeleton(self) != _skeleton(other)
        )
        return Changes(
            frozenset(theirs.keys() - mine.keys()), frozenset(mine.keys() - theirs.keys()), altered, structure
        )

    def _with_children(self, change: Callable[[tuple[Element, ...]], tuple[Element, ...]]) -> Job:
        layers = []
        for layer in self.layers:
            children = change(layer.children)
            layers.append(layer if children is layer.children else replace(layer, children=children))
        return replace(self, layers=tuple(layers))


def _walk(
    children: tuple[Element, ...], layer: Layer, groups: tuple[Group, ...], *, visible: bool, locked: bool
) -> Iterator[Placed]:
    for child in children:
        shown, fast = visible and child.visible, locked or child.locked
        if isinstance(child, Group):
            yield from _walk(child.children, layer, (*groups, child), visible=shown, locked=fast)
        else:
            yield Placed(child, layer, groups, shown, fast)


def _exchanged(children: tuple[Element, ...], exchange: Mapping[str, tuple[Element, ...]]) -> tuple[Element, ...]:
    result: list[Element] = []
    changed = False
    for child in children:
        if child.id in exchange:
            result.extend(exchange[child.id])
            changed = True
        elif isinstance(child, Group):
            inner = _exchanged(child.children, exchange)
            if inner is child.children:
                result.append(child)
            else:
                changed = True
                if inner:
                    result.append(replace(child, children=inner))
        else:
            result.append(child)
    return tuple(result) if changed else children


def _heading(job: Job) -> tuple[object, ...]:
    """Return what is said of the job as a whole."""
    return job.name, job.width_mm, job.height_mm, job.ordered_width_mm, job.ordered_height_mm, job.details


def _skeleton(job: Job) -> list[tuple[object, ...]]:
    """Return what layers and groups are and which children they hold in which order; leaves only by id."""
    rows: list[tuple[object, ...]] = [
        (layer.id, layer.name, layer.material, layer.visible, layer.locked, _ids_of(layer.children))
        for layer in job.layers
    ]
    rows += [
        (element.id, element.name, element.opacity, element.visible, element.locked, _ids_of(element.children))
        for element in job.elements()
        if isinstance(element, Group)
    ]
    return rows


def _ids_of(elements: tuple[Element, ...]) -> tuple[str, ...]:
    return tuple(element.id for element in elements)
