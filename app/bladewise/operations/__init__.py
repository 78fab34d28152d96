"""Every operation, declared once, in the order the operator meets them; and the one way to apply a step."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from bladewise.errors import CannotApply
from bladewise.operations import (
    arrange,
    bends,
    bleeding,
    combine,
    cut_lines,
    cut_tabs,
    details,
    drawing,
    drawn_lines,
    dressing,
    duplicating,
    gang_sheet,
    guides,
    lining_up,
    listing_materials,
    mending,
    nodes,
    ordering,
    outlines,
    parting,
    registration,
    repair,
    roster,
    script,
    separation,
    sharing,
    stencils,
    sticker_cuts,
    structure,
    swatches,
    tails,
    tidying,
    typesetting,
    underprint,
)
from bladewise.operations.declaration import Operation, Outcome, Parameter, ParameterType, Progress, quiet
from bladewise.operations.places import Places
from bladewise.operations.selection import ALL, Selection
from bladewise.operations.step import Step
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.document import Job

OPERATIONS: tuple[Operation, ...] = (
    *combine.OPERATIONS,
    *parting.OPERATIONS,
    *outlines.OPERATIONS,
    *cut_lines.OPERATIONS,
    *sticker_cuts.OPERATIONS,
    *cut_tabs.OPERATIONS,
    *bleeding.OPERATIONS,
    *underprint.OPERATIONS,
    *swatches.OPERATIONS,
    *separation.OPERATIONS,
    *sharing.OPERATIONS,
    *registration.OPERATIONS,
    *stencils.OPERATIONS,
    *arrange.OPERATIONS,
    *lining_up.OPERATIONS,
    *duplicating.OPERATIONS,
    *gang_sheet.OPERATIONS,
    *structure.OPERATIONS,
    *dressing.OPERATIONS,
    *ordering.OPERATIONS,
    *listing_materials.OPERATIONS,
    *details.OPERATIONS,
    *repair.OPERATIONS,
    *mending.OPERATIONS,
    *tidying.OPERATIONS,
    *drawing.OPERATIONS,
    *drawn_lines.OPERATIONS,
    *guides.OPERATIONS,
    *typesetting.OPERATIONS,
    *script.OPERATIONS,
    *tails.OPERATIONS,
    *bends.OPERATIONS,
    *roster.OPERATIONS,
    *nodes.OPERATIONS,
)

_BY_NAME = {operation.name: operation for operation in OPERATIONS}


def operation(name: str) -> Operation:
    """Return an operation by name.

    Raises
    ------
    ValueError
        With the nearest right name, if there is none such.
    """
    found = _BY_NAME.get(name)
    if found is None:
        near = difflib.get_close_matches(name, _BY_NAME, n=1, cutoff=0.5)
        hint = phrase("Did you mean “{near}”?", near=near[0]) if near else "`bladewise steps` lists them all."
        msg = phrase("There is no step “{name}”. {hint}", name=name, hint=hint)
        raise ValueError(msg)
    return found


def step(do: str, values: Mapping[str, Any] | None = None) -> Step:
    """Return the step for an operation's name and plain values.

    Raises
    ------
    ValueError
        With a sentence for the operator.
    """
    return Step(do, operation(do).make(values or {}))


def plain(each: Step) -> dict[str, Any]:
    """Return a step in the form recipes and job files hold: {"do": …, parameters not at their default}."""
    return {"do": each.do, **operation(each.do).plain(each.record)}


def summary(each: Step) -> str:
    """Return a step in words with its numbers, for the command stack."""
    return operation(each.do).summary(each.record)


def apply(job: Job, each: Step, progress: Progress = quiet) -> Outcome:
    """Apply a step.

    Raises
    ------
    CannotApply
        If the job does not hold what the step needs; the job is a value and stays as it was.
    Cancelled
        If `progress` raised it.
    """
    doing = operation(each.do)
    try:
        result = doing.function(job, each.record, progress)
    except ValueError as error:
        what = "This step could not be worked out on this art, and that is a fault in Bladewise; nothing was changed."
        hint = "Try it on fewer shapes or with other numbers, and keep the file: it shows the fault."
        raise CannotApply(what, where=doing.title, hint=hint) from error
    return Outcome(result.job, job.changes_to(result.job), result.reports, result.made)


__all__ = [
    "ALL",
    "OPERATIONS",
    "Operation",
    "Outcome",
    "Parameter",
    "ParameterType",
    "Places",
    "Progress",
    "Selection",
    "Step",
    "apply",
    "operation",
    "plain",
    "quiet",
    "step",
    "summary",
]
