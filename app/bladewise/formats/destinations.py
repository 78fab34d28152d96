"""Destinations: what a machine in the shop wants, kept under a name of the operator's.

A destination is TOML 1.0. Nothing but `format` must be said; there are none for real machines::

    name = "Front table"
    format = "hpgl"              # svg, dxf, hpgl, pdf or png
    per_colour = true            # one file a material; else one file with all
    mirrored = "heat-transfer"   # true, false, or only materials that are pressed on from the back
    marks = "cross"              # registration marks: cross, square, round or corner
    marks_size_mm = 6.0
    marks_inset_mm = 5.0
    perforation = "dashes"       # not png: the cuts themselves, or "line": the machine makes them

    units = "mm"                 # dxf: mm or in
    version = "R2010"            # dxf
    tolerance_mm = 0.01          # dxf: curves become lines; hpgl: how near chords stay

    curves = "chords"            # hpgl: chords or beziers
    origin = "lower-left"        # hpgl: lower-left, centre or art
    rotation_deg = 0             # hpgl: 0, 90, 180 or 270, anticlockwise
    unit_mm = 0.025              # hpgl: 0.025, or 0.01 or 0.005 by the language's own scale
    takes_negative = false       # hpgl
    pen = 1                      # hpgl: of every material not named below
    force = 4                    # hpgl: as the device takes them; left out: not written
    speed = 20

    cut_name = "Cut line"        # pdf: the spot colour of the cut line, as the print shop or the cutter wants it
    cut_kind = "kiss"            # pdf: kiss, through, perforation or crease; left out: what the material says

    dpi = 150                    # png
    transparent = false          # png: nothing behind the art, not even white
    scale_bar = true             # png: a bar of a round length under the sheet, to be measured

    [spots]                      # pdf: by the material's name, in place of what it says itself: through, kiss,
    "White ink" = "white"        # perforation, crease, bleed, white or varnish

    [pens]                       # hpgl: by the material's name, else by how it is cut
    "Gold" = 2
    perforation = 3

The operator's own lie in one folder (`kept.destinations_folder`), which window and command line share.
"""

from __future__ import annotations

import math
from dataclasses import MISSING, dataclass, fields
from typing import TYPE_CHECKING, Any

from bladewise.document import CutKind
from bladewise.errors import CannotRead
from bladewise.formats.cut_lines import PERFORATIONS
from bladewise.formats.dxf import DXF_UNITS, DXF_VERSIONS
from bladewise.formats.marks import MARK_KINDS, RegistrationMarks
from bladewise.formats.pdf.spots import CUT_KINDS, CUT_NAME
from bladewise.formats.plotter import CURVES, MOST_PENS, ORIGINS, ROTATIONS, UNITS_A_MM
from bladewise.formats.plotter_reader import PLOTTER_UNIT_MM
from bladewise.formats.toml_words import as_toml, line_of, nearest, read_table
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path as FilePath

FORMATS = ("svg", "dxf", "hpgl", "pdf", "png")
MIRRORED = ("no", "yes", "heat-transfer")
"""Never, always, or only what is made of materials that are pressed on from the back."""
_HINT = "See the README for what a destination looks like."


@dataclass(frozen=True, slots=True)
class Destination:
    """What a machine wants, under a name; see the head of this module. `tolerance_mm` None: the format's own."""

    format: str
    name: str = ""
    per_colour: bool = False
    mirrored: str = "no"
    marks: str = ""
    marks_size_mm: float = 6.0
    marks_inset_mm: float = 5.0
    units: str = "mm"
    version: str = "R2010"
    tolerance_mm: float | None = None
    curves: str = "chords"
    origin: str = "lower-left"
    rotation_deg: int = 0
    unit_mm: float = PLOTTER_UNIT_MM
    takes_negative: bool = False
    pen: int = 1
    force: int | None = None
    speed: float | None = None
    cut_name: str = CUT_NAME
    cut_kind: str = ""
    perforation: str = "dashes"
    dpi: float = 150.0
    transparent: bool = False
    scale_bar: bool = False
    spots: tuple[tuple[str, str], ...] = ()
    pens: tuple[tuple[str, int], ...] = ()

    @property
    def registration_marks(self) -> RegistrationMarks | None:
        """The marks in every file; None for none."""
        if not self.marks:
            return None
        return RegistrationMarks(self.marks, size_mm=self.marks_size_mm, inset_mm=self.marks_inset_mm)


