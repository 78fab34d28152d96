"""What the fields of verbs about materials and orders hold at first: the stock, and what was ordered before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bladewise.document import MaterialKind, bounds_of
from bladewise.document.stock import material_line

if TYPE_CHECKING:
    from bladewise.window.desk import Desk


def usual(verb: str, desk: Desk) -> dict[str, Any]:
    """Return the plain values a verb's fields begin with; empty where the declaration's own do."""
    match verb:
        case "reduce-colours":
            stock = desk.stock.materials if desk.stock is not None else ()
            lines = [material_line(each) for each in stock if each.kind is MaterialKind.CUT]
            return {"vinyls": "\n".join(lines)} if lines else {}
        case "ordered-size":
            return _ordered(desk)
        case _:
            return {}


def _ordered(desk: Desk) -> dict[str, Any]:
    """Return what was ordered, or else the size of the art: often it is right, and at worst a number to type over."""
    job = desk.job
    if job.ordered_width_mm is not None or job.ordered_height_mm is not None:
        sides = {"width_mm": job.ordered_width_mm, "height_mm": job.ordered_height_mm}
        return {name: value for name, value in sides.items() if value is not None}
    box = bounds_of([placed.leaf for placed in job.walk() if placed.visible])
    if box is None or min(box[2] - box[0], box[3] - box[1]) < 0.1:
        return {}
    return {"width_mm": round(box[2] - box[0], 1), "height_mm": round(box[3] - box[1], 1)}
