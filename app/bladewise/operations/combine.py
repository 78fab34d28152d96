"""Shapes against shapes: merge, cut out, keep common, split at overlaps, fit inside, keep what shows.

All of them act on the areas that fills paint; the curve-true work is done in `geometry.booleans`.
Shapes that are only a stroke have no area yet and are pointed out, not guessed at.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from bladewise.document import Colour, Element, Job, Shape
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.measures import area
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colour,
    optional_selection,
    switch,
)
from bladewise.operations.painted import is_hairline, label, reshaped
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted

if TYPE_CHECKING:
    from bladewise.geometry.path import Path


class Survivor(StrEnum):
    """Whose colour, name and place a merged piece takes."""

    TOPMOST = "topmost"
    BACKMOST = "backmost"
    LARGEST = "largest"


@dataclass(frozen=True, kw_only=True)
class Merge:
    """Several shapes become one piece."""

    on: Selection = acts_on()
    survivor: Survivor = choice(Survivor.TOPMOST, help="Whose colour, name and place the piece takes")
    fill: Colour | None = colour(None, help="Give the piece this colour instead")
    by_colour: bool = switch(default=False, help="Merge only shapes of one colour with each other, colour by colour")


@dataclass(frozen=True, kw_only=True)
class CutOut:
    """The area of some shapes is taken from others."""

    on: Selection = acts_on(help="The shapes that are cut, and the cutter too if none is named")
    cutters: Selection | None = optional_selection(help="The shapes that cut; left out: the topmost of those selected")
    keep_cutter: bool = switch(default=True, help="Leave the cutting shapes in the job")


@dataclass(frozen=True, kw_only=True)
class KeepCommon:
    """Only what lies in all the shapes stays."""

    on: Selection = acts_on()
    survivor: Survivor = choice(Survivor.TOPMOST, help="Whose colour, name and place the piece takes")


@dataclass(frozen=True, kw_only=True)
class SplitAtOverlaps:
    """Every region of the overlap becomes its own shape."""

    on: Selection = acts_on()


@dataclass(frozen=True, kw_only=True)
class FitInside:
    """A pattern stays only inside a word or shape."""

    on: Selection = acts_on(help="The pattern, and the frame too if none is named")
    frame: Selection | None = optional_selection(
        help="The word or shape to fit inside; left out: the topmost of those selected"
    )
    keep_frame: bool = switch(default=False, help="Leave the frame in the job, at the back of the pattern")


@dataclass(frozen=True, kw_only=True)
class VisibleParts:
    """Each shape keeps only what shows: everything above it is cut away."""

    on: Selection = acts_on()


def merge(job: Job, record: Merge, progress: Progress) -> Result:
    """Merge shapes, together or colour by colour."""
    shapes = _painted(record.on, job)
    sets = [shapes]
    if record.by_colour:
        by_paint: dict[object, list[Shape]] = {}
        for shape in shapes:
            by_paint.setdefault(shape.style.fill, []).append(shape)
        sets = [each for each in by_paint.values() if len(each) > 1]
        if not sets:
            msg = "No two of these shapes have the same colour."
            raise CannotApply(
                msg, where=record.on.describe(job), hint="Merge without “by colour”, or give them one colour."
            )
    replacements: dict[str, tuple[Element, ...]] = {}
    reports: list[str] = []
    made = []
    for number, together in enumerate(sets):
        path = booleans.merge([shape.region for shape in together])
        if not path:
            reports.append(
                phrase(
                    "{together}: these shapes have no area; they were left as they are.", together=label(together[-1])
                )
            )
            continue
        survivor = _survivor(together, record.survivor)
        piece = reshaped(survivor, path)
        if record.fill is not None:
            piece = replace(piece, style=replace(piece.style, fill=record.fill))
        replacements |= {shape.id: () for shape in together}
        replacements[survivor.id] = (piece,)
        made.append(piece.id)
        parts = len(booleans.pieces(path))
        if parts > 1:
            reports.append(phrase("{piece} is {parts} pieces that do not touch.", piece=label(piece), parts=parts))
        progress((number + 1) / len(sets))
    reports += _live_strokes([shape for each in sets for shape in each])
    return Result(job.replaced(replacements), tuple(reports), tuple(made))


def cut_out(job: Job, record: CutOut, progress: Progress) -> Result:
    """Take the cutters' area from the other shapes."""
    cutters, shapes = _parted(job, record.on, record.cutters, phrase("cut"))
    regions = [shape.region for shape in cutters]
    replacements: dict[str, tuple[Element, ...]] = {}
    reports = []
    for number, shape in enumerate(shapes):
        path = booleans.cut_out(shape.region, regions)
        if not path:
            reports.append(phrase("{shape} lies wholly under the cutter; nothing of it is left.", shape=label(shape)))
            replacements[shape.id] = ()
        elif path != shape.path:
            replacements[shape.id] = (reshaped(shape, path),)
        progress((number + 1) / len(shapes))
    if not record.keep_cutter:
        replacements |= {shape.id: () for shape in cutters}
    reports += _live_strokes([shape for shape in shapes if shape.id in replacements])
    return Result(job.replaced(replacements), tuple(reports), _left(shapes, replacements))