_ONLY = {
    **dict.fromkeys(("units", "version"), ("dxf",)),
    "tolerance_mm": ("dxf", "hpgl"),
    **dict.fromkeys(
        ("curves", "origin", "rotation_deg", "unit_mm", "takes_negative", "pen", "force", "speed", "pens"), ("hpgl",)
    ),
    **dict.fromkeys(("cut_name", "cut_kind", "spots"), ("pdf",)),
    **dict.fromkeys(("dpi", "transparent", "scale_bar"), ("png",)),
    "perforation": ("svg", "dxf", "hpgl", "pdf"),
}
"""Settings that mean something to some formats alone: elsewhere they would be promises nobody keeps."""

_CHOICES: dict[str, tuple[Any, ...]] = {
    "format": FORMATS,
    "mirrored": MIRRORED,
    "marks": ("", *MARK_KINDS),
    "units": tuple(DXF_UNITS),
    "version": DXF_VERSIONS,
    "cut_kind": ("", *(cut.value for cut in CutKind)),
    "perforation": PERFORATIONS,
    "curves": CURVES,
    "origin": ORIGINS,
    "rotation_deg": ROTATIONS,
    "unit_mm": tuple(UNITS_A_MM),
}
_NUMBERS: dict[str, tuple[float, float]] = {
    "marks_size_mm": (0.5, 200.0),
    "marks_inset_mm": (0.0, 1000.0),
    "tolerance_mm": (0.001, 1.0),
    "pen": (1, MOST_PENS),
    "force": (1, 1000),
    "speed": (0.1, 1000.0),
    "dpi": (1.0, 2400.0),
}
"""Between which numbers each makes sense (common practice, no source)."""
_WHOLE = ("pen", "force")
_SWITCHES = ("per_colour", "takes_negative", "transparent", "scale_bar")


def read_destination(path: FilePath) -> Destination:
    """Read a destination.

    Raises
    ------
    CannotRead
        With file, line, and the nearest right word.
    """
    table, text = read_table(path, _HINT)
    known = [field.name for field in fields(Destination)]
    for key in table:
        if key not in known:
            raise CannotRead(
                phrase("A destination has no “{key}”. {nearest}", key=key, nearest=nearest(key, known)),
                where=line_of(path, text, key),
            )
    if "format" not in table:
        what = phrase("The destination names no format.")
        raise CannotRead(what, where=path.name, hint=phrase('Write format = "{name}", for example.', name=FORMATS[1]))
    values: dict[str, Any] = {}
    for key, value in table.items():
        try:
            values[key] = _value(key, value)
        except _WrongError as wrong:
            raise CannotRead(wrong.args[0], where=line_of(path, text, wrong.args[1])) from None
        if key in _ONLY and table["format"] in FORMATS and table["format"] not in _ONLY[key]:
            raise CannotRead(
                phrase(
                    "“{key}” says nothing to {format}; it belongs to {others}.",
                    key=key,
                    format=table["format"],
                    others=", ".join(_ONLY[key]),
                ),
                where=line_of(path, text, key),
                hint="Take it out, or choose another format.",
            )
    return Destination(**{"name": path.stem, **values})


def destination_text(destination: Destination) -> str:
    """Return a destination as TOML; what is at its default is left out."""
    lines = []
    for field in fields(Destination):
        value = getattr(destination, field.name)
        if field.name in ("pens", "spots") or (field.default is not MISSING and value == field.default):
            continue
        lines.append(f"{field.name} = {as_toml(value)}")
    if destination.spots:
        lines += ["", "[spots]", *(f"{as_toml(name)} = {as_toml(kind)}" for name, kind in destination.spots)]
    if destination.pens:
        lines += ["", "[pens]", *(f"{as_toml(name)} = {pen}" for name, pen in destination.pens)]
    return "\n".join(lines) + "\n"


