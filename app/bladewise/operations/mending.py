"""Remedies that finish a shape for the knife, and the one step that takes all that are safe."""

from __future__ import annotations

import importlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.geometry.parallels import closed
from bladewise.geometry.path import joined
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, length
from bladewise.operations.painted import reshaped
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.document import Element, Job

STRAY_MM = 0.01
"""An outline of no more extent is a point: one step of a common cutter (common practice, no source)."""


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
class MakeCutReady:
    """Every step the readiness check proposes, and that needs nobody to decide, is done."""

    on: Selection = acts_on(help="Only what concerns this art")


def drop_stray_points(job: Job, record: DropStrayPoints, progress: Progress) -> Result:
    """Remove outlines that are no more than a point."""
    replacements: dict[str, tuple[Element, ...]] = {}
    dropped = 0
    shapes = shapes_or_refuse(record.on, job)
    for number, shape in enumerate(shapes):
        rings = list(shape.path.subpaths())
        kept = [
            ring
            for ring in rings
            if (box := ring.bounds()) is not None and math.hypot(box[2] - box[0], box[3] - box[1]) > STRAY_MM
        ]
        if len(kept) < len(rings):
            dropped += len(rings) - len(kept)
            replacements[shape.id] = (replace(shape, path=joined(kept)),) if kept else ()
        progress((number + 1) / len(shapes))
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
    for number, shape in enumerate(shapes):
        if shape.style.fill is not None and (path := closed(shape.region, record.below_mm / 2.0)):
            replacements[shape.id] = (reshaped(shape, path),)
        progress((number + 1) / len(shapes))
    return Result(job.replaced(replacements), (), tuple(replacements))


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
        "make-cut-ready",
        "Make cut-ready",
        "Every step the readiness check proposes is done, except where someone has to decide.",
        MakeCutReady,
        make_cut_ready,
        lambda r: phrase("Make {describe} cut-ready", describe=r.on.describe()),
    ),
)
