"""What a step acts on, kept as a reference that can be replayed on a changed job or on other art.

A selection is "all", a list of ids, or a rule: by name, layer, fill, stroke, material, or everything
above an element. Several rules together must all hold; several values of one rule are alternatives.
"All" and rules pass over hidden and locked art; ids do not, for whoever names a shape means it.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from bladewise.document import (
    Box,
    Colour,
    Element,
    Group,
    Job,
    Layer,
    Leaf,
    Picture,
    Placed,
    Shape,
    bounds_of,
    leaves_in,
)
from bladewise.errors import CannotApply
from bladewise.phrases import listing, phrase

_RULES = ("id", "name", "layer", "fill", "stroke", "material", "above")


@dataclass(frozen=True, slots=True)
class Selection:
    """A replayable reference to elements of a job; empty rules are not applied."""

    id: tuple[str, ...] = ()
    name: tuple[str, ...] = ()
    layer: tuple[str, ...] = ()
    fill: tuple[str, ...] = ()
    stroke: tuple[str, ...] = ()
    material: tuple[str, ...] = ()
    above: tuple[str, ...] = ()

    @classmethod
    def of(cls, *ids: str) -> Selection:
        """Return the selection of these ids."""
        return cls(id=ids)

    @classmethod
    def from_plain(cls, plain: Any) -> Selection:
        """Return a selection from its form in a recipe: "all", a list of ids, or a table of rules.

        Raises
        ------
        ValueError
            With a sentence for the operator.
        """
        if isinstance(plain, Selection):
            return plain
        if plain == "all":
            return ALL
        if isinstance(plain, str):
            return cls(id=(plain,))
        if isinstance(plain, (list, tuple)):
            return cls(id=_texts("id", plain))
        if isinstance(plain, Mapping) and plain:
            rules: dict[str, tuple[str, ...]] = {}
            for key, value in plain.items():
                if key not in _RULES:
                    near = difflib.get_close_matches(str(key), _RULES, n=1)
                    hint = (
                        phrase(" Did you mean “{near}”?", near=near[0])
                        if near
                        else phrase(" Use one of: {join}.", join=", ".join(_RULES))
                    )
                    msg = phrase("“{key}” is no way to select.{hint}", key=key, hint=hint)
                    raise ValueError(msg)
                texts = _texts(key, value)
                rules[key] = (
                    tuple(Colour.from_hex(text).hex if text != "none" else text for text in texts)
                    if key
                    in (
                        "fill",
                        "stroke",
                    )
                    else texts
                )
            return cls(**rules)
        msg = 'A selection is "all", a list of ids, or a table such as { fill = "#e69f00" }.'
        raise ValueError(msg)

    def plain(self) -> Any:
        """Return the form used in recipes and job files."""
        rules = {field.name: list(getattr(self, field.name)) for field in fields(self) if getattr(self, field.name)}
        if not rules:
            return "all"
        return {key: value[0] if len(value) == 1 else value for key, value in rules.items()}

    @property
    def is_all(self) -> bool:
        """Whether this is everything visible and unlocked."""
        return self == ALL

    def describe(self, job: Job | None = None) -> str:
        """Return the selection in words: "all", "“Cup”", "3 shapes", "fill #e69f00"."""
        if self.is_all:
            return phrase("all")
        parts = []
        if self.id:
            element = (job.element(self.id[0]) or job.layer(self.id[0])) if job and len(self.id) == 1 else None
            label = (element.name or element.id) if element else self.id[0]
            one = phrase("“{name}”", name=label)
            parts.append(one if len(self.id) == 1 else phrase("{count} shapes", count=len(self.id)))
        parts += [
            phrase("{rule} {names}", rule=phrase(rule), names=", ".join(getattr(self, rule)))
            for rule in _RULES[1:]
            if getattr(self, rule)
        ]
        return listing(parts)

    def leaves(self, job: Job) -> list[Placed]:
        """Return the leaves it refers to, from the back to the front; groups and layers stand for all in them."""
        above = None
        if self.above:
            order = [placed.leaf.id for placed in job.walk()]
            anchors = [index for index, key in enumerate(order) if key in self.above]
            above = set(order[max(anchors) + 1 :]) if anchors else set()
        return [placed for placed in job.walk() if self._matches(placed, above, job)]

    def shapes(self, job: Job) -> list[Shape]:
        """Return the shapes it refers to, from the back to the front."""
        return [placed.leaf for placed in self.leaves(job) if isinstance(placed.leaf, Shape)]

    def elements(self, job: Job) -> list[Element]:
        """Return the topmost elements it refers to: a group whose leaves are all meant counts as the group."""
        wanted = {placed.leaf.id for placed in self.leaves(job)}
        named = set(self.id)
        result: list[Element] = []

        def whole(element: Element) -> bool:
            return all(child.id in wanted for child in leaves_in((element,)))

        def descend(children: tuple[Element, ...]) -> None:
            for child in children:
                if isinstance(child, Group):
                    if child.id in named or (not named and whole(child)):
                        result.append(child)
                    else:
                        descend(child.children)
                elif child.id in wanted:
                    result.append(child)

        for layer in job.layers:
            descend(layer.children)
        return result

    def layers(self, job: Job) -> list[Layer]:
        """Return the layers it names, by id."""
        return [layer for layer in job.layers if layer.id in self.id]

    def _matches(self, placed: Placed, above: set[str] | None, job: Job) -> bool:
        leaf = placed.leaf
        if self.id:
            around = {leaf.id, placed.layer.id, *(group.id for group in placed.groups)}
            if around.isdisjoint(self.id):
                return False
        elif not placed.visible or placed.locked:
            return False
        if self.name and leaf.name not in self.name and all(group.name not in self.name for group in placed.groups):
            return False
        if self.layer and placed.layer.name not in self.layer and placed.layer.id not in self.layer:
            return False
        if self.fill and _paint(leaf, of_stroke=False) not in self.fill:
            return False
        if self.stroke and _paint(leaf, of_stroke=True) not in self.stroke:
            return False
        if self.material:
            material = job.material_of(placed)
            if material.id not in self.material and material.name not in self.material:
                return False
        return above is None or leaf.id in above


ALL = Selection()


def shapes_or_refuse(selection: Selection, job: Job, *, least: int = 1) -> list[Shape]:
    """Return the shapes a step needs.

    Raises
    ------
    CannotApply
        If there are fewer than the step needs, or if live lettering is among them.
    """
    leaves = selection.leaves(job)
    shapes = [placed.leaf for placed in leaves if isinstance(placed.leaf, Shape)]
    if len(shapes) >= least:
        return shapes
    if any(not isinstance(placed.leaf, (Shape, Picture)) for placed in leaves):
        msg = "Live lettering has no outlines of its own yet."
        raise CannotApply(msg, where=selection.describe(job), hint="Turn the lettering into shapes first.")
    if not leaves:
        raise nothing_matches(selection, job)
    msg = phrase("This needs at least {least} shapes; {count} found.", least=least, count=len(shapes))
    raise CannotApply(msg, where=selection.describe(job), hint="Change what the step acts on, or switch it off.")


def elements_or_refuse(selection: Selection, job: Job) -> list[Element]:
    """Return the topmost elements a step acts on.

    Raises
    ------
    CannotApply
        If there are none.
    """
    elements = selection.elements(job)
    if not elements:
        raise nothing_matches(selection, job)
    return elements


def measured_or_refuse(selection: Selection, job: Job) -> tuple[list[Element], Box]:
    """Return the topmost elements a step acts on, and the box around them.

    Raises
    ------
    CannotApply
        If there are none that have an extent.
    """
    elements = selection.elements(job)
    box = bounds_of(elements)
    if box is None:
        raise nothing_matches(selection, job)
    return elements, box


def nothing_matches(selection: Selection, job: Job) -> CannotApply:
    """Return the refusal of a step that finds nothing to act on."""
    return CannotApply(
        "Nothing in the job matches what this step acts on.",
        where=selection.describe(job),
        hint="Change what the step acts on, or switch it off.",
    )


def _texts(key: str, value: object) -> tuple[str, ...]:
    values = value if isinstance(value, (list, tuple)) else [value]
    if not values or not all(isinstance(text, str) and text for text in values):
        msg = phrase("“{key}” takes a text or a list of texts.", key=key)
        raise ValueError(msg)
    return tuple(str(text) for text in values)


def _paint(leaf: Leaf, *, of_stroke: bool) -> str:
    if isinstance(leaf, Picture):
        return "none"
    paint = (leaf.style.stroke.paint if leaf.style.stroke else None) if of_stroke else leaf.style.fill
    return paint.hex if isinstance(paint, Colour) else "none" if paint is None else "gradient"
