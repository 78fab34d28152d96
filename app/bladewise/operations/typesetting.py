"""How live lettering is set: font, height, spaces, width, slant, alternates. What is left out stays as it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from bladewise.document import Align, Fit, Height, Job, Lettering
from bladewise.errors import CannotApply
from bladewise.lettering import find_face
from bladewise.lettering.catalogue import substitutions
from bladewise.lettering.readability import readability
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    integer,
    length,
    number,
    switch,
    wording,
)
from bladewise.operations.own_font import notices, set_anew
from bladewise.operations.selection import Selection
from bladewise.phrases import listing, phrase
from bladewise.units import format_number

_SMALL_CAPS = "smcp"
"""The feature "Small Capitals" (OpenType 1.9, registered features)."""


@dataclass(frozen=True, kw_only=True)
class SetFont:
    """Another font."""

    on: Selection = acts_on()
    family: str = wording("", help="Font family")
    weight: int = integer(400, minimum=1, maximum=1000, help="Weight, 400 regular, 700 bold")
    italic: bool = switch(default=False, help="Italic")
    axes: str = wording("", help="Places on a variable font's axes: wdth=87.5 wght=650")


@dataclass(frozen=True, kw_only=True)
class SetLetterHeight:
    """As tall as ordered."""

    on: Selection = acts_on()
    size_mm: float = length(50.0, minimum=0.1, maximum=1e5, help="How tall")
    of: Height = choice(Height.CAPS, help="What is that tall: capitals, small x, all of it, or the font's em")
    seen_from_mm: float | None = length(
        None, minimum=1.0, maximum=1e7, help="Read from how far, to be told if too small"
    )


@dataclass(frozen=True, kw_only=True)
class SetSpacing:
    """Space between letters, words and lines."""

    on: Selection = acts_on()
    letters_mm: float | None = length(None, minimum=-1e4, maximum=1e4, help="Extra space between letters")
    words_mm: float | None = length(None, minimum=-1e4, maximum=1e4, help="Extra space between words")
    lines: float | None = number(None, minimum=0.1, maximum=10.0, help="From line to line, in ems")
    align: Align | None = choice(None, kind=Align, help="On which side of its point it stands")


@dataclass(frozen=True, kw_only=True)
class FitWidth:
    """As wide as there is room."""

    on: Selection = acts_on()
    width_mm: float | None = length(None, minimum=0.1, maximum=1e6, help="The width; left out: as wide as it comes")
    by: Fit = choice(Fit.SHRINK, help="Shrink what is wider, stretch it sideways, or space its letters")


@dataclass(frozen=True, kw_only=True)
class Slant:
    """Lean to the right."""

    on: Selection = acts_on()
    angle_deg: float = angle(12.0, minimum=-60.0, maximum=60.0, help="How far uprights lean to the right")


@dataclass(frozen=True, kw_only=True)
class ChooseAlternates:
    """Other forms of letters."""

    on: Selection = acts_on()
    features: str = wording("", help="OpenType features: smcp ss02 salt[3]=2 (the fourth letter alone) -liga")
    small_caps: bool = switch(default=False, help="Small letters as small capitals, where the font has them")


def set_font(job: Job, record: SetFont, progress: Progress) -> Result:
    """Set in another font."""
    axes = _axes(record.axes)

    def change(each: Lettering) -> Lettering:
        family = record.family or each.family
        setting = replace(each.setting, axes=axes)
        return replace(each, family=family, weight=record.weight, italic=record.italic, setting=setting)

    return _changed(job, record.on, progress, change)


def set_letter_height(job: Job, record: SetLetterHeight, progress: Progress) -> Result:
    """Make letters as tall as ordered; how the lettering was scaled before plays no part."""

    def change(each: Lettering) -> Lettering:
        scale = each.transform.height_scale or 1.0
        setting = replace(each.setting, height=record.of)
        return replace(each, size_mm=record.size_mm / scale, setting=setting)

    result = _changed(job, record.on, progress, change)
    made = [placed.leaf for placed in result.job.walk() if placed.leaf.id in result.made]
    told: dict[str, None] = {}
    for each in made:
        if isinstance(each, Lettering):
            told.update(dict.fromkeys(readability(each, seen_from_mm=record.seen_from_mm).warnings))
    return replace(result, reports=(*result.reports, *told))


def set_spacing(job: Job, record: SetSpacing, progress: Progress) -> Result:
    """Set the space between letters, words and lines."""

    def change(each: Lettering) -> Lettering:
        setting = each.setting
        if record.words_mm is not None:
            setting = replace(setting, word_spacing_mm=record.words_mm)
        if record.lines is not None:
            setting = replace(setting, line_spacing=record.lines)
        letters = each.letter_spacing_mm if record.letters_mm is None else record.letters_mm
        return replace(each, letter_spacing_mm=letters, align=record.align or each.align, setting=setting)

    return _changed(job, record.on, progress, change)


def fit_width(job: Job, record: FitWidth, progress: Progress) -> Result:
    """Keep lettering to a width."""

    def change(each: Lettering) -> Lettering:
        scale = each.transform.along_scale or 1.0
        width = None if record.width_mm is None else record.width_mm / scale
        return replace(each, setting=replace(each.setting, width_mm=width, fit=record.by))

    return _changed(job, record.on, progress, change)


def slant(job: Job, record: Slant, progress: Progress) -> Result:
    """Let letters lean."""
    return _changed(
        job,
        record.on,
        progress,
        lambda each: replace(each, setting=replace(each.setting, slant_deg=record.angle_deg)),
    )


def choose_alternates(job: Job, record: ChooseAlternates, progress: Progress) -> Result:
    """Choose other forms of letters."""
    features = tuple(record.features.split())
    without: dict[str, None] = {}

    def change(each: Lettering) -> Lettering:
        mine = features
        if record.small_caps and _SMALL_CAPS not in features:
            face = find_face(each.family, each.weight, italic=each.italic)
            if face is not None and _SMALL_CAPS in substitutions(face):
                mine = (*features, _SMALL_CAPS)
            else:
                without[each.family] = None
        return replace(each, setting=replace(each.setting, features=mine))

    result = _changed(job, record.on, progress, change)
    told = (phrase("The font “{family}” has no small capitals.", family=family) for family in without)
    return replace(result, reports=(*result.reports, *told))


def _axes(text: str) -> tuple[tuple[str, float], ...]:
    found = []
    for word in text.replace(",", " ").split():
        tag, sign, place = word.partition("=")
        try:
            found.append((tag, float(place)))
        except ValueError:
            sign = ""
        if not sign or len(tag) != 4:
            msg = phrase("“{word}” is no place on an axis.", word=word)
            raise CannotApply(msg, hint="Write it like this: wght=650 wdth=87.5.")
    return tuple(found)


def _changed(job: Job, on: Selection, progress: Progress, change: Any) -> Result:
    live = [placed.leaf for placed in on.leaves(job) if isinstance(placed.leaf, Lettering)]
    if not live:
        msg = "There is no live lettering here."
        raise CannotApply(msg, where=on.describe(job), hint="Select lettering that is still live.")
    new = {}
    reports: dict[str, None] = {}
    for count, each in enumerate(live):
        made = set_anew(change(each))
        reports.update(dict.fromkeys(notices(made)))
        new[each.id] = (made,)
        progress((count + 1) / len(live))
    return Result(job.replaced(new), tuple(reports), tuple(new))


def _of_spacing(record: SetSpacing) -> str:
    parts = []
    if record.letters_mm is not None:
        parts.append(phrase("letters {space} mm", space=format_number(record.letters_mm)))
    if record.words_mm is not None:
        parts.append(phrase("words {space} mm", space=format_number(record.words_mm)))
    if record.lines is not None:
        parts.append(phrase("lines {space} em", space=format_number(record.lines)))
    if record.align is not None:
        parts.append(phrase("aligned at the {side}", side=record.align))
    return phrase("Spacing: {parts}", parts=listing(parts) if parts else phrase("as it was"))


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "set-font",
        "Font",
        "Set live lettering in another font.",
        SetFont,
        set_font,
        lambda r: phrase("Font {family} {weight}", family=r.family, weight=r.weight),
    ),
    Operation(
        "letter-height",
        "Letter height",
        "Make letters as tall as ordered: by capitals, by the small x, or all of it.",
        SetLetterHeight,
        set_letter_height,
        lambda r: phrase("Letter height {size} mm ({of})", size=format_number(r.size_mm), of=r.of),
    ),
    Operation(
        "letter-spacing",
        "Spacing",
        "Set the space between letters, words and lines.",
        SetSpacing,
        set_spacing,
        _of_spacing,
    ),
    Operation(
        "fit-width",
        "Fit to a width",
        "Keep lettering to a width, also when it is retyped.",
        FitWidth,
        fit_width,
        lambda r: (
            phrase("Fit to {width} mm", width=format_number(r.width_mm))
            if r.width_mm is not None
            else phrase("As wide as it comes")
        ),
    ),
    Operation(
        "slant",
        "Slant",
        "Let letters lean to the right.",
        Slant,
        slant,
        lambda r: phrase("Slant {angle}°", angle=format_number(r.angle_deg)),
    ),
    Operation(
        "alternates",
        "Alternates",
        "Choose other forms of letters, for all or for one.",
        ChooseAlternates,
        choose_alternates,
        lambda r: phrase("Alternates {features}", features=r.features) if r.features else phrase("No alternates"),
    ),
)
"""Every step that changes how lettering is set."""
