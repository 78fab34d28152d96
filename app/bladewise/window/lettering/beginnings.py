"""What a verb's fields hold at first for lettering: how it is set now, so that one number can be changed alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bladewise.document import BendKind, Lettering
from bladewise.units import format_number

if TYPE_CHECKING:
    from bladewise.document import Bending
    from bladewise.window.desk import Desk

_KINDS = {
    "bend-along-arc": BendKind.ARC,
    "bend-along-path": BendKind.PATH,
    "ripple": BendKind.RIPPLE,
    "upright-arch": BendKind.ARCH,
    "climb": BendKind.CLIMB,
    "swell": BendKind.SWELL,
    "four-corners": BendKind.CORNERS,
}

_NUMBERS = {
    "bend-along-path": ("start_mm", "shift_mm", "other_side", "letters", "even_spaces"),
    "ripple": ("rise_mm", "wave_mm", "shift_mm"),
    "upright-arch": ("rise_mm",),
    "climb": ("rise_mm", "eased"),
    "four-corners": ("corners_mm",),
}


def first_lettering(desk: Desk) -> Lettering | None:
    """Return the first live lettering of what is selected."""
    return next((placed.leaf for placed in desk.selected_leaves() if isinstance(placed.leaf, Lettering)), None)


def beginning(verb: str, desk: Desk) -> dict[str, Any]:
    """Return the plain values a verb's fields begin with; empty where the declaration's own do."""
    each = first_lettering(desk)
    if each is None:
        return {}
    high, wide = each.transform.height_scale or 1.0, each.transform.along_scale or 1.0
    setting = each.setting
    match verb:
        case "set-font":
            axes = " ".join(f"{tag}={format_number(place)}" for tag, place in setting.axes)
            return {"family": each.family, "weight": each.weight, "italic": each.italic, "axes": axes}
        case "letter-height":
            return {"size_mm": max(each.size_mm * high, 0.1), "of": str(setting.height)}
        case "fit-width":
            return {} if setting.width_mm is None else {"width_mm": setting.width_mm * wide, "by": str(setting.fit)}
        case "slant":
            return {"angle_deg": setting.slant_deg} if setting.slant_deg else {}
        case "alternates":
            return {"features": " ".join(setting.features)}
    bending = setting.bending
    if bending is not None and _KINDS.get(verb) is bending.kind:
        return _of_bend(verb, bending.scaled(wide, high))
    return _by_its_size(verb, each)


def _of_bend(verb: str, bending: Bending) -> dict[str, Any]:
    if verb == "swell":
        return {"percent": bending.share * 100.0}
    if verb == "bend-along-arc":
        radius = {"radius_mm": bending.radius_mm} if bending.radius_mm else {}
        return {
            "angle_deg": bending.angle_deg,
            "letters": str(bending.letters),
            "even_spaces": bending.even_spaces,
            **radius,
        }
    values = {name: getattr(bending, name) for name in _NUMBERS[verb]}
    return {name: list(value) if isinstance(value, tuple) else value for name, value in values.items()}


def _by_its_size(verb: str, each: Lettering) -> dict[str, Any]:
    """Return numbers that show what a bend does, whether the lettering is a label or a shop front."""
    box = each.bounds
    if box is None:
        return {}
    wide, high = box[2] - box[0], box[3] - box[1]
    match verb:
        case "ripple":
            return {"rise_mm": round(0.2 * high, 1), "wave_mm": max(round(0.5 * wide, 1), 0.1)}
        case "upright-arch" | "climb":
            return {"rise_mm": round(min(0.5 * high, 0.2 * wide), 1)}
        case "four-corners":
            pull = round(0.25 * high, 1)
            return {"corners_mm": [0.0, -pull, 0.0, pull, 0.0, -pull, 0.0, pull]}
        case _:
            return {}
