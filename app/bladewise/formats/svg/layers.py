"""Ids that stay unique, names people gave, and the layers a drawing already has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document import Element, Group, Layer

if TYPE_CHECKING:
    from bladewise.formats.svg.tree import Node, Tree

ART = "Art"
"""The layer of a drawing that has none."""


class Ids:
    """Gives every element an id: its own the first time it is drawn, a fresh one after that."""

    def __init__(self, tree: Tree) -> None:
        """Reserve the ids that stand in the drawing."""
        self._reserved = tree.by_id
        self._used: set[str] = set()
        self._next: dict[str, int] = {}

    def of(self, node: Node) -> str:
        """Return an id for what a node draws this time."""
        if node.id and node.id not in self._used and self._reserved.get(node.id) is node:
            self._used.add(node.id)
            return node.id
        return self.fresh(node.id or node.name)

    def fresh(self, stem: str) -> str:
        """Return stem-1, stem-2 … not used and not standing in the drawing."""
        number = self._next.get(stem, 1)
        while (made := f"{stem}-{number}") in self._used or made in self._reserved:
            number += 1
        self._next[stem] = number + 1
        self._used.add(made)
        return made


def title_of(node: Node) -> str:
    """Return the name a drawing gives an element: its title, its label, or nothing."""
    for child in node.children:
        if child.is_svg and child.name == "title" and (text := " ".join(child.text.split())):
            return text
    for name, value in node.attributes.items():
        if name == "aria-label" or name.endswith(" label"):
            return value.strip()
    return ""


def layers_of(tops: list[tuple[Node, Element]], ids: Ids) -> tuple[Layer, ...]:
    """Return the layers of a drawing, given what its root holds.

    If all of that are groups that someone has named, the groups are the layers; else there is one.
    """
    named = all(isinstance(element, Group) and node.name == "g" and element.name for node, element in tops)
    if not tops or not named:
        return (Layer(ids.fresh("layer"), ART, tuple(element for _, element in tops)),)
    layers = []
    for _, element in tops:
        if not isinstance(element, Group):
            continue
        if element.opacity < 1.0:  # a layer has no opacity: the group stays, on a layer of its own
            layers.append(Layer(ids.fresh(f"{element.id}-layer"), element.name, (element,)))
        else:
            layers.append(Layer(element.id, element.name, element.children, visible=element.visible))
    return tuple(layers)
