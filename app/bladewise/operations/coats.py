"""What is painted at a place: the coats of ink that lie over one another there, and the pixels of a picture.

A coat is one paint of one leaf: its fill, its stroke as wide as it is, or a placed picture. Whoever asks what shows at
a place (for bleed, for white ink) asks here; the answer is good to `CHORDS_MM`, and for pictures to the pixel.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np
import shapely
from PIL import Image, UnidentifiedImageError

from bladewise.document import Colour, Gradient, Leaf, Lettering, Picture, Shape, is_cut_line
from bladewise.document.materials import MaterialKind
from bladewise.geometry import booleans
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import joined
from bladewise.geometry.regions import Region
from bladewise.geometry.topology import region_polygons
from bladewise.operations.painted import drawn_stroke, filled_regions, painted_regions, paints_anything, stroke_area
from bladewise.operations.picture_edge import HALF_OPACITY
from bladewise.operations.strokes_together import strokes_together

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from bladewise.document import Box, Job, Material, Placed
    from bladewise.geometry.path import Floats, Path
    from bladewise.operations.strokes_together import Drawn

Ink: TypeAlias = "Colour | Gradient | Picture"

CHORDS_MM = 0.002
"""How near the chords stay to the curves they stand for: a fifteenth of how far beside an edge anyone asks."""

SOLID_ALPHA = 128
"""A pixel of at least this alpha (of 255) is painted; below it the film shows more than the ink."""

OPAQUE = 0.995
"""Ink of at least this opacity hides what lies under it: half a step of 8 bits is lost either way."""


@dataclass(frozen=True)
class Coat:
    """One paint of one leaf, where it lies, and how much of what is under it shows through."""

    ink: Ink
    opacity: float
    region: Region
    leaf: Leaf

    @cached_property
    def box(self) -> Box | None:
        """Extent in mm."""
        return self.region.path.bounds()


def areas_of(regions: Sequence[Region], tolerance_mm: float = CHORDS_MM) -> Any:
    """Return what regions paint as shapely polygons of chords, one a region."""
    flat = flatten(joined(region.path for region in regions), tolerance_mm)
    sizes = np.diff(np.append(flat.starts, len(flat.coords)))
    rings = np.array([len(region.path.starts) for region in regions])
    gaps = flat.starts + sizes  # each ring ends where it began
    coords = np.insert(flat.coords, gaps, flat.coords[flat.starts], axis=0) if len(flat.coords) else flat.coords
    of_vertex = np.repeat(np.arange(len(sizes)), sizes + 1)
    return region_polygons(
        coords, of_vertex, np.repeat(np.arange(len(regions)), rings), [region.rule for region in regions]
    )


def material_id(placed: Placed) -> str | None:
    """Return the material chosen for a leaf or its layer."""
    return placed.leaf.material or placed.layer.material


def is_line_to_cut(placed: Placed) -> bool:
    """Whether a leaf is a line about a print that a knife follows."""
    return isinstance(placed.leaf, Shape) and is_cut_line(material_id(placed))


def is_print(job: Job, placed: Placed) -> bool:
    """Whether a leaf is printed in colour, in a job that is printed and cut.

    A vinyl that a flat colour stands for on its own is print: nobody has said that it is to be cut. White ink and
    varnish are printed too, and are no colour.
    """
    if is_line_to_cut(placed):
        return False
    material = job.material_of(placed)
    if material.kind is MaterialKind.PRINT:
        return True
    return material.kind is MaterialKind.CUT and not _is_chosen(job, placed, material)


def _is_chosen(job: Job, placed: Placed, material: Material) -> bool:
    chosen = (placed.leaf.material, placed.layer.material)
    return any(key is not None and job.material(key) is not None for key in chosen) and material.id in chosen


def coats_of(placed: Iterable[Placed], *, least_opacity: float = HALF_OPACITY) -> list[Coat]:
    """Return the coats that leaves paint, back to front.

    Of a picture those pixels count that show at least as much as `least_opacity` (per cent). Paint counts however
    little it covers, if it does at all.
    """
    found: list[Coat] = []
    for each in placed:
        outer = 1.0
        for group in each.groups:
            outer *= group.opacity
        if outer > 0.0:
            found += _coats(each.leaf, outer, least_opacity)
    return found


def strongest(coat: Coat) -> float:
    """Return the opacity of a coat where it is strongest, 0 to 1."""
    return coat.opacity * _strongest_stop(coat.ink)


def _strongest_stop(ink: Ink | None) -> float:
    if isinstance(ink, Gradient):
        return max((stop.opacity for stop in ink.stops), default=1.0)
    return 1.0


class Covering(NamedTuple):
    """What leaves paint, before it is put together: fills and pictures, and lines with their strokes."""

    fills: list[Region]
    strokes: list[Drawn]

    def __bool__(self) -> bool:
        """Whether there is anything."""
        return bool(self.fills or self.strokes)

    def area(self) -> Path:
        """Return all of it as one."""
        return booleans.merge([*self.fills, *strokes_together(self.strokes, self.fills)])


def covering(placed: Iterable[Placed], *, least_opacity: float = HALF_OPACITY, least_ink: float = 0.0) -> Covering:
    """Return what leaves paint together: as their coats would merged, and many times as quick where there are strokes.

    Parameters
    ----------
    placed
        The leaves.
    least_opacity
        Of a picture those pixels count that show at least so much, in per cent.
    least_ink
        Ink that shows less than this where it is strongest does not count, in per cent.
    """
    found = Covering([], [])
    for each in placed:
        opacity = 100.0
        for group in each.groups:
            opacity *= group.opacity
        leaf = each.leaf
        opacity *= leaf.opacity if isinstance(leaf, Picture) else leaf.style.opacity
        if opacity <= 0.0 or opacity < least_ink:
            continue
        if isinstance(leaf, Picture):
            found.fills.extend(painted_regions(leaf, least_opacity=least_opacity))
            continue
        style, stroke = leaf.style, leaf.style.stroke
        if opacity * style.fill_opacity * _strongest_stop(style.fill) >= least_ink:
            found.fills.extend(region for region in filled_regions(leaf) if region.path)
        if stroke is not None and opacity * stroke.opacity * _strongest_stop(stroke.paint) >= least_ink:
            drawn = drawn_stroke(leaf)
            found.strokes.extend([] if drawn is None else [drawn])
    return found


def _coats(leaf: Leaf, outer: float, least_opacity: float) -> list[Coat]:
    if not paints_anything(leaf):
        return []
    if isinstance(leaf, Picture):
        return [
            Coat(leaf, outer * leaf.opacity, region, leaf)
            for region in painted_regions(leaf, least_opacity=least_opacity)
        ]
    style = leaf.style
    path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
    found = []
    if style.fill is not None and path and style.fill_opacity > 0.0:
        found.append(Coat(style.fill, outer * style.opacity * style.fill_opacity, Region(path, style.fill_rule), leaf))
    if style.stroke is not None and (band := stroke_area(leaf)):
        coat = Coat(style.stroke.paint, outer * style.opacity * style.stroke.opacity, Region(band), leaf)
        found.insert(0 if style.stroke_first else len(found), coat)
    return found


class Pile:
    """Coats over one another, ready to be asked what shows at many places.

    Parameters
    ----------
    coats
        From the back to the front.
    """

    def __init__(self, coats: Sequence[Coat]) -> None:
        """Put them into an index."""
        self.coats = list(coats)
        self._areas = areas_of([coat.region for coat in coats]) if coats else np.zeros(0, object)
        shapely.prepare(self._areas)
        boxes: Floats = np.asarray(shapely.bounds(self._areas)).reshape(-1, 4)
        self._pictures = np.array([isinstance(coat.ink, Picture) for coat in coats], np.bool_)
        for number in np.flatnonzero(self._pictures).tolist():  # their own pixels say where they are
            boxes[number] = self.coats[number].leaf.bounds
        self._opaque = np.array([is_opaque(coat) for coat in coats], np.bool_)
        index: Any = [None if np.isnan(box).any() else shapely.box(*box) for box in boxes]
        self._tree = shapely.STRtree(index)

    def stacks_at(self, points: Floats) -> list[tuple[int, ...]]:
        """Return which coats show at each place: indexes from the front down to the first that hides the rest.

        Parameters
        ----------
        points
            Places in mm, shape (k, 2).
        """
        place, coat = self._covering(points)
        order = np.lexsort((-coat, place))
        stacks: list[tuple[int, ...]] = [()] * len(points)
        hidden = -1
        opaque = self._opaque.tolist()
        for here, number in zip(place[order].tolist(), coat[order].tolist(), strict=True):
            if here != hidden:
                stacks[here] = (*stacks[here], number)
                if opaque[number]:
                    hidden = here
        return stacks

    def covers(self, points: Floats) -> NDArray[np.bool_]:
        """Whether any coat paints each place (mm, shape (k, 2))."""
        found = np.zeros(len(points), np.bool_)
        found[self._covering(points)[0]] = True
        return found

    def _covering(self, points: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return pairs of a place and a coat that paints it."""
        spots: Any = shapely.points(points)
        place, coat = self._tree.query(spots)
        inside = np.zeros(len(place), np.bool_)
        drawn = ~self._pictures[coat]
        inside[drawn] = shapely.contains_xy(self._areas[coat[drawn]], points[place[drawn]])
        for number in np.unique(coat[~drawn]).tolist():
            mine = np.flatnonzero(coat == number)
            picture = self.coats[number].ink
            assert isinstance(picture, Picture)
            inside[mine] = _painted_pixels(picture, points[place[mine]])
        return place[inside], coat[inside]


