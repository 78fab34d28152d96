"""What becomes of a drawing by others when it is made cut-ready: shared by the test and by the count of hundreds.

    PYTHONPATH=tests:app:packaging python tests/benchmarks/bench_readying.py      # hundreds of files, counted
    tests/outside/test_readiness.py                                               # a sample of them

Every drawing is brought to a width, made cut-ready, and checked again from nothing. It ends *ready*, *wasteful* (ready,
with findings that only waste), or *for a person* (findings that someone must decide).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from bladewise import checks, operations
from bladewise.checks.readying import plan
from bladewise.formats import svg_text
from bladewise.session import Session
from outside.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from bladewise.document import Job

PIXELS_A_MM = 8.0
OTHER = 16
"""A pixel is another when one of its channels differs by more than this, of 255: more than near colours that join."""
ALIKE = 5e-4
"""Share of a picture that may be another where dust is dropped: what is under 0.2 % of its shape goes unasked."""

READY = "ready"
WASTEFUL = "wasteful"
FOR_A_PERSON = "for a person"
NOTHING_DRAWN = "nothing drawn"


@dataclass(frozen=True)
class Readied:
    """How a drawing ends: in which of the three ways, with what steps and rules left, and what must not happen."""

    end: str
    steps: dict[str, int] = field(default_factory=dict)
    left: dict[str, str] = field(default_factory=dict)
    """By the rule, the first sentence of those that are left."""
    spoiling: tuple[str, ...] = ()
    """The rules left that someone must decide on."""
    apart: float = 0.0
    """Share of resvg's pictures before and after that differ (see `apart`)."""
    wrong: tuple[str, ...] = ()
    """What must not happen: nothing left, a safe step left undone, another finding in a check from nothing."""

    @property
    def looks_the_same(self) -> bool:
        """Whether the pictures are those of one drawing."""
        return self.apart <= ALIKE


def brought_to(path: Path, width_mm: float) -> Job | None:
    """Return a drawing at a width, on a sheet of its size; None where nothing is drawn in it."""
    job = Session.open(path).job
    if not job.shapes():
        return None
    job = operations.apply(job, operations.step("scale", {"width_mm": width_mm})).job
    return operations.apply(job, operations.step("fit-sheet")).job


def readied(path: Path, width_mm: float = 100.0) -> Readied:
    """Make a drawing cut-ready, and say how it ends."""
    job = brought_to(path, width_mm)
    if job is None:
        return Readied(NOTHING_DRAWN)
    found = plan(job)
    wrong = []
    if not found.job.shapes(visible_only=True):
        wrong.append("nothing left")
    for finding in found.left:
        if finding.remedy.is_safe_step:
            wrong.append(f"left undone: {finding.message} {finding.remedy.do}")
        elif not finding.message or not finding.remedy.text:
            wrong.append(f"no word of what is to be decided: {finding.rule}")
    if checks.check(found.job) != list(found.left):
        wrong.append("another check finds something else")
    left: dict[str, str] = {}
    for finding in found.left:
        left.setdefault(finding.rule, finding.message)
    spoiling = {finding.rule: None for finding in found.left if not checks.is_ready([finding])}
    return Readied(
        FOR_A_PERSON if spoiling else WASTEFUL if found.left else READY,
        dict(Counter(proposal.step.do for proposal in found.proposals)),
        left,
        tuple(spoiling),
        apart(job, found.job),
        tuple(wrong),
    )


def apart(one: Job, other: Job) -> float:
    """Return the share of resvg's pictures of two jobs that differs: pixels that do with all eight about them.

    Edges that lie on one another are soft twice where one of them is gone: a line of a pixel or two, which is no
    difference of the drawing. A place that differs by 0.4 mm each way is.
    """
    size = round(one.width_mm * PIXELS_A_MM), round(one.height_mm * PIXELS_A_MM)
    off: NDArray[np.bool_] = np.abs(picture(svg_text(one), *size) - picture(svg_text(other), *size)).max(axis=2) > OTHER
    for axis in (0, 1):
        off = np.logical_and.reduce([np.roll(off, by, axis) for by in (-1, 0, 1)])
    return float(off.mean())
