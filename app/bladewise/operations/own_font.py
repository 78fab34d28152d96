"""Lettering whose font is not here keeps the outlines it was saved with: no step sets it anew in another font."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.errors import CannotApply
from bladewise.lettering import find_face
from bladewise.phrases import phrase

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
