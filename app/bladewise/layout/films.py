"""What a print is on: white, clear or dark film, and how ink looks on it where there is no white beneath.

Printing ink is a glaze: it takes light away and gives none. On film that is not white it shows as the product of its
own colour and of what lies behind, channel by channel; where white lies beneath it shows as it is. So art on such film
is painted twice: all of it as it looks on the bare film, and over that what lies on white as it is. Films and their
colours on a screen are ours (no source).
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from bladewise.document import Colour, Gradient, Group, Layer, MaterialKind, Picture
from bladewise.layout.clipping import clipped
from bladewise.operations.coats import pixels_of
from bladewise.operations.painted import painted_area

if TYPE_CHECKING:
    from bladewise.document import Element, Job, Paint

_WHITE = Colour(0xFF, 0xFF, 0xFF)


class Film(StrEnum):
    """Film to print on."""

    WHITE = "white"
    CLEAR = "clear"
    DARK = "dark"


@dataclass(frozen=True)
class Ground:
    """What is seen where no ink is: the film itself, its liner, and whatever lies around a piece."""

    film: Colour = _WHITE
    liner: Colour = Colour(0xE6, 0xDF, 0xCE)
    around: Colour = _WHITE
    rim: Colour = Colour(0xA0, 0x98, 0x88)


PLAIN = Ground()
GROUNDS = {
    Film.WHITE: PLAIN,
    Film.CLEAR: Ground(film=Colour(0xDD, 0xD7, 0xC8)),  # the liner seen through it
    Film.DARK: Ground(film=Colour(0x26, 0x28, 0x2B)),
}


def on_film(ink: Job, film: Colour) -> Job:
    """Return printed art as it looks on film of a colour; on white film it is the art itself.

    Parameters
    ----------
    ink
        A job that holds nothing but what is printed and seen, white ink with its material.
    film
        The colour of the film, or of what shines through it.
    """
    if film == _WHITE:
        return ink
    white = [each.leaf for each in ink.walk() if ink.material_of(each).kind is MaterialKind.WHITE]
    art = ink.without({leaf.id for leaf in white})
    bare = tuple(
        Layer(f"{layer.id}-on-film", layer.name, tuple(_glazed(child, film) for child in layer.children))
        for layer in art.layers
    )
    area = painted_area(white)
    if not area:
        return replace(ink, layers=bare)
    over = tuple(replace(layer, children=clipped(layer.children, area)) for layer in art.layers)
    beneath = Layer(ink.fresh_id("white-on-film"), "White", tuple(white))
    return replace(ink, layers=(*bare, beneath, *(layer for layer in over if layer.children)))


def glazed(colour: Colour, film: Colour) -> Colour:
    """Return how ink of a colour looks on film of another.

    Examples
    --------
    >>> glazed(Colour(255, 128, 0), Colour(51, 51, 51))
    Colour(red=51, green=26, blue=0)
    """
    return Colour(*(round(one * other / 255.0) for one, other in zip(colour, film, strict=True)))


def _glazed(element: Element, film: Colour) -> Element:
    fresh = f"{element.id}-on-film"
    if isinstance(element, Group):
        return replace(element, id=fresh, children=tuple(_glazed(child, film) for child in element.children))
    if isinstance(element, Picture):
        return replace(_picture(element, film), id=fresh)
    style = element.style
    stroke = style.stroke and replace(style.stroke, paint=_paint(style.stroke.paint, film))
    fill = None if style.fill is None else _paint(style.fill, film)
    return replace(element, id=fresh, style=replace(style, fill=fill, stroke=stroke))


def _paint(paint: Paint, film: Colour) -> Paint:
    if isinstance(paint, Gradient):
        stops = tuple(stop._replace(colour=glazed(stop.colour, film)) for stop in paint.stops)
        return replace(paint, stops=stops)
    return glazed(paint, film)


def _picture(picture: Picture, film: Colour) -> Picture:
    pixels = pixels_of(picture.data)
    if pixels is None:
        return picture
    made = pixels.copy()
    made[..., :3] = np.rint(made[..., :3] * (np.array(film) / 255.0))
    stream = io.BytesIO()
    Image.fromarray(made).save(stream, "PNG", compress_level=1)
    return replace(picture, data=stream.getvalue(), media_type="image/png")
