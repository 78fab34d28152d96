"""The area that art really paints: fills, strokes at their width, live lettering, pictures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import Element, Gradient, Group, Layer, Leaf, Lettering, Paint, Picture, Shape, Stroke
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.path import EMPTY, Path
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.strokes import StrokeGeometry, stroke_to_shape
from bladewise.operations.picture_edge import HALF_OPACITY, picture_edge
from bladewise.operations.strokes_together import Drawn, strokes_together
from bladewise.phrases import phrase
from bladewise.units import counted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.document import Job
    from bladewise.operations.selection import Selection

HAIRLINE_MM = 0.1
"""A stroke this thin is a line for the knife to follow, not an area (common practice, no source)."""

BLEED_LAYER = "bleed-layer"
"""What the ids of layers begin with that hold nothing but print that runs on beyond a cut line."""


def is_hairline(stroke: Stroke) -> bool:
    """Whether a stroke only marks where a knife goes."""
    width = stroke.width_mm * (stroke.pen.mean_scale if stroke.pen else 1.0)
    return width <= HAIRLINE_MM


def shows_stroke(shape: Shape) -> bool:
    """Whether a shape has a stroke that shows as a band, and so edges of its own that no outline is yet."""
    return shape.style.stroke is not None and not is_hairline(shape.style.stroke)


def strokes_left(count: int) -> list[str]:
    """Return what is told of shapes that were left alone for a stroke that shows; nothing where there are none."""
    if not count:
        return []
    which = counted(count, "shape has a stroke that shows and is", "shapes have strokes that show and are")
    return [phrase("{which} left as before: use stroke to shape first.", which=which)]


def stroke_geometry(stroke: Stroke) -> StrokeGeometry:
    """Return the geometry of a stroke, its paint left aside."""
    return StrokeGeometry(
        stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit, stroke.dash, stroke.dash_offset, stroke.pen
    )


def stroke_area(leaf: Shape | Lettering) -> Path:
    """Return what a leaf's stroke paints; nothing for none and for hairlines."""
    drawn = drawn_stroke(leaf)
    return EMPTY if drawn is None else stroke_to_shape(drawn.path, drawn.stroke)


def drawn_stroke(leaf: Shape | Lettering) -> Drawn | None:
    """Return a leaf's line with the stroke along it; None for none and for hairlines."""
    stroke = leaf.style.stroke
    path = leaf.path if isinstance(leaf, Shape) else leaf.outline
    if stroke is None or is_hairline(stroke) or not _shows(stroke.paint, stroke.opacity) or not path:
        return None
    return Drawn(path, stroke_geometry(stroke))


def filled_regions(leaf: Shape | Lettering) -> list[Region]:
    """Return what a leaf's fill paints: one region, or none."""
    if leaf.style.opacity <= 0.0 or not _shows(leaf.style.fill, leaf.style.fill_opacity):
        return []
    return [Region(leaf.path if isinstance(leaf, Shape) else leaf.outline, leaf.style.fill_rule)]


def painted_regions(leaf: Leaf, *, least_opacity: float = HALF_OPACITY) -> list[Region]:
    """Return the areas a leaf paints, fill and stroke apart.

    Of a picture those pixels count that show at least as much as `least_opacity` (per cent). Paint counts
    however little it covers, if it does at all.
    """
    if isinstance(leaf, Picture):
        edge = picture_edge(leaf, least_opacity) if leaf.opacity > 0.0 else EMPTY
        return [Region(edge)] if edge else []
    if leaf.style.opacity <= 0.0:
        return []
    regions = filled_regions(leaf)
    if band := stroke_area(leaf):
        regions.append(Region(band))
    return regions


def _shows(paint: Paint | None, opacity: float) -> bool:
    """Whether a paint covers anything at all."""
    if isinstance(paint, Gradient):
        return opacity > 0.0 and any(stop.opacity > 0.0 for stop in paint.stops)
    return paint is not None and opacity > 0.0


def painted_area(leaves: Iterable[Leaf], *, least_opacity: float = HALF_OPACITY) -> Path:
    """Return all that the leaves paint as one region; of pictures, what shows at least so much (per cent)."""
    fills: list[Region] = []
    strokes: list[Drawn] = []
    for leaf in leaves:
        if isinstance(leaf, Picture):
            fills += painted_regions(leaf, least_opacity=least_opacity)
            continue
        fills += filled_regions(leaf)
        if leaf.style.opacity > 0.0 and (drawn := drawn_stroke(leaf)):
            strokes.append(drawn)
    return booleans.merge([*fills, *strokes_together(strokes, fills)])


def paints_anything(leaf: Leaf) -> bool:
    """Whether a leaf paints anything, without working out what."""
    if isinstance(leaf, Picture):
        return leaf.opacity > 0.0
    path: Path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
    stroke = leaf.style.stroke
    return (
        bool(path)
        and leaf.style.opacity > 0.0
        and (
            _shows(leaf.style.fill, leaf.style.fill_opacity)
            or (stroke is not None and not is_hairline(stroke) and _shows(stroke.paint, stroke.opacity))
        )
    )


def painting(on: Selection, job: Job) -> list[Leaf]:
    """Return those of the leaves a step acts on that paint anything.

    Raises
    ------
    CannotApply
        If there are none.
    """
    found = [placed.leaf for placed in on.leaves(job) if paints_anything(placed.leaf)]
    if not found:
        msg = "Nothing that paints is selected."
        raise CannotApply(msg, where=on.describe(job), hint="Select shapes, lettering or pictures that show.")
    return found


def holds_any(layer: Layer, leaves: list[Leaf]) -> bool:
    """Whether any of some leaves lies on a layer."""
    wanted = {leaf.id for leaf in leaves}

    def any_in(children: tuple[Element, ...]) -> bool:
        return any(any_in(each.children) if isinstance(each, Group) else each.id in wanted for each in children)

    return any_in(layer.children)


def reshaped(shape: Shape, path: Path) -> Shape:
    """Return a shape with the outcome of a step for its path; both fill rules agree on it."""
    return replace(shape, path=path, style=replace(shape.style, fill_rule=FillRule.NONZERO))


def label(element: Element | Group) -> str:
    """Return what to call an element in a message."""
    return phrase("“{name}”", name=element.name or element.id)
