"""Bends: live lettering stays live and keeps the bend with it; shapes are bent all at once, as true curves.

For shapes the baseline is the lower edge of what is bent, and they are bent as they stand on the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from bladewise.document import Bending, BendKind, Group, Job, Leaf, Lettering, Letters, Shape, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.bending import bent
from bladewise.lettering.bends import Room, bend_for, overrun_mm
from bladewise.lettering.setting import set_block
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    length,
    lengths,
    number,
    optional_selection,
    switch,
)
from bladewise.operations.own_font import set_anew
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.geometry.path import Path

_LEAST_OVERRUN_MM = 0.05
"""Less than this beyond the end of a line is nothing to speak of: the space beside the last letter is more."""


@dataclass(frozen=True, kw_only=True)
class BendAlongArc:
    """The line becomes an arc."""

    on: Selection = acts_on()
    angle_deg: float = angle(60.0, minimum=-360.0, maximum=360.0, help="Angle that it fills; less than 0: like a bowl")
    radius_mm: float | None = length(None, help="Radius instead of the angle; less than 0: like a bowl")
    letters: Letters = choice(Letters.BENT, help="Letters bent with the line, or each as it is and only turned")
    even_spaces: bool = switch(default=True, help="Even out the spaces between turned letters")


@dataclass(frozen=True, kw_only=True)
class BendAlongPath:
    """The line becomes a path."""

    on: Selection = acts_on()
    along: Selection | None = optional_selection(help="The path; left out: the rearmost of those selected")
    start_mm: float = length(0.0, help="Where on the path it begins")
    shift_mm: float = length(0.0, help="How far off the path it stands")
    other_side: bool = switch(default=False, help="On the other side, the other way round")
    letters: Letters = choice(Letters.TURNED, help="Letters bent with the line, or each as it is and only turned")
    even_spaces: bool = switch(default=True, help="Even out the spaces between turned letters")


@dataclass(frozen=True, kw_only=True)
class Ripple:
    """The line becomes a wave; uprights stay upright."""

    on: Selection = acts_on()
    rise_mm: float = length(3.0, help="Height of a wave above and below the line")
    wave_mm: float = length(40.0, minimum=0.001, maximum=1e6, help="From crest to crest")
    shift_mm: float = length(0.0, help="Where the first wave begins")


@dataclass(frozen=True, kw_only=True)
class UprightArch:
    """The line rises in the middle; uprights stay upright."""

    on: Selection = acts_on()
    rise_mm: float = length(10.0, help="How far the middle rises; less than 0: it sags")


@dataclass(frozen=True, kw_only=True)
class Climb:
    """The line climbs; uprights stay upright."""

    on: Selection = acts_on()
    rise_mm: float = length(10.0, help="How much higher the end stands than the start")
    eased: bool = switch(default=True, help="Level at both ends, or one straight slope")


@dataclass(frozen=True, kw_only=True)
class Swell:
    """The middle grows."""

    on: Selection = acts_on()
    percent: float = number(40.0, minimum=-95.0, maximum=1000.0, help="How much taller the middle is, in percent")


@dataclass(frozen=True, kw_only=True)
class FourCorners:
    """The frame is pulled by its corners."""

    on: Selection = acts_on()
    corners_mm: tuple[float, ...] = lengths(
        (0.0,) * 8, help="x and y of the pull on each corner, from the top left clockwise"
    )


@dataclass(frozen=True, kw_only=True)
class Straighten:
    """Take the bend away."""

    on: Selection = acts_on()


def along_arc(job: Job, record: BendAlongArc, progress: Progress) -> Result:
    """Bend along an arc."""
    return _bent(
        job,
        record.on,
        progress,
        kind=BendKind.ARC,
        radius_mm=record.radius_mm or 0.0,
        angle_deg=record.angle_deg,
        letters=record.letters,
        even_spaces=record.even_spaces,
    )


def along_path(job: Job, record: BendAlongPath, progress: Progress) -> Result:
    """Bend along a path."""
    art = [placed.leaf for placed in record.on.leaves(job)]
    if record.along is not None:
        lines = record.along.shapes(job)
    else:
        lines = [leaf for leaf in art if isinstance(leaf, Shape)][:1]
    ids = {line.id for line in lines}
    art = [leaf for leaf in art if leaf.id not in ids]
    if not lines or not lines[0].path:
        msg = "There is no path to set it along."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select the lettering and a drawn line.")
    if not art:
        raise nothing_matches(record.on, job)
    result = _bent(
        job,
        Selection.of(*(leaf.id for leaf in art)),
        progress,
        kind=BendKind.PATH,
        start_mm=record.start_mm,
        shift_mm=record.shift_mm,
        other_side=record.other_side,
        letters=record.letters,
        even_spaces=record.even_spaces,
        path=lines[0].path,
    )
    made = set(result.made)
    told = [each for placed in result.job.walk() if placed.leaf.id in made for each in _overrun(placed.leaf)]
    return replace(result, reports=(*result.reports, *told))


def _overrun(leaf: Leaf) -> tuple[str, ...]:
    """Return the notice that lettering is longer than the line it is set along."""
    if not isinstance(leaf, Lettering) or (block := set_block(leaf)) is None:
        return ()
    if (over := overrun_mm(block.bend, block.room)) <= _LEAST_OVERRUN_MM:
        return ()
    text = phrase(
        "“{name}” is longer than the line by {over} mm and goes on straight beyond it.",
        name=leaf.name or leaf.id,
        over=format_number(over * leaf.transform.along_scale, 1),
    )
    return (text,)


def ripple(job: Job, record: Ripple, progress: Progress) -> Result:
    """Bend to a wave."""
    return _bent(
        job,
        record.on,
        progress,
        kind=BendKind.RIPPLE,
        rise_mm=record.rise_mm,
        wave_mm=record.wave_mm,
        shift_mm=record.shift_mm,
    )


def upright_arch(job: Job, record: UprightArch, progress: Progress) -> Result:
    """Bend to an arch whose uprights stay upright."""
    return _bent(job, record.on, progress, kind=BendKind.ARCH, rise_mm=record.rise_mm)


def climb(job: Job, record: Climb, progress: Progress) -> Result:
    """Bend to a slope."""
    return _bent(job, record.on, progress, kind=BendKind.CLIMB, rise_mm=record.rise_mm, eased=record.eased)


def swell(job: Job, record: Swell, progress: Progress) -> Result:
    """Let the middle grow."""
    return _bent(job, record.on, progress, kind=BendKind.SWELL, share=record.percent / 100.0)


def four_corners(job: Job, record: FourCorners, progress: Progress) -> Result:
    """Pull the frame by its corners."""
    if len(record.corners_mm) != 8:
        msg = "Four corners take eight numbers, x and y for each."
        raise CannotApply(msg, where=record.on.describe(job), hint="Begin at the top left and go on clockwise.")
    return _bent(job, record.on, progress, kind=BendKind.CORNERS, corners_mm=record.corners_mm)


def straighten(job: Job, record: Straighten, progress: Progress) -> Result:
    """Take the bend off live lettering."""
    curved = [
        placed.leaf
        for placed in record.on.leaves(job)
        if isinstance(placed.leaf, Lettering) and placed.leaf.setting.bending is not None
    ]
    if not curved:
        msg = "No live lettering here is bent."
        raise CannotApply(msg, where=record.on.describe(job), hint="Shapes that were bent are straightened by undoing.")
    new = {each.id: (set_anew(replace(each, setting=replace(each.setting, bending=None))),) for each in curved}
    progress(1.0)
    return Result(job.replaced(new), (), tuple(new))


def _bent(job: Job, on: Selection, progress: Progress, *, path: Path | None = None, **numbers: Any) -> Result:
    """Bend everything selected: lettering each by itself and live, shapes together as they stand."""
    leaves = [placed.leaf for placed in on.leaves(job)]
    live = [leaf for leaf in leaves if isinstance(leaf, Lettering)]
    shapes = [leaf for leaf in leaves if isinstance(leaf, Shape) and leaf.path]
    if not live and not shapes:
        raise nothing_matches(on, job)
    new: dict[str, tuple[Leaf | Group, ...]] = {}
    for each in live:
        if each.transform.determinant == 0.0:
            what = "It is flattened to a line."
            raise CannotApply(what, where=each.name or each.text, hint="Give it a height and a width again.")
        bending = Bending(**numbers).scaled(1.0 / each.transform.along_scale, 1.0 / each.transform.height_scale)
        if path is not None:
            bending = replace(bending, path=path.transformed(each.transform.inverse()))
        new[each.id] = (set_anew(replace(each, setting=replace(each.setting, bending=bending))),)
    box = bounds_of(tuple(shapes))
    if box is not None:
        x, y = box[0], box[3]
        there, back = Affine.moved(-x, -y), Affine.moved(x, y)
        moved = Bending(**numbers) if path is None else Bending(**numbers, path=path.transformed(there))
        high = box[3] - box[1]
        bend = bend_for(moved, Room(0.0, box[2] - x, -high, 0.0, 0.5 * high))
        for number_, shape in enumerate(shapes):
            if bend is not None:
                curved = bent(shape.path.transformed(there), bend).transformed(back)
                new[shape.id] = (replace(shape, path=curved),)
            progress((number_ + 1) / len(shapes))
    progress(1.0)
    return Result(job.replaced(new), (), (*(each.id for each in live), *(shape.id for shape in shapes)))


def _mm(value: float) -> str:
    return format_number(value)


def _of_arc(record: BendAlongArc) -> str:
    if record.radius_mm:
        return phrase("Along an arc of radius {radius} mm", radius=_mm(record.radius_mm))
    return phrase("Along an arc of {angle}°", angle=_mm(record.angle_deg))


_SUMMARIES: dict[type[Any], Callable[[Any], str]] = {
    BendAlongArc: _of_arc,
    BendAlongPath: lambda r: phrase("Along a path, from {start} mm", start=_mm(r.start_mm)),
    Ripple: lambda r: phrase("Ripple, {rise} mm every {wave} mm", rise=_mm(r.rise_mm), wave=_mm(r.wave_mm)),
    UprightArch: lambda r: phrase("Upright arch, {rise} mm", rise=_mm(r.rise_mm)),
    Climb: lambda r: phrase("Climb, {rise} mm", rise=_mm(r.rise_mm)),
    Swell: lambda r: phrase("Swell by {percent} %", percent=_mm(r.percent)),
    FourCorners: lambda _: phrase("Four corners"),
    Straighten: lambda _: phrase("Straighten"),
}

OPERATIONS: tuple[Operation, ...] = tuple(
    Operation(name, title, help_, record, function, _SUMMARIES[record])
    for name, title, help_, record, function in (
        ("bend-along-arc", "Along an arc", "Bend along an arc, up or down.", BendAlongArc, along_arc),
        ("bend-along-path", "Along a path", "Set lettering or shapes along a drawn line.", BendAlongPath, along_path),
        ("ripple", "Ripple", "Bend to a wave; uprights stay upright.", Ripple, ripple),
        ("upright-arch", "Upright arch", "Let the middle rise; uprights stay upright.", UprightArch, upright_arch),
        ("climb", "Climb", "Let the line climb; uprights stay upright.", Climb, climb),
        ("swell", "Swell", "Let the middle grow taller.", Swell, swell),
        ("four-corners", "Four corners", "Pull the frame by its corners.", FourCorners, four_corners),
        ("take-bend-off", "Straighten lettering", "Take the bend off live lettering.", Straighten, straighten),
    )
)
"""Every bend, in the order the operator meets them."""
