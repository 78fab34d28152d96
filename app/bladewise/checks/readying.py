"""Make cut-ready: the steps that would mend a job, each with its reason, and what is left for a person.

The plan is worked out on values and touches nothing: the window shows it, and applies what is kept of it one
step at a time; the operation "make-cut-ready" applies all of it. Only remedies that are safe are taken. A step
that does not apply, that changes nothing, or that would leave nothing to cut is left to a person.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from bladewise import operations
from bladewise.checks import Checker, Limits
from bladewise.document import Job, Lettering, MaterialKind, Shape, bounds_of
from bladewise.errors import CannotApply
from bladewise.findings import Finding
from bladewise.operations import ALL, Progress, Selection, Step, quiet
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

TOGETHER = frozenset({
    "lettering-to-shapes", "stroke-to-shape", "close-outlines", "untangle", "drop-specks", "drop-stray-points",
    "fewer-nodes", "delete", "drop-hairs",
})  # fmt: skip
"""Steps that treat every shape for itself: those of one kind are one step."""

_LATE = frozenset({"narrow-bridge", "narrow-gap", "sharp-corner"})
"""Rules looked at only when all else is done: they cost most, and hairs are what other steps leave over."""

MOST_ROUNDS = 2000
"""Each round mends at least one finding; art that needs more than this is not getting better."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A step, and the findings it mends."""

    step: Step
    findings: tuple[Finding, ...]

    @property
    def summary(self) -> str:
        """The step in words with its numbers."""
        return operations.summary(self.step)

    @property
    def reason(self) -> str:
        """Why it is proposed: what it mends, in the words of the first finding."""
        if len(self.findings) == 1:
            return self.findings[0].message
        return phrase("{message} ({more} more like it.)", message=self.findings[0].message, more=len(self.findings) - 1)


@dataclass(frozen=True, slots=True)
class Plan:
    """What makes a job ready: the steps in order, the job after them, and what is left for a person."""

    proposals: tuple[Proposal, ...]
    job: Job
    left: tuple[Finding, ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps alone, in order."""
        return tuple(proposal.step for proposal in self.proposals)


def plan(
    job: Job,
    *,
    on: Selection = ALL,
    limits: Limits | None = None,
    checker: Checker | None = None,
    progress: Progress = quiet,
) -> Plan:
    """Return the steps that make a job ready to cut, as far as nobody has to decide.

    Parameters
    ----------
    job
        The job; it stays as it is.
    on
        Only findings that concern this art are mended; what steps make of it belongs to it.
    limits, checker
        What it is held to; a checker that knows the job already saves its first check.

    Returns
    -------
    Plan
        Applied in order, the steps give its `job`, whose findings are its `left`.
    """
    checker = checker or Checker(limits)
    concerned = None if on.is_all else {placed.leaf.id for placed in on.leaves(job)}
    proposals: list[Proposal] = []
    refused: set[tuple[str, tuple[str, ...]]] = set()
    findings = checker.check(job, without=_LATE)
    begun_with = max(sum(finding.remedy.is_safe_step for finding in findings), 1)

    def waits(finding: Finding) -> bool:
        return (
            finding.remedy.is_safe_step
            and (finding.rule, finding.shapes) not in refused
            and (concerned is None or concerned.issuperset(finding.shapes))
        )

    for _ in range(MOST_ROUNDS):
        waiting = [finding for finding in findings if waits(finding)]
        if not waiting:
            findings = checker.check(job)
            waiting = [finding for finding in findings if waits(finding)]
        if not waiting:
            break
        progress(max(0.0, 1.0 - len(waiting) / begun_with))
        known = {placed.leaf.id for placed in job.walk()}
        for group in _groups(waiting, job):
            found = _step(group)
            try:
                outcome = operations.apply(job, found)
            except CannotApply:
                outcome = None
            if outcome is None or not outcome.changes or (_to_cut(job) and not _to_cut(outcome.job)):
                refused.update((finding.rule, finding.shapes) for finding in group)
                continue
            job = outcome.job
            proposals.append(Proposal(found, group))
            if concerned is not None:
                concerned |= {placed.leaf.id for placed in job.walk()} - known
        findings = checker.check(job, without=_LATE)
    else:
        findings = checker.check(job)
    progress(1.0)
    return Plan(tuple(proposals), job, tuple(findings))


def mend_all_safe(job: Job, *, limits: Limits | None = None, checker: Checker | None = None) -> tuple[Step, ...]:
    """Return every safe step the job needs, in order, to be done and undone one by one."""
    return plan(job, limits=limits, checker=checker).steps


def _groups(waiting: Sequence[Finding], job: Job) -> list[tuple[Finding, ...]]:
    """Return what can be done before looking again: findings of the first one's rule that know nothing of one another.

    A remedy was thought out for what lies over and under its shapes, and the step before it may have changed that
    wherever it reached: so none reaches where another does.
    """
    first = waiting[0]
    if first.remedy.do in TOGETHER:
        alike = [each for each in waiting if each.rule == first.rule and _rest(each) == _rest(first)]
        return [tuple(alike)]
    alike = [each for each in waiting if each.rule == first.rule and _ids(each)]
    leaves = {placed.leaf.id: placed.leaf for placed in job.walk()}
    groups: list[tuple[Finding, ...]] = []
    reached = np.zeros((0, 4))
    for finding in alike:
        box = bounds_of([leaves[key] for key in _ids(finding) if key in leaves])
        if box is None or ((reached[:, :2] <= box[2:]) & (reached[:, 2:] >= box[:2])).all(axis=1).any():
            continue
        reached = np.concatenate([reached, [box]])
        groups.append((finding,))
    return groups or [(first,)]


def _step(group: Sequence[Finding]) -> Step:
    remedy = group[0].remedy
    values = dict(remedy.values)
    if len(group) > 1:
        values["on"] = {"id": list(dict.fromkeys(key for finding in group for key in _ids(finding)))}
    return operations.step(str(remedy.do), values)


def _ids(finding: Finding) -> list[str]:
    on = finding.remedy.values.get("on")
    ids = on.get("id", []) if isinstance(on, dict) else []
    return [ids] if isinstance(ids, str) else list(ids)


def _rest(finding: Finding) -> tuple[Any, ...]:
    return finding.remedy.do, *sorted((key, value) for key, value in finding.remedy.values.items() if key != "on")


def _to_cut(job: Job) -> bool:
    """Whether there is anything for a knife."""
    return any(
        placed.visible
        and isinstance(placed.leaf, (Shape, Lettering))
        and job.material_of(placed).kind is MaterialKind.CUT
        for placed in job.walk()
    )
