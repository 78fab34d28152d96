"""What is said of art without changing its outlines: name, shown or hidden, locked, material, fill and stroke."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from bladewise.document import Colour, CutKind, Element, Job, Material, MaterialKind, Picture, Stroke
from bladewise.errors import CannotApply
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
    only_with,
    switch,
    wording,
)
from bladewise.operations.selection import Selection, elements_or_refuse, nothing_matches
from bladewise.phrases import listing, phrase


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
        None, kind=MaterialKind, help="Cut, print, white, varnish or guide; left out: as it is, else cut"
    )
    cut: CutKind | None = choice(
        None, kind=CutKind, help="Kiss cut, through cut, perforation or crease; left out: as it is, else kiss cut"
    )
    perforation_cut_mm: float | None = only_with(
        length(None, minimum=0.1, maximum=1000.0, help="Perforation: length of a cut"), cut=CutKind.PERFORATION
    )
    perforation_gap_mm: float | None = only_with(
        length(None, minimum=0.1, maximum=1000.0, help="Perforation: length of a gap"), cut=CutKind.PERFORATION
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
    miter_limit: float | None = only_with(
        number(None, minimum=1.0, maximum=100.0, help="Longest miter, as a multiple of the width"), join=LineJoin.MITER
    )
    opacity: float | None = number(None, minimum=0.0, maximum=1.0, help="0 clear to 1 solid")


def rename(job: Job, record: Rename, progress: Progress) -> Result:
    """Name elements or layers; with everything selected, the job."""
    progress(1.0)
    if record.on.is_all:
        return Result(replace(job, name=record.name))
    return _said(job, record.on, name=record.name)


def show(job: Job, record: Show, progress: Progress) -> Result:
    """Show or hide elements or layers."""
    progress(1.0)
    return _said(job, record.on, visible=record.visible)


def lock(job: Job, record: Lock, progress: Progress) -> Result:
    """Lock or free elements or layers."""
    progress(1.0)
    return _said(job, record.on, locked=record.locked)


def set_material(job: Job, record: SetMaterial, progress: Progress) -> Result:
    """Choose a material for leaves or layers, listing it if it is new."""
    progress(1.0)
    if not record.material.strip():
        msg = "The material has no name."
        raise CannotApply(msg, where=record.on.describe(job), hint="Give it one.")
    layers = record.on.layers(job)
    placed = record.on.leaves(job)
    wanted = record.material.strip()
    if not placed and not layers and not any(wanted in (each.id, each.name) for each in job.materials):
        raise nothing_matches(record.on, job)  # one that is listed may be changed though nothing is made of it yet
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
    given = {name: getattr(record, name) for name in ("cut", "perforation_cut_mm", "perforation_gap_mm")}
    material = replace(material, **{name: value for name, value in given.items() if value is not None})
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
        raise nothing_matches(record.on, job)
    return Result(job.replaced(replacements), (), tuple(replacements))


def _said(job: Job, on: Selection, **fields: Any) -> Result:
    """Return the job with some fields changed, of the layers that are named, or else of the elements."""
    layers = on.layers(job)
    for layer in layers:
        job = job.with_layer(replace(layer, **fields))
    if layers:
        return Result(job)
    elements = elements_or_refuse(on, job)
    return Result(job.replaced({element.id: (replace(element, **fields),) for element in elements}))


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


def _material_id(job: Job, name: str) -> str:
    stem = "".join(letter if letter.isalnum() else "-" for letter in name.lower()).strip("-") or "material"
    known = {material.id for material in job.materials}
    number_ = 1
    while (candidate := stem if number_ == 1 else f"{stem}-{number_}") in known:
        number_ += 1
    return candidate


def _restyle_text(record: Restyle) -> str:
    parts = []
    if record.no_fill or record.fill is not None:
        bare = record.no_fill or record.fill is None
        parts.append(phrase("no fill") if bare else phrase("fill {colour}", colour=record.fill and record.fill.hex))
    if record.no_stroke or record.stroke is not None:
        bare = record.no_stroke or record.stroke is None
        hex_ = record.stroke and record.stroke.hex
        parts.append(phrase("no stroke") if bare else phrase("stroke {colour}", colour=hex_))
    if record.stroke_width_mm is not None:
        parts.append(phrase("stroke {stroke_width:g} mm", stroke_width=record.stroke_width_mm))
    return listing(parts) if parts else phrase("stroke and opacity")


OPERATIONS = (
    Operation(
        "rename",
        "Rename",
        "Give an element, a layer or the job a name.",
        Rename,
        rename,
        lambda r: phrase(
            "Rename {value} to “{name}”", value=phrase("the job") if r.on.is_all else r.on.describe(), name=r.name
        ),
    ),
    Operation(
        "show",
        "Show or hide",
        "Show art, or hide it from view, cut and print.",
        Show,
        show,
        lambda r: phrase("Show {describe}" if r.visible else "Hide {describe}", describe=r.on.describe()),
    ),
    Operation(
        "lock",
        "Lock or free",
        "Lock art against being selected, or free it.",
        Lock,
        lock,
        lambda r: phrase("Lock {describe}" if r.locked else "Free {describe}", describe=r.on.describe()),
    ),
    Operation(
        "set-material",
        "Material",
        "Choose what shapes or layers are made of: a vinyl, the print, or a guide.",
        SetMaterial,
        set_material,
        lambda r: (
            phrase("Material of {describe}: {material}", describe=r.on.describe(), material=r.material)
            if not r.kind
            else phrase(
                "Material of {describe}: {material} ({kind})",
                describe=r.on.describe(),
                material=r.material,
                kind=r.kind,
            )
        ),
    ),
    Operation(
        "restyle",
        "Restyle",
        "Change fill and stroke.",
        Restyle,
        restyle,
        lambda r: phrase("Restyle {describe}: {restyle_text}", describe=r.on.describe(), restyle_text=_restyle_text(r)),
    ),
)
