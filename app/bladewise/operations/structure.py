"""Order and belonging: group, ungroup, separate pieces, reorder, delete."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Element, Group, Job, Layer, Picture, Shape
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.measures import area
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    optional_selection,
    switch,
    wording,
)
from bladewise.operations.painted import label, reshaped
from bladewise.operations.selection import Selection, elements_or_refuse, nothing_matches, shapes_or_refuse
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from bladewise.geometry.path import Path


class To(StrEnum):
    """Where in the order art goes."""

    FRONT = "front"
    FORWARD = "forward"
    BACKWARD = "backward"
    BACK = "back"


@dataclass(frozen=True, kw_only=True)
class GroupStep:
    """Put art into one group."""

    on: Selection = acts_on()
    name: str = wording("", help="The group's name")


@dataclass(frozen=True, kw_only=True)
class Ungroup:
    """Take groups apart."""

    on: Selection = acts_on()
    nested: bool = switch(default=False, help="Take apart the groups inside too")


@dataclass(frozen=True, kw_only=True)
class SeparatePieces:
    """Each piece of vinyl becomes its own shape; holes stay with their piece."""

    on: Selection = acts_on()


@dataclass(frozen=True, kw_only=True)
class Reorder:
    """Change what lies above what."""

    on: Selection = acts_on()
    to: To = choice(To.FRONT, help="Where it goes, within its layer or group")
    above: Selection | None = optional_selection(help="Instead: just above this element, wherever that lies")
    below: Selection | None = optional_selection(help="Instead: just below this element")
    into: str | None = wording(None, help="Instead: to the front of this layer or group; a new name makes a layer")


@dataclass(frozen=True, kw_only=True)
class Delete:
    """Remove art."""

    on: Selection = acts_on()


def group(job: Job, record: GroupStep, progress: Progress) -> Result:
    """Put elements into one group where the topmost of them lay."""
    elements = elements_or_refuse(record.on, job)
    fresh = job.fresh_id("group")
    new = Group(fresh, tuple(elements), name=record.name or "Group")
    topmost = elements[-1].id
    result = job.replaced({element.id: (new,) if element.id == topmost else () for element in elements})
    progress(1.0)
    return Result(result, (), (fresh,))


def ungroup(job: Job, record: Ungroup, progress: Progress) -> Result:
    """Replace groups by what they hold; a group's opacity and hiding go on to its members."""
    groups = [element for element in record.on.elements(job) if isinstance(element, Group)]
    if not groups:
        msg = "There is no group here."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select a group.")
    replacements = {each.id: _members(each, nested=record.nested) for each in groups}
    progress(1.0)
    made = tuple(child.id for children in replacements.values() for child in children)
    return Result(job.replaced(replacements), (), made)


def separate_pieces(job: Job, record: SeparatePieces, progress: Progress) -> Result:
    """Make each piece its own shape, largest first; open lines become one shape each."""
    shapes = shapes_or_refuse(record.on, job)
    taken: set[str] = set()
    replacements: dict[str, tuple[Element, ...]] = {}
    made: list[str] = []
    for number_, shape in enumerate(shapes):
        paths = _pieces(shape)
        progress((number_ + 1) / len(shapes))
        if len(paths) < 2:
            made.append(shape.id)
            continue
        new = []
        for index, path in enumerate(paths):
            fresh = shape.id if index == 0 else job.fresh_id(f"{shape.id}-piece", taken=taken)
            taken.add(fresh)
            name = shape.name if index == 0 else f"{shape.name or shape.id} {index + 1}"
            new.append(replace(reshaped(shape, path), id=fresh, name=name))
        replacements[shape.id] = tuple(new)
        made.extend(piece.id for piece in new)
    reports = () if replacements else ("Each of these is one piece already.",)
    return Result(job.replaced(replacements), reports, tuple(made))


def reorder(job: Job, record: Reorder, progress: Progress) -> Result:
    """Move elements, or whole layers, in the order."""
    progress(1.0)
    moving_layers = record.on.layers(job)
    if moving_layers:
        return Result(_reorder_layers(job, moving_layers, record), (), tuple(layer.id for layer in moving_layers))
    elements = elements_or_refuse(record.on, job)
    ids = {element.id for element in elements}
    made = tuple(element.id for element in elements)
    if record.into is not None:
        return Result(_moved_into(job, elements, record.into), (), made)
    for selection, above in ((record.above, True), (record.below, False)):
        if selection is None:
            continue
        targets = [each for each in selection.elements(job) if each.id not in ids]
        if not targets:
            msg = "The element to go above or below is not there."
            raise CannotApply(msg, where=selection.describe(job), hint="Choose another.")
        target = targets[-1] if above else targets[0]
        rest = job.without(ids)
        around = (target, *elements) if above else (*elements, target)
        if rest.element(target.id) is None:
            msg = "The element to go next to lies inside the art being moved."
            raise CannotApply(msg, where=label(target), hint="Choose another.")
        return Result(rest.replaced({target.id: around}), (), made)
    layers = tuple(replace(layer, children=_shifted(layer.children, ids, record.to)) for layer in job.layers)
    return Result(replace(job, layers=layers), (), made)


def delete(job: Job, record: Delete, progress: Progress) -> Result:
    """Remove elements or whole layers."""
    progress(1.0)
    doomed = {layer.id for layer in record.on.layers(job)}
    result = replace(job, layers=tuple(layer for layer in job.layers if layer.id not in doomed)) if doomed else job
    elements = record.on.elements(result)
    if not elements and not doomed:
        raise nothing_matches(record.on, job)
    return Result(result.without({element.id for element in elements}))


