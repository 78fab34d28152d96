"""Order and belonging: group, ungroup, separate pieces, reorder, delete, rename, show, lock, material, restyle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Colour, Element, Group, Job, Layer, Material, MaterialKind, Picture, Shape, Stroke
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.measures import area
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colour,
    length,
    number,
    optional_selection,
    switch,
    wording,
)
from bladewise.operations.painted import label, reshaped
from bladewise.operations.selection import Selection, shapes_or_refuse

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


@dataclass(frozen=True, kw_only=True)
class Rename:
    """Give an element, a layer or the job a name."""

    on: Selection = acts_on()
    name: str = wording("", help="The new name")


@dataclass(frozen=True, kw_only=True)
class Show:
    """Show or hide art."""

    on: Selection = acts_on()
    visible: bool = switch(default=True, help="Shown, or hidden from view, cut and print")


@dataclass(frozen=True, kw_only=True)
class Lock:
    """Lock art against being selected, or free it."""

    on: Selection = acts_on()
    locked: bool = switch(default=True, help="Locked, or free")


@dataclass(frozen=True, kw_only=True)
class SetMaterial:
    """Choose what shapes or layers are made of."""

    on: Selection = acts_on()
    material: str = wording("", help="The material's name; a new name makes a new material")
    kind: MaterialKind | None = choice(
        None, kind=MaterialKind, help="Cut, print or guide; left out: as it is, else cut"
    )
    display: Colour | None = colour(None, help="Its display colour; left out: as it is, else that of the first shape")


@dataclass(frozen=True, kw_only=True)
class Restyle:
    """Change fill and stroke."""

    on: Selection = acts_on()
    fill: Colour | None = colour(None, help="New fill; left out: as it is")
    no_fill: bool = switch(default=False, help="Take the fill away")
    stroke: Colour | None = colour(None, help="New stroke colour; left out: as it is")
    no_stroke: bool = switch(default=False, help="Take the stroke away")
    stroke_width_mm: float | None = length(None, minimum=0.0, maximum=1000.0, help="New stroke width")
    cap: LineCap | None = choice(None, kind=LineCap, help="How stroke ends are finished")
    join: LineJoin | None = choice(None, kind=LineJoin, help="How stroke corners are finished")
    miter_limit: float | None = number(
        None, minimum=1.0, maximum=100.0, help="Longest miter, as a multiple of the width"
    )
    opacity: float | None = number(None, minimum=0.0, maximum=1.0, help="0 clear to 1 solid")


def group(job: Job, record: GroupStep, progress: Progress) -> Result:
    """Put elements into one group where the topmost of them lay."""
    elements = _elements(job, record.on)
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
    elements = _elements(job, record.on)
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
        raise _nothing(job, record.on)
    return Result(result.without({element.id for element in elements}))


def rename(job: Job, record: Rename, progress: Progress) -> Result:
    """Name elements or layers; with everything selected, the job."""
    progress(1.0)
    if record.on.is_all:
        return Result(replace(job, name=record.name))
    layers = record.on.layers(job)
    for layer in layers:
        job = job.with_layer(replace(layer, name=record.name))
    if layers:
        return Result(job)
    elements = _elements(job, record.on)
    return Result(job.replaced({element.id: (replace(element, name=record.name),) for element in elements}))


def show(job: Job, record: Show, progress: Progress) -> Result:
    """Show or hide elements or layers."""
    progress(1.0)
    layers = record.on.layers(job)
    for layer in layers:
        job = job.with_layer(replace(layer, visible=record.visible))
    if layers:
        return Result(job)
    elements = _elements(job, record.on)
    return Result(job.replaced({element.id: (replace(element, visible=record.visible),) for element in elements}))


def lock(job: Job, record: Lock, progress: Progress) -> Result:
    """Lock or free elements or layers."""
    progress(1.0)
    layers = record.on.layers(job)
    for layer in layers:
        job = job.with_layer(replace(layer, locked=record.locked))
    if layers:
        return Result(job)
    elements = _elements(job, record.on)
    return Result(job.replaced({element.id: (replace(element, locked=record.locked),) for element in elements}))


def set_material(job: Job, record: SetMaterial, progress: Progress) -> Result:
    """Choose a material for leaves or layers, listing it if it is new."""
    progress(1.0)
    if not record.material.strip():
        msg = "The material has no name."
        raise CannotApply(msg, where=record.on.describe(job), hint="Give it one.")
    layers = record.on.layers(job)
    placed = record.on.leaves(job)
    if not placed and not layers:
        raise _nothing(job, record.on)
    wanted = record.material.strip()
    implied = [job.material_of(each) for each in placed]
    known = next(
        (each for each in (*job.materials, *job.materials_in_use(), *implied) if wanted in (each.id, each.name)), None
    )
    first = next(
        (leaf.style.colour for each in placed if not isinstance(leaf := each.leaf, Picture) and leaf.style.colour), None
    )
    material = known or Material(_material_id(job, wanted), wanted, first or Colour(0x99, 0x99, 0x99))
    if record.kind is not None:
        material = replace(material, kind=record.kind)
    if record.display is not None:
        material = replace(material, colour=record.display)
    result = job.with_material(material)
    for layer in layers:
        result = result.with_layer(replace(layer, material=material.id))
    if not layers:
        result = result.replaced({each.leaf.id: (replace(each.leaf, material=material.id),) for each in placed})
    return Result(result, (), tuple(each.leaf.id for each in placed))


def restyle(job: Job, record: Restyle, progress: Progress) -> Result:
    """Change fill, stroke and opacity of shapes and lettering."""
    progress(1.0)
    replacements: dict[str, tuple[Element, ...]] = {}
    for placed in record.on.leaves(job):
        leaf = placed.leaf
        if isinstance(leaf, Picture):
            if record.opacity is not None:
                replacements[leaf.id] = (replace(leaf, opacity=record.opacity),)
            continue
        style = leaf.style
        if record.fill is not None or record.no_fill:
            style = replace(style, fill=None if record.no_fill else record.fill)
        if record.opacity is not None:
            style = replace(style, opacity=record.opacity)
        style = replace(style, stroke=_restroked(style.stroke, record))
        replacements[leaf.id] = (replace(leaf, style=style),)
    if not replacements:
        raise _nothing(job, record.on)
    return Result(job.replaced(replacements), (), tuple(replacements))


def _restroked(stroke: Stroke | None, record: Restyle) -> Stroke | None:
    if record.no_stroke:
        return None
    if record.stroke is not None:
        stroke = replace(stroke, paint=record.stroke) if stroke else Stroke(record.stroke)
    if stroke is None:
        return None
    if record.stroke_width_mm is not None:
        stroke = replace(stroke, width_mm=record.stroke_width_mm, pen=None) if record.stroke_width_mm else None
    if stroke is None:
        return None
    return replace(
        stroke,
        cap=record.cap or stroke.cap,
        join=record.join or stroke.join,
        miter_limit=record.miter_limit or stroke.miter_limit,
    )


def _elements(job: Job, on: Selection) -> list[Element]:
    elements = on.elements(job)
    if not elements:
        raise _nothing(job, on)
    return elements


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


def _material_id(job: Job, name: str) -> str:
    stem = "".join(letter if letter.isalnum() else "-" for letter in name.lower()).strip("-") or "material"
    known = {material.id for material in job.materials}
    number_ = 1
    while (candidate := stem if number_ == 1 else f"{stem}-{number_}") in known:
        number_ += 1
    return candidate


def _nothing(job: Job, on: Selection) -> CannotApply:
    return CannotApply(
        "Nothing in the job matches what this step acts on.",
        where=on.describe(job),
        hint="Change what the step acts on, or switch it off.",
    )


def _restyle_text(record: Restyle) -> str:
    parts = []
    if record.no_fill or record.fill is not None:
        parts.append("no fill" if record.no_fill or record.fill is None else f"fill {record.fill.hex}")
    if record.no_stroke or record.stroke is not None:
        parts.append("no stroke" if record.no_stroke or record.stroke is None else f"stroke {record.stroke.hex}")
    if record.stroke_width_mm is not None:
        parts.append(f"stroke {record.stroke_width_mm:g} mm")
    return ", ".join(parts) or "stroke and opacity"


def _place_text(record: Reorder) -> str:
    if record.into is not None:
        return f"into “{record.into}”"
    if record.above is not None:
        return f"above {record.above.describe()}"
    if record.below is not None:
        return f"below {record.below.describe()}"
    return {To.FRONT: "to the front", To.FORWARD: "forward", To.BACKWARD: "backward", To.BACK: "to the back"}[record.to]


OPERATIONS = (
    Operation(
        "group", "Group", "Put art into one group.", GroupStep, group, lambda r: f"Group {r.on.describe()}", least=2
    ),
    Operation("ungroup", "Ungroup", "Take groups apart.", Ungroup, ungroup, lambda r: f"Ungroup {r.on.describe()}"),
    Operation(
        "separate-pieces",
        "Separate pieces",
        "Each piece of vinyl becomes its own shape; holes stay with their piece.",
        SeparatePieces,
        separate_pieces,
        lambda r: f"Separate the pieces of {r.on.describe()}",
    ),
    Operation(
        "reorder",
        "Reorder",
        "Change what lies above what.",
        Reorder,
        reorder,
        lambda r: f"Move {r.on.describe()} {_place_text(r)}",
    ),
    Operation("delete", "Delete", "Remove art.", Delete, delete, lambda r: f"Delete {r.on.describe()}"),
    Operation(
        "rename",
        "Rename",
        "Give an element, a layer or the job a name.",
        Rename,
        rename,
        lambda r: f"Rename {'the job' if r.on.is_all else r.on.describe()} to “{r.name}”",
    ),
    Operation(
        "show",
        "Show or hide",
        "Show art, or hide it from view, cut and print.",
        Show,
        show,
        lambda r: f"{'Show' if r.visible else 'Hide'} {r.on.describe()}",
    ),
    Operation(
        "lock",
        "Lock or free",
        "Lock art against being selected, or free it.",
        Lock,
        lock,
        lambda r: f"{'Lock' if r.locked else 'Free'} {r.on.describe()}",
    ),
    Operation(
        "set-material",
        "Material",
        "Choose what shapes or layers are made of: a vinyl, the print, or a guide.",
        SetMaterial,
        set_material,
        lambda r: f"Material of {r.on.describe()}: {r.material}" + (f" ({r.kind})" if r.kind else ""),
    ),
    Operation(
        "restyle",
        "Restyle",
        "Change fill and stroke.",
        Restyle,
        restyle,
        lambda r: f"Restyle {r.on.describe()}: {_restyle_text(r)}",
    ),
)
