"""The content of a page: art as live vectors, then what machines follow, each on its layer.

Order on the page: white under everything, the art from the back to the front, varnish, and last the
lines a machine follows, so that nothing lies over them. Spot colours overprint, and where a job has white
or varnish the art does too: neither takes anything off the other's plate.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bladewise.document import Colour, Gradient, GradientKind, Group, Lettering, Picture
from bladewise.errors import CannotWrite
from bladewise.formats.cut_lines import cut_outline
from bladewise.formats.pdf.copies import Copies, reach_of_all
from bladewise.formats.pdf.shadings import turns
from bladewise.formats.pdf.space import matrix, number, path_operators
from bladewise.formats.pdf.spots import ProcessingStep, Spot, check_outlines
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import joined, polygon
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.operations.painted import HAIRLINE_MM

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.document import Box, Element, Job, Leaf, Paint, Shape, Stroke, Style
    from bladewise.formats.pdf.copies import Run
    from bladewise.formats.pdf.resources import Resources
    from bladewise.formats.pdf.space import Page
    from bladewise.geometry.path import Path

_CAPS = {LineCap.BUTT: 0, LineCap.ROUND: 1, LineCap.SQUARE: 2}
_JOINS = {LineJoin.MITER: 0, LineJoin.ROUND: 1, LineJoin.BEVEL: 2}
_UPRIGHT = Affine(1.0, 0.0, 0.0, -1.0, 0.0, 1.0)
"""From the unit square of a PDF picture, y up, to ours, y down."""
_TRACE_MM = 1e-4
"""Length of a line that stands for a dot, along x as SVG turns it; far below what any printer resolves."""
_FEW_LINES = 3
"""Only subpaths of so few segments are looked at for having no area."""


class Painter:
    """Writes the content of one job's page."""

    def __init__(self, page: Page, resources: Resources, spots: Mapping[str, tuple[Spot, Colour]]) -> None:
        """Begin; `spots` tells the spot colour of every leaf that has one."""
        self._place = page.from_sheet
        self._scale = page.scale
        self._resources = resources
        self._spots = spots
        self._copies = Copies(spots)

    def lines(self, job: Job) -> list[str]:
        """Return the content, one operator a line."""
        plates: dict[Spot, list[Leaf]] = {}
        for placed in job.walk():
            if placed.visible and placed.leaf.id in self._spots:
                plates.setdefault(self._spots[placed.leaf.id][0], []).append(placed.leaf)
        areas = [spot for spot in plates if spot.step.is_area]
        under = [spot for spot in areas if spot.step is ProcessingStep.WHITE]
        lines = [line for spot in under for line in self._plate(spot, plates[spot])]
        art = [
            line for layer in job.layers if layer.visible for line in self._layer(layer.id, layer.name, layer.children)
        ]
        if areas and art:
            art = ["q", f"{self._resources.overprint(mode=0)} gs", *art, "Q"]
        over = [spot for spot in areas if spot not in under] + [spot for spot in plates if spot not in areas]
        return lines + art + [line for spot in over for line in self._plate(spot, plates[spot])]

    def _layer(self, key: str, title: str, children: tuple[Element, ...]) -> list[str]:
        inner = self._elements(children, 1.0)
        if not inner:
            return []
        return [f"/OC {self._resources.layer(key, title or key)} BDC", *inner, "EMC"]

    def _plate(self, spot: Spot, leaves: list[Leaf]) -> list[str]:
        """Return what one spot colour paints, on a layer of its own."""
        space = self._resources.separation(spot, self._spots[leaves[0].id][1])
        head = ["q", f"{self._resources.overprint(mode=1)} gs"]
        if spot.step.is_area:
            clear = spot.step is ProcessingStep.VARNISH
            inner = [line for leaf in leaves for line in self._area(leaf, space, clear=clear)]
        else:
            head += [f"{space} CS", "1 SCN", f"{number(HAIRLINE_MM * self._scale)} w", "1 j"]
            if spot.dash_mm is None:
                head.append("1 J")
            else:  # butt ends: round ones would make every cut longer
                head.append(f"[{' '.join(number(length * self._scale) for length in spot.dash_mm)}] 0 d")
            inner = [
                line
                for leaf in leaves
                if (path := cut_outline(leaf))
                for line in (*path_operators(path, self._place), "S")
            ]
        layer = self._resources.layer(spot.name, spot.name, spot)
        return [f"/OC {layer} BDC", *head, *inner, "Q", "EMC"] if inner else []

    def _area(self, leaf: Leaf, space: str, *, clear: bool) -> list[str]:
        """Return what a leaf paints on a plate; a clear coat is shown thinly on a screen, and laid down in full."""
        if isinstance(leaf, Picture):
            raise CannotWrite(
                "A picture cannot be printed in a spot colour.",
                where=leaf.name or leaf.id,
                hint="Draw its outline, and give that the material.",
            )
        style, lines = leaf.style, []
        if isinstance(leaf, Lettering):
            check_outlines(leaf)
        if style.fill is not None and (path := _path(leaf)):
            tint = number(1.0 if clear else style.opacity * style.fill_opacity)
            lines += [f"{space} cs", f"{tint} scn", *path_operators(path, self._place), _fill_operator(style)]
        if (stroke := _drawn_stroke(style)) is not None and (path := _path(leaf)):
            tint = number(1.0 if clear else style.opacity * stroke.opacity)
            lines += ["q", f"{space} CS", f"{tint} SCN", *self._stroked(path, stroke), "Q"]
        return lines

    def _elements(self, elements: tuple[Element, ...], opacity: float) -> list[str]:
        lines: list[str] = []
        for run in self._copies.runs(elements):
            if len(run.moves) > 1:
                lines += self._many_times(run, opacity)
            else:
                lines += [line for element in run.elements for line in self._element(element, opacity)]
        return lines

    def _many_times(self, run: Run, opacity: float) -> list[str]:
        """Return what paints copies: one form (ISO 32000-1, 8.10), put down at each place."""

        def painted() -> list[str]:
            return [line for element in run.elements for line in self._element(element, opacity)]

        if not self._resources.may_hold(reach_of_all(run.elements)):
            copies = [tuple(each.transformed(Affine.moved(*move)) for each in run.elements) for move in run.moves]
            return [line for copy in copies for element in copy for line in self._element(element, opacity)]
        form = self._resources.form(painted())
        lines = []
        for dx, dy in run.moves if form else ():
            place = Affine(e=dx * self._place.a, f=dy * self._place.d)
            lines += ["q", f"{matrix(place)} cm", f"{form} Do", "Q"]
        return lines

    def _element(self, element: Element, opacity: float) -> list[str]:
        if isinstance(element, Group):
            whole = opacity * element.opacity
            if whole >= 1.0 or self._count(element) < 2:
                return self._elements(element.children, whole)
            return self._as_one(self._elements(element.children, 1.0), whole)
        if element.id in self._spots:
            return []
        if isinstance(element, Picture):
            return self._picture(element, opacity)
        if isinstance(element, Lettering):
            check_outlines(element)
        return self._styled(_path(element), element.style, opacity)

    def _count(self, group: Group) -> int:
        """Return how many things in a group are printed."""
        return sum(
            self._count(child) if isinstance(child, Group) else child.id not in self._spots
            for child in group.children
            if child.visible
        )

    def _as_one(self, lines: list[str], opacity: float) -> list[str]:
        """Return content painted as a whole under an opacity."""
        if not lines or opacity <= 0.0:
            return []
        form = self._resources.group(lines)
        return ["q", f"{self._resources.state(opacity)} gs", f"{form} Do", "Q"]

    def _picture(self, picture: Picture, opacity: float) -> list[str]:
        whole = opacity * picture.opacity
        if whole <= 0.0:
            return []
        place = self._place.after(picture.transform).after(_UPRIGHT)
        image = self._resources.picture(picture)
        return ["q", *self._state(whole, None), f"{matrix(place)} cm", f"{image} Do", "Q"]

    def _styled(self, path: Path, style: Style, opacity: float) -> list[str]:
        whole = opacity * style.opacity
        stroke = _drawn_stroke(style)
        if not path or whole <= 0.0:
            return []
        if style.fill is not None and stroke is not None and whole < 1.0:
            return self._as_one(self._styled(path, replace(style, opacity=1.0), 1.0), whole)
        parts = []
        if style.fill is not None:
            parts.append(self._fill(path, style.fill, whole * style.fill_opacity, style))
        if stroke is not None:
            reach = stroke.width_mm * (stroke.pen.mean_scale if stroke.pen else 1.0) * max(1.0, stroke.miter_limit)
            paint = self._paint(stroke.paint, whole * stroke.opacity, ("RG", "CS", "SCN"), _grown(path, reach))
            parts.append(["q", *paint, *self._stroked(path, stroke), "Q"] if paint else [])
        return [line for part in (reversed(parts) if style.stroke_first else parts) for line in part]

    def _fill(self, path: Path, paint: Paint, opacity: float, style: Style) -> list[str]:
        path = _with_area(path)
        colour = self._paint(paint, opacity, ("rg", "cs", "scn"), _grown(path, 0.0)) if path else []
        return ["q", *colour, *path_operators(path, self._place), _fill_operator(style), "Q"] if colour else []

    def _stroked(self, path: Path, stroke: Stroke) -> list[str]:
        """Return a path stroked in the current colour; a pen of its own is a matrix about the path."""
        pen, scale = stroke.pen or IDENTITY, stroke.pen.mean_scale if stroke.pen else 1.0
        uneven = not pen.is_similarity
        unit = scale if uneven else scale * self._scale
        lines = [f"{number(stroke.width_mm * unit)} w"]
        if stroke.cap is LineCap.SQUARE:
            path = _with_dots(path)
        if stroke.cap is not LineCap.BUTT:
            lines.append(f"{_CAPS[stroke.cap]} J")
        if stroke.join is not LineJoin.MITER:
            lines.append(f"{_JOINS[stroke.join]} j")
        else:
            lines.append(f"{number(max(1.0, stroke.miter_limit))} M")
        if sum(stroke.dash) > 0.0:
            dash = stroke.dash * 2 if len(stroke.dash) % 2 else stroke.dash
            start = stroke.dash_offset % sum(dash)
            lines.append(f"[{' '.join(number(length * unit) for length in dash)}] {number(start * unit)} d")
        if not uneven:
            return [*lines, *path_operators(path, self._place), "S"]
        even = pen.after(Affine.scaled(1.0 / scale))  # lengths in it are about those on the sheet
        return [f"{matrix(self._place.after(even))} cm", *lines, *path_operators(path, even.inverse()), "S"]

    def _paint(self, paint: Paint, opacity: float, operators: tuple[str, str, str], box: Box) -> list[str]:
        """Return the operators that choose a paint for what lies in a box; none if it cannot be seen."""
        flat, space, chosen = operators
        if isinstance(paint, Gradient) and not _is_usable(paint):
            if not paint.stops:
                return []
            opacity *= paint.stops[-1].opacity
            paint = paint.stops[-1].colour
        if opacity <= 0.0:
            return []
        if isinstance(paint, Gradient):
            needed = turns(paint, box)
            pattern = self._resources.pattern(paint, needed)
            return [*self._state(opacity, paint, needed), f"/Pattern {space}", f"{pattern} {chosen}"]
        told = " ".join(number(channel / 255.0) for channel in paint)
        return [*self._state(opacity, None), f"{told} {flat}"]

    def _state(self, opacity: float, gradient: Gradient | None, needed: tuple[int, int] = (0, 1)) -> list[str]:
        name = self._resources.state(opacity, gradient, needed)
        return [f"{name} gs"] if name else []


