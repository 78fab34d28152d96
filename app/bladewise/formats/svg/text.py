"""Text elements as live lettering.

The outlines are set by the lettering room. Where a font is not at hand it sets them in a substitute, and
the operator is told; the words, the place and the look are kept either way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from bladewise.document import Align, Colour, Gradient, Lettering, Style
from bladewise.formats.svg.cascade import Properties, properties
from bladewise.formats.svg.css import StyleSheet
from bladewise.formats.svg.notes import Notes
from bladewise.formats.svg.paint import Painter
from bladewise.formats.svg.tree import Node
from bladewise.formats.svg.values import Frame, length
from bladewise.geometry.affine import Affine
from bladewise.lettering import find_face, set_outline

_WEIGHTS = {"normal": 400, "bold": 700, "bolder": 700, "lighter": 300}
_ALIGNS = {"middle": Align.MIDDLE, "end": Align.END}
_HAS_PLACES = re.compile(r"[\s,]*[^\s,]+[\s,]+[^\s,]+")


@dataclass
class _Chunk:
    """A run of text that begins at a place of its own."""

    x: float
    y: float
    found: Properties
    node: Node
    text: str = ""
    mixed: bool = False
    looks: set[tuple[str, ...]] = field(default_factory=set)


@dataclass
class TextReader:
    """Turns text elements into lettering."""

    painter: Painter
    sheet: StyleSheet
    notes: Notes

    def read(self, node: Node, found: Properties, ctm: Affine, frame: Frame) -> list[Lettering]:
        """Return the lettering of a text element, one a chunk that has its own place; ids are left empty."""
        chunks: list[_Chunk] = []
        self._collect(node, found, frame, chunks, (0.0, 0.0))
        keep = node.attributes.get("http://www.w3.org/XML/1998/namespace space") == "preserve"
        result = []
        for chunk in chunks:
            text = re.sub(r"[\t\r\n]", " ", chunk.text) if keep else re.sub(r"\s+", " ", chunk.text).strip()
            if text.strip():
                result.append(self._lettering(chunk, text, ctm, frame))
        return result

    def _collect(
        self, node: Node, found: Properties, frame: Frame, chunks: list[_Chunk], here: tuple[float, float]
    ) -> None:
        x, y = self._place(node, found, frame, "x"), self._place(node, found, frame, "y")
        dx, dy = self._place(node, found, frame, "dx") or 0.0, self._place(node, found, frame, "dy") or 0.0
        if not chunks or x is not None or y is not None or dy != 0.0:
            here = (here[0] if x is None else x) + dx, (here[1] if y is None else y) + dy
            chunks.append(_Chunk(here[0], here[1], found, node))
        for place, text in enumerate(node.texts):
            chunk = chunks[-1]
            if text.strip():
                chunk.looks.add(_look(found))
                if len(chunk.looks) == 2:
                    self.notes.add("text styles", _name(chunk.node))
                elif not chunk.text.strip():
                    chunk.found = found
            chunk.text += text
            if place < len(node.children):
                child = node.children[place]
                if not child.is_svg or child.name not in ("tspan", "a", "textPath", "tref"):
                    continue
                inner = properties(child, found, self.sheet, frame)
                if inner.get("display") == "none":
                    continue
                if child.name == "textPath":
                    self.notes.add("text path", _name(node))
                self._collect(child, inner, frame, chunks, (chunks[-1].x, chunks[-1].y))

    def _place(self, node: Node, found: Properties, frame: Frame, name: str) -> float | None:
        text = node.attributes.get(name)
        if text is None:
            return None
        if _HAS_PLACES.match(text):
            self.notes.add("text places", _name(node))
        first = re.split(r"[\s,]+", text.strip())[0]
        whole = frame.width if name.endswith("x") else frame.height
        return length(first, whole, Frame(frame.width, frame.height, found.font_size))

    def _lettering(self, chunk: _Chunk, text: str, ctm: Affine, frame: Frame) -> Lettering:
        found = chunk.found
        scale = ctm.mean_scale or 1.0
        style = self.painter.style(found, ctm, frame, None, name=_name(chunk.node))
        size = Frame(frame.width, frame.height, found.font_size)
        spacing = found.get("letter-spacing", "normal")
        weight = found.get("font-weight", "normal")
        return Lettering(
            id="",
            text=text,
            family=_family(found.get("font-family", "sans-serif")),
            size_mm=found.font_size * scale,
            style=style,
            align=_ALIGNS.get(found.get("text-anchor"), Align.START),
            weight=_WEIGHTS.get(weight, int(weight) if weight.isdigit() and 1 <= int(weight) <= 1000 else 400),
            italic=found.get("font-style") in ("italic", "oblique"),
            letter_spacing_mm=(length(spacing, size.font_size, size) or 0.0) * scale,
            transform=ctm.after(Affine.moved(chunk.x, chunk.y)).after(Affine.scaled(1.0 / scale)),
            visible=found.get("visibility") not in ("hidden", "collapse"),
        )


def outlined(lettering: Lettering, notes: Notes) -> Lettering:
    """Return lettering with its outlines, in its own font or in the nearest there is."""
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or face.substitute:
        notes.add("font missing", lettering.family)
    return lettering if face is None else set_outline(lettering)


def plain_style(style: Style, notes: Notes, name: str) -> Style:
    """Return a style without gradients, which need an outline to be placed on."""
    if isinstance(style.fill, Gradient):
        notes.add("text gradient", name)
        middle: Colour = style.fill.stops[len(style.fill.stops) // 2].colour
        return Style(middle, style.fill_rule, style.fill_opacity, style.stroke, style.opacity, style.stroke_first)
    return style


def _look(found: Properties) -> tuple[str, ...]:
    return tuple(
        found.get(name) for name in ("fill", "stroke", "font-family", "font-size", "font-weight", "font-style")
    )


def _family(text: str) -> str:
    first = re.match(r"\s*(?:\"([^\"]*)\"|'([^']*)'|([^,]*))", text)
    return next((part.strip() for part in first.groups() if part), "sans-serif") if first else "sans-serif"


def _name(node: Node) -> str:
    while node.name != "text" and node.parent is not None:
        node = node.parent
    return node.id or " ".join("".join(one.text for one in node.walk()).split())[:30]
