"""The readiness check: will it cut, will it weed. Rules in order of harm; each gives findings as values."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from bladewise.checks import lines, overlapping, unfinished
from bladewise.checks.context import DEFAULT_LIMITS, Context, Limits
from bladewise.findings import Finding

if TYPE_CHECKING:
    from bladewise.document import Job

Rule = Callable[[Context], Iterable[Finding]]

RULES: tuple[tuple[str, Rule], ...] = (
    ("live-lettering", unfinished.live_lettering),
    ("stroke", unfinished.strokes),
    ("overlap", overlapping.overlaps),
    ("duplicate", overlapping.duplicates),
    ("crossing", lines.crossing_outlines),
    ("open-path", lines.open_paths),
    ("small-piece", unfinished.small_pieces),
    ("nothing-to-cut", unfinished.nothing_to_cut),
)
"""Of equal harm, what is no shape yet comes first: a fill trimmed before would take its stroke to new edges."""

DOUBLE_CUTS = frozenset({"overlap", "duplicate", "crossing"})
"""Rules whose findings mean that the knife goes through vinyl it should leave whole."""


def check(
    job: Job, limits: Limits = DEFAULT_LIMITS, progress: Callable[[float], None] = lambda _fraction: None
) -> list[Finding]:
    """Return what stands between the job and a clean cut, worst first.

    Only what is shown and made of a material to cut is looked at; print and guides reach no knife.
    """
    context = Context.of(job, limits)
    findings: list[Finding] = []
    for number, (_, rule) in enumerate(RULES):
        findings.extend(rule(context))
        progress((number + 1) / len(RULES))
    return sorted(findings, key=lambda finding: finding.severity)


__all__ = ["DEFAULT_LIMITS", "DOUBLE_CUTS", "RULES", "Context", "Limits", "check"]
