"""Words for what is said of a material: kinds, cuts, what it is like, and the line under its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from bladewise.document import MaterialKind
from bladewise.document.profiles import VALUES
from bladewise.units import format_length, format_number

if TYPE_CHECKING:
    from bladewise.document import Material, Profile


def kinds() -> dict[str, str]:
    """Return what can happen to a material."""
    return {
        "cut": _tr("To cut"),
        "print": _tr("Print"),
        "white": _tr("White ink"),
        "varnish": _tr("Varnish"),
        "guide": _tr("Guide"),
    }


def cuts() -> dict[str, str]:
    """Return how deep it can be cut."""
    return {
        "kiss": _tr("Kiss cut"),
        "through": _tr("Through cut"),
        "perforation": _tr("Perforation"),
        "crease": _tr("Crease"),
    }


def likes() -> dict[str, str]:
    """Return the kinds of material whose common values are known."""
    return {
        "vinyl": _tr("Sign vinyl"),
        "cast-vinyl": _tr("Cast vinyl"),
        "reflective": _tr("Reflective"),
        "heat-transfer": _tr("Heat transfer"),
        "stencil-film": _tr("Stencil film"),
        "paper": _tr("Paper"),
    }


def titles() -> dict[str, str]:
    """Return the names of what is counted or measured of a material."""
    return {
        "perforation_cut_mm": _tr("Perforation: cut"),
        "perforation_gap_mm": _tr("Perforation: gap"),
        "blade_width_mm": _tr("Blade width"),
        "thickness_mm": _tr("Thickness"),
        "least_piece_mm2": _tr("Least piece, in mm²"),
        "least_bridge_mm": _tr("Least bridge"),
        "least_gap_mm": _tr("Least gap"),
        "sharpest_corner_deg": _tr("Sharpest corner"),
        "least_bleed_mm": _tr("Least bleed"),
        "roll_width_mm": _tr("Roll width"),
        "price_a_m2": _tr("Price a m²"),
    }


def line_of(material: Material, unit: str) -> str:
    """Return what is worth knowing at a glance: what it is for, its roll, its price."""
    is_cut = material.kind is MaterialKind.CUT
    parts = [cuts()[material.cut] if is_cut else kinds()[material.kind]]
    profile = material.profile
    if profile.like is not None:
        parts.append(likes()[profile.like])
    if profile.roll_width_mm is not None:
        parts.append(format_length(profile.roll_width_mm, unit=unit, decimals=1))
    if profile.price_a_m2 is not None:
        parts.append(_tr("{price} a m²").format(price=format_number(profile.price_a_m2, 2)))
    return " · ".join(parts)


def value_text(name: str, value: float, unit: str) -> str:
    """Return a value of a profile for reading."""
    if name.endswith("_mm2"):
        return f"{format_number(value)} mm²"
    if name.endswith("_mm"):
        return format_length(value, unit=unit, decimals=4 if unit == "in" else 3)
    return f"{format_number(value)}°" if name.endswith("_deg") else format_number(value, 2)


def changed_count(profile: Profile) -> int:
    """Return how many of its limits differ from what is common practice."""
    common = profile.common
    names = [each for each in VALUES if each not in ("roll_width_mm", "price_a_m2")]
    return sum(getattr(profile, each) not in (None, getattr(common, each)) for each in names)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Materials", text)
