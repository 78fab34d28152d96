"""Which verbs fit what is selected. How many shapes a verb needs stands in its declaration; what kind of art, here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from bladewise.document import CutKind, Group, Lettering, MaterialKind, Picture, Shape
from bladewise.operations import OPERATIONS, Operation
from bladewise.operations.painted import is_hairline

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.window.desk import Desk

_IN_THE_TREE = frozenset({"rename", "show", "lock"})
"""These are done where the layers are; the palette finds them too."""

_ON_THE_MATERIALS_PAGE = frozenset({"material-profile", "list-materials", "drop-material"})
"""These are done where materials are listed; the palette finds them too."""

_DRAWN_BY_HAND = frozenset({"draw-path", "draw-freehand"})
"""Their numbers come from the hand on the canvas; nobody types them."""

_RELATIVES = {"restyle": 0, "delete": 99}


@dataclass(frozen=True)
class Selected:
    """What the verbs need to know about the selection."""

    count: int
    shapes: int
    strokes: int
    lettering: int
    groups: int
    open_outlines: int
    many_outlines: int
    fills: int
    bent: int = 0
    through_cuts: int = 0

    @classmethod
    def on(cls, desk: Desk) -> Selected:
        """Look at what is selected on the desk."""
        leaves = [placed.leaf for placed in desk.selected_leaves()]
        shapes = [leaf for leaf in leaves if isinstance(leaf, Shape)]
        elements = [desk.job.element(each) for each in desk.selection]
        return cls(
            count=len(leaves),
            shapes=len(shapes),
            strokes=sum(1 for leaf in shapes if leaf.style.stroke and not is_hairline(leaf.style.stroke)),
            lettering=sum(1 for leaf in leaves if isinstance(leaf, Lettering)),
            groups=sum(1 for element in elements if isinstance(element, Group)),
            open_outlines=sum(1 for shape in shapes if shape.path and not shape.path.closed.all()),
            many_outlines=sum(1 for shape in shapes if len(shape.path.starts) > 1),
            fills=sum(1 for leaf in leaves if not isinstance(leaf, Picture) and leaf.style.fill is not None),
            through_cuts=sum(
                1
                for placed in desk.selected_leaves()
                if (material := desk.job.material_of(placed)).kind is MaterialKind.CUT
                and material.cut is CutKind.THROUGH
            ),
            bent=sum(1 for leaf in leaves if isinstance(leaf, Lettering) and leaf.setting.bending is not None),
        )


_NEEDS: dict[str, Callable[[Selected], bool]] = {
    "merge": lambda s: s.shapes >= 2,
    "cut-out": lambda s: s.shapes >= 2,
    "keep-common": lambda s: s.shapes >= 2,
    "split-at-overlaps": lambda s: s.shapes >= 2,
    "fit-inside": lambda s: s.shapes >= 2,
    "visible-parts": lambda s: s.shapes >= 2,
    "stroke-to-shape": lambda s: s.strokes > 0,
    "ungroup": lambda s: s.groups > 0,
    "separate-pieces": lambda s: s.many_outlines > 0,
    "retype": lambda s: s.lettering > 0,
    "lettering-to-shapes": lambda s: s.lettering > 0,
    "close-outlines": lambda s: s.open_outlines > 0,
    "cut-edges-once": lambda s: s.shapes >= 2,
    "separate-colours": lambda s: s.shapes + s.lettering > 0,
    "reduce-colours": lambda s: s.shapes + s.lettering > 0,
    "stencil": lambda s: s.fills > 0,
    "cut-tabs": lambda s: s.through_cuts > 0,
    "make-cut-ready": lambda s: s.shapes + s.lettering > 0,
    "drop-stray-points": lambda s: s.shapes > 0,
    "fill-gaps": lambda s: s.shapes > 0,
    "drop-hairs": lambda s: s.shapes > 0,
    "untangle": lambda s: s.shapes > 0,
    "drop-specks": lambda s: s.shapes > 0,
    "round-corners": lambda s: s.shapes > 0,
    "smooth-edges": lambda s: s.shapes > 0,
    "fewer-nodes": lambda s: s.shapes > 0,
    "merge-script": lambda s: s.lettering > 0 or (s.shapes >= 2 and s.fills >= 2),
    "add-tail": lambda s: s.lettering > 0 or (s.shapes > 0 and s.fills > 0),
    "attach-tail": lambda s: s.lettering > 0 or s.shapes >= 2,
    "bend-along-path": lambda s: s.lettering > 0 or s.shapes >= 2,
    "take-bend-off": lambda s: s.bent > 0,
    "fill-roster": lambda s: s.lettering > 0,
    **dict.fromkeys(
        ("set-font", "letter-height", "letter-spacing", "fit-width", "slant", "alternates"), lambda s: s.lettering > 0
    ),
    **dict.fromkeys(
        ("bend-along-arc", "ripple", "upright-arch", "climb", "swell", "four-corners"),
        lambda s: s.shapes + s.lettering > 0,
    ),
}

_WORK_ON_WORDS = ("typesetting", "script", "bends", "roster")
"""These families come first where lettering is selected, and only there are they all on the bench one by one."""


def fits(operation: Operation, selected: Selected) -> bool:
    """Whether a verb makes sense for what is selected."""
    if selected.count < operation.least or (operation.least == 0) != (selected.count == 0):
        return False
    needs = _NEEDS.get(operation.name)
    return needs is None or needs(selected)


def is_offered(operation: Operation) -> bool:
    """Whether an operation is a verb that can be chosen; those for single nodes come from the hand alone."""
    return not operation.by_hand or operation.name in _DRAWN_BY_HAND


def is_drawn_by_hand(name: str) -> bool:
    """Whether an operation's places come from the hand, not from a field."""
    return name in _DRAWN_BY_HAND


