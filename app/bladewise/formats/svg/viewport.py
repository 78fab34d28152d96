"""How large a drawing is, and how its user units lie on the sheet.

SVG 2, section 8 "Coordinate systems, transformations and units": width, height, viewBox and
preserveAspectRatio; 96 user units an inch where nothing else is said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from bladewise.formats.svg.values import Frame, finite, length, length_in_mm, numbers
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.units import MM_PER_PX

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.formats.svg.notes import Notes
    from bladewise.formats.svg.tree import Node

DEFAULT_WIDTH_PX, DEFAULT_HEIGHT_PX = 300.0, 150.0
"""The size of a drawing that states none (CSS 2.1, section 10.3.2)."""


Size: TypeAlias = tuple[float | None, float | None]
"""Width and height in user units, where they are said."""


class Sheet(NamedTuple):
    """The outermost drawing: its size in mm, the map from user units to mm, and the viewport in user units."""

    width_mm: float
    height_mm: float
    ctm: Affine
    frame: Frame


def view_box(node: Node) -> tuple[float, float, float, float] | None:
    """Return a valid viewBox, or None."""
    values = numbers(node.attributes.get("viewBox", ""))
    if len(values) != 4 or not all(map(finite, values)) or values[2] <= 0.0 or values[3] <= 0.0:
        return None
    x, y, width, height = values
    return x, y, width, height


class Viewport(NamedTuple):
    """A viewport inside a drawing: how far its corner is moved, its size, the fit of its viewBox, its own units."""

    moved: Affine
    width: float
    height: float
    fit: Affine
    frame: Frame


def nested(node: Node, values: Mapping[str, str], frame: Frame, size: Size | None) -> Viewport:
    """Return the viewport of an inner `svg` or a `symbol`; `size` is what a `use` says about it."""

    def measure(name: str, whole: float, default: float) -> float:
        value = length(values.get(name), whole, frame)
        return default if value is None else value

    x = y = 0.0
    if node.name == "svg":
        x, y = measure("x", frame.width, 0.0), measure("y", frame.height, 0.0)
    width, height = measure("width", frame.width, frame.width), measure("height", frame.height, frame.height)
    if size is not None:
        width, height = size[0] if size[0] is not None else width, size[1] if size[1] is not None else height
    width, height = max(width, 0.0), max(height, 0.0)
    box = view_box(node)
    if box is None or width == 0.0 or height == 0.0:
        return Viewport(Affine.moved(x, y), width, height, IDENTITY, Frame(width, height))
    fit = fitted(box, width, height, node.attributes.get("preserveAspectRatio", ""))
    return Viewport(Affine.moved(x, y), width, height, fit, Frame(box[2], box[3]))


def sheet_of(root: Node, declared: dict[str, str], notes: Notes) -> Sheet:
    """Return the sheet of a drawing, given what style sheets declare about its root.

    A missing size, or one in percent, is that of the viewBox in px; if one side is given, the other
    follows in proportion.
    """
    box = view_box(root)

    def told(name: str) -> float | None:
        value = length_in_mm(declared.get(name) or root.attributes.get(name), None)
        return value if value is not None and value > 0.0 and finite(value) else None

    width, height = told("width"), told("height")
    if width is None and height is None:
        notes.add("size")
    if box is not None:
        if width is None:
            width = height * box[2] / box[3] if height is not None else box[2] * MM_PER_PX
        if height is None:
            height = width * box[3] / box[2]
        ctm = fitted(box, width, height, root.attributes.get("preserveAspectRatio", ""))
        return Sheet(width, height, ctm, Frame(box[2], box[3]))
    width = DEFAULT_WIDTH_PX * MM_PER_PX if width is None else width
    height = DEFAULT_HEIGHT_PX * MM_PER_PX if height is None else height
    return Sheet(width, height, Affine.scaled(MM_PER_PX), Frame(width / MM_PER_PX, height / MM_PER_PX))


def fitted(box: tuple[float, float, float, float], width: float, height: float, rule: str) -> Affine:
    """Return the map that fits a viewBox into width × height as preserveAspectRatio says."""
    x, y, box_width, box_height = box
    words = rule.split()
    if words and words[0] == "defer":
        words = words[1:]
    align = words[0] if words else "xMidYMid"
    across, down = width / box_width, height / box_height
    if align == "none":
        return _placed(across, down, -x * across, -y * down)
    scale = max(across, down) if "slice" in words[1:] else min(across, down)
    room_x, room_y = width - box_width * scale, height - box_height * scale
    share_x = 0.0 if align.startswith("xMin") else 1.0 if align.startswith("xMax") else 0.5
    share_y = 0.0 if align.endswith("YMin") else 1.0 if align.endswith("YMax") else 0.5
    if across != down and abs(across - down) < 1e-9 * scale:  # rounding in the file, not a margin
        room_x = room_y = 0.0
    return _placed(scale, scale, room_x * share_x - x * scale, room_y * share_y - y * scale)


def _placed(across: float, down: float, dx: float, dy: float) -> Affine:
    if (across, down, dx, dy) == (1.0, 1.0, 0.0, 0.0):
        return IDENTITY
    return Affine(across, 0.0, 0.0, down, dx, dy)
