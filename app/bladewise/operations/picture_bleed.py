"""A placed picture continued beyond its edge: each further pixel is that of the nearest one the picture has.

What shows through counts as no picture: the edge is that of the solid pixels, and the ones half clear between them and
nothing, whose colour is a mixture, are taken from their solid neighbours.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from PIL import Image

from bladewise.geometry.affine import Affine
from bladewise.operations.coats import SOLID_ALPHA, pixels_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.document import Picture
    from bladewise.geometry.path import Floats

MOST_PIXELS = 60_000_000
"""A continued picture of more pixels is made of coarser ones: what runs on beyond the cut line needs no fineness."""

_SURE_ALPHA = 250
"""A pixel of at least this alpha has its own colour and no one else's."""

_RIM = 3
"""Half clear pixels this near to sure ones are their soft rim, whose colours are mixtures; others are meant so."""

_FINER = 4
"""The edge of the part that is wanted is drawn this much finer than the pixels, and then made smooth."""


def continued(picture: Picture, area: Any, *, key: str, name: str) -> Picture | None:
    """Return a picture that shows another one, continued beyond its edge, inside an area only.

    Parameters
    ----------
    picture
        The picture; its pixels stay where they are on the sheet.
    area
        Where the new one shows, in mm.
    key, name
        Id and name of the new one.

    Returns
    -------
    Picture or None
        None where the picture cannot be read or has no pixel that shows.
    """
    pixels = pixels_of(picture.data)
    if pixels is None or area.is_empty or abs(picture.transform.determinant) < 1e-12:
        return None
    high, wide = pixels.shape[:2]
    to_sheet = picture.transform.after(Affine.scaled(1.0 / wide, 1.0 / high))  # from pixels to mm
    source = np.argwhere(_sources(pixels[..., 3]))
    if not len(source):
        return None
    part = shapely.transform(area, to_sheet.inverse().apply).buffer(0.5)  # pixels on its edge are whole
    low_x, low_y, high_x, high_y = part.bounds
    x0, y0 = math.floor(low_x) - 1, math.floor(low_y) - 1
    x1, y1 = math.ceil(high_x) + 1, math.ceil(high_y) + 1
    coarse = max(1, math.ceil(math.sqrt((x1 - x0) * (y1 - y0) / MOST_PIXELS)))
    across, down = math.ceil((x1 - x0) / coarse), math.ceil((y1 - y0) / coarse)
    alpha = _drawn(part, (x0, y0), coarse, (down, across))
    row, column = np.nonzero(alpha)
    own = np.stack([y0 + (row + 0.5) * coarse, x0 + (column + 0.5) * coarse], axis=1)
    nearest = _nearest(pixels, source, own, to_sheet)
    made = np.zeros((down, across, 4), np.uint8)
    chosen = pixels[nearest[:, 0], nearest[:, 1]]
    made[row, column, :3] = chosen[:, :3]
    solid = np.where(chosen[:, 3] >= _SURE_ALPHA, 255, chosen[:, 3]).astype(np.float64)
    made[row, column, 3] = np.rint(alpha[row, column] * solid).astype(np.uint8)
    stream = io.BytesIO()
    Image.fromarray(made).save(stream, "PNG", compress_level=6)
    place = to_sheet.after(Affine(across * coarse, 0.0, 0.0, down * coarse, float(x0), float(y0)))
    return replace(
        picture, id=key, name=name, data=stream.getvalue(), media_type="image/png", transform=place, visible=True
    )


def _sources(alpha: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Return which pixels have a colour that may be repeated, and have a neighbour that has none."""
    solid = alpha >= SOLID_ALPHA
    sure = alpha >= _SURE_ALPHA
    near = sure
    for _ in range(_RIM):
        near = _beside(near)
    solid &= sure | ~near
    inner = np.ones_like(solid)
    for shift in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        inner &= _shifted(solid, shift)
    edge: NDArray[np.bool_] = solid & ~inner
    return edge


def _shifted(mask: NDArray[np.bool_], shift: tuple[int, int]) -> NDArray[np.bool_]:
    """Return a mask moved by a row or a column; nothing comes in at the border."""
    out = np.zeros_like(mask)
    down, across = shift
    high, wide = mask.shape
    out[max(down, 0) : high + min(down, 0), max(across, 0) : wide + min(across, 0)] = mask[
        max(-down, 0) : high + min(-down, 0), max(-across, 0) : wide + min(-across, 0)
    ]
    return out


def _beside(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which pixels have a neighbour in a mask, corner to corner too."""
    rows = mask | _shifted(mask, (1, 0)) | _shifted(mask, (-1, 0))
    return rows | _shifted(rows, (0, 1)) | _shifted(rows, (0, -1))


def _drawn(part: Any, corner: tuple[int, int], coarse: int, shape: tuple[int, int]) -> NDArray[np.float64]:
    """Return how much of each pixel lies in an area, 0 to 1, shape (rows, columns)."""
    from PIL import ImageDraw

    down, across = shape
    fine = _FINER if down * across * _FINER * _FINER <= 4 * MOST_PIXELS else 1
    mask = Image.new("L", (across * fine, down * fine))
    pen = ImageDraw.Draw(mask)
    polygons = [each for each in shapely.get_parts(part) if isinstance(each, shapely.Polygon)]
    polygons.sort(key=lambda each: -shapely.Polygon(each.exterior).area)  # what lies in a hole comes after it
    for polygon in polygons:
        for ring, value in ((polygon.exterior, 255), *((hole, 0) for hole in polygon.interiors)):
            places = (shapely.get_coordinates(ring) - corner) / coarse * fine - 0.5
            pen.polygon([(float(x), float(y)) for x, y in places], fill=value)
    full = np.asarray(mask, np.float64) / 255.0
    mean: NDArray[np.float64] = full.reshape(down, fine, across, fine).mean(axis=(1, 3))
    return mean


def _nearest(pixels: NDArray[np.uint8], source: NDArray[np.int64], own: Floats, to_sheet: Affine) -> NDArray[np.int64]:
    """Return for each place (row, column, in pixels) the pixel it shows: its own where solid, else the nearest."""
    high, wide = pixels.shape[:2]
    at = np.floor(own).astype(np.int64)
    inside = (at[:, 0] >= 0) & (at[:, 0] < high) & (at[:, 1] >= 0) & (at[:, 1] < wide)
    here = np.clip(at, 0, (high - 1, wide - 1))
    found = np.where(inside[:, None], here, 0)
    lacking = ~inside | (pixels[here[:, 0], here[:, 1], 3] < _SURE_ALPHA)
    if lacking.any():
        on_sheet = to_sheet.apply(source[:, ::-1].astype(np.float64) + 0.5)
        wanted = to_sheet.apply(own[lacking][:, ::-1])
        places: Any = shapely.points(on_sheet)
        found[lacking] = source[shapely.STRtree(places).nearest(shapely.points(wanted))]
    return found
