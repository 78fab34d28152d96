"""Other forms of a single letter: what a font's features make of it, each once, with the outline it would have.

A form is asked for as HarfBuzz writes features: "salt[3]=2" is the second alternate of the fourth letter.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.lettering.catalogue import substitutions
from bladewise.lettering.fonts import find_face
from bladewise.lettering.loaded import loaded
from bladewise.lettering.shaping import Line, shape_line

if TYPE_CHECKING:
    from bladewise.document import Lettering
    from bladewise.lettering.loaded import Loaded

MOST_FORMS = 24
"""More forms of one letter by one feature are not looked for."""

_ALWAYS = frozenset({
    "abvm", "blwm", "calt", "ccmp", "clig", "dist", "dlig", "fina", "init", "isol", "kern", "liga", "locl", "mark",
    "medi", "mkmk", "rclt", "rlig", "rvrn", "abvf", "abvs", "akhn", "blwf", "blws", "half", "haln", "nukt", "pref",
    "pres", "pstf", "psts", "rkrf", "rphf", "vatu", "cjct", "cfar", "ljmo", "vjmo", "tjmo", "stch", "numr", "dnom",
})  # fmt: skip
"""What shaping does by itself, and what needs more than one letter (OpenType 1.9, registered features)."""

_FOR_ONE = re.compile(r"[+-]?[A-Za-z0-9]{4}\[(\d+)\](?:=\d+)?")


class Form(NamedTuple):
    """A form of a letter: the feature that makes it, and its outline in ems, y downward."""

    feature: str
    outline: Path


def forms_of(lettering: Lettering, index: int) -> list[Form]:
    """Return the forms of a letter, that without any feature of its own first; empty where no font is to be had.

    Parameters
    ----------
    lettering
        Its font, its text and the features it is set with.
    index
        Which letter of the whole text.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or not 0 <= index < len(lettering.text) or lettering.text[index].isspace():
        return []
    font = loaded(face, lettering.weight, lettering.setting.axes)
    start = lettering.text.rfind("\n", 0, index) + 1
    end = lettering.text.find("\n", index)
    text = lettering.text[start : end if end >= 0 else None]
    kept = for_letter(lettering.setting.features, index, "")

    def made(features: tuple[str, ...]) -> tuple[tuple[int, ...], Path]:
        return _of_letter(font, shape_line(font, text, features, start), index - start)

    glyphs, outline = made(kept)
    seen = {glyphs}
    forms = [Form("", outline)]
    for tag in substitutions(face):
        if tag in _ALWAYS:
            continue
        for value in range(1, MOST_FORMS + 1):
            feature = tag if value == 1 else f"{tag}={value}"
            glyphs, outline = made((*kept, _on(feature, index)))
            if glyphs in seen:
                break
            seen.add(glyphs)
            forms.append(Form(feature, outline))
    return forms


def for_letter(features: tuple[str, ...], index: int, feature: str) -> tuple[str, ...]:
    """Return features with that of one letter replaced; an empty one takes it away."""
    kept = tuple(each for each in features if (match := _FOR_ONE.fullmatch(each)) is None or int(match[1]) != index)
    return (*kept, _on(feature, index)) if feature else kept


def of_letter(features: tuple[str, ...], index: int) -> str:
    """Return the feature that one letter has of its own, as `forms_of` names it; empty if none."""
    for each in features:
        match = _FOR_ONE.fullmatch(each)
        if match is not None and int(match[1]) == index:
            return each.replace(f"[{index}]", "").removesuffix("=1").removeprefix("+")
    return ""


def _on(feature: str, index: int) -> str:
    tag, sign, value = feature.partition("=")
    return f"{tag}[{index}]{sign}{value}"


def _of_letter(font: Loaded, line: Line, index: int) -> tuple[tuple[int, ...], Path]:
    """Return the glyphs that stand for a letter, and their outline from where the first of them begins."""
    clusters = line.clusters[line.clusters <= index]
    if not len(clusters):
        return (), EMPTY
    rows = np.flatnonzero(line.clusters == clusters.max())
    left = float(line.starts[rows].min())
    paths = [
        font.outline(int(line.glyphs[row])).transformed(
            Affine.moved(float(line.places[row, 0]) - left, float(line.places[row, 1]))
        )
        for row in rows.tolist()
    ]
    return tuple(line.glyphs[rows].tolist()), joined(paths)
