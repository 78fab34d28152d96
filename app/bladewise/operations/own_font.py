"""Lettering whose font is not here keeps the outlines it was saved with: no step sets it anew in another font.

Only new lettering may be set in a font that stands in, and that is told.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.errors import CannotApply
from bladewise.lettering import find_face, set_outline
from bladewise.lettering.setting import missing_letters
from bladewise.phrases import listing, phrase

if TYPE_CHECKING:
    from bladewise.document import Lettering


def with_its_font(lettering: Lettering) -> Lettering:
    """Return lettering whose font is here; without it nothing is set anew behind anybody's back.

    Raises
    ------
    CannotApply
        If another font would have to stand in.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or face.substitute:
        what = phrase("The font “{family}” is not on this computer.", family=lettering.family)
        hint = "The lettering keeps the outlines it was saved with. Install the font, or choose another one first."
        raise CannotApply(what, where=lettering.name or lettering.text, hint=hint)
    return lettering


def set_anew(lettering: Lettering) -> Lettering:
    """Return lettering with its outlines set anew in its own font.

    Raises
    ------
    CannotApply
        If another font would have to stand in, or the letters do not fit the bend they have.
    """
    try:
        return set_outline(with_its_font(lettering))
    except CannotApply as error:
        raise CannotApply(error.what, where=error.where or lettering.name or lettering.text, hint=error.hint) from error


def as_saved(lettering: Lettering) -> tuple[str, ...]:
    """Return what there is to say where lettering whose font is missing comes out in one piece, as it was saved."""
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is not None and not face.substitute:
        return ()
    return (
        phrase(
            "The font “{family}” is not on this computer: “{name}” became one shape, as it was saved.",
            family=lettering.family,
            name=lettering.name or lettering.text,
        ),
    )


def notices(lettering: Lettering) -> tuple[str, ...]:
    """Return what there is to say of the font that lettering is set in: one that stands in, letters it lacks."""
    told = []
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is not None and face.substitute:
        told.append(
            phrase(
                "The font “{family}” is not on this computer; “{other}” stands in.",
                family=lettering.family,
                other=face.family,
            )
        )
    if lacking := missing_letters(lettering):
        told.append(phrase("The font has no {letters}.", letters=listing(f"“{each}”" for each in lacking)))
    return tuple(told)
