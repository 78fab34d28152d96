"""The edge of a placed picture: where its pixels show, or its box where all of them do."""

from __future__ import annotations

import io
import math
import warnings
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, UnidentifiedImageError

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import keep_common
from bladewise.geometry.path import Path, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.tracing import traced

if TYPE_CHECKING:
    from bladewise.document import Picture

HALF_OPACITY = 50.0
"""A pixel that shows at least this much, in per cent, belongs to the picture; soft shadows mostly show less."""

_JOINED_MM = 0.08
"""Pixels are joined up to this size before they are traced: the edge is found to a small part of one, and no knife
follows it nearer than 0.025 mm."""

_MOST_PIXELS = 9e6
"""Of a picture with more pixels than this, some are joined before it is traced."""

_WHOLE = rectangle(0.0, 0.0, 1.0, 1.0)


def picture_edge(picture: Picture, least_opacity: float = HALF_OPACITY) -> Path:
    """Return the outline of what shows of a picture, on the sheet in mm.

    Parameters
    ----------
    picture
        A picture without transparent pixels, or one that cannot be unpacked, is its box.
    least_opacity
        How much of a pixel must show to count, in per cent, above 0; the opacity of the whole picture is left aside.

    Returns
    -------
    Path
        True curves within half a pixel of the edge; empty if no pixel shows that much.
    """
    size = _size(picture.data)
    if size is None:
        return _WHOLE.transformed(picture.transform)
    wide, high = size
    across = math.hypot(picture.transform.a, picture.transform.b) / wide
    down = math.hypot(picture.transform.c, picture.transform.d) / high
    pixel_mm = max(min(across, down), 1e-9)
    block = min(
        max(math.ceil(math.sqrt(wide * high / _MOST_PIXELS)), int(_JOINED_MM / pixel_mm)), max(wide, high) // 64
    )
    edge = _traced(picture.data, max(least_opacity, 0.1), max(block, 1))
    return edge.transformed(picture.transform)


@lru_cache(maxsize=32)
def _size(data: bytes) -> tuple[int, int] | None:
    """Return columns and rows of a picture with transparent pixels; None for every other."""
    alpha = _alpha(data)
    return None if alpha is None else alpha.size


@lru_cache(maxsize=32)
def _traced(data: bytes, least_opacity: float, block: int) -> Path:
    """Return a picture's edge in the unit square; so many pixels to a side are joined."""
    alpha = _alpha(data)
    if alpha is None:
        return _WHOLE
    shown = np.asarray(alpha.reduce(block)) / np.float32(255.0)
    edge = traced(shown, least_opacity / 100.0).transformed(Affine(block / alpha.width, 0.0, 0.0, block / alpha.height))
    box = edge.bounds()
    if box is None or (box[2] <= 1.0 and box[3] <= 1.0):
        return edge
    return keep_common([Region(edge), Region(_WHOLE)])  # the last of the joined pixels were not whole


def _alpha(data: bytes) -> Image.Image | None:
    """Return how much each pixel of a picture shows, 0 to 255; None where all show, or it cannot be told."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a large picture is the operator's own
            with Image.open(io.BytesIO(data)) as image:
                if "A" not in image.getbands() and "transparency" not in image.info:
                    return None
                alpha = image.convert("RGBA").getchannel("A")
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError):
        return None
    return None if alpha.getextrema() == (255, 255) else alpha
