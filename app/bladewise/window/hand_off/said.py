"""What the hand-off says in words: what a destination asks for, what a file holds, what to think of before cutting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLocale

from bladewise.document import CutKind, MaterialKind
from bladewise.layout.figures import travel_text
from bladewise.units import format_length
from bladewise.window.hand_off.settings import format_words, settings, tr
from bladewise.window.kinds import cut_words, kind_word

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from bladewise.document import Job
    from bladewise.formats import Destination
    from bladewise.window.hand_off.looks import Look

SEPARATOR = " · "
MOST_FACTS = 5
LEAST_SAID_MM = 0.0001
"""Nearer than this is as good as exact."""


def summary(destination: Destination) -> str:
    """Return what a destination asks for, in a few words."""
    words = {each.key: each.words for each in settings()}
    parts = [format_words()[destination.format][0]]
    parts.append(tr("a file for each material") if destination.per_colour else tr("everything in one file"))
    if destination.mirrored == "yes":
        parts.append(tr("mirrored"))
    elif destination.mirrored == "heat-transfer":
        parts.append(tr("mirrored for heat transfer"))
    if destination.marks:
        parts.append(tr("marks: {kind}").format(kind=words["marks"][destination.marks]))
    if destination.format == "hpgl":
        parts.append(tr("origin: {place}").format(place=words["origin"][destination.origin]))
        if destination.rotation_deg:
            parts.append(tr("turned {angle}").format(angle=words["rotation_deg"][destination.rotation_deg]))
    if destination.format == "dxf" and destination.units != "mm":
        parts.append(tr("in inches"))
    return SEPARATOR.join(parts)


def figures(look: Look, unit: str) -> str:
    """Return what a file holds: pieces, knife travel, size."""
    parts = []
    if look.pieces or look.cut_count:
        parts.append(tr("1 piece") if look.pieces == 1 else tr("{n} pieces").format(n=look.pieces))
        parts.append(travel_text(look.travel_mm, unit))
    elif look.painted is not None:
        parts.append(tr("print"))
    parts.append(size_text(len(look.file.data)))
    return SEPARATOR.join(parts)


def facts(look: Look, unit: str) -> list[str]:
    """Return what else is to be said of a file, a line each: what it is made of, its sheet, how true it is."""
    lines = []
    for row in look.rows:
        words = row.name if row.is_marks else named(row.name, cut_words()[row.cut])
        lines.append(words if row.pen is None else tr("{what}, pen {pen}").format(what=words, pen=row.pen))
    if look.painted is not None:
        printed = [each for each in look.painted.materials_in_use() if each.kind.is_printed]
        lines += [named(material.name, kind_word(material)) for material in printed]
    size = " × ".join(format_length(each, unit=unit) for each in (look.file.job.width_mm, look.file.job.height_mm))
    lines = [*dict.fromkeys(lines)][:MOST_FACTS]
    lines.append(tr("sheet {size}").format(size=size))
    if look.held_mm is not None:
        held = format_length(max(look.held_mm, LEAST_SAID_MM), unit=unit, decimals=4)
        lines.append(tr("read back, true within {length}").format(length=held))
    return lines


def named(name: str, kind: str) -> str:
    """Return a material's name and what happens to it, where the name does not say so already."""
    return name if kind.casefold() in name.casefold() else tr("{name}, {kind}").format(name=name, kind=kind)


def totals(looks: Sequence[Look], unit: str) -> str:
    """Return what the files of a destination come to."""
    count = len(looks)
    parts = [tr("1 file") if count == 1 else tr("{n} files").format(n=count)]
    travel = sum(look.travel_mm for look in looks)
    if travel:
        parts.append(tr("knife travel {travel}").format(travel=travel_text(travel, unit)))
    return SEPARATOR.join(parts)


def size_text(count: int) -> str:
    """Return the size of a file for reading."""
    return QLocale().formattedDataSize(count, 1, QLocale.DataSizeFormat.DataSizeTraditionalFormat)


def reached(look: Look, count: int) -> str:
    """Return how far the knife has come."""
    return tr("{count} of {all} outlines").format(count=count, all=len(look.outlines))


def cautions(job: Job, left_out: Collection[str], destinations: Iterable[Destination]) -> list[str]:
    """Return what to think of before blade and press come down (common practice, no source)."""
    cut = [
        material
        for material in job.materials_in_use()
        if material.kind is MaterialKind.CUT and material.id not in left_out
    ]
    if not cut:
        return []
    said = [tr("Blade: a test cut in a corner first, for depth and force.")]
    through = [material for material in cut if material.cut in (CutKind.THROUGH, CutKind.PERFORATION)]
    if through:
        said.append(
            tr("“{name}” is cut through: lay something under it that the blade may cut into.").format(
                name=through[0].name
            )
        )
    pressed = [material for material in cut if material.profile.heat_transfer]
    for each in destinations:
        if pressed and each.mirrored == "no":
            said.append(
                tr("Heat press: “{material}” goes on from the back, and “{name}” does not mirror it.").format(
                    material=pressed[0].name, name=each.name
                )
            )
        elif each.mirrored == "yes" and not pressed:
            said.append(
                tr("“{name}” mirrors everything, and nothing here is pressed on from the back.").format(name=each.name)
            )
        elif pressed and each.mirrored == "heat-transfer":
            said.append(tr("Heat press: “{name}” is mirrored; it goes on face down.").format(name=pressed[0].name))
    return list(dict.fromkeys(said))
