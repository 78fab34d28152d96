"""Placed pictures cut along the lines about them: what lies outside is clear, pixel by pixel.

A picture keeps the pixels it has. Where they are coarse they are made finer, so that the edge is smooth; where there
are more than paper shows, fewer. Pixels on the edge are partly clear, by how much of them lies inside.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.operations.coats import pixels_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Picture
    from bladewise.geometry.path import Floats, Path

_WHOLE = 1e-3
"""A pixel lacking no more than this lies inside."""
COARSEST_MM = 0.1
"""Largest pixel at a cut edge: 254 an inch, as fine as a proof is looked at (common practice, no source)."""
MOST_PIXELS = 6_000_000
"""More than any picture on a page of paper shows."""
_LINES = 4
"""So many lines across each row of pixels tell how much of it lies inside."""


def cut_picture(picture: Picture, pieces: Sequence[Path]) -> Picture | None:
    """Return what of a picture lies inside pieces; the same picture if all does, None if nothing.

    Parameters
    ----------
    picture
        One that can be read; others come back whole, for nobody knows what they show.
    pieces
        Rings of a resolved path, holes among them; no two cross.
    """
    pixels = pixels_of(picture.data)
    if pixels is None or abs(picture.transform.determinant) < 1e-12:
        return picture
    high, wide = pixels.shape[:2]
    back = Affine.scaled(wide, high).after(picture.transform.inverse())
    rings = [back.apply(flatten(ring, COARSEST_MM / 20.0).coords) for ring in pieces]
    box = _box(rings, wide, high)
    if box is None:
        return None
    left, top, right, low = box
    part = Image.fromarray(pixels[top:low, left:right])
    inner = Affine(
        (right - left) / wide, 0.0, 0.0, (low - top) / high, left / wide, top / high
    )  # from the part's unit square to the picture's
    place = picture.transform.after(inner)
    across, down = _size(part, place)
    if (across, down) != part.size:
        part = part.resize((across, down), Image.Resampling.BILINEAR)
    scale = across / (right - left), down / (low - top)
    share = _inside([(ring - (left, top)) * scale for ring in rings], across, down)
    if box == (0, 0, wide, high) and (share > 1.0 - _WHOLE).all():
        return picture
    made = np.array(part)
    made[..., 3] = np.rint(made[..., 3] * share)
    if not made[..., 3].any():
        return None
    stream = io.BytesIO()
    Image.fromarray(made).save(stream, "PNG", compress_level=1)
    return replace(picture, data=stream.getvalue(), media_type="image/png", transform=place)


def _box(rings: Sequence[Floats], wide: int, high: int) -> tuple[int, int, int, int] | None:
    """Return the pixels that pieces reach: left, top, right, bottom."""
    low = np.floor(np.min([ring.min(axis=0) for ring in rings], axis=0))
    far = np.ceil(np.max([ring.max(axis=0) for ring in rings], axis=0))
    left, top = (int(max(0.0, value)) for value in low)
    right, bottom = (int(min(most, value)) for most, value in zip((wide, high), far, strict=True))
    return (left, top, right, bottom) if left < right and top < bottom else None


def _size(part: Image.Image, place: Affine) -> tuple[int, int]:
    """Return how many pixels a part shall have across and down, for a smooth edge and no more than paper shows."""
    sides = math.hypot(place.a, place.b), math.hypot(place.c, place.d)
    finer = [max(1, math.ceil(side / (COARSEST_MM * count))) for side, count in zip(sides, part.size, strict=True)]
    across, down = part.width * finer[0], part.height * finer[1]
    fewer = min(1.0, math.sqrt(MOST_PIXELS / (across * down)))
    return max(1, round(across * fewer)), max(1, round(down * fewer))


def _inside(rings: Sequence[Floats], across: int, down: int) -> Floats:
    """Return which share of each pixel lies inside, shape (down, across), 0 to 1.

    Rings that lie in one another take turns: inside, outside, inside. Every row is crossed by `_LINES` lines; along
    each the share is exact.
    """
    starts = np.concatenate([ring[:-1] for ring in rings]) * (1.0, _LINES) - (0.0, 0.5)
    stops = np.concatenate([ring[1:] for ring in rings]) * (1.0, _LINES) - (0.0, 0.5)
    upper = np.clip(np.ceil(np.minimum(starts[:, 1], stops[:, 1])), 0, down * _LINES).astype(np.int64)
    lower = np.clip(np.ceil(np.maximum(starts[:, 1], stops[:, 1])), 0, down * _LINES).astype(np.int64)
    count = lower - upper  # each edge crosses the lines from its upper end on, that of its lower end left out
    edge = np.repeat(np.arange(len(count)), count)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + upper[edge]
    (x0, y0), (x1, y1) = starts[edge].T, stops[edge].T
    x = np.clip(x0 + (line - y0) * (x1 - x0) / (y1 - y0), 0.0, across)
    order = np.lexsort((x, line))
    line, x = line[order], x[order]
    first = np.searchsorted(line, line)
    way = 1.0 - 2.0 * ((np.arange(len(line)) - first) % 2)  # into a piece, out of it
    column = np.floor(x).astype(np.int64)
    steps = np.zeros((down, across + 2))
    np.add.at(steps, (line // _LINES, column), way * (column + 1 - x))
    np.add.at(steps, (line // _LINES, column + 1), way * (x - column))
    share: Floats = np.clip(np.cumsum(steps, axis=1)[:, :across] / _LINES, 0.0, 1.0)
    return share
