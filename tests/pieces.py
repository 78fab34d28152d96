"""Small jobs that many tests start from."""

from __future__ import annotations

from bladewise.document import CUT_LINE, Colour, Job, Layer, Material, Shape, Stroke, Style
from bladewise.geometry.path import Path, circle, rectangle

ORANGE = Colour(0xE6, 0x9F, 0x00)
BLUE = Colour(0x00, 0x72, 0xB2)


def shape(key: str, path: Path, fill: Colour | None = ORANGE, stroke: Stroke | None = None) -> Shape:
    """Return a named shape."""
    return Shape(key, path, Style(fill=fill, stroke=stroke), name=key.capitalize())


def job_of(*shapes: Shape, width_mm: float = 200.0, height_mm: float = 200.0) -> Job:
    """Return a job with one layer, the shapes from the back to the front."""
    return Job("Test", width_mm, height_mm, (Layer("art", "Art", shapes),))


def two_circles() -> Job:
    """Return two circles of radius 20 mm whose centres lie 15 mm apart, one colour."""
    return job_of(shape("left", circle((50.0, 50.0), 20.0)), shape("right", circle((65.0, 50.0), 20.0)))


def ring_and_bar() -> Job:
    """Return an orange disc with a blue bar lying over it."""
    return job_of(shape("disc", circle((50.0, 50.0), 20.0)), shape("bar", rectangle(45.0, 20.0, 10.0, 60.0), BLUE))


def print_of(cut: Path, *shapes: Shape) -> Job:
    """Return a job whose shapes are printed and cut along a path, kiss cut."""
    line = Shape("line", cut, Style(stroke=Stroke(BLUE, 0.1)), name="Line", material=CUT_LINE)
    lined = job_of(*shapes).with_material(Material(CUT_LINE, "Cut line", BLUE))
    return lined.with_layer(Layer("lines", "Lines", (line,)))