def family(operation: Operation) -> str:
    """Return the family an operation belongs to: the module that declares it; tails belong to words."""
    module = operation.record.__module__.rsplit(".", 1)[-1]
    return "script" if module == "tails" else module


def folded(verbs: list[Operation], desk: Desk) -> tuple[str, str]:
    """Return the word and the icon under which a family is folded up on the bench; empty where it is not.

    Bends are one thing with several forms. What is done with words is rarely meant where only shapes are selected.
    """
    name = family(verbs[0])
    if name == "bends":
        return _tr("Bend"), "bend-along-arc"
    if name == "script" and not any(isinstance(placed.leaf, Lettering) for placed in desk.selected_leaves()):
        return _tr("As a word"), "merge-script"
    return "", ""


def verbs(desk: Desk) -> list[list[Operation]]:
    """Return the verbs that fit, family by family, the families in the order declared."""
    selected = Selected.on(desk)
    families: dict[str, list[Operation]] = {}
    for operation in OPERATIONS:
        if (
            operation.name not in _IN_THE_TREE | _ON_THE_MATERIALS_PAGE
            and is_offered(operation)
            and fits(operation, selected)
        ):
            families.setdefault(family(operation), []).append(operation)
    first = ("drawing", *_WORK_ON_WORDS) if selected.lettering else ("drawing",) if selected.count else ()
    families = {**{name: families[name] for name in first if name in families}, **families}
    for each in families.values():
        each.sort(key=lambda operation: _RELATIVES.get(operation.name, 50))
    return list(families.values())


def reason_not(operation: Operation, desk: Desk, selected: Selected | None = None) -> str:
    """Return why a verb does not fit now, in a few words; empty if it does or needs nothing selected.

    `selected` saves looking at the selection again for each of many verbs.
    """
    if operation.least == 0:
        return ""
    selected = selected or Selected.on(desk)
    if selected.count < operation.least:
        if operation.least == 1:
            return _tr("select something first")
        return _tr("select {n} or more first").format(n=operation.least)
    needs = _NEEDS.get(operation.name)
    return "" if needs is None or needs(selected) else _tr("does not fit what is selected")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Fitting", text)
