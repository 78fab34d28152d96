"""Both cuts of a sticker at once: the kiss cut about the design, and the cut through film and liner around it.

A pull tab is a tongue of the liner that sticks out at one side, past the kiss cut: there the liner is bent away and
the sticker comes off.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bladewise.document import Box, CutKind, Job
from bladewise.geometry import booleans, measures
from bladewise.geometry.parallels import closed, parallel
from bladewise.geometry.path import Path, joined, rectangle
from bladewise.geometry.regions import Region
from bladewise.operations.cut_lines import no_line_left, printed, with_line
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    length,
    only_with,
    switch,
)
from bladewise.operations.line_round import Holes, Islands, LineRound, art_to_go_round, line_round
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

_TONGUE_ROUND = 0.4
"""The radius of a pull tab's corners and of its root, as a share of its lesser side."""


class Around(StrEnum):
    """What shape the through cut has."""

    BOX = "box"
    OUTLINE = "outline"


class PullTab(StrEnum):
    """At which side of the sticker a pull tab sticks out."""

    NONE = "none"
    LEFT = "left"
    RIGHT = "right"
    TOP = "top"
    BOTTOM = "bottom"


_WITH_TAB = (PullTab.LEFT, PullTab.RIGHT, PullTab.TOP, PullTab.BOTTOM)
_JOINED = (Islands.BRIDGED, Islands.BACKED)


@dataclass(frozen=True, kw_only=True)
class StickerCuts:
    """A kiss cut about each design, and a through cut around it."""

    on: Selection = acts_on()
    kiss_distance_mm: float = length(
        2.0, minimum=-50.0, maximum=500.0, help="How far outside the art's edge the kiss cut lies (minus: inside)"
    )
    inlet_radius_mm: float = length(
        1.0, minimum=0.0, maximum=100.0, help="Notches of the kiss cut are rounded to this radius"
    )
    holes: Holes = choice(Holes.OUTER, help="Outer edge only, or with the holes the design has")
    islands: Islands = choice(
        Islands.APART, help="Parts that do not hang together: cut apart, joined by bridges, or on a common backing"
    )
    reach_mm: float = only_with(
        length(10.0, minimum=0.1, maximum=500.0, help="Islands this near are joined; a backing fills what is narrower"),
        islands=_JOINED,
    )
    bridge_width_mm: float = only_with(
        length(4.0, minimum=0.1, maximum=200.0, help="How wide bridges are"), islands=_JOINED
    )
    around: Around = choice(Around.BOX, help="The through cut is a box, or follows the outline")
    margin_mm: float = length(5.0, minimum=0.5, maximum=500.0, help="How far the through cut lies outside the kiss cut")
    corner_radius_mm: float = only_with(
        length(3.0, minimum=0.0, maximum=500.0, help="How round the box's corners are"), around=Around.BOX
    )
    pull_tab: PullTab = choice(PullTab.NONE, help="A tongue of liner to pull at: none, or at which side")
    pull_tab_length_mm: float = only_with(
        length(8.0, minimum=1.0, maximum=200.0, help="How far the pull tab sticks out"), pull_tab=_WITH_TAB
    )
    pull_tab_width_mm: float = only_with(
        length(15.0, minimum=2.0, maximum=500.0, help="How wide the pull tab is"), pull_tab=_WITH_TAB
    )
    print_art: bool = switch(default=True, help="What the cuts go around becomes print")


def sticker_cuts(job: Job, record: StickerCuts, progress: Progress) -> Result:
    """Put a kiss cut about each design and a through cut around it, each on the layer of its kind."""
    art = art_to_go_round(record.on, job)
    how = LineRound(
        distance_mm=record.kiss_distance_mm,
        inlet_radius_mm=record.inlet_radius_mm,
        holes=record.holes,
        islands=record.islands,
        reach_mm=record.reach_mm,
        bridge_width_mm=record.bridge_width_mm,
    )
    kiss = line_round([placed.leaf for placed in art], how, lambda share: progress(0.7 * share))
    if not kiss.path:
        raise no_line_left(record.on, job)
    stickers = [ring for ring in kiss.path.subpaths() if measures.area(ring) > 0.0]
    through = _boxes(stickers, record) if record.around is Around.BOX else _outlines(stickers, record)
    progress(0.9)
    result = printed(job, art, record.on) if record.print_art else job
    result, inner = with_line(result, kiss.path, CutKind.KISS)
    result, outer = with_line(result, joined(through), CutKind.THROUGH)
    reports = list(kiss.reports)
    if len(through) < len(stickers):
        reports.append(
            phrase(
                "{stickers} lie so close together that their through cuts are one: {cuts} out.",
                stickers=counted(len(stickers), "sticker", "stickers"),
                cuts=counted(len(through), "piece is cut", "pieces are cut"),
            )
        )
    return Result(result, tuple(reports), (inner, outer))