def _members(each: Group, *, nested: bool) -> tuple[Element, ...]:
    members: list[Element] = []
    for child in each.children:
        inner = replace(child, visible=child.visible and each.visible, locked=child.locked or each.locked)
        if isinstance(inner, Group):
            inner = replace(inner, opacity=inner.opacity * each.opacity)
            members.extend(_members(inner, nested=True) if nested else (inner,))
        elif isinstance(inner, Picture):
            members.append(replace(inner, opacity=inner.opacity * each.opacity))
        else:
            members.append(replace(inner, style=replace(inner.style, opacity=inner.style.opacity * each.opacity)))
    return tuple(members)


def _pieces(shape: Shape) -> list[Path]:
    """Return closed pieces, largest first, then open lines; a shape that is only a line falls into its subpaths."""
    if shape.style.fill is None:
        return list(shape.path.subpaths())
    area_paths = booleans.pieces(booleans.resolve(shape.region))
    return sorted(area_paths, key=lambda path: -abs(area(path)))


def _shifted(children: tuple[Element, ...], ids: set[str], to: To) -> tuple[Element, ...]:
    inner = [
        replace(child, children=_shifted(child.children, ids, to))
        if isinstance(child, Group) and child.id not in ids
        else child
        for child in children
    ]
    if not any(child.id in ids for child in inner):
        return tuple(inner)
    moving = [child for child in inner if child.id in ids]
    staying = [child for child in inner if child.id not in ids]
    if to is To.FRONT:
        return (*staying, *moving)
    if to is To.BACK:
        return (*moving, *staying)
    order = inner if to is To.BACKWARD else inner[::-1]
    for index in range(1, len(order)):
        if order[index].id in ids and order[index - 1].id not in ids:
            order[index - 1], order[index] = order[index], order[index - 1]
    return tuple(order if to is To.BACKWARD else order[::-1])


def _reorder_layers(job: Job, moving: list[Layer], record: Reorder) -> Job:
    ids = {layer.id for layer in moving}
    staying = [layer for layer in job.layers if layer.id not in ids]
    for selection, offset in ((record.above, 1), (record.below, 0)):
        if selection is not None:
            targets = [index for index, layer in enumerate(staying) if layer.id in selection.id]
            place = (targets[-1] + offset) if targets else len(staying)
            return replace(job, layers=(*staying[:place], *moving, *staying[place:]))
    order = list(job.layers)
    match record.to:
        case To.FRONT:
            order = [*staying, *moving]
        case To.BACK:
            order = [*moving, *staying]
        case _:
            order = order if record.to is To.BACKWARD else order[::-1]
            for index in range(1, len(order)):
                if order[index].id in ids and order[index - 1].id not in ids:
                    order[index - 1], order[index] = order[index], order[index - 1]
            order = order if record.to is To.BACKWARD else order[::-1]
    return replace(job, layers=tuple(order))


def _moved_into(job: Job, elements: list[Element], target: str) -> Job:
    ids = {element.id for element in elements}
    layer = next((each for each in job.layers if target in (each.id, each.name)), None)
    rest = job.without(ids)
    if layer is not None:
        kept = next(each for each in rest.layers if each.id == layer.id)
        return rest.with_layer(replace(kept, children=(*kept.children, *elements)))
    holder = job.element(target)
    if isinstance(holder, Group):
        kept_group = rest.element(target)
        if not isinstance(kept_group, Group):
            msg = "A group cannot go into itself, nor lose all it holds on the way."
            raise CannotApply(msg, where=label(holder), hint="Choose another group or a layer.")
        return rest.replaced({target: (replace(kept_group, children=(*kept_group.children, *elements)),)})
    return rest.with_layer(Layer(job.fresh_id("layer"), target, tuple(elements)))


def _place_text(record: Reorder) -> str:
    if record.into is not None:
        return phrase("into “{into}”", into=record.into)
    if record.above is not None:
        return phrase("above {describe}", describe=record.above.describe())
    if record.below is not None:
        return phrase("below {describe}", describe=record.below.describe())
    return {
        To.FRONT: phrase("to the front"),
        To.FORWARD: phrase("forward"),
        To.BACKWARD: phrase("backward"),
        To.BACK: phrase("to the back"),
    }[record.to]


OPERATIONS = (
    Operation(
        "group",
        "Group",
        "Put art into one group.",
        GroupStep,
        group,
        lambda r: phrase("Group {describe}", describe=r.on.describe()),
        least=2,
    ),
    Operation(
        "ungroup",
        "Ungroup",
        "Take groups apart.",
        Ungroup,
        ungroup,
        lambda r: phrase("Ungroup {describe}", describe=r.on.describe()),
    ),
    Operation(
        "separate-pieces",
        "Separate pieces",
        "Each piece of vinyl becomes its own shape; holes stay with their piece.",
        SeparatePieces,
        separate_pieces,
        lambda r: phrase("Separate the pieces of {describe}", describe=r.on.describe()),
    ),
    Operation(
        "reorder",
        "Reorder",
        "Change what lies above what.",
        Reorder,
        reorder,
        lambda r: phrase("Move {describe} {place}", describe=r.on.describe(), place=_place_text(r)),
    ),
    Operation(
        "delete",
        "Delete",
        "Remove art.",
        Delete,
        delete,
        lambda r: phrase("Delete {describe}", describe=r.on.describe()),
    ),
)
