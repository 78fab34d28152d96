"""The proposed steps one after the other, as far as they are ticked: what each makes of the job, what is left.

A step that builds on one that was left out may no longer apply; it then says why and changes nothing. What is done in
the end are the very outcomes kept here, so that nothing comes that was not shown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise import operations
from bladewise.checks import Checker, readying
from bladewise.checks.readying import Proposal
from bladewise.document import Changes, Job
from bladewise.errors import CannotApply
from bladewise.findings import Finding
from bladewise.operations import ALL, Outcome, Selection, Step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Box
    from bladewise.window.worker import Progress

NO_CHANGE = "no change"
"""Why a step is not done: it would change nothing."""

_PLANNING, _APPLYING = 0.7, 0.9
"""How far the work is, about, when the plan is made, and when its steps are done once more; the rest is a check."""


@dataclass(frozen=True)
class Link:
    """One proposed step in its place."""

    proposal: Proposal
    before: Job
    ticked: bool = True
    outcome: Outcome | None = None
    refusal: str = ""
    """Why it does not apply though it is ticked: an error's words, or `NO_CHANGE`."""

    @property
    def after(self) -> Job:
        """The job after it; as before where it is left out."""
        return self.outcome.job if self.outcome is not None else self.before


@dataclass(frozen=True)
class Chain:
    """All proposed steps, from a job on."""

    job: Job
    on: Selection
    links: tuple[Link, ...]
    left: tuple[Finding, ...]

    @property
    def after(self) -> Job:
        """The job after all steps that are ticked and apply."""
        return self.links[-1].after if self.links else self.job

    @property
    def steps(self) -> list[tuple[Step, Outcome]]:
        """The steps that would be done, with what comes of each."""
        return [(link.proposal.step, link.outcome) for link in self.links if link.outcome is not None]


def proposed(job: Job, on: Selection, progress: Progress) -> Chain:
    """Plan what makes a job ready, or what of it is selected, and do it on values."""
    plan = readying.plan(job, on=on, progress=lambda fraction: progress(_PLANNING * fraction))
    empty = Chain(job, on, tuple(Link(proposal, job) for proposal in plan.proposals), ())
    return _linked(empty, [True] * len(plan.proposals), 0, lambda f: progress(_PLANNING + (1.0 - _PLANNING) * f))


def ticked(chain: Chain, ticks: Sequence[bool], progress: Progress) -> Chain:
    """Return the chain with other steps ticked; what comes before the first difference is not done again."""
    pairs = zip(chain.links, ticks, strict=True)
    first = next((number for number, (link, tick) in enumerate(pairs) if link.ticked != tick), None)
    return chain if first is None else _linked(chain, ticks, first, progress)


def _linked(chain: Chain, ticks: Sequence[bool], first: int, progress: Progress) -> Chain:
    links = list(chain.links)
    job = links[first].before if links else chain.job
    if first:
        job = links[first - 1].after
    for number in range(first, len(links)):
        progress(_APPLYING * number / len(links))
        links[number] = _done(links[number].proposal, job, ticked=ticks[number])
        job = links[number].after
    left = Checker().check(job, lambda fraction: progress(_APPLYING + (1.0 - _APPLYING) * fraction))
    return replace(chain, links=tuple(links), left=tuple(_about(left, chain, links)))


def _done(proposal: Proposal, job: Job, *, ticked: bool) -> Link:
    if not ticked:
        return Link(proposal, job, ticked=False)
    try:
        outcome = operations.apply(job, proposal.step)
    except CannotApply as error:
        return Link(proposal, job, refusal=error.what)
    if not outcome.changes:
        return Link(proposal, job, refusal=NO_CHANGE)
    return Link(proposal, job, outcome=outcome)


def _about(findings: Sequence[Finding], chain: Chain, links: Sequence[Link]) -> list[Finding]:
    """Return the findings about what was asked for: what is selected, and what became of it."""
    if chain.on == ALL:
        return list(findings)
    concerned = {placed.leaf.id for placed in chain.on.leaves(chain.job)}
    for link in links:
        if link.outcome is not None:
            concerned |= link.outcome.changes.added
    return [finding for finding in findings if not concerned.isdisjoint(finding.shapes)]


def places(before: Job, after: Job, changes: Changes) -> list[Box]:
    """Return the extents of what differs, in mm: as it was and as it is."""
    found: list[Box] = []
    for job, ids in ((before, changes.removed | changes.altered), (after, changes.added | changes.altered)):
        for each in sorted(ids):
            placed = job.placed(each)
            if placed is not None and (box := placed.leaf.bounds) is not None:
                found.append(box)
    return found
