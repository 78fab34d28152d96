"""What lies on a layer: shapes, groups, live lettering, placed pictures. All immutable."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from bladewise.document.style import Gradient, Style
from bladewise.document.typesetting import PLAIN, Typesetting
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.curves import segment_bounds
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.geometry.regions import Region

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Box: TypeAlias = tuple[float, float, float, float]

_TOGETHER = 8
"""Fewer leaves than this are as quick to measure one by one."""


@dataclass(frozen=True)
class Shape:
    """A path with its paint, a name, and an identity that outlives the steps done to it."""

    id: str
    path: Path
    style: Style = Style()
    name: str = ""
    material: str | None = None
    visible: bool = True
    locked: bool = False

    @cached_property
    def bounds(self) -> Box | None:
        """Exact extent of the outline in mm, the stroke's width not counted."""
        return self.path.bounds()

    @property
    def region(self) -> Region:
        """The area its fill paints."""
        return Region(self.path, self.style.fill_rule)

    def transformed(self, affine: Affine, *, scale_strokes: bool = True) -> Shape:
        """Return the shape under a transform; gradients follow, strokes if asked."""
        return replace(
            self,
            path=self.path.transformed(affine),
            style=style_transformed(self.style, affine, scale_strokes=scale_strokes),
        )


class Align(StrEnum):
    """On which side of its anchor point lettering stands."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True)
class Lettering:
    """Live lettering: text that can still be retyped, with the outlines it had when last set.

    `size_mm` is the font's em, unless `setting` says what else it is the height of. `transform` maps
    lettering space (anchor at the origin, baseline along x, y downward, mm) to the sheet. `outline` is
    on the sheet already, so that nothing reflows when the font is missing.
    """

    id: str
    text: str
    family: str
    size_mm: float
    style: Style = Style()
    align: Align = Align.START
    weight: int = 400
    italic: bool = False
    letter_spacing_mm: float = 0.0
    setting: Typesetting = PLAIN
    transform: Affine = IDENTITY
    outline: Path = EMPTY
    name: str = ""
    material: str | None = None
    visible: bool = True
    locked: bool = False

    @cached_property
    def bounds(self) -> Box | None:
        """Exact extent of the outlines in mm."""
        return self.outline.bounds()

    def transformed(self, affine: Affine, *, scale_strokes: bool = True) -> Lettering:
        """Return the lettering under a transform, still live."""
        return replace(
            self,
            transform=affine.after(self.transform),
            outline=self.outline.transformed(affine),
            style=style_transformed(self.style, affine, scale_strokes=scale_strokes),
        )


@dataclass(frozen=True)
class Picture:
    """A placed bitmap; `transform` maps the unit square (top left the origin) to the sheet in mm."""

    id: str
    data: bytes
    media_type: str
    transform: Affine
    name: str = ""
    opacity: float = 1.0
    material: str | None = None
    visible: bool = True
    locked: bool = False

    @cached_property
    def bounds(self) -> Box | None:
        """Extent in mm."""
        corners = self.transform.apply(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]))
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def transformed(self, affine: Affine, *, scale_strokes: bool = True) -> Picture:  # noqa: ARG002 - as the others
        """Return the picture under a transform."""
        return replace(self, transform=affine.after(self.transform))


@dataclass(frozen=True)
class Group:
    """Elements that belong together, back to front."""

    id: str
    children: tuple[Element, ...]
    name: str = ""
    opacity: float = 1.0
    visible: bool = True
    locked: bool = False

    @cached_property
    def bounds(self) -> Box | None:
        """Extent of all it holds, in mm."""
        return bounds_of(self.children)

    def transformed(self, affine: Affine, *, scale_strokes: bool = True) -> Group:
        """Return the group with everything in it transformed."""
        return replace(
            self, children=tuple(child.transformed(affine, scale_strokes=scale_strokes) for child in self.children)
        )


Leaf: TypeAlias = Shape | Lettering | Picture
Element: TypeAlias = Shape | Lettering | Picture | Group


def bounds_of(elements: tuple[Element, ...] | list[Element] | list[Leaf]) -> Box | None:
    """Return the extent of several elements together, or None if there is nothing to measure."""
    measure_together(elements)
    boxes = [box for element in elements if (box := element.bounds) is not None]
    if not boxes:
        return None
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def measure_together(elements: Iterable[Element]) -> None:
    """Find the `bounds` of many leaves in one go, bit for bit as each would alone, and many times as fast.

    Each keeps its own from then on. A few are left to be measured one by one, when they are asked.
    """
    lacking = [
        leaf
        for leaf in leaves_in(elements)
        if "bounds" not in vars(leaf) and not isinstance(leaf, Picture) and outline_of(leaf)
    ]
    if len(lacking) < _TOGETHER:
        return
    paths = [outline_of(leaf) for leaf in lacking]
    boxes = segment_bounds(joined(paths))
    starts = np.cumsum([0, *(len(path) for path in paths[:-1])])
    low, high = np.minimum.reduceat(boxes[:, :2], starts), np.maximum.reduceat(boxes[:, 2:], starts)
    for leaf, box in zip(lacking, np.concatenate([low, high], axis=1).tolist(), strict=True):
        vars(leaf)["bounds"] = tuple(box)  # where `cached_property` looks


def leaves_in(elements: Iterable[Element]) -> Iterator[Leaf]:
    """Yield every leaf of some elements, groups opened, back to front."""
    for element in elements:
        if isinstance(element, Group):
            yield from leaves_in(element.children)
        else:
            yield element


def outline_of(element: Element) -> Path:
    """Return every outline an element holds as one path; nothing for pictures."""
    match element:
        case Shape():
            return element.path
        case Lettering():
            return element.outline
        case Group():
            return joined(outline_of(child) for child in element.children)
        case _:
            return EMPTY


def style_transformed(style: Style, affine: Affine, *, scale_strokes: bool) -> Style:
    """Return a style as it is after its shape was transformed.

    Under an even scale a stroke's width scales; under an uneven one the stroke remembers the space in
    which it is round (its pen).
    """
    fill = style.fill.transformed(affine) if isinstance(style.fill, Gradient) else style.fill
    stroke = style.stroke
    if stroke is not None:
        paint = stroke.paint.transformed(affine) if isinstance(stroke.paint, Gradient) else stroke.paint
        stroke = replace(stroke, paint=paint)
        linear = Affine(affine.a, affine.b, affine.c, affine.d)
        if scale_strokes and stroke.pen is None and affine.is_similarity:
            scale = affine.mean_scale
            stroke = replace(
                stroke,
                width_mm=stroke.width_mm * scale,
                dash=tuple(length * scale for length in stroke.dash),
                dash_offset=stroke.dash_offset * scale,
            )
        elif scale_strokes:
            stroke = replace(stroke, pen=linear.after(stroke.pen or IDENTITY))
    return replace(style, fill=fill, stroke=stroke)
