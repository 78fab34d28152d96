"""From properties to paint: colours, gradients and strokes of one element, in its own user units.

SVG 2, "Painting" and "Paint servers". Patterns are not drawn; a shape that has one is kept in grey and
noted.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import Colour, Gradient, GradientKind, Paint, Spread, Stop, Stroke, Style
from bladewise.document.elements import Box, style_transformed
from bladewise.formats.svg.cascade import INITIAL, Properties, properties
from bladewise.formats.svg.values import Frame, colour, fraction, length, number, transform
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.units import MM_PER_PX

if TYPE_CHECKING:
    from bladewise.formats.svg.css import StyleSheet
    from bladewise.formats.svg.notes import Notes
    from bladewise.formats.svg.tree import Node, Tree

PATTERN_GREY = Colour(0x80, 0x80, 0x80)
_URL = re.compile(r"""url\(\s*["']?\s*(.*?)\s*["']?\s*\)\s*(.*)$""", re.DOTALL)
_CAPS = {cap.value: cap for cap in LineCap}
_JOINS = {"miter": LineJoin.MITER, "round": LineJoin.ROUND, "bevel": LineJoin.BEVEL, "miter-clip": LineJoin.MITER,
          "arcs": LineJoin.MITER}  # fmt: skip


class Reference(NamedTuple):
    """What url(#id) refers to, and the rest of the value."""

    id: str
    rest: str
    external: bool


def reference(text: str) -> Reference | None:
    """Return the reference in a property's value, if it is one."""
    match = _URL.match(text.strip())
    if match is None:
        return None
    target = match.group(1)
    return Reference(target.partition("#")[2], match.group(2).strip(), not target.startswith("#"))


class Painter:
    """Makes styles from properties; remembers gradients and styles it has made."""

    def __init__(self, tree: Tree, sheet: StyleSheet, notes: Notes) -> None:
        """Begin with a drawing's elements and rules."""
        self._tree = tree
        self._sheet = sheet
        self._notes = notes
        self._stops: dict[str, tuple[Stop, ...]] = {}
        self._styles: dict[tuple[object, ...], tuple[Properties, Style]] = {}

    def style(
        self,
        found: Properties,
        ctm: Affine,
        frame: Frame,
        box: Box | None,
        *,
        name: str = "",
        pen: Affine | None = None,
    ) -> Style:
        """Return an element's style on the sheet.

        Parameters
        ----------
        found, ctm, frame
            Its properties, the map from its user space to the sheet in mm, its viewport.
        box
            The extent of its outline in user units, for gradients given in parts of it.
        name
            For notes.
        pen
            The exact pen of a stroke in our own files; gradients then count by their exact transform.
        """
        fill, stroke = found.get("fill", "black"), found.get("stroke", "none")
        if "url" in fill or "url" in stroke or pen is not None:
            return self._made(found, ctm, frame, box, name, pen)
        key = (id(found.inherited), tuple(found.own.items()), ctm[:4], frame, found.font_size)
        if (known := self._styles.get(key)) is not None:
            return known[1]
        style = self._made(found, ctm, frame, box, name, pen)
        self._styles[key] = (found, style)  # the properties are kept, so that their id stays theirs
        return style

    def _made(
        self, found: Properties, ctm: Affine, frame: Frame, box: Box | None, name: str, pen: Affine | None
    ) -> Style:
        exact = pen is not None
        fill, fill_alpha = self._paint(found.get("fill", "black"), found, frame, box, name, exact=exact)
        style = Style(
            fill=fill,
            fill_rule=FillRule.EVEN_ODD if found.get("fill-rule") == "evenodd" else FillRule.NONZERO,
            fill_opacity=fraction(found.get("fill-opacity", "1")) * fill_alpha,
            opacity=fraction(found.get("opacity", "1")),
            stroke_first=_stroke_first(found.get("paint-order")),
        )
        style = style_transformed(style, ctm, scale_strokes=True)
        paint, alpha = self._paint(found.get("stroke", "none"), found, frame, box, name, exact=exact)
        if paint is None:
            return style
        stroke = self._stroke(found, paint, alpha, frame)
        if stroke is None:
            return style
        fixed = found.get("vector-effect") == "non-scaling-stroke"
        if fixed:
            stroke = _scaled(stroke, MM_PER_PX)
        elif pen is not None:
            stroke = replace(stroke, pen=pen)
        return replace(style, stroke=style_transformed(Style(stroke=stroke), ctm, scale_strokes=not fixed).stroke)

    def _stroke(self, found: Properties, paint: Paint, alpha: float, frame: Frame) -> Stroke | None:
        frame = replace(frame, font_size=found.font_size)
        width = length(found.get("stroke-width", "1"), frame.diagonal, frame)
        if width is None or width < 0.0:
            width = 1.0
        if width == 0.0:
            return None
        limit = number(found.get("stroke-miterlimit"), 4.0) or 4.0
        return Stroke(
            paint,
            width,
            cap=_CAPS.get(found.get("stroke-linecap"), LineCap.BUTT),
            join=_JOINS.get(found.get("stroke-linejoin"), LineJoin.MITER),
            miter_limit=limit if limit >= 1.0 else 4.0,
            dash=_dash(found.get("stroke-dasharray"), frame),
            dash_offset=length(found.get("stroke-dashoffset", "0"), frame.diagonal, frame) or 0.0,
            opacity=fraction(found.get("stroke-opacity", "1")) * alpha,
        )

    def _paint(
        self, text: str, found: Properties, frame: Frame, box: Box | None, name: str, *, exact: bool
    ) -> tuple[Paint | None, float]:
        """Return a paint in user space and its opacity."""
        if (link := reference(text)) is not None:
            node = self._tree.by_id.get(link.id) if not link.external else None
            if node is not None and node.name in ("linearGradient", "radialGradient"):
                paint, alpha = self._gradient(node, frame, box)
                told = node.ours("transform") if exact else None
                if told is not None and isinstance(paint, Gradient) and (kept := transform(told)) is not None:
                    paint = replace(paint, transform=kept)
                return paint, alpha
            if node is not None and node.name == "pattern":
                self._notes.add("pattern", name)
                if not link.rest or link.rest == "none":
                    return PATTERN_GREY, 1.0
            elif node is None:
                self._notes.add("external use" if link.external else "broken reference", text)
            text = link.rest or "none"
        return self._flat(text, found)

    def _flat(self, text: str, found: Properties) -> tuple[Colour | None, float]:
        text = text.strip()
        lowered = text.lower()
        if lowered in ("none", "context-fill", "context-stroke"):
            return None, 1.0
        if lowered == "currentcolor":
            text = found.get("color", "black")
        if "icc-color" in text:
            text = text.partition("icc-color")[0]
        return colour(text) or (None, 1.0)

    def _gradient(self, node: Node, frame: Frame, box: Box | None) -> tuple[Paint | None, float]:
        chain = _chain(node, self._tree)
        stops = self._stops_of(chain)
        if not stops:
            return None, 1.0
        last = stops[-1].colour, stops[-1].opacity
        if len(stops) == 1:
            return last

        def told(attribute: str, *, only: str = "") -> str | None:
            return next(
                (one.attributes[attribute] for one in chain if attribute in one.attributes and only in ("", one.name)),
                None,
            )

        own_units = told("gradientUnits") == "userSpaceOnUse"
        space = frame if own_units else Frame(1.0, 1.0, frame.font_size)

        def measure(attribute: str, default: str, whole: float) -> float:
            found = length(told(attribute, only=node.name), whole, space)
            return found if found is not None else length(default, whole, space) or 0.0

        unit = IDENTITY
        if not own_units:
            if box is None or box[2] <= box[0] or box[3] <= box[1]:
                return None, 1.0
            unit = Affine(box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1])
        own = transform(told("gradientTransform"))
        placed = unit.after(own) if own is not None else unit
        if abs(placed.determinant) < 1e-300:
            return None, 1.0
        word = (told("spreadMethod") or "pad").strip()
        spread = Spread(word) if word in ("pad", "reflect", "repeat") else Spread.PAD
        if node.name == "linearGradient":
            start = measure("x1", "0%", space.width), measure("y1", "0%", space.height)
            end = measure("x2", "100%", space.width), measure("y2", "0%", space.height)
            if start == end:
                return last
            return Gradient(GradientKind.LINEAR, start, end, stops, 0.0, spread, placed), 1.0
        centre = measure("cx", "50%", space.width), measure("cy", "50%", space.height)
        radius = measure("r", "50%", space.diagonal)
        if radius <= 0.0:
            return last
        focal_x, focal_y = told("fx", only=node.name), told("fy", only=node.name)
        focal = (
            centre[0] if focal_x is None else measure("fx", "50%", space.width),
            centre[1] if focal_y is None else measure("fy", "50%", space.height),
        )
        return Gradient(GradientKind.RADIAL, focal, centre, stops, radius, spread, placed), 1.0

    def _stops_of(self, chain: list[Node]) -> tuple[Stop, ...]:
        holder = next((one for one in chain if any(child.name == "stop" for child in one.children)), None)
        if holder is None:
            return ()
        key = holder.id
        if key and key in self._stops:
            return self._stops[key]
        parent = self._inherited(holder)
        stops: list[Stop] = []
        for child in holder.children:
            if child.name != "stop":
                continue
            found = properties(child, parent, self._sheet, Frame(0.0, 0.0))
            flat, alpha = self._flat(found.get("stop-color", "black"), found)
            offset = fraction(child.attributes.get("offset"), 0.0)
            if stops:
                offset = max(offset, stops[-1].offset)
            stops.append(Stop(offset, flat or Colour(0, 0, 0), fraction(found.get("stop-opacity", "1")) * alpha))
        if key:
            self._stops[key] = tuple(stops)
        return tuple(stops)

    def _inherited(self, node: Node) -> Properties:
        above = self._inherited(node.parent) if node.parent is not None else INITIAL
        return properties(node, above, self._sheet, Frame(0.0, 0.0))


def _chain(node: Node, tree: Tree) -> list[Node]:
    """Return a gradient and those it takes its missing attributes from, nearest first."""
    chain = [node]
    while (link := chain[-1].href).startswith("#"):
        following = tree.by_id.get(link[1:])
        if following is None or following in chain or following.name not in ("linearGradient", "radialGradient"):
            break
        chain.append(following)
    return chain


def _dash(text: str, frame: Frame) -> tuple[float, ...]:
    if not text or text == "none":
        return ()
    lengths = [length(part, frame.diagonal, frame) for part in re.split(r"[\s,]+", text.strip()) if part]
    known = [value for value in lengths if value is not None]
    if len(known) != len(lengths) or any(value < 0.0 for value in known) or sum(known) <= 0.0:
        return ()
    return tuple(known * 2 if len(known) % 2 else known)


def _scaled(stroke: Stroke, factor: float) -> Stroke:
    return replace(
        stroke,
        width_mm=stroke.width_mm * factor,
        dash=tuple(value * factor for value in stroke.dash),
        dash_offset=stroke.dash_offset * factor,
    )


def _stroke_first(order: str) -> bool:
    words = order.split()
    if "stroke" not in words:
        return False
    return "fill" not in words or words.index("stroke") < words.index("fill")
