"""Remedies that finish a shape for the knife, and the one step that takes all that are safe."""

from __future__ import annotations

import importlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.geometry.booleans import resolve
from bladewise.geometry.hairs import without_hairs
from bladewise.geometry.parallels import closed
from bladewise.geometry.path import joined
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, length, number, switch
from bladewise.operations.painted import reshaped, shows_stroke, strokes_left
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.document import Element, Job

STRAY_MM = 0.01
"""An outline of no more extent is a point: one step of a common cutter (common practice, no source)."""

HAIR_MM = 0.14
"""Strips narrower than this do not hold: twice the thickness of a common film (common practice, no source)."""

HAIR_MM2 = 0.1
"""A hair is no more than this: a third of a millimetre each way, which nobody sees on a sign (common practice, no
source)."""

BLADE_MM = 0.02
"""What is narrower than this the knife leaves no trace of, however long it is (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class DropStrayPoints:
    """Outlines without extent are removed."""

    on: Selection = acts_on()


@dataclass(frozen=True, kw_only=True)
class FillGaps:
    """Gaps too narrow to weed fill up."""

    on: Selection = acts_on()
    below_mm: float = length(0.5, minimum=0.01, maximum=100.0, help="Gaps and inlets narrower than this are filled")


@dataclass(frozen=True, kw_only=True)
class DropHairs:
    """Spurs, slivers and lips too narrow to hold are cut off at their root."""

    on: Selection = acts_on()
    below_mm: float = length(HAIR_MM, minimum=0.001, maximum=10.0, help="Spurs and slivers narrower than this go")
    most_mm2: float = number(
        HAIR_MM2,
        minimum=0.0,
        maximum=1e4,
        help="It stays where more than this area, in mm², is wider than the blade",
    )
    blade_mm: float = length(BLADE_MM, minimum=0.001, maximum=1.0, help="How wide the blade is")
    parting: bool = switch(default=False, help="Hairs that hold two pieces together go too: the pieces come apart")


@dataclass(frozen=True, kw_only=True)
class MakeCutReady:
    """Every step the readiness check proposes, and that needs nobody to decide, is done."""

    on: Selection = acts_on(help="Only what concerns this art")


def drop_stray_points(job: Job, record: DropStrayPoints, progress: Progress) -> Result:
    """Remove outlines that are no more than a point."""
    replacements: dict[str, tuple[Element, ...]] = {}
    dropped = 0
    shapes = shapes_or_refuse(record.on, job)
    for done, shape in enumerate(shapes):
        rings = list(shape.path.subpaths())
        kept = [
            ring
            for ring in rings
            if (box := ring.bounds()) is not None and math.hypot(box[2] - box[0], box[3] - box[1]) > STRAY_MM
        ]
        if len(kept) < len(rings):
            dropped += len(rings) - len(kept)
            replacements[shape.id] = (replace(shape, path=joined(kept)),) if kept else ()
        progress((done + 1) / len(shapes))
    reports = (
        phrase("{counted} gone.", counted=counted(dropped, "stray point is", "stray points are"))
        if dropped
        else "There are no stray points."
    )
    return Result(job.replaced(replacements), (reports,), tuple(key for key, kept in replacements.items() if kept))


def fill_gaps(job: Job, record: FillGaps, progress: Progress) -> Result:
    """Close what a disc of the width does not reach from outside; each shape for itself."""
    replacements: dict[str, tuple[Element, ...]] = {}
    shapes = shapes_or_refuse(record.on, job)
    stroked = sum(map(shows_stroke, shapes))
    for done, shape in enumerate(shapes):
        if (
            shape.style.fill is not None
            and not shows_stroke(shape)
            and (path := closed(shape.region, record.below_mm / 2.0))
        ):
            replacements[shape.id] = (reshaped(shape, path),)
        progress((done + 1) / len(shapes))
    return Result(job.replaced(replacements), tuple(strokes_left(stroked)), tuple(replacements))


def drop_hairs(job: Job, record: DropHairs, progress: Progress) -> Result:
    """Cut off what is too narrow to hold where it begins; every other curve stays as it is."""
    replacements: dict[str, tuple[Element, ...]] = {}
    shapes = shapes_or_refuse(record.on, job)
    dropped, bridges = 0, 0
    for done, shape in enumerate(shapes):
        if shape.path and shape.path.closed.all():
            found = without_hairs(
                resolve(shape.region), record.below_mm, record.most_mm2, record.blade_mm, parting=record.parting
            )
            dropped += found.dropped
            bridges += found.bridges
            if found.dropped:
                replacements[shape.id] = (reshaped(shape, found.path),) if found.path else ()
        progress((done + 1) / len(shapes))
    reports = [
        phrase("{counted} gone.", counted=counted(dropped, "hair is", "hairs are"))
        if dropped
        else "There are no hairs to drop."
    ]
    if bridges:
        reports.append(
            phrase(
                "{counted} left: a hair that holds two pieces together.",
                counted=counted(bridges, "bridge is", "bridges are"),
            )
        )
    return Result(job.replaced(replacements), tuple(reports), tuple(key for key, kept in replacements.items() if kept))


def make_cut_ready(job: Job, record: MakeCutReady, progress: Progress) -> Result:
    """Do what `checks.readying.plan` proposes, and tell each step with its reason."""
    # The check stands above the operations, for its remedies are steps. This one step asks it back when it is
    # done, and not before.
    readying = importlib.import_module("bladewise.checks.readying")
    plan = readying.plan(job, on=record.on, progress=progress)
    reports = [phrase("{step}: {reason}", step=each.summary, reason=each.reason) for each in plan.proposals]
    waiting = len(plan.left)
    if waiting:
        reports.append(
            phrase("{counted} to be decided by someone.", counted=counted(waiting, "finding is", "findings are"))
        )
    return Result(plan.job, tuple(reports) or ("There is nothing to mend.",))


OPERATIONS = (
    Operation(
        "drop-stray-points",
        "Drop stray points",
        "Outlines without extent, at which the knife would peck a hole, are removed.",
        DropStrayPoints,
        drop_stray_points,
        lambda r: phrase("Drop stray points of {describe}", describe=r.on.describe()),
    ),
    Operation(
        "fill-gaps",
        "Fill gaps",
        "Gaps and inlets too narrow to weed fill up.",
        FillGaps,
        fill_gaps,
        lambda r: phrase(
            "Fill gaps under {below} mm in {describe}", below=format_number(r.below_mm), describe=r.on.describe()
        ),
    ),
    Operation(
        "drop-hairs",
        "Drop hairs",
        "Spurs, slivers and lips too narrow to hold are cut off at their root; all else keeps its curves.",
        DropHairs,
        drop_hairs,
        lambda r: phrase(
            "Drop hairs under {below} mm of {describe}, bridges too"
            if r.parting
            else "Drop hairs under {below} mm of {describe}",
            below=format_number(r.below_mm),
            describe=r.on.describe(),
        ),
    ),
    Operation(
        "make-cut-ready",
        "Make cut-ready",
        "Every step the readiness check proposes is done, except where someone has to decide.",
        MakeCutReady,
        make_cut_ready,
        lambda r: phrase("Make {describe} cut-ready", describe=r.on.describe()),
    ),
)
