"""The basic shapes of SVG as paths, in user units (SVG 2, "Basic shapes")."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.formats.svg.path_data import read_path_data
from bladewise.formats.svg.values import LARGEST, Frame, length, numbers
from bladewise.geometry.path import EMPTY, Path, PathBuilder, ellipse, polygon, rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.formats.svg.tree import Node

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})


def shape_path(node: Node, values: Mapping[str, str], frame: Frame) -> tuple[Path, bool]:
    """Return the outline of a shape element, and whether it could be read to its end.

    `values` holds the geometry: the element's attributes with what a style sheet says put over them
    (in SVG 2 they are properties).
    """

    def measure(name: str, whole: float) -> float | None:
        return length(values.get(name), whole, frame)

    match node.name:
        case "path":
            return read_path_data(values.get("d", ""))
        case "rect":
            width, height = measure("width", frame.width) or 0.0, measure("height", frame.height) or 0.0
            if width <= 0.0 or height <= 0.0:
                return EMPTY, True
            rx, ry = measure("rx", frame.width), measure("ry", frame.height)
            rx = None if rx is not None and rx < 0.0 else rx
            ry = None if ry is not None and ry < 0.0 else ry
            across = rx if rx is not None else ry if ry is not None else 0.0
            down = ry if ry is not None else rx if rx is not None else 0.0
            x, y = measure("x", frame.width) or 0.0, measure("y", frame.height) or 0.0
            return rectangle(x, y, width, height, across, down), True
        case "circle":
            radius = measure("r", frame.diagonal) or 0.0
            if radius <= 0.0:
                return EMPTY, True
            centre = measure("cx", frame.width) or 0.0, measure("cy", frame.height) or 0.0
            return ellipse(centre, radius, radius), True
        case "ellipse":
            rx, ry = measure("rx", frame.width), measure("ry", frame.height)
            across, down = (rx if rx is not None else ry) or 0.0, (ry if ry is not None else rx) or 0.0
            if across <= 0.0 or down <= 0.0:
                return EMPTY, True
            centre = measure("cx", frame.width) or 0.0, measure("cy", frame.height) or 0.0
            return ellipse(centre, across, down), True
        case "line":
            pen = PathBuilder()
            pen.move_to((measure("x1", frame.width) or 0.0, measure("y1", frame.height) or 0.0))
            pen.line_to((measure("x2", frame.width) or 0.0, measure("y2", frame.height) or 0.0))
            return pen.path(), True
        case _:
            flat = numbers(values.get("points", ""))
            complete = len(flat) % 2 == 0 and all(abs(value) <= LARGEST for value in flat)
            if not complete and not all(abs(value) <= LARGEST for value in flat):
                return EMPTY, False
            pairs = list(zip(flat[::2], flat[1::2], strict=False))
            if len(pairs) < 2:
                return EMPTY, complete
            return polygon(pairs, closed=node.name == "polygon"), complete