def keep_common(job: Job, record: KeepCommon, progress: Progress) -> Result:
    """Keep what lies in all the shapes."""
    shapes = _painted(record.on, job)
    path = booleans.keep_common([shape.region for shape in shapes])
    progress(1.0)
    if not path:
        msg = "These shapes have nothing in common."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose shapes that overlap.")
    survivor = _survivor(shapes, record.survivor)
    replacements: dict[str, tuple[Element, ...]] = {shape.id: () for shape in shapes}
    replacements[survivor.id] = (reshaped(survivor, path),)
    return Result(job.replaced(replacements), (), (survivor.id,))


def split_at_overlaps(job: Job, record: SplitAtOverlaps, progress: Progress) -> Result:
    """Make every region of the overlaps a shape of its own, in the colour that showed there."""
    shapes = _painted(record.on, job)
    parts = booleans.split_at_overlaps([shape.region for shape in shapes])
    progress(0.8)
    by_owner: dict[int, list[Path]] = {}
    for part in parts:
        by_owner.setdefault(max(part.members), []).extend(booleans.pieces(part.path))
    taken: set[str] = set()
    replacements: dict[str, tuple[Element, ...]] = {}
    made: list[str] = []
    for index, shape in enumerate(shapes):
        paths = sorted(by_owner.get(index, []), key=lambda path: -abs(area(path)))
        replacements[shape.id] = new = _copies(job, shape, paths, taken)
        made.extend(piece.id for piece in new)
    return Result(job.replaced(replacements), (counted(len(made), "piece.", "pieces."),), tuple(made))


def fit_inside(job: Job, record: FitInside, progress: Progress) -> Result:
    """Keep the pattern only inside the frame; the pattern keeps its colours."""
    frames, shapes = _parted(job, record.on, record.frame, phrase("fit inside"))
    regions = [shape.region for shape in frames]
    replacements: dict[str, tuple[Element, ...]] = {}
    outside = 0
    for number, shape in enumerate(shapes):
        path = booleans.fit_inside(shape.region, regions)
        outside += not path
        if path != shape.path:
            replacements[shape.id] = (reshaped(shape, path),) if path else ()
        progress((number + 1) / len(shapes))
    if outside == len(shapes):
        msg = "None of the pattern lies inside the frame."
        raise CannotApply(msg, where=record.on.describe(job), hint="Move the pattern over the frame, or swap the two.")
    reports = (
        (
            phrase(
                "{counted} lay wholly outside the frame; nothing of that is left.",
                counted=counted(outside, "shape", "shapes"),
            ),
        )
        if outside
        else ()
    ) + _live_strokes([shape for shape in shapes if shape.id in replacements])
    if record.keep_frame:
        first = next(shape for shape in shapes if replacements.get(shape.id, (shape,)))
        replacements[first.id] = (*frames, *replacements.get(first.id, (first,)))
    result = job.without({shape.id for shape in frames}).replaced(replacements)
    return Result(result, reports, _left(shapes, replacements))


def visible_parts(job: Job, record: VisibleParts, progress: Progress) -> Result:
    """Cut away from each shape what lies above it."""
    shapes = _painted(record.on, job)
    paths = booleans.visible_parts([shape.region for shape in shapes])
    progress(0.9)
    replacements: dict[str, tuple[Element, ...]] = {}
    hidden = 0
    for shape, path in zip(shapes, paths, strict=True):
        hidden += not path
        if path != shape.path:
            replacements[shape.id] = (reshaped(shape, path),) if path else ()
    reports = (
        (
            phrase(
                "{counted} wholly covered; nothing of that is left.",
                counted=counted(hidden, "shape was", "shapes were"),
            ),
        )
        if hidden
        else ()
    ) + _live_strokes([shape for shape in shapes if shape.id in replacements])
    return Result(job.replaced(replacements), reports, _left(shapes, replacements))


def _filled(shapes: list[Shape], *, least: int) -> list[Shape]:
    filled = [shape for shape in shapes if shape.style.fill is not None or shape.style.stroke is None]
    if len(filled) >= least:
        return filled
    bare = next(shape for shape in shapes if shape not in filled)
    msg = "This shape is only a stroke; a stroke has no edge until it is a shape."
    raise CannotApply(msg, where=label(bare), hint="Turn the stroke into a shape first.")