def _path(leaf: Shape | Lettering | Picture) -> Path:
    if isinstance(leaf, Picture):
        raise TypeError(leaf)
    return leaf.outline if isinstance(leaf, Lettering) else leaf.path


def _grown(path: Path, reach: float) -> Box:
    """Return the box of a path that is not empty, larger by a reach on every side."""
    x0, y0, x1, y1 = path.bounds() or (0.0, 0.0, 0.0, 0.0)
    return x0 - reach, y0 - reach, x1 + reach, y1 + reach


def _with_area(path: Path) -> Path:
    """Return a path without the straight lines in it: filled, SVG paints nothing of them, PDF a row of dots."""
    if not ((path.ends - path.starts) <= _FEW_LINES).any():
        return path
    return joined(part for part in path.subpaths() if len(part) > _FEW_LINES or not _is_straight(part))


def _with_dots(path: Path) -> Path:
    """Return a path whose subpaths of no length have a trace of one: SVG gives them square caps, PDF none."""
    parts = list(path.subpaths())
    dots = [bool((part.points == part.points[0, 0]).all()) for part in parts]
    if not any(dots):
        return path
    traces = [((x, y), (x + _TRACE_MM, y)) for x, y in (part.points[0, 0].tolist() for part in parts)]
    return joined(
        polygon(trace, closed=False) if dot else part for part, dot, trace in zip(parts, dots, traces, strict=True)
    )


def _is_straight(path: Path) -> bool:
    away = path.points.reshape(-1, 2) - path.points[0, 0]
    far = away[np.argmax(np.abs(away).sum(axis=1))]
    return bool((np.abs(away[:, 0] * far[1] - away[:, 1] * far[0]) <= 1e-12 * max(1.0, float(far @ far))).all())


def _fill_operator(style: Style) -> str:
    return "f*" if style.fill_rule is FillRule.EVEN_ODD else "f"


def _drawn_stroke(style: Style) -> Stroke | None:
    """Return a style's stroke if it paints anything: a width of nothing would be a hairline in PDF."""
    stroke = style.stroke
    if stroke is None or stroke.width_mm <= 0.0:
        return None
    pen = stroke.pen
    if pen is not None:
        size = max(abs(pen.a), abs(pen.b), abs(pen.c), abs(pen.d))
        if abs(pen.determinant) <= 1e-9 * size * size:
            return None
    return stroke


def _is_usable(gradient: Gradient) -> bool:
    if len(gradient.stops) < 2 or abs(gradient.transform.determinant) < 1e-300:
        return False
    return gradient.radius > 0.0 if gradient.kind is GradientKind.RADIAL else gradient.start != gradient.end
