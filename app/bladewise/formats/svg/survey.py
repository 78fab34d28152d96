"""A first look over a whole drawing: its style sheets, and what in it can never be drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.formats.svg.css import StyleSheet

if TYPE_CHECKING:
    from bladewise.formats.svg.notes import Notes
    from bladewise.formats.svg.tree import Node, Tree

LANGUAGE = "en"
"""The language chosen among alternatives (`switch`)."""

_ANIMATIONS = frozenset({"animate", "animateColor", "animateMotion", "animateTransform", "set", "discard"})
_NOTED = {"script": "script", "foreignObject": "foreignObject", "font": "font", "font-face": "font"}
_DEFINITIONS = frozenset({
    "clipPath", "color-profile", "cursor", "defs", "desc", "filter", "linearGradient", "marker", "mask", "metadata",
    "pattern", "radialGradient", "style", "symbol", "title", "view", "hatch", "solidColor", "stop",
})  # fmt: skip
NOT_DRAWN = _DEFINITIONS | _ANIMATIONS | _NOTED.keys()
"""Elements that draw nothing where they stand."""


def survey(tree: Tree, notes: Notes) -> StyleSheet:
    """Return the rules of all style elements, and note what is left out wherever it stands."""
    sheet = StyleSheet()
    for node in tree.root.walk():
        if not node.is_svg:
            if node.namespace == "http://www.w3.org/2001/XInclude":
                notes.add("external use", node.attributes.get("href", ""))
            continue
        name = node.name
        if name == "style" and node.attributes.get("type", "text/css") in ("", "text/css"):
            sheet.add(node.text)
        elif name in _ANIMATIONS:
            notes.add("animation")
        elif name in _NOTED:
            notes.add(_NOTED[name])
    for skipped in sheet.skipped:
        if skipped == "@font-face":
            notes.add("font")
        else:
            notes.add("style sheet", skipped)
    for instruction in tree.instructions:
        if instruction.startswith("xml-stylesheet"):
            notes.add("external use", "style sheet")
    return sheet


def is_wanted(node: Node) -> bool:
    """Whether an element's conditions hold: it asks for no extension, and for our language if for any."""
    if node.attributes.get("requiredExtensions", "").strip():
        return False
    languages = node.attributes.get("systemLanguage")
    if languages is None:
        return True
    return any(part.strip().lower().split("-")[0] == LANGUAGE for part in languages.split(","))


def is_above(target: Node, node: Node) -> bool:
    """Whether an element holds another, or is it."""
    above: Node | None = node
    while above is not None:
        if above is target:
            return True
        above = above.parent
    return False