def _painted(on: Selection, job: Job) -> list[Shape]:
    """Return the two or more shapes that show a fill; those without any paint count where none has paint.

    A frame that nobody sees lies in much art: merged with it, the art would be one slab.
    """
    shapes = _filled(shapes_or_refuse(on, job, least=2), least=2)
    seen = [shape for shape in shapes if shape.style.fill is not None]
    if len(seen) == 1:
        bare = next(shape for shape in shapes if shape.style.fill is None)
        msg = "This shape has no paint, so it takes no part; only one other is left."
        raise CannotApply(msg, where=label(bare), hint="Give it a fill, or select another shape.")
    return seen or shapes


def _parted(job: Job, on: Selection, others: Selection | None, what: str) -> tuple[list[Shape], list[Shape]]:
    """Return the shapes that act (cutters, frames) and those acted on."""
    if others is None:
        shapes = _filled(shapes_or_refuse(on, job, least=2), least=2)
        return [shapes[-1]], shapes[:-1]
    acting = _filled(shapes_or_refuse(others, job), least=1)
    ids = {shape.id for shape in acting}
    rest = [shape for shape in shapes_or_refuse(on, job) if shape.id not in ids]
    if not rest:
        msg = phrase("There is nothing to {what}: every shape selected is also the one that acts.", what=what)
        raise CannotApply(msg, where=on.describe(job), hint="Select other shapes as well.")
    return acting, _filled(rest, least=1)


def _live_strokes(changed: list[Shape]) -> tuple[str, ...]:
    """Say that strokes which are not shapes yet took no part as areas, and run along the new edges now."""
    live = sum((stroke := shape.style.stroke) is not None and not is_hairline(stroke) for shape in changed)
    if not live:
        return ()
    strokes = counted(live, "live stroke follows the new edges", "live strokes follow the new edges")
    return (
        phrase("{strokes}, or went with the old. Turn strokes into shapes first to keep the look.", strokes=strokes),
    )


def _survivor(shapes: list[Shape], rule: Survivor) -> Shape:
    match rule:
        case Survivor.TOPMOST:
            return shapes[-1]
        case Survivor.BACKMOST:
            return shapes[0]
        case _:
            return max(shapes, key=lambda shape: abs(area(booleans.resolve(shape.region))))


def _left(shapes: list[Shape], replacements: dict[str, tuple[Element, ...]]) -> tuple[str, ...]:
    return tuple(shape.id for shape in shapes if replacements.get(shape.id, (shape,)))


def _copies(job: Job, shape: Shape, paths: list[Path], taken: set[str]) -> tuple[Shape, ...]:
    """Return one shape a path; the first keeps the identity, the others get names and ids of their own."""
    result = []
    for number, path in enumerate(paths):
        if number == 0:
            result.append(reshaped(shape, path))
            continue
        fresh = job.fresh_id(f"{shape.id}-part", taken=taken)
        taken.add(fresh)
        name = f"{shape.name or shape.id} {number + 1}"
        result.append(replace(reshaped(shape, path), id=fresh, name=name))
    return tuple(result)


def _on(record: Any) -> str:
    selection: Selection = record.on
    return selection.describe()


OPERATIONS = (
    Operation(
        "merge",
        "Merge",
        "Several shapes become one piece of vinyl.",
        Merge,
        merge,
        lambda r: phrase("Merge {on}, colour by colour" if r.by_colour else "Merge {on}", on=_on(r)),
        least=2,
    ),
    Operation(
        "cut-out",
        "Cut out",
        "Take the area of one or more shapes from others.",
        CutOut,
        cut_out,
        lambda r: phrase(
            "Cut {value} out of {on}", value=r.cutters.describe() if r.cutters else phrase("the topmost"), on=_on(r)
        ),
        least=2,
    ),
    Operation(
        "keep-common",
        "Keep common",
        "Keep only what lies in all the shapes.",
        KeepCommon,
        keep_common,
        lambda r: phrase("Keep what is common to {on}", on=_on(r)),
        least=2,
    ),
    Operation(
        "split-at-overlaps",
        "Split at overlaps",
        "Every region of the overlap becomes its own shape, in the colour that shows there.",
        SplitAtOverlaps,
        split_at_overlaps,
        lambda r: phrase("Split {on} at overlaps", on=_on(r)),
        least=2,
    ),
    Operation(
        "fit-inside",
        "Fit inside",
        "Keep a pattern only inside a word or shape; the pattern keeps its colours.",
        FitInside,
        fit_inside,
        lambda r: phrase(
            "Fit {on} inside {value}", on=_on(r), value=r.frame.describe() if r.frame else phrase("the topmost")
        ),
        least=2,
    ),
    Operation(
        "visible-parts",
        "Keep what shows",
        "Each shape keeps only what shows; everything above it is cut away.",
        VisibleParts,
        visible_parts,
        lambda r: phrase("Keep what shows of {on}", on=_on(r)),
        least=2,
    ),
)
