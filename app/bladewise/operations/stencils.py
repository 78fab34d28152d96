"""Stencils: a word cut out of a panel or a pattern, its counters held by bridges.

The islands are found by themselves; where the bridges go is worked out in `geometry.bridges`, or given by hand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Element, Job, Lettering, Picture, Shape, Style, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.bridges import Bar, Ground, Stencil, stencil
from bladewise.geometry.measures import area, centroid
from bladewise.geometry.path import rectangle
from bladewise.geometry.regions import Region
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    integer,
    length,
    lengths,
    only_with,
    optional_selection,
    switch,
)
from bladewise.operations.painted import label, painted_area, painted_regions, reshaped
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_length, format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Leaf
    from bladewise.geometry.path import Path

_NAMED = 3
"""Places named in a report at most."""


class Way(StrEnum):
    """Which way bridges run."""

    ANGLE = "angle"
    SHORTEST = "shortest"


@dataclass(frozen=True, kw_only=True)
class StencilStep:
    """A word is cut out of a panel, and bridges hold its counters."""

    on: Selection = acts_on(help="The word or shapes to cut out, and the panel too if none is named")
    panel: Selection | None = optional_selection(
        help="The panel or pattern; left out: the backmost of those selected if it holds all others, else a rectangle"
    )
    margin_mm: float = length(20.0, minimum=0.1, maximum=2000.0, help="How far that rectangle stands off the word")
    bridge_mm: float = length(3.0, minimum=0.1, maximum=500.0, help="Width of the bridges")
    way: Way = choice(Way.ANGLE, help="All bridges at one angle, or each the shortest way")
    angle_deg: float = only_with(angle(90.0, help="Angle of the bridges: 0 across, 90 up and down"), way=Way.ANGLE)
    count: int = integer(
        2, minimum=1, maximum=8, help="How many bridges hold an island where none is set by hand; one is the least"
    )
    bridges_mm: tuple[float, ...] = lengths(
        (), help="Bridges placed by hand: x and y of one end and of the other, in turn; islands they miss get their own"
    )
    keep_word: bool = switch(default=False, help="Leave the word in the job")


def stencil_step(job: Job, record: StencilStep, progress: Progress) -> Result:
    """Cut a word out of a panel, and hold its islands."""
    panel, word = _panel_and_word(job, record)
    progress(0.1)
    made = _made(job, record, panel, word)
    if not made.path:
        msg = "The word covers the panel; nothing is left of it."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose a larger panel.")
    progress(0.8)
    replacements: dict[str, tuple[Element, ...]] = {}
    if not record.keep_word:
        replacements = {leaf.id: () for leaf in word}
    if panel is not None:
        piece = reshaped(panel, made.path)
        replacements[panel.id] = (piece,)
    else:
        first = word[0]
        style = Style() if isinstance(first, Picture) else replace(first.style, stroke=None)
        piece = reshaped(
            Shape(job.fresh_id("stencil"), made.path, style, name="Stencil", material=first.material), made.path
        )
        replacements[first.id] = (piece, *((first,) if record.keep_word else ()))
    progress(1.0)
    return Result(job.replaced(replacements), _reports(record, made), (piece.id,))


def stencil_bars(job: Job, record: StencilStep, ground: Ground | None = None) -> list[Bar]:
    """Return the bridges that the step would put in, for showing and dragging them.

    `ground` is that of the same panel and word, if it is known already.

    Raises
    ------
    CannotApply
        As the step itself.
    """
    ground = ground or stencil_ground(job, record)
    angle = record.angle_deg if record.way is Way.ANGLE else None
    return ground.bars(record.bridge_mm, angle_deg=angle, count=record.count, given=_given(job, record))


def stencil_ground(job: Job, record: StencilStep) -> Ground:
    """Return the islands that the step would find, for putting bridges by hand.

    Raises
    ------
    CannotApply
        As the step itself.
    """
    panel, word = _panel_and_word(job, record)
    return Ground(_area_of_panel(record, panel, word), [region for leaf in word for region in painted_regions(leaf)])


def _area_of_panel(record: StencilStep, panel: Shape | None, word: list[Leaf]) -> Region:
    return panel.region if panel is not None else Region(_sheet_around(word, record))


def _made(job: Job, record: StencilStep, panel: Shape | None, word: list[Leaf]) -> Stencil:
    regions = [region for leaf in word for region in painted_regions(leaf)]
    return stencil(
        _area_of_panel(record, panel, word),
        regions,
        record.bridge_mm,
        angle_deg=record.angle_deg if record.way is Way.ANGLE else None,
        count=record.count,
        given=_given(job, record),
    )


def _given(job: Job, record: StencilStep) -> list[Bar]:
    numbers = record.bridges_mm
    if len(numbers) % 4:
        msg = "A bridge placed by hand needs four numbers: x and y of one end, x and y of the other."
        raise CannotApply(msg, where=record.on.describe(job), hint="Complete the last one, or leave it out.")
    fours = zip(numbers[0::4], numbers[1::4], numbers[2::4], numbers[3::4], strict=True)
    return [Bar((x1, y1), (x2, y2), record.bridge_mm) for x1, y1, x2, y2 in fours]


def _sheet_around(word: list[Leaf], record: StencilStep) -> Path:
    box = painted_area(word).bounds()
    assert box is not None  # a word that paints nothing was refused
    x0, y0, x1, y1 = box
    off = record.margin_mm
    return rectangle(x0 - off, y0 - off, x1 - x0 + 2.0 * off, y1 - y0 + 2.0 * off)


def _panel_and_word(job: Job, record: StencilStep) -> tuple[Shape | None, list[Leaf]]:
    """Return the panel (None where one has to be made) and what is cut out of it."""
    leaves = [placed.leaf for placed in record.on.leaves(job) if not isinstance(placed.leaf, Picture)]
    if record.panel is not None:
        panels = record.panel.shapes(job)
        if len(panels) != 1:
            msg = phrase("The panel must be one shape; {count} found.", count=len(panels))
            raise CannotApply(msg, where=record.panel.describe(job), hint="Merge the pattern into one shape first.")
        panel: Shape | None = panels[0]
    else:
        first = leaves[0] if leaves else None
        panel = first if isinstance(first, Shape) and len(leaves) > 1 and _holds(first, leaves[1:]) else None
    word: list[Leaf] = [leaf for leaf in leaves if panel is None or leaf.id != panel.id]
    if not word:
        raise nothing_matches(record.on, job)
    if not painted_area(word):
        msg = "The word has no area: nothing of it is filled."
        raise CannotApply(msg, where=label(word[0]), hint="Give it a fill, or turn its strokes into shapes.")
    if panel is not None and panel.style.fill is None:
        msg = "The panel has no fill; it is no area to cut from."
        raise CannotApply(msg, where=label(panel), hint="Give it a fill.")
    return panel, word


def _holds(shape: Shape, others: Sequence[Shape | Lettering]) -> bool:
    outer, inner = shape.bounds, bounds_of(tuple(others))
    return (
        shape.style.fill is not None
        and outer is not None
        and inner is not None
        and outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and outer[2] >= inner[2]
        and outer[3] >= inner[3]
    )


def _reports(record: StencilStep, made: Stencil) -> tuple[str, ...]:
    if not made.islands:
        reports = ["No counter here: nothing has to be held."]
    else:
        islands, bars = counted(len(made.islands), "island", "islands"), counted(len(made.bars), "bridge", "bridges")
        reports = [phrase("{islands} found, {bars} put in.", islands=islands, bars=bars)]
    if made.bars:
        longest = max(bar.length_mm for bar in made.bars)
        reports.append(phrase("The longest bridge is {length}.", length=format_length(longest)))
    if made.loose:
        places = listing(
            phrase("at {x}, {y} mm", x=format_number(place[0], 1), y=format_number(place[1], 1))
            for path in made.loose[:_NAMED]
            if (place := centroid(path)) is not None
        )
        which = counted(len(made.loose), "island is not held", "islands are not held")
        reports.append(phrase("{which}, no straight bridge reaches: {places}.", which=which, places=places))
    small = sum(abs(area(path)) < record.bridge_mm**2 for path in made.islands)
    if small:
        which = counted(small, "island is", "islands are")
        reports.append(phrase("{which} smaller than a bridge is wide: better left out.", which=which))
    apart = len(booleans.pieces(made.path)) - len(made.loose)
    if apart > 1:
        reports.append(phrase("The panel is {apart} pieces that do not touch.", apart=apart))
    return tuple(reports)


def _summary(record: StencilStep) -> str:
    values = {"on": record.on.describe(), "width": format_number(record.bridge_mm)}
    if record.way is Way.SHORTEST:
        said = phrase("Stencil of {on}, bridges {width} mm wide, the shortest way", **values)
    else:
        said = phrase(
            "Stencil of {on}, bridges {width} mm wide at {angle}°", angle=format_number(record.angle_deg), **values
        )
    by_hand = len(record.bridges_mm) // 4
    return listing([said, phrase("{count} set by hand", count=by_hand)], ", ") if by_hand else said


OPERATIONS = (
    Operation(
        "stencil",
        "Stencil",
        "Cut a word out of a panel or a pattern; bridges hold the insides of its letters.",
        StencilStep,
        stencil_step,
        _summary,
    ),
)