def is_opaque(coat: Coat) -> bool:
    """Whether nothing shows through a coat; of a picture what is painted counts as solid."""
    if coat.opacity < OPAQUE:
        return False
    return not isinstance(coat.ink, Gradient) or all(stop.opacity >= OPAQUE for stop in coat.ink.stops)


@lru_cache(maxsize=16)
def pixels_of(data: bytes) -> NDArray[np.uint8] | None:
    """Return a picture's pixels as red, green, blue, alpha, shape (rows, columns, 4); None if it cannot be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a large picture is the operator's own
            with Image.open(io.BytesIO(data)) as image:
                found = np.asarray(image.convert("RGBA"))
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError):
        return None
    found.flags.writeable = False
    return found


@lru_cache(maxsize=16)
def _solid(data: bytes) -> NDArray[np.bool_] | None:
    """Return which pixels are painted or stand beside one that is.

    A line drawn around a picture's alpha edge rounds off the steps of its pixels, and runs beside them by about one.
    """
    pixels = pixels_of(data)
    if pixels is None:
        return None
    solid = np.pad(pixels[..., 3] >= SOLID_ALPHA, 1)
    across = solid[:, :-2] | solid[:, 1:-1] | solid[:, 2:]
    found: NDArray[np.bool_] = across[:-2] | across[1:-1] | across[2:]
    return found


def _painted_pixels(picture: Picture, points: Floats) -> NDArray[np.bool_]:
    """Whether the picture is painted at each place, to the pixel; one that cannot be read is a solid rectangle."""
    if abs(picture.transform.determinant) < 1e-12:
        return np.zeros(len(points), np.bool_)
    place = picture.transform.inverse().apply(points)
    inside: NDArray[np.bool_] = np.all((place >= 0.0) & (place <= 1.0), axis=1)
    solid = _solid(picture.data)
    if solid is None:
        return inside
    high, wide = solid.shape
    column = np.clip((place[:, 0] * wide).astype(np.int64), 0, wide - 1)
    row = np.clip((place[:, 1] * high).astype(np.int64), 0, high - 1)
    inside &= solid[row, column]
    return inside
