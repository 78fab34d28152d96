"""What the job is held to: what a material asks of the art, and how large the art was ordered."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bladewise.document import KNOWN_PROFILES, Job, Material, Profile, bounds_of
from bladewise.document.profiles import VALUES
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    angle,
    length,
    number,
    wording,
)
from bladewise.phrases import listing, phrase
from bladewise.units import format_number

_AS_ORDERED = "The {name} is {size} mm, as ordered."

ORDERED_SHARE = 0.005
"""Art that is off its ordered size by no more than this share is as ordered (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class MaterialProfile:
    """What a material asks of the art; a number left out is the default."""

    material: str = wording("", help="The material's name")
    name: str | None = wording(None, help="Its new name; left out: as it is")
    like: str | None = wording(
        None,
        help="What is left out is as common for a kind: vinyl, cast-vinyl, reflective, heat-transfer, stencil-film, "
        "paper",
    )
    blade_width_mm: float | None = length(None, minimum=0.0, maximum=5.0, help="Width of the blade where it turns")
    thickness_mm: float | None = length(None, minimum=0.0, maximum=20.0, help="Of the film without its liner")
    least_piece_mm2: float | None = number(None, minimum=0.0, maximum=1e6, help="Least area of a piece in mm²")
    least_bridge_mm: float | None = length(None, minimum=0.0, maximum=100.0, help="Least width of a strip or bridge")
    least_gap_mm: float | None = length(None, minimum=0.0, maximum=100.0, help="Least width of a gap")
    sharpest_corner_deg: float = angle(-1.0, minimum=-1.0, maximum=120.0, help="Sharpest corner; -1: the default")
    least_bleed_mm: float | None = length(
        None, minimum=0.0, maximum=100.0, help="How far print runs on beyond its cut line, or ends before it"
    )
    roll_width_mm: float | None = length(None, minimum=1.0, maximum=1e5, help="Width of the roll that can be cut")
    price_a_m2: float | None = number(None, minimum=0.0, maximum=1e6, help="What a square metre costs")
    heat_transfer: str | None = wording(None, help="yes: pressed on from the back, so cut mirrored; no: not")


@dataclass(frozen=True, kw_only=True)
class OrderedSize:
    """How large the finished art was ordered."""

    width_mm: float | None = length(None, minimum=0.1, maximum=1e5, help="Width; left out: not said")
    height_mm: float | None = length(None, minimum=0.1, maximum=1e5, help="Height; left out: not said")


@dataclass(frozen=True, kw_only=True)
class FitSheet:
    """The sheet becomes as large as the art."""

    margin_mm: float = length(0.0, minimum=0.0, maximum=1000.0, help="Room around the art")


def material_profile(job: Job, record: MaterialProfile, progress: Progress) -> Result:
    """Put down what a material asks of the art."""
    progress(1.0)
    material = _material(job, record.material.strip())
    profile = Profile()
    if record.like is not None:
        if record.like not in KNOWN_PROFILES:
            msg = phrase("There is no profile “{name}”.", name=record.like)
            hint = phrase("Use one of: {join}.", join=", ".join(KNOWN_PROFILES))
            raise CannotApply(msg, where=material.name, hint=hint)
        profile = Profile(like=record.like, heat_transfer=KNOWN_PROFILES[record.like].heat_transfer)
    given = {name: getattr(record, name) for name in VALUES if name != "sharpest_corner_deg"}
    if record.sharpest_corner_deg >= 0.0:
        given["sharpest_corner_deg"] = record.sharpest_corner_deg
    profile = replace(profile, **{name: value for name, value in given.items() if value is not None})
    if record.heat_transfer is not None:
        if record.heat_transfer not in ("yes", "no"):
            msg = "“heat_transfer” is yes or no."
            raise CannotApply(msg, where=material.name, hint="Leave it out where the material is pasted on.")
        profile = replace(profile, heat_transfer=record.heat_transfer == "yes")
    name = (record.name or "").strip() or material.name
    if name != material.name and any(name == each.name for each in (*job.materials, *job.materials_in_use())):
        msg = phrase("The job has a material “{name}” already.", name=name)
        raise CannotApply(msg, where=material.name, hint="Choose another name.")
    return Result(job.with_material(replace(material, name=name, profile=profile)))


def ordered_size(job: Job, record: OrderedSize, progress: Progress) -> Result:
    """Put down how large the art was ordered."""
    progress(1.0)
    ordered = replace(job, ordered_width_mm=record.width_mm, ordered_height_mm=record.height_mm)
    return Result(ordered, tuple(against_order(ordered)))


def against_order(job: Job) -> list[str]:
    """Return how the art that shows compares with what was ordered, in words; nothing where no size was ordered."""
    box = bounds_of([placed.leaf for placed in job.walk() if placed.visible])
    told: list[str] = []
    if box is None:
        return told
    for name, is_, wanted in (
        ("width", box[2] - box[0], job.ordered_width_mm),
        ("height", box[3] - box[1], job.ordered_height_mm),
    ):
        if wanted is None:
            continue
        values = {
            "name": phrase(name),
            "size": format_number(is_, 1),
            "wanted": format_number(wanted, 1),
            "off": format_number(abs(is_ / wanted - 1.0) * 100.0, 1),
        }
        if abs(is_ - wanted) <= ORDERED_SHARE * wanted:
            told.append(phrase("The {name} is {size} mm, as ordered.", **values))
        elif is_ > wanted:
            told.append(phrase("The {name} is {size} mm, {off} % more than the {wanted} mm ordered.", **values))
        else:
            told.append(phrase("The {name} is {size} mm, {off} % less than the {wanted} mm ordered.", **values))
    return told


def is_as_ordered(told: str) -> bool:
    """Whether a line of `against_order` says that a side is right."""
    return getattr(told, "template", "") == _AS_ORDERED


def fit_sheet(job: Job, record: FitSheet, progress: Progress) -> Result:
    """Make the sheet as large as what shows, and move all the art onto it."""
    box = bounds_of([placed.leaf for placed in job.walk() if placed.visible])
    if box is None:
        msg = "No art shows in this job."
        raise CannotApply(msg, where=job.name, hint="Bring in art, or show what is hidden.")
    room = record.margin_mm
    shift = Affine.moved(room - box[0], room - box[1])
    layers = tuple(
        replace(layer, children=tuple(child.transformed(shift) for child in layer.children)) for layer in job.layers
    )
    progress(1.0)
    wide, high = (max(side + 2.0 * room, 0.1) for side in (box[2] - box[0], box[3] - box[1]))
    return Result(replace(job, width_mm=wide, height_mm=high, layers=layers))


def _material(job: Job, wanted: str) -> Material:
    known = [*job.materials, *job.materials_in_use()]
    found = next((each for each in known if wanted in (each.id, each.name)), None)
    if found is None:
        msg = phrase("The job has no material “{name}”.", name=wanted)
        names = dict.fromkeys(each.name for each in known)
        hint = phrase("It has: {join}.", join=", ".join(names)) if names else "Choose a material for the art first."
        raise CannotApply(msg, where=job.name, hint=hint)
    return found


def _profile_text(record: MaterialProfile) -> str:
    if record.name and record.name != record.material:
        return phrase("Material “{material}” is called “{name}”", material=record.material, name=record.name)
    return phrase("Profile of “{material}”", material=record.material)


def _order_text(record: OrderedSize) -> str:
    sides = [
        phrase("{name} {size} mm", name=phrase(name), size=format_number(size))
        for name, size in (("width", record.width_mm), ("height", record.height_mm))
        if size is not None
    ]
    return phrase("Ordered: {sides}", sides=listing(sides)) if sides else phrase("Ordered in any size")


OPERATIONS = (
    Operation(
        "material-profile",
        "Material profile",
        "Say what a material asks of the art: blade, least sizes, roll, whether it is cut mirrored.",
        MaterialProfile,
        material_profile,
        _profile_text,
        least=0,
    ),
    Operation(
        "ordered-size",
        "Ordered size",
        "Say how large the finished art was ordered.",
        OrderedSize,
        ordered_size,
        _order_text,
        least=0,
    ),
    Operation(
        "fit-sheet",
        "Fit the sheet",
        "The sheet becomes as large as the art, with room around it.",
        FitSheet,
        fit_sheet,
        lambda r: phrase("Sheet as large as the art, {margin} mm around it", margin=format_number(r.margin_mm)),
        least=0,
    ),
)
