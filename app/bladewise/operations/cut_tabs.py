"""Tabs: through cuts left whole in a few places, so that the pieces stay where they are until they are broken out.

A tabbed cut is a line that is open: its ends lie in pairs, a tab apart. It stays on its layer and of its material.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from bladewise.document import CutKind, Job, MaterialKind, Shape
from bladewise.errors import CannotApply
from bladewise.geometry.dashes import without_stretches
from bladewise.geometry.measures import contains, segment_lengths
from bladewise.geometry.regions import Region
from bladewise.geometry.tabs import even_places, most_tabs
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    integer,
    length,
    lengths,
    only_with,
    switch,
)
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.geometry.path import Path

WIDEST_TAB_MM = 10.0
"""Ends of a through cut farther apart than this are no tab but a cut that was never closed (common practice)."""


class Spread(StrEnum):
    """How tabs are laid out along an outline."""

    COUNT = "count"
    DISTANCE = "distance"
    PLACES = "places"


@dataclass(frozen=True, kw_only=True)
class CutTabs:
    """Through cuts left whole in some places."""

    on: Selection = acts_on(help="The through cuts")
    width_mm: float = length(1.0, minimum=0.1, maximum=WIDEST_TAB_MM, help="How wide each tab is")
    spread: Spread = choice(
        Spread.COUNT, help="A number for each piece, one every so far, or at places along the outline"
    )
    count: int = only_with(
        integer(4, minimum=1, maximum=500, help="How many tabs each outline gets"), spread=Spread.COUNT
    )
    every_mm: float = only_with(
        length(60.0, minimum=1.0, maximum=10000.0, help="About how far it is from tab to tab"), spread=Spread.DISTANCE
    )
    places_mm: tuple[float, ...] = only_with(
        lengths((), minimum=0.0, help="Where tabs stand, measured along each outline from its start"),
        spread=Spread.PLACES,
    )
    in_holes: bool = switch(default=False, help="Holes get tabs, too, so that their waste stays in place")


def cut_tabs(job: Job, record: CutTabs, progress: Progress) -> Result:
    """Leave through cuts whole where tabs hold the piece."""
    if record.spread is Spread.PLACES and not record.places_mm:
        msg = "No place for a tab is given."
        raise CannotApply(
            msg, where=record.on.describe(job), hint="Give places in mm, or how many tabs there shall be."
        )
    lines = [
        placed.leaf
        for placed in record.on.leaves(job)
        if isinstance(placed.leaf, Shape)
        and (material := job.material_of(placed)).kind is MaterialKind.CUT
        and material.cut is CutKind.THROUGH
    ]
    if not lines:
        msg = "There is no through cut among these: only what is cut through needs tabs."
        hint = "Choose lines whose material is cut through, or draw a cut line of that kind first."
        raise CannotApply(msg, where=record.on.describe(job), hint=hint)
    replacements = {}
    total, short = 0, 0
    for number, shape in enumerate(lines):
        path, tabs, missing = _tabbed(shape.path, record)
        progress((number + 1) / len(lines))
        total, short = total + tabs, short + missing
        if tabs:
            replacements[shape.id] = (replace(shape, path=path),)
    if not total:
        msg = "No outline here is closed and long enough for a tab."
        raise CannotApply(
            msg,
            where=record.on.describe(job),
            hint="Make the tabs narrower; open lines have theirs at the gaps.",
        )
    reports = [phrase("{counted} left.", counted=counted(total, "tab was", "tabs were"))]
    if short:
        outlines = counted(short, "outline is", "outlines are")
        reports.append(phrase("{outlines} too short for all tabs asked for.", outlines=outlines))
    return Result(job.replaced(replacements), tuple(reports), tuple(replacements))


def _tabbed(path: Path, record: CutTabs) -> tuple[Path, int, int]:
    """Return a path with tabs, how many it got, and how many of its outlines got fewer than was asked for."""
    rings = list(path.subpaths())
    owners: list[int] = []
    centres: list[float] = []
    short = 0
    for index, ring in enumerate(rings):
        if not ring.closed[0] or (not record.in_holes and _is_hole(index, rings)):
            continue
        size = float(segment_lengths(ring).sum())
        room = most_tabs(size, record.width_mm)
        if record.spread is Spread.PLACES:
            wanted = [each for each in record.places_mm if each < size]
            places = wanted if room else []
            short += len(places) < len(record.places_mm)
        else:
            asked = record.count if record.spread is Spread.COUNT else max(round(size / record.every_mm), 1)
            short += room < asked
            places = even_places(ring, min(room, asked), record.width_mm).tolist() if room else []
        owners += [index] * len(places)
        centres += places
    middle = np.array(centres)
    half = record.width_mm / 2.0
    return without_stretches(path, owners, middle - half, middle + half), len(centres), short


def _is_hole(index: int, rings: list[Path]) -> bool:
    """Whether an odd number of other outlines lie around one."""
    place = rings[index].points[:1, 0]
    around = sum(
        bool(ring.closed[0]) and bool(contains(Region(ring), place)[0])
        for number, ring in enumerate(rings)
        if number != index
    )
    return around % 2 == 1


def _summary(record: CutTabs) -> str:
    width = format_number(record.width_mm)
    if record.spread is Spread.COUNT:
        return phrase("Tabs, {count} an outline, {width} mm wide", count=record.count, width=width)
    if record.spread is Spread.DISTANCE:
        return phrase("Tabs, every {every} mm, {width} mm wide", every=format_number(record.every_mm), width=width)
    return phrase("Tabs, at {count} places, {width} mm wide", count=len(record.places_mm), width=width)


OPERATIONS = (
    Operation(
        "cut-tabs",
        "Tabs",
        "A through cut is left whole in a few places, away from corners, so that the piece stays in its sheet.",
        CutTabs,
        cut_tabs,
        _summary,
    ),
)
