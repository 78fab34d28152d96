"""How tall letters ought to be for a distance, how thick their strokes are, and who says so.

The figures are those of a public standard, shown with their source; they bind nobody here. Local codes and
whoever answers for the sign decide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bladewise.geometry.regions import Region
from bladewise.geometry.widths import narrow_widths
from bladewise.lettering.fonts import find_face
from bladewise.lettering.loaded import loaded
from bladewise.lettering.setting import set_block
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from bladewise.document import Lettering

SOURCE = "2010 ADA Standards for Accessible Design, 703.5.5"
"""U.S. Department of Justice; heights of visual characters (first row as published, the others from memory)."""

_INCH = 25.4
_MORE = 0.125 * _INCH / (12.0 * _INCH)
"""An eighth of an inch for each foot beyond the distance of a row."""

_ROWS = (  # height above the floor up to, distance up to, least height, all in mm
    (70.0 * _INCH, 72.0 * _INCH, 0.625 * _INCH),
    (120.0 * _INCH, 180.0 * _INCH, 2.0 * _INCH),
    (float("inf"), 252.0 * _INCH, 3.0 * _INCH),
)

LEAST_STROKE_MM = 1.0
"""Strokes thinner than this lift with the waste (common practice, no source; it depends on vinyl and blade)."""


class Readability(NamedTuple):
    """What there is to say of lettering, in mm; `warnings` are sentences."""

    caps_mm: float
    needed_mm: float | None
    stroke_mm: float | None
    warnings: tuple[str, ...]


def least_height_mm(distance_mm: float, above_floor_mm: float = 1500.0) -> float:
    """Return how tall capitals are asked to be at a viewing distance.

    Parameters
    ----------
    distance_mm
        From the reader to the sign.
    above_floor_mm
        Height of the lettering's baseline above the floor.

    Notes
    -----
    Source: 2010 ADA Standards, table 703.5.5: 5/8 inch up to 72 inches away and 1/8 inch more for each foot
    beyond (lettering up to 70 inches above the floor); 2 inches up to 180 inches away (up to 120 inches
    above the floor); 3 inches up to 21 feet away (higher).
    """
    _, near, least = next(row for row in _ROWS if above_floor_mm <= row[0])
    return least + max(distance_mm - near, 0.0) * _MORE


def readability(
    lettering: Lettering,
    *,
    seen_from_mm: float | None = None,
    above_floor_mm: float = 1500.0,
    least_stroke_mm: float = LEAST_STROKE_MM,
) -> Readability:
    """Return how tall a lettering's capitals are, how thin its strokes, and what to say about both."""
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    caps = 0.0
    if face is not None:
        block = set_block(lettering)
        em = block.em_mm[1] if block is not None else lettering.size_mm
        measures = loaded(face, lettering.weight, lettering.setting.axes).measures
        caps = measures.caps * em * lettering.transform.height_scale
    warnings = []
    needed = None
    if seen_from_mm is not None:
        needed = least_height_mm(seen_from_mm, above_floor_mm)
        if caps < needed:
            warnings.append(
                phrase(
                    "Read from {distance} m, capitals of at least {needed} mm are asked for ({source}); these are "
                    "{caps} mm. Local codes decide.",
                    distance=format_number(seen_from_mm / 1000.0, 1),
                    needed=format_number(needed, 0),
                    source=SOURCE,
                    caps=format_number(caps, 1),
                )
            )
    stroke = None
    if lettering.outline:
        narrow = narrow_widths(Region(lettering.outline), least_stroke_mm)
        if narrow:
            stroke = min(each.width_mm for each in narrow)
            warnings.append(
                phrase(
                    "Its thinnest stroke is {stroke} mm; under {least} mm it lifts with the waste (common practice).",
                    stroke=format_number(stroke, 2),
                    least=format_number(least_stroke_mm, 2),
                )
            )
    return Readability(caps, needed, stroke, tuple(warnings))
