"""The area that art really paints: fills, strokes at their width, live lettering, pictures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import Element, Group, Layer, Leaf, Lettering, Picture, Shape, Stroke
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.path import EMPTY, Path, polygon
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.strokes import StrokeGeometry, stroke_to_shape
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.document import Job
    from bladewise.operations.selection import Selection

HAIRLINE_MM = 0.1
"""A stroke this thin is a line for the knife to follow, not an area (common practice, no source)."""


def is_hairline(stroke: Stroke) -> bool:
    """Whether a stroke only marks where a knife goes."""
    width = stroke.width_mm * (stroke.pen.mean_scale if stroke.pen else 1.0)
    return width <= HAIRLINE_MM


def stroke_geometry(stroke: Stroke) -> StrokeGeometry:
    """Return the geometry of a stroke, its paint left aside."""
    return StrokeGeometry(
        stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit, stroke.dash, stroke.dash_offset, stroke.pen
    )


def stroke_area(leaf: Shape | Lettering) -> Path:
    """Return what a leaf's stroke paints; nothing for none and for hairlines."""
    stroke = leaf.style.stroke
    if stroke is None or is_hairline(stroke):
        return EMPTY
    path = leaf.path if isinstance(leaf, Shape) else leaf.outline
    return stroke_to_shape(path, stroke_geometry(stroke))


def painted_regions(leaf: Leaf) -> list[Region]:
    """Return the areas a leaf paints, fill and stroke apart."""
    if isinstance(leaf, Picture):
        corners = leaf.transform.apply(_UNIT_SQUARE.points[:, 0])
        return [Region(polygon([(float(x), float(y)) for x, y in corners]))]
    regions = []
    if leaf.style.fill is not None:
        path = leaf.path if isinstance(leaf, Shape) else leaf.outline
        regions.append(Region(path, leaf.style.fill_rule))
    if band := stroke_area(leaf):
        regions.append(Region(band))
    return regions


def painted_area(leaves: Iterable[Leaf]) -> Path:
    """Return all that the leaves paint as one region."""
    return booleans.merge([region for leaf in leaves for region in painted_regions(leaf)])


def paints_anything(leaf: Leaf) -> bool:
    """Whether a leaf paints anything, without working out what."""
    if isinstance(leaf, Picture):
        return True
    path: Path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
    stroke = leaf.style.stroke
    return bool(path) and (leaf.style.fill is not None or (stroke is not None and not is_hairline(stroke)))


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


_UNIT_SQUARE = polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
