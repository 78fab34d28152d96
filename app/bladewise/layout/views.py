"""A job as pictures on paper show it: the finished piece, and each material alone. Jobs again, cropped to the art.

Nothing in them is cut any more: every material is dropped, so that whoever prints them prints all of it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import (
    Colour,
    Group,
    Job,
    Layer,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
    is_cut_line,
    leaves_in,
)
from bladewise.geometry.affine import Affine
from bladewise.layout.clipping import clipped, pieces_of
from bladewise.layout.portions import portion
from bladewise.operations.declaration import quiet
from bladewise.operations.marking import is_mark, painted_extent

if TYPE_CHECKING:
    from bladewise.document import Box, Element, Leaf
    from bladewise.layout.figures import MaterialFigures
    from bladewise.operations.declaration import Progress

_EDGE = Colour(0x33, 0x33, 0x33)
_CUT_EDGE = Colour(0xA0, 0xA0, 0xA0)
_EDGE_ID = "cut-edge"
_LINE_SHARE = 1.0 / 400.0
"""Width of the lines drawn about pieces, as a share of the picture's longer side: 0.2 mm on a picture of 8 cm."""
_ROOM_SHARE = 0.015
"""Room left around the art, as a share of its longer side."""
_PALE = 216
"""A colour whose weakest channel is above this can hardly be told from white paper."""


def finished(job: Job, progress: Progress = quiet) -> Job | None:
    """Return what the customer holds: cut along the lines about the print, each cut a fine edge; None where nothing is.

    Guides, marks, white and varnish are left out.

    Parameters
    ----------
    job
        The job.
    progress
        Told from 0 to 1 between portions of the work; it may raise `Cancelled`.
    """
    unseen = [
        placed.leaf.id
        for placed in job.walk()
        if not placed.visible
        or is_mark(placed.leaf)
        or is_cut_line((material := job.material_of(placed)).id)
        or material.kind in (MaterialKind.GUIDE, MaterialKind.WHITE, MaterialKind.VARNISH)
    ]
    seen = job.without(unseen)
    pieces = pieces_of(job)
    layers: tuple[Layer, ...] = ()
    for number, layer in enumerate(seen.layers):
        share = portion(progress, number / len(seen.layers), (number + 1) / len(seen.layers))
        children = clipped(layer.children, pieces, share) if pieces else layer.children
        layers += (replace(layer, material=None, children=_bare(children)),)
    box = finished_box(job)
    if pieces and box is not None:
        edge = Stroke(_CUT_EDGE, max(box[2] - box[0], box[3] - box[1]) * _LINE_SHARE / 2.0)
        layers += (Layer("cut-edges", "Cut edges", (Shape(_EDGE_ID, pieces, Style(stroke=edge)),)),)
    return _cropped(replace(seen, layers=layers, materials=(), notes=()), box)


def finished_box(job: Job) -> Box | None:
    """Return the extent of the finished piece: of its cut lines where it has some, else of all that shows."""
    shown = [
        (placed.leaf, job.material_of(placed)) for placed in job.walk() if placed.visible and not is_mark(placed.leaf)
    ]
    shown = [each for each in shown if each[1].kind is not MaterialKind.GUIDE]
    lines = [leaf for leaf, material in shown if is_cut_line(material.id)]
    return painted_extent(lines or [leaf for leaf, _ in shown])


def material_alone(job: Job, found: MaterialFigures) -> Job | None:
    """Return one material with its marks as it comes off the machine, each piece with an edge; None if it has none."""
    if found.box is None:
        return None
    line_mm = max(found.box[2] - found.box[0], found.box[3] - found.box[1]) * _LINE_SHARE
    layer = Layer("alone", found.material.name, tuple(_edged(leaf, found, line_mm) for leaf in found.leaves))
    return _cropped(Job(found.material.name, job.width_mm, job.height_mm, (layer,)), found.box)


def is_pale(job: Job) -> bool:
    """Whether some of the art can hardly be told from white paper."""
    return any(
        isinstance(fill := leaf.style.fill, Colour) and min(fill) > _PALE
        for placed in job.walk()
        if placed.visible and not isinstance(leaf := placed.leaf, Picture)
    )


def flat_colours(job: Job) -> list[Colour]:
    """Return the flat colours of a picture of a job, each once, from the back to the front; not that of its edge."""
    found: dict[Colour, None] = {}
    for leaf in leaves_in(child for layer in job.layers if layer.visible for child in layer.children):
        if isinstance(leaf, Picture) or not leaf.visible or leaf.id == _EDGE_ID:
            continue
        stroke = leaf.style.stroke
        for paint in (leaf.style.fill, stroke.paint if stroke is not None else None):
            if isinstance(paint, Colour):
                found.setdefault(paint)
    return list(found)


def _bare(children: tuple[Element, ...]) -> tuple[Element, ...]:
    return tuple(
        replace(child, children=_bare(child.children)) if isinstance(child, Group) else replace(child, material=None)
        for child in children
    )


def _edged(leaf: Leaf, found: MaterialFigures, line_mm: float) -> Leaf:
    if isinstance(leaf, Picture):
        return replace(leaf, material=None)
    if found.material.kind is not MaterialKind.CUT:
        fill = found.material.colour if found.material.kind is not MaterialKind.PRINT else None
        style = leaf.style if fill is None else replace(leaf.style, fill=fill if leaf.style.fill is not None else None)
        return _styled(leaf, style)
    only_line = is_cut_line(found.material.id) or leaf.style.fill is None
    edge = Stroke(_EDGE, line_mm)
    return _styled(leaf, Style(None if only_line else found.material.colour, leaf.style.fill_rule, stroke=edge))


def _styled(leaf: Leaf, style: Style) -> Leaf:
    return leaf if isinstance(leaf, Picture) else replace(leaf, style=style, material=None)


def _cropped(job: Job, box: Box | None) -> Job | None:
    if box is None:
        return None
    long = max(box[2] - box[0], box[3] - box[1])
    room = max(long * _ROOM_SHARE, 0.01)
    shift = Affine.moved(room - box[0], room - box[1])
    layers = tuple(
        replace(layer, children=tuple(child.transformed(shift) for child in layer.children)) for layer in job.layers
    )
    wide, high = box[2] - box[0] + 2.0 * room, box[3] - box[1] + 2.0 * room
    return replace(job, width_mm=wide, height_mm=high, layers=layers)
