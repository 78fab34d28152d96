"""Text elements as live lettering.

The outlines are set by the lettering room. Where a font is not at hand it sets them in a substitute, and
the operator is told; the words, the place and the look are kept either way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document import Align, Lettering
from bladewise.formats.svg import names
from bladewise.formats.svg.cascade import Properties, properties
from bladewise.formats.svg.css import StyleSheet
from bladewise.formats.svg.notes import Notes
from bladewise.formats.svg.paint import Painter
from bladewise.formats.svg.values import Frame, length
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.lettering import find_face, set_outline

if TYPE_CHECKING:
    from bladewise.formats.svg.tree import Node

_WEIGHTS = {"normal": 400, "bold": 700, "bolder": 700, "lighter": 300}
_ALIGNS = {"middle": Align.MIDDLE, "end": Align.END}
_HAS_PLACES = re.compile(r"[\s,]*[^\s,]+[\s,]+[^\s,]+")


@dataclass
class _Run:
    """Text of one look, and how far it is shifted from where the run before it ended, in user units."""

    found: Properties
    text: str = ""
    dx: float = 0.0
    dy: float = 0.0


@dataclass
class _Chunk:
    """Runs of text that begin at a place of their own."""

    x: float
    y: float
    runs: list[_Run]


@dataclass
class TextReader:
    """Turns text elements into lettering."""

    painter: Painter
    sheet: StyleSheet
    notes: Notes

    def read(self, node: Node, found: Properties, ctm: Affine, frame: Frame) -> list[Lettering]:
        """Return the lettering of a text element, one a place and a look; ids are left empty."""
        chunks: list[_Chunk] = []
        self._collect(node, found, frame, chunks)
        keep = node.attributes.get(f"{names.XML} space") == "preserve"
        result: list[Lettering] = []
        for chunk in chunks:
            runs = _spaced(chunk.runs, keep=keep)
            pieces = [self._lettering(run, ctm, frame) for run in runs]
            if len(pieces) > 1:
                pieces = _in_a_row(pieces, runs, ctm.mean_scale)
            place = ctm.after(Affine.moved(chunk.x, chunk.y)).after(Affine.scaled(1.0 / (ctm.mean_scale or 1.0)))
            result += [
                self._set(replace(piece, transform=place.after(piece.transform)), run, ctm, frame, _name(node))
                for piece, run in zip(pieces, runs, strict=True)
                if piece.text
            ]
        return result

    def _collect(self, node: Node, found: Properties, frame: Frame, chunks: list[_Chunk]) -> None:
        x, y = self._place(node, found, frame, "x"), self._place(node, found, frame, "y")
        dx, dy = self._place(node, found, frame, "dx") or 0.0, self._place(node, found, frame, "dy") or 0.0
        if not chunks or x is not None or y is not None:
            here = (chunks[-1].x, chunks[-1].y + sum(run.dy for run in chunks[-1].runs)) if chunks else (0.0, 0.0)
            chunks.append(_Chunk((here[0] if x is None else x) + dx, (here[1] if y is None else y) + dy, []))
        elif dx or dy:
            chunks[-1].runs.append(_Run(found, "", dx, dy))
        for place, text in enumerate(node.texts):
            runs = chunks[-1].runs
            if text and runs and _look(runs[-1].found) == _look(found):
                runs[-1].text += text
            elif text:
                runs.append(_Run(found, text))
            if place < len(node.children):
                child = node.children[place]
                if not child.is_svg or child.name not in ("tspan", "a", "textPath", "tref"):
                    continue
                inner = properties(child, found, self.sheet, frame)
                if inner.get("display") == "none":
                    continue
                if child.name == "textPath":
                    self.notes.add("text path", _name(node))
                self._collect(child, inner, frame, chunks)

    def _place(self, node: Node, found: Properties, frame: Frame, name: str) -> float | None:
        text = node.attributes.get(name)
        if text is None or not text.strip():
            return None
        if _HAS_PLACES.match(text):
            self.notes.add("text places", _name(node))
        first = re.split(r"[\s,]+", text.strip())[0]
        whole = frame.width if name.endswith("x") else frame.height
        return length(first, whole, Frame(frame.width, frame.height, found.font_size))

    def _lettering(self, run: _Run, ctm: Affine, frame: Frame) -> Lettering:
        """Return the lettering of a run, at the origin of its own space."""
        found = run.found
        scale = ctm.mean_scale or 1.0
        size = Frame(frame.width, frame.height, found.font_size)
        spacing = found.get("letter-spacing", "normal")
        weight = found.get("font-weight", "normal")
        result = Lettering(
            id="",
            text=run.text,
            family=_family(found.get("font-family", "sans-serif")),
            size_mm=found.font_size * scale,
            align=_ALIGNS.get(found.get("text-anchor"), Align.START),
            weight=_WEIGHTS.get(weight, int(weight) if weight.isdigit() and 1 <= int(weight) <= 1000 else 400),
            italic=found.get("font-style") in ("italic", "oblique"),
            letter_spacing_mm=(length(spacing, size.font_size, size) or 0.0) * scale,
            visible=found.get("visibility") not in ("hidden", "collapse"),
        )
        face = find_face(result.family, result.weight, italic=result.italic)
        if face is None or face.substitute:
            self.notes.add("font missing", result.family)
        return result

    def _set(self, text: Lettering, run: _Run, ctm: Affine, frame: Frame, name: str) -> Lettering:
        """Return lettering with its outlines and its paint; gradients fill the box of the outlines."""
        text = set_outline(text)
        box = None
        if text.outline and abs(ctm.determinant) > 0.0:
            box = text.outline.transformed(ctm.inverse()).bounds()
        style = self.painter.style(run.found, ctm, frame, box, name=name)
        return replace(text, style=style)


def _spaced(runs: list[_Run], *, keep: bool) -> list[_Run]:
    """Return runs with white space as SVG shows it, those with nothing to show left out (SVG 2, "White space")."""
    result: list[_Run] = []
    open_to_space = keep
    for run in runs:
        text = re.sub(r"[\t\r\n]", " ", run.text) if keep else re.sub(r"\s+", " ", run.text)
        if not open_to_space:
            text = text.lstrip(" ")
        if text:
            open_to_space = keep or not text.endswith(" ")
        if text or run.dx or run.dy:
            result.append(_Run(run.found, text, run.dx, run.dy))
    while result and not keep:
        result[-1].text = result[-1].text.rstrip(" ")
        if result[-1].text:
            break
        result.pop()
    return [run for run in result if run.text.strip()] if len(result) == 1 else result


def _in_a_row(pieces: list[Lettering], runs: list[_Run], scale: float) -> list[Lettering]:
    """Return runs one after another on their line, each from its own start; the first says how they are aligned."""
    advances = [_advance_mm(piece) if piece.text else 0.0 for piece in pieces]
    whole = sum(advances) + scale * sum(run.dx for run in runs)
    y = 0.0
    x = {Align.START: 0.0, Align.MIDDLE: -whole / 2.0, Align.END: -whole}[pieces[0].align]
    result = []
    for piece, run, advance in zip(pieces, runs, advances, strict=True):
        x, y = x + scale * run.dx, y + scale * run.dy
        shown = piece.text if piece.text.strip() else ""
        result.append(replace(piece, text=shown, align=Align.START, transform=Affine.moved(x, y)))
        x += advance
    return result


def _advance_mm(text: Lettering) -> float:
    """Return how far a run moves the place of the next: seen by setting a bar behind it, and the bar alone."""
    bar = set_outline(replace(text, text="|", align=Align.START, transform=IDENTITY)).bounds
    both = set_outline(replace(text, text=f"{text.text}|", align=Align.START, transform=IDENTITY)).bounds
    if bar is None or both is None:
        return 0.5 * text.size_mm * len(text.text)
    return both[2] - bar[2]


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
