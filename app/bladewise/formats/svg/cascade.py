"""From attributes, style sheets and inheritance to the properties of one element.

Properties stay text until they are used; see `paint.py` for what becomes of them. SVG 2, "Styling":
presentation attributes count as the weakest author rules, then style sheets, then the style
attribute, then what is marked important.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bladewise.formats.svg.css import StyleSheet, declarations
from bladewise.formats.svg.values import Frame, length

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.formats.svg.tree import Node

INHERITED = frozenset({
    "clip-rule", "color", "fill", "fill-opacity", "fill-rule", "font-family", "font-size", "font-style", "font-weight",
    "letter-spacing", "marker-end", "marker-mid", "marker-start", "paint-order", "stroke", "stroke-dasharray",
    "stroke-dashoffset", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "stroke-opacity", "stroke-width",
    "text-anchor", "visibility", "white-space", "word-spacing", "writing-mode", "direction",
})  # fmt: skip
OWN = frozenset({
    "baseline-shift", "clip-path", "display", "filter", "mask", "mix-blend-mode", "opacity", "overflow",
    "stop-color", "stop-opacity", "text-decoration", "transform", "transform-box", "transform-origin", "vector-effect",
})  # fmt: skip
GEOMETRY = frozenset({"x", "y", "width", "height", "rx", "ry", "r", "cx", "cy", "d"})
PRESENTATION = INHERITED | (OWN - {"transform"})
KNOWN = INHERITED | OWN | GEOMETRY

_SIZES = {
    "xx-small": 9.0, "x-small": 10.0, "small": 13.0, "medium": 16.0, "large": 18.0, "x-large": 24.0, "xx-large": 32.0,
}  # fmt: skip


class Properties(NamedTuple):
    """What applies to one element."""

    inherited: dict[str, str]
    own: dict[str, str]
    font_size: float

    def get(self, name: str, default: str = "") -> str:
        """Return a property's value."""
        return (self.inherited if name in INHERITED else self.own).get(name, default)


INITIAL = Properties({}, {}, 16.0)


def properties(node: Node, parent: Properties, sheet: StyleSheet, frame: Frame) -> Properties:
    """Return an element's properties, given its parent's."""
    declared: dict[str, str] = {}
    for name, value in node.attributes.items():
        if name in PRESENTATION:
            declared[name] = value.strip()
    important: dict[str, str] = {}
    if sheet:
        _collect(sheet.declared(node), declared, important)
    if style := node.attributes.get("style"):
        _collect(declarations(style), declared, important)
    declared.update(important)
    if not declared:
        return Properties(parent.inherited, {}, parent.font_size)
    key = (id(parent.inherited), id(parent.own), frame, parent.font_size, tuple(declared.items()))
    known: tuple[Properties, Properties] | None = sheet.remembered.get(key)
    if known is not None:
        return known[1]
    found = _computed(declared, parent, frame)
    sheet.remembered[key] = (parent, found)  # the parent is kept, so that its id stays its own
    return found


def _computed(declared: dict[str, str], parent: Properties, frame: Frame) -> Properties:
    inherited: dict[str, str] | None = None
    own: dict[str, str] = {}
    size = parent.font_size
    for name, value in declared.items():
        if value in ("inherit", "unset", "initial", "revert"):
            if name in INHERITED:
                if value == "initial":
                    inherited = dict(parent.inherited) if inherited is None else inherited
                    inherited.pop(name, None)
                    size = 16.0 if name == "font-size" else size
            elif value == "inherit" and name in parent.own:
                own[name] = parent.own[name]
            continue
        if name in INHERITED:
            if name == "font-size":
                size = _font_size(value, parent.font_size, frame)
                value = f"{size!r}px"
            inherited = dict(parent.inherited) if inherited is None else inherited
            inherited[name] = value
        else:
            own[name] = value
    return Properties(parent.inherited if inherited is None else inherited, own, size)


def geometry(node: Node, found: Properties) -> Mapping[str, str]:
    """Return the element's attributes with geometry properties from style sheets put over them."""
    extra = {name: value for name, value in found.own.items() if name in GEOMETRY}
    if not extra:
        return node.attributes
    if "d" in extra:
        data = extra["d"].strip()
        extra["d"] = data[5:].rstrip(")").strip().strip("\"'") if data.startswith("path(") else data
    return {**node.attributes, **extra}


def _collect(found: list[tuple[str, str, bool]], declared: dict[str, str], important: dict[str, str]) -> None:
    for name, value, is_important in found:
        if name in KNOWN:
            (important if is_important else declared)[name] = value
        elif name == "marker":
            for end in ("marker-start", "marker-mid", "marker-end"):
                (important if is_important else declared)[end] = value
        elif name == "font":
            for key, part in _font(value).items():
                (important if is_important else declared)[key] = part


def _font(value: str) -> dict[str, str]:
    """Return the longhands of the `font` shorthand: style, weight, size and family."""
    result = {"font-style": "normal", "font-weight": "normal"}
    words = value.split()
    for place, word in enumerate(words):
        if word in ("italic", "oblique"):
            result["font-style"] = word
        elif word in ("bold", "bolder", "lighter") or (word.isdigit() and len(word) == 3):
            result["font-weight"] = word
        elif word[0].isdigit() or word[0] == "." or word in _SIZES:
            result["font-size"] = word.split("/")[0]
            result["font-family"] = " ".join(words[place + 1 :])
            break
    return result


def _font_size(value: str, parent: float, frame: Frame) -> float:
    if value in _SIZES:
        return _SIZES[value]
    if value in ("larger", "smaller"):
        return parent * 1.2 if value == "larger" else parent / 1.2
    size = length(value, parent, Frame(frame.width, frame.height, parent))
    return parent if size is None or size < 0.0 else size
