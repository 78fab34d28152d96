"""Pictures placed in a drawing: kept when they travel inside the file, never fetched from elsewhere."""

from __future__ import annotations

import base64
import binascii
import re
import struct
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import unquote_to_bytes

from bladewise.formats.svg.values import Frame, length
from bladewise.formats.svg.viewport import fitted
from bladewise.geometry.affine import Affine

if TYPE_CHECKING:
    from collections.abc import Mapping

_DATA = re.compile(r"data:\s*([\w.+/-]*)((?:;[^,;]*)*),", re.IGNORECASE)
READ = frozenset({"image/png", "image/jpeg", "image/gif", "image/webp", "image/bmp"})


class PictureData(NamedTuple):
    """A picture's bytes, its kind, and its size in pixels where the bytes tell it."""

    data: bytes
    media_type: str
    pixels: tuple[int, int] | None


def picture_data(href: str) -> PictureData | None:
    """Return what a data URI holds, or None if it is none or its kind is not read (RFC 2397)."""
    match = _DATA.match(href)
    if match is None:
        return None
    body = href[match.end() :]
    try:
        if ";base64" in match.group(2).lower().replace(" ", ""):
            text = re.sub(r"\s+", "", unquote_to_bytes(body).decode("ascii"))
            data = base64.b64decode(text + "=" * (-len(text) % 4), validate=True)
        else:
            data = unquote_to_bytes(body)
    except (binascii.Error, UnicodeError, ValueError):
        return None
    kind = _kind(data) or match.group(1).lower()
    kind = "image/jpeg" if kind == "image/jpg" else kind
    return PictureData(data, kind, _pixels(data, kind)) if kind in READ and data else None


def picture_place(values: Mapping[str, str], rule: str, pixels: tuple[int, int] | None, frame: Frame) -> Affine | None:
    """Return the map from the unit square to where a picture lies in user units; None if it has no extent.

    A size not given is that of the picture in pixels, or follows in proportion (SVG 2, "Sizing embedded
    content"); the picture is fitted into its frame as preserveAspectRatio says.
    """
    x, y = length(values.get("x"), frame.width, frame) or 0.0, length(values.get("y"), frame.height, frame) or 0.0
    width = length(values.get("width"), frame.width, frame)
    height = length(values.get("height"), frame.height, frame)
    if width is None and height is None:
        width, height = pixels or (0, 0)
    elif width is None and height is not None:
        width = height * pixels[0] / pixels[1] if pixels else height
    elif height is None and width is not None:
        height = width * pixels[1] / pixels[0] if pixels else width
    if not width or not height or width < 0.0 or height < 0.0:
        return None
    if rule.split()[:1] == ["none"] or pixels is None:
        return Affine(width, 0.0, 0.0, height, x, y)
    across, down = map(float, pixels)
    inner = fitted((0.0, 0.0, across, down), width, height, rule)
    return Affine.moved(x, y).after(inner).after(Affine.scaled(across, down))


def data_uri(data: bytes, media_type: str) -> str:
    """Return bytes as a data URI."""
    return f"data:{media_type};base64,{base64.b64encode(data).decode('ascii')}"


def _kind(data: bytes) -> str | None:
    """Return the kind the first bytes tell, which is more trustworthy than what the link says."""
    signatures = (
        (b"\x89PNG\r\n\x1a\n", "image/png"),
        (b"\xff\xd8\xff", "image/jpeg"),
        (b"GIF8", "image/gif"),
        (b"BM", "image/bmp"),
    )
    for start, kind in signatures:
        if data.startswith(start):
            return kind
    return "image/webp" if data[:4] == b"RIFF" and data[8:12] == b"WEBP" else None


def _pixels(data: bytes, kind: str) -> tuple[int, int] | None:
    """Return the size in pixels from the header of PNG, GIF or JPEG data."""
    try:
        if kind == "image/png":
            width, height = struct.unpack(">II", data[16:24])
        elif kind == "image/gif":
            width, height = struct.unpack("<HH", data[6:10])
        elif kind == "image/jpeg":
            place = 2
            while data[place] == 0xFF:
                marker, size = data[place + 1], struct.unpack(">H", data[place + 2 : place + 4])[0]
                if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
                    height, width = struct.unpack(">HH", data[place + 5 : place + 9])
                    break
                place += 2 + size
            else:
                return None
        else:
            return None
    except (struct.error, IndexError):
        return None
    return (width, height) if 0 < width < 100_000 and 0 < height < 100_000 else None
