"""Placed pictures as image objects: JPEG as it is, all else as pixels, what shows through as a soft mask."""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING

from pikepdf import Name, Stream
from PIL import Image, UnidentifiedImageError

from bladewise.errors import CannotWrite

if TYPE_CHECKING:
    from pikepdf import Pdf

    from bladewise.document import Picture


def image_object(pdf: Pdf, picture: Picture) -> Stream:
    """Return a picture as an image object (ISO 32000-1, 8.9.5; soft masks 11.6.5.3).

    Raises
    ------
    CannotWrite
        If its data are no picture.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a large picture is the operator's own
            with Image.open(io.BytesIO(picture.data)) as image:
                if image.format == "JPEG" and image.mode in ("L", "RGB"):
                    return _image(pdf, image, picture.data, coding=Name.DCTDecode)
                return _pixels(pdf, image)
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError):
        raise CannotWrite(
            "A placed picture could not be read.",
            where=picture.name or picture.id,
            hint="Place it again, or take it out.",
        ) from None


def _pixels(pdf: Pdf, image: Image.Image) -> Stream:
    grey = image.mode in ("1", "L", "LA")
    full = image.convert("LA" if grey else "RGBA")
    flat, alpha = full.convert("L" if grey else "RGB"), full.getchannel("A")
    made = _image(pdf, flat, flat.tobytes())
    if alpha.getextrema() != (255, 255):
        made.SMask = pdf.make_indirect(_image(pdf, alpha, alpha.tobytes()))
    return made


def _image(pdf: Pdf, image: Image.Image, data: bytes, *, coding: Name | None = None) -> Stream:
    made = Stream(
        pdf,
        data,
        Type=Name.XObject,
        Subtype=Name.Image,
        Width=image.width,
        Height=image.height,
        ColorSpace=Name.DeviceGray if image.mode == "L" else Name.DeviceRGB,
        BitsPerComponent=8,
    )
    if coding is not None:
        made.Filter = coding
    return made
