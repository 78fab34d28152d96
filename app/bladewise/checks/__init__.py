"""The readiness check: will it cut, will it weed, is it what was ordered. Findings are values, worst first."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from bladewise.checks import edges, lines, narrow, nodes, overlapping, paint, sheet, unfinished
from bladewise.checks.context import DEFAULT_LIMITS, Context, Limits
from bladewise.checks.memory import Memory
from bladewise.document import Shape
from bladewise.findings import Finding, is_ready
from bladewise.phrases import phrase
from bladewise.units import counted

if TYPE_CHECKING:
    from bladewise.document import Job, Profile
    from bladewise.geometry.path import Path

Rule = Callable[[Context], Iterable[Finding]]

RULES: tuple[tuple[str, Rule], ...] = (
    ("thin-stroke", sheet.thin_strokes),
    ("mirrored-words", paint.mirrored_words),
    ("live-lettering", unfinished.live_lettering),
    ("stroke", unfinished.strokes),
    ("stray-point", nodes.stray_points),
    ("overlap", overlapping.overlaps),
    ("duplicate", overlapping.duplicates),
    ("crossing", lines.crossing_outlines),
    ("fill-rule", nodes.ambiguous_fills),
    ("shared-edge", edges.shared_edges),
    ("open-path", lines.open_paths),
    ("see-through", paint.see_through),
    ("off-sheet", sheet.off_sheet),
    ("over-roll", sheet.over_the_roll),
    ("ordered-size", sheet.not_as_ordered),
    ("short-bleed", paint.short_bleed),
    ("small-piece", unfinished.small_pieces),
    ("narrow-bridge", narrow.narrow_bridges),
    ("narrow-gap", narrow.narrow_gaps),
    ("sharp-corner", nodes.sharp_corners),
    ("hidden-art", paint.hidden_art),
    ("butted-edge", edges.butted_edges),
    ("near-colours", paint.near_colours),
    ("many-nodes", nodes.many_nodes),
    ("nothing-to-cut", unfinished.nothing_to_cut),
)
"""Of equal harm, what is no shape yet comes first: a fill trimmed before would take its stroke to new edges."""

DOUBLE_CUTS = frozenset({"overlap", "duplicate", "crossing"})
"""Rules whose findings mean that the knife goes through vinyl it should leave whole."""


class Checker:
    """Checks a job again and again, and works out only what has changed since.

    Its findings are those of a check from nothing. One thread at a time may use it. What is known of shapes that were
    only moved moves with them: the place of such a finding may be another than that of a check from nothing, where
    several are as good (any point of an overlap).

    Parameters
    ----------
    limits
        What everything is held to, in place of the profiles of the materials.
    """

    def __init__(self, limits: Limits | None = None) -> None:
        """Begin knowing nothing."""
        self._limits = limits
        self._memory = Memory()
        self._paths: dict[str, Path] = {}

    @property
    def worked_out(self) -> int:
        """How many facts about outlines the last check had to work out."""
        return self._memory.worked_out

    def check(
        self,
        job: Job,
        progress: Callable[[float], None] = lambda _fraction: None,
        *,
        without: Container[str] = (),
    ) -> list[Finding]:
        """Return what stands between the job and a clean cut, worst first; see `check`.

        Parameters
        ----------
        progress
            Told the share that is done, before each portion of work. What it raises breaks the check off; what has
            been found out by then is kept, and the next check goes on from there.
        without
            Names of rules that are left out this time.
        """
        self._memory.begin()
        paths = {placed.leaf.id: placed.leaf.path for placed in job.walk() if isinstance(placed.leaf, Shape)}
        for key, path in paths.items():
            if key in self._paths:
                self._memory.note_move(self._paths[key], path)
        context = Context.of(job, self._limits, self._memory)
        findings: list[Finding] = []
        for number, (name, rule) in enumerate(RULES):
            self._memory.pause = partial(progress, number / len(RULES))
            if name not in without:
                findings.extend(rule(context))
            progress((number + 1) / len(RULES))
        if not without:  # else what the rules left out know would be forgotten
            self._memory.end()
        self._paths = paths
        return sorted(map(_rounded, findings), key=lambda finding: finding.severity)


def _rounded(finding: Finding) -> Finding:
    """Return a finding without the last bits, which vary with where on the sheet things were worked out."""
    return replace(
        finding,
        x_mm=round(finding.x_mm, 4),
        y_mm=round(finding.y_mm, 4),
        measure=round(finding.measure, 6),
        places=tuple((round(x, 4), round(y, 4)) for x, y in finding.places),
    )


def check(
    job: Job,
    limits: Limits | None = None,
    progress: Callable[[float], None] = lambda _fraction: None,
    *,
    profile: Profile | None = None,
) -> list[Finding]:
    """Return what stands between the job and a clean cut, worst first.

    Only what is shown and made of a material to cut is looked at; print and guides reach no knife. Each
    material is held to its own profile, unless limits, or a profile for all, are given.
    """
    if limits is None and profile is not None:
        limits = Limits.of(profile)
    return Checker(limits).check(job, progress)


def verdict(findings: Sequence[Finding]) -> str:
    """Return in words whether a job is ready, and how many findings there are."""
    found = counted(len(findings), "finding.", "findings.")
    if not is_ready(findings):
        return found
    return phrase("Ready to cut; {found}", found=found) if findings else "Ready to cut."


__all__ = [
    "DEFAULT_LIMITS",
    "DOUBLE_CUTS",
    "RULES",
    "Checker",
    "Context",
    "Limits",
    "check",
    "is_ready",
    "verdict",
]