def _boxes(stickers: list[Path], record: StickerCuts) -> list[Path]:
    """Return a box with its pull tab for each sticker; those whose boxes meet share one."""
    boxes: list[Box] = []
    for ring in stickers:
        box = ring.bounds()
        assert box is not None
        m = record.margin_mm
        boxes.append((box[0] - m, box[1] - m, box[2] + m, box[3] + m))
    apart: list[Box] = []
    while boxes:
        one = boxes.pop()
        meeting = [each for each in (*boxes, *apart) if _meet(_with_tongue(one, record), _with_tongue(each, record))]
        if not meeting:
            apart.append(one)
            continue
        boxes = [each for each in boxes if each not in meeting]
        apart = [each for each in apart if each not in meeting]
        together = [one, *meeting]
        boxes.append(
            (
                min(each[0] for each in together),
                min(each[1] for each in together),
                max(each[2] for each in together),
                max(each[3] for each in together),
            )
        )
    radius = record.corner_radius_mm
    return [_tongued(rectangle(x0, y0, x1 - x0, y1 - y0, radius, radius), record) for x0, y0, x1, y1 in sorted(apart)]


def _outlines(stickers: list[Path], record: StickerCuts) -> list[Path]:
    """Return an outline with its pull tab for each sticker; those that meet share one."""
    grown = parallel(Region(joined(stickers)), record.margin_mm)
    outer = booleans.merge([Region(ring) for ring in grown.subpaths() if measures.area(ring) > 0.0])
    if record.pull_tab is PullTab.NONE:
        return list(outer.subpaths())
    whole = booleans.merge([Region(_tongued(ring, record)) for ring in outer.subpaths()])
    return [ring for ring in whole.subpaths() if measures.area(ring) > 0.0]


def _with_tongue(box: Box, record: StickerCuts) -> Box:
    """Return the extent of a box with its pull tab."""
    out = record.pull_tab_length_mm
    x0, y0, x1, y1 = box
    match record.pull_tab:
        case PullTab.LEFT:
            return x0 - out, y0, x1, y1
        case PullTab.RIGHT:
            return x0, y0, x1 + out, y1
        case PullTab.TOP:
            return x0, y0 - out, x1, y1
        case PullTab.BOTTOM:
            return x0, y0, x1, y1 + out
        case _:
            return box


def _tongued(outline: Path, record: StickerCuts) -> Path:
    """Return an outline with its pull tab, round at its corners and its root."""
    box = outline.bounds()
    if record.pull_tab is PullTab.NONE or box is None:
        return outline
    x0, y0, x1, y1 = box
    far = _with_tongue(box, record)
    middle_x, middle_y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    lying = record.pull_tab in (PullTab.LEFT, PullTab.RIGHT)
    across = (y1 - y0) if lying else (x1 - x0)
    half = min(record.pull_tab_width_mm, across) / 2.0
    radius = _TONGUE_ROUND * min(2.0 * half, record.pull_tab_length_mm)
    match record.pull_tab:
        case PullTab.LEFT:
            tongue = (far[0], middle_y - half, middle_x, middle_y + half)
        case PullTab.RIGHT:
            tongue = (middle_x, middle_y - half, far[2], middle_y + half)
        case PullTab.TOP:
            tongue = (middle_x - half, far[1], middle_x + half, middle_y)
        case _:
            tongue = (middle_x - half, middle_y, middle_x + half, far[3])
    left, top, right, bottom = tongue
    band = rectangle(left, top, right - left, bottom - top, radius, radius)
    return closed(Region(booleans.merge([Region(outline), Region(band)])), radius)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _summary(record: StickerCuts) -> str:
    kiss, margin = format_number(record.kiss_distance_mm), format_number(record.margin_mm)
    if record.pull_tab is PullTab.NONE:
        return phrase(
            "Sticker cuts, kiss cut {kiss} mm out, through cut {margin} mm around it", kiss=kiss, margin=margin
        )
    return phrase(
        "Sticker cuts, kiss cut {kiss} mm out, through cut {margin} mm around it, pull tab {side}",
        kiss=kiss,
        margin=margin,
        side=record.pull_tab,
    )


OPERATIONS = (
    Operation(
        "sticker-cuts",
        "Sticker cuts",
        "A kiss cut about each design and a through cut around it, with a pull tab if asked.",
        StickerCuts,
        sticker_cuts,
        _summary,
    ),
)
