"""Verbs in sheaves by what they are for, so that all of them are within reach on a bench of any width.

A sheaf shows its verbs one by one while there is room; else it folds into one button that opens them as a menu. Which
fold first stands in `SHEAVES`: what is rarely the next thing to do, or has a key or a grip of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from bladewise.operations import Operation
from bladewise.window.bench import fitting

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from bladewise.window.desk import Desk


@dataclass(frozen=True, slots=True)
class Sheaf:
    """Verbs for one purpose; `folds` says how early it folds, least first."""

    name: str
    title: str
    icon: str
    verbs: tuple[Operation, ...]
    folds: int
    always: bool = False
    """Whether it is folded even where there is room."""


_FAMILIES: dict[str, str] = {
    "combine": "combine",
    "parting": "combine",
    "outlines": "lines",
    "cut_lines": "lines",
    "cut_tabs": "lines",
    "sticker_cuts": "lines",
    "bleeding": "lines",
    "underprint": "lines",
    "registration": "lines",
    "stencils": "lines",
    "swatches": "colours",
    "separation": "colours",
    "dressing": "colours",
    "sharing": "ready",
    "repair": "ready",
    "mending": "ready",
    "tidying": "ready",
    "arrange": "place",
    "lining_up": "place",
    "duplicating": "copies",
    "gang_sheet": "copies",
    "structure": "order",
    "ordering": "sheet",
    "details": "sheet",
    "drawing": "draw",
    "drawn_lines": "draw",
    "guides": "draw",
}
"""The sheaf of each family of operations; one that is not listed is a sheaf of its own."""

_FOLDS = ("bends", "script", "copies", "place", "order", "ready", "colours", "sheet", "lines", "draw", "combine")
"""In which order sheaves fold; those not listed come last."""

_APART: dict[str, str] = {
    "visible-parts": "colours",
    "sheet": "sheet",
    "retype": "typesetting",
    "lettering-to-shapes": "typesetting",
    "fill-roster": "typesetting",
}
"""Verbs that belong elsewhere than their family."""


def _named(name: str) -> tuple[str, str]:
    """Return the word and the icon of a sheaf when it is folded."""
    return {
        "combine": (_tr("Combine"), "merge"),
        "lines": (_tr("Cut and print"), "cut-line"),
        "colours": (_tr("Colours"), "separate-colours"),
        "ready": (_tr("Make ready"), "make-cut-ready"),
        "place": (_tr("Place"), "move"),
        "copies": (_tr("Copies"), "duplicate"),
        "order": (_tr("Order"), "reorder"),
        "sheet": (_tr("The job"), "sheet"),
        "draw": (_tr("Draw"), "draw-path"),
        "bends": (_tr("Bend"), "bend-along-arc"),
        "script": (_tr("As a word"), "merge-script"),
    }.get(name, (_tr("Words"), "lettering"))


def sheaves(desk: Desk) -> list[Sheaf]:
    """Return the verbs that fit what is selected, in sheaves, in the order in which their families come."""
    kept: dict[str, list[Operation]] = {}
    folded: set[str] = set()
    for verbs in fitting.verbs(desk):
        family = fitting.family(verbs[0])
        if fitting.folded(verbs, desk)[0] and len(verbs) > 1:
            folded.add(family)
        for each in verbs:
            kept.setdefault(_APART.get(each.name, _FAMILIES.get(family, family)), []).append(each)
    result = []
    about_words = "typesetting" in kept
    for name, verbs in kept.items():
        title, icon = _named(name)
        place = _FOLDS.index(name) if name in _FOLDS else len(_FOLDS)
        if about_words and name == "script":
            place = len(_FOLDS)  # what is done with words is what is meant there
        result.append(Sheaf(name, title, icon, tuple(verbs), place, name in folded))
    return result


@dataclass(frozen=True, slots=True)
class Plan:
    """How sheaves are shown: which are folded, and how many stand on the bench; the others share one menu."""

    folded: frozenset[str]
    shown: int


GAP, APART = 6, 20
"""Pixels between verbs, and between sheaves of which one is open."""


def plan(
    every: Sequence[Sheaf], width_of: Callable[[str], float], room: float, rows: int, before: Sequence[float] = ()
) -> Plan:
    """Return how sheaves are shown so that all fit: as many open as there is room for.

    Parameters
    ----------
    every
        The sheaves.
    width_of
        How wide a button is: of a verb by its name, of a folded sheaf by "fold-" and its name, of the rest "fold-more".
    room, rows
        How wide the bench is, in the same unit, and how many rows it has.
    before
        How wide the buttons are that stand before the verbs.
    """

    def fits(folded: Collection[str], shown: int) -> bool:
        runs = [list(before)] if before else []
        for sheaf in every[:shown]:
            is_folded = sheaf.name in folded
            wide = [width_of(f"fold-{sheaf.name}")] if is_folded else [width_of(each.name) for each in sheaf.verbs]
            runs.append(wide)
        if shown < len(every):
            runs.append([width_of("fold-more")])
        used, row = -float(GAP), 1
        for number, run in enumerate(runs):
            lead = APART if number and (len(run) > 1 or len(runs[number - 1]) > 1) else GAP
            for place, across in enumerate(run):
                gap = lead if place == 0 else GAP
                if used > 0.0 and used + gap + across > room:
                    row, used = row + 1, -float(GAP)
                    gap = GAP
                used += gap + across
        return row <= rows

    order = sorted((each for each in every if not each.always and len(each.verbs) > 1), key=lambda each: each.folds)
    folded = {each.name for each in every if each.always}
    for each in order:
        if fits(folded, len(every)):
            break
        folded.add(each.name)
    for each in reversed(order):  # what was folded for the sake of a larger one may open again
        if each.name in folded and fits(folded - {each.name}, len(every)):
            folded.remove(each.name)
    shown = len(every)
    while shown > 0 and not fits(folded, shown):
        shown -= 1
    return Plan(frozenset(folded), shown)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Fitting", text)