def says_something(key: str, kind: str) -> bool:
    """Whether a setting of a destination means anything to a format."""
    return key not in _ONLY or kind in _ONLY[key]


def choices_of(key: str) -> tuple[Any, ...]:
    """Return what a setting can be where it is one of a few; empty where it is a text, a number or a switch."""
    return _CHOICES.get(key, ())


def checked(key: str, value: object, *, called: str = "") -> Any:
    """Return the value of a setting as a destination keeps it.

    Parameters
    ----------
    key
        The setting's name.
    value
        What was read or typed.
    called
        What the operator calls it, for what is said of a wrong one; the name where left out.

    Raises
    ------
    ValueError
        With a sentence for the operator.
    """
    try:
        return _value(key, value, called or key)
    except _WrongError as wrong:
        raise ValueError(wrong.args[0]) from None


class _WrongError(Exception):
    """What is wrong, and the key it stands under."""


def _value(key: str, value: object, called: str = "") -> Any:
    called = called or key
    if key == "pens":
        return _pens(value)
    if key == "spots":
        return _spots(value)
    if key == "mirrored" and isinstance(value, bool):
        return "yes" if value else "no"
    if key in _CHOICES:
        return _choice(key, value, called)
    if key in _SWITCHES:
        return _of_kind(key, value, phrase("true or false"), lambda: isinstance(value, bool), called)
    if key in _NUMBERS:
        return _number(key, value, called)
    return _of_kind(key, value, phrase("a text"), lambda: isinstance(value, str), called)


def _of_kind(key: str, value: Any, kind: str, is_right: Callable[[], bool], called: str) -> Any:
    if not is_right():
        raise _WrongError(phrase("“{key}” takes {kind}.", key=called, kind=kind), key)
    return value


def _choice(key: str, value: object, called: str) -> Any:
    choices = _CHOICES[key]
    for choice in choices:
        if value == choice and isinstance(value, (int, float)) == isinstance(choice, (int, float)):
            return choice
    shown = [str(each) for each in choices if each != ""]
    raise _WrongError(
        phrase(
            "“{key}” is one of {join}. {nearest}", key=called, join=", ".join(shown), nearest=nearest(str(value), shown)
        ),
        key,
    )


def _number(key: str, value: object, called: str) -> Any:
    least, most = _NUMBERS[key]
    kind = phrase("a number from {least:g} to {most:g}", least=least, most=most)
    if key in _WHOLE:
        kind = phrase("a whole number from {least:g} to {most:g}", least=least, most=most)
    is_number = isinstance(value, int if key in _WHOLE else (int, float)) and not isinstance(value, bool)
    is_right = is_number and math.isfinite(value) and least <= value <= most  # type: ignore[arg-type, operator]
    return _of_kind(key, value, kind, lambda: is_right, called)


def _pens(value: object) -> tuple[tuple[str, int], ...]:
    if not isinstance(value, dict):
        raise _WrongError(phrase("“pens” is a table: [pens]."), "pens")
    for name, pen in value.items():
        if isinstance(pen, bool) or not isinstance(pen, int) or not 1 <= pen <= MOST_PENS:
            raise _WrongError(
                phrase("The pen of “{name}” is a number from 1 to {most}.", name=name, most=MOST_PENS), name
            )
    return tuple(value.items())


def _spots(value: object) -> tuple[tuple[str, str], ...]:
    if not isinstance(value, dict):
        raise _WrongError(phrase("“spots” is a table: [spots]."), "spots")
    for name, kind in value.items():
        if kind not in CUT_KINDS:
            raise _WrongError(
                phrase(
                    "“{name}” is one of {join}. {nearest}",
                    name=name,
                    join=", ".join(CUT_KINDS),
                    nearest=nearest(str(kind), list(CUT_KINDS)),
                ),
                name,
            )
    return tuple(value.items())
