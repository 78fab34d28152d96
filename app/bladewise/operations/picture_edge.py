"""The edge of a placed picture: where its pixels show, or its box where all of them do."""

from __future__ import annotations

import io
import warnings
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, UnidentifiedImageError

from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, rectangle
from bladewise.geometry.tolerances import TRACING_PX
from bladewise.geometry.tracing import traced

if TYPE_CHECKING:
    from bladewise.document import Picture

HALF_OPACITY = 50.0
"""A pixel that shows at least this much, in per cent, belongs to the picture; soft shadows mostly show less."""

_FINE_MM = 0.02
"""Nearer than this to a picture's edge, in mm, no knife follows, however fine the pixels are."""

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
    across = np.hypot(picture.transform.a, picture.transform.b) / wide
    down = np.hypot(picture.transform.c, picture.transform.d) / high
    pixel_mm = max(float(min(across, down)), 1e-9)
    tolerance = round(max(TRACING_PX, _FINE_MM / pixel_mm), 1)
    edge = _traced(picture.data, max(least_opacity, 0.1), min(tolerance, 0.02 * max(wide, high)))
    return edge.transformed(picture.transform)


@lru_cache(maxsize=32)
def _size(data: bytes) -> tuple[int, int] | None:
    """Return columns and rows of a picture with transparent pixels; None for every other."""
    alpha = _alpha(data)
    return None if alpha is None else (alpha.shape[1], alpha.shape[0])


@lru_cache(maxsize=32)
def _traced(data: bytes, least_opacity: float, tolerance_px: float) -> Path:
    """Return a picture's edge in the unit square."""
    alpha = _alpha(data)
    if alpha is None:
        return _WHOLE
    high, wide = alpha.shape
    edge = traced(alpha / 255.0, least_opacity / 100.0, tolerance_px=tolerance_px)
    return edge.transformed(Affine(1.0 / wide, 0.0, 0.0, 1.0 / high))


def _alpha(data: bytes) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]] | None:
    """Return how much each pixel shows, 0 to 255; None where all show, or it cannot be told."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a large picture is the operator's own
            with Image.open(io.BytesIO(data)) as image:
                if "A" not in image.getbands() and "transparency" not in image.info:
                    return None
                alpha = image.convert("RGBA").getchannel("A")
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError):
        return None
    return None if alpha.getextrema() == (255, 255) else np.asarray(alpha)
