"""Materials as plain words: one line each in a step, and the same keys in the file of the shop's stock.

    Signal red #cc3311 roll_width_mm=630 price_a_m2=8.4 like=cast-vinyl

What is at its default is left out. The keys are those of the steps `set-material` and `material-profile`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bladewise.document.materials import PERFORATION, CutKind, Material, MaterialKind
from bladewise.document.profiles import KNOWN_PROFILES, VALUES, Bounds, Profile
from bladewise.document.style import Colour
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from bladewise.document.job import Job

_LENGTHS: dict[str, Bounds] = {
    "perforation_cut_mm": PERFORATION,
    "perforation_gap_mm": PERFORATION,
    **VALUES,
}
_WORDS: dict[str, tuple[str, ...]] = {
    "kind": tuple(str(each) for each in MaterialKind),
    "cut": tuple(str(each) for each in CutKind),
    "like": tuple(KNOWN_PROFILES),
    "heat_transfer": ("yes", "no"),
}
KEYS = ("name", "colour", *_WORDS, *_LENGTHS)
"""Everything that can be said of a material."""

_LINE = re.compile(r"^\s*(?P<name>.*?)\s+(?P<colour>#[0-9A-Fa-f]{6})(?P<rest>(\s+[a-z0-9_]+=\S+)*)\s*$")


def values_of(material: Material) -> dict[str, str | float]:
    """Return what is said of a material by key; nothing of what is at its default."""
    profile = material.profile
    found: dict[str, str | float] = {"name": material.name, "colour": material.colour.hex}
    if material.kind is not MaterialKind.CUT:
        found["kind"] = str(material.kind)
    if material.cut is not CutKind.KISS:
        found["cut"] = str(material.cut)
    plain = Material("", "", material.colour)
    for name in ("perforation_cut_mm", "perforation_gap_mm"):
        if (value := getattr(material, name)) != getattr(plain, name):
            found[name] = value
    if profile.like is not None:
        found["like"] = profile.like
    if profile.heat_transfer != (profile.common.heat_transfer if profile.like else False):
        found["heat_transfer"] = "yes" if profile.heat_transfer else "no"
    found |= {name: value for name in VALUES if (value := getattr(profile, name)) is not None}
    return found


def material_of(values: Mapping[str, Any]) -> Material:
    """Return the material that values by key stand for; its id comes from its name.

    Raises
    ------
    ValueError
        With a sentence for the operator.
    """
    name = " ".join(str(values.get("name", "")).split())
    if not name:
        msg = "A material needs a name."
        raise ValueError(msg)
    for key in values:
        if key not in KEYS:
            msg = phrase("“{name}” has “{key}”; it takes: {join}.", name=name, key=key, join=", ".join(KEYS))
            raise ValueError(msg)
    words = {key: _word(name, key, values[key]) for key in _WORDS if key in values}
    numbers = {key: _number(name, key, values[key]) for key in _LENGTHS if key in values}
    like = words.get("like")
    heat = words["heat_transfer"] == "yes" if "heat_transfer" in words else bool(like) and _is_pressed(like)
    own = {key: numbers.pop(key) for key in ("perforation_cut_mm", "perforation_gap_mm") if key in numbers}
    profile = Profile(**numbers, heat_transfer=heat, like=like)
    kind, cut = MaterialKind(words.get("kind", "cut")), CutKind(words.get("cut", "kiss"))
    return Material(slug(name), name, Colour.from_hex(str(values.get("colour", ""))), kind, profile, cut, **own)


def material_line(material: Material) -> str:
    """Return a material as one line of words."""
    values = values_of(material)
    name, colour = values.pop("name"), values.pop("colour")
    told = [f"{key}={each if isinstance(each, str) else format_number(each, 6)}" for key, each in values.items()]
    return " ".join([str(name), str(colour), *told])


def materials_in(lines: str) -> tuple[Material, ...]:
    """Return the materials that lines of words stand for, one a line; empty lines count for nothing.

    Raises
    ------
    ValueError
        With a sentence for the operator.
    """
    found = []
    for line in lines.splitlines():
        if not line.strip():
            continue
        match = _LINE.match(line)
        if match is None:
            msg = phrase(
                "“{line}” is no material: it takes a name, a colour as #rrggbb, and key=value in turn.",
                line=line.strip(),
            )
            raise ValueError(msg)
        pairs = (each.partition("=") for each in match["rest"].split())
        told = {key: value for key, _, value in pairs}
        found.append(material_of({"name": match["name"], "colour": match["colour"], **told}))
    return tuple(found)


def listed(job: Job, materials: Iterable[Material]) -> tuple[Material, ...]:
    """Return materials with the ids they have in a job: that of the one called so, else one that is free there."""
    known = {each.name: each.id for each in (*job.materials_in_use(), *job.materials)}
    taken = {*known.values(), *(each.id for each in job.materials)}
    found = []
    for each in materials:
        key, number = known.get(each.name, each.id), 1
        while each.name not in known and key in taken:
            number += 1
            key = f"{each.id}-{number}"
        taken.add(key)
        found.append(replace(each, id=key))
    return tuple(found)


def slug(name: str) -> str:
    """Return an id made from a name: its letters and digits, small, with dashes between."""
    return "-".join(re.findall(r"\w+", name.lower().replace("_", " "))) or "material"


def _is_pressed(like: str | None) -> bool:
    return like is not None and KNOWN_PROFILES[like].heat_transfer


def _word(name: str, key: str, raw: object) -> str:
    text = {True: "yes", False: "no"}[raw] if isinstance(raw, bool) else str(raw)
    if text not in _WORDS[key]:
        msg = phrase(
            "“{name}”: {key} is one of {join}; “{raw}” is not.",
            name=name,
            key=key,
            join=", ".join(_WORDS[key]),
            raw=text,
        )
        raise ValueError(msg)
    return text


def _number(name: str, key: str, raw: object) -> float:
    bounds = _LENGTHS[key]
    try:
        value = float(raw) if isinstance(raw, (int, float, str)) and not isinstance(raw, bool) else float("nan")
    except ValueError:
        value = float("nan")
    if not bounds.least <= value <= bounds.most:
        msg = phrase(
            "“{name}”: {key} is a number between {least} and {most}, not {raw}.",
            name=name,
            key=key,
            least=format_number(bounds.least),
            most=format_number(bounds.most),
            raw=raw,
        )
        raise ValueError(msg)
    return value
