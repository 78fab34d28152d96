"""The job as a value: layers, groups, shapes, lettering, pictures, styles, materials."""

from bladewise.document.elements import (
    Align,
    Box,
    Element,
    Group,
    Leaf,
    Lettering,
    Picture,
    Shape,
    bounds_of,
    outline_of,
)
from bladewise.document.job import Changes, Job, Layer, Placed
from bladewise.document.materials import PRINT, Material, MaterialKind, colour_word, material_for_colour
from bladewise.document.style import (
    BLACK,
    Colour,
    Gradient,
    GradientKind,
    Paint,
    Spread,
    Stop,
    Stroke,
    Style,
)

__all__ = [
    "BLACK",
    "PRINT",
    "Align",
    "Box",
    "Changes",
    "Colour",
    "Element",
    "Gradient",
    "GradientKind",
    "Group",
    "Job",
    "Layer",
    "Leaf",
    "Lettering",
    "Material",
    "MaterialKind",
    "Paint",
    "Picture",
    "Placed",
    "Shape",
    "Spread",
    "Stop",
    "Stroke",
    "Style",
    "bounds_of",
    "colour_word",
    "material_for_colour",
    "outline_of",
]
