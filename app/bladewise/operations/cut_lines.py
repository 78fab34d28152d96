"""The lines a knife follows around a print: kiss cut, through cut, perforation, crease, each on a layer of its own.

A second line of another kind about the same art stands beside the first: a sticker is kiss cut along its edge and
cut through farther out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document import (
    PERFORATION,
    PRINT,
    Colour,
    CutKind,
    Job,
    Layer,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
    cut_line_id,
    is_cut_line,
)
from bladewise.errors import CannotApply
from bladewise.geometry.parallels import Corner
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colour,
    length,
    number,
    only_with,
    switch,
)
from bladewise.operations.line_round import Holes, Islands, LineRound, art_to_go_round, line_round
from bladewise.operations.painted import HAIRLINE_MM, paints_anything
from bladewise.operations.picture_edge import HALF_OPACITY
from bladewise.operations.selection import Selection
from bladewise.phrases import listing, phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Leaf, Placed
    from bladewise.geometry.path import Path

LINE_COLOURS = tuple(
    Colour.from_hex(text) for text in ("#cc79a7", "#d55e00", "#0072b2", "#009e73", "#e69f00", "#56b4e9", "#f0e442")
)
"""Okabe and Ito's palette (2008), those that stand out on art first."""
KIND_NAMES = {
    CutKind.KISS: "Cut line",
    CutKind.THROUGH: "Through cut",
    CutKind.PERFORATION: "Perforation",
    CutKind.CREASE: "Crease",
}
"""What lines, their layers and their materials are called."""


@dataclass(frozen=True, kw_only=True)
class CutLine:
    """The path the knife follows around a print."""

    on: Selection = acts_on()
    kind: CutKind = choice(CutKind.KISS, help="How deep the knife goes: kiss cut, through cut, perforation, crease")
    distance_mm: float = length(
        0.0, minimum=-50.0, maximum=500.0, help="How far outside the art's edge (minus: inside)"
    )
    corner: Corner = choice(Corner.ROUND, help="How corners are made")
    inlet_radius_mm: float = length(
        0.0, minimum=0.0, maximum=100.0, help="Notches and inlets are rounded to this radius; narrower ones fill up"
    )
    point_radius_mm: float = length(
        0.0, minimum=0.0, maximum=100.0, help="Points that stick out are rounded to this radius; thinner ones go"
    )
    holes: Holes = choice(Holes.WITH_HOLES, help="Outer edge only, or with the holes the design has")
    least_hole_mm2: float = only_with(
        number(0.0, minimum=0.0, maximum=1e6, help="Leave out holes smaller than this area in mm²"),
        holes=Holes.WITH_HOLES,
    )
    islands: Islands = choice(
        Islands.APART,
        help="Parts that do not hang together: cut apart, joined by bridges, or on a common backing",
    )
    reach_mm: float = only_with(
        length(10.0, minimum=0.1, maximum=500.0, help="Islands this near are joined; a backing fills what is narrower"),
        islands=(Islands.BRIDGED, Islands.BACKED),
    )
    bridge_width_mm: float = only_with(
        length(4.0, minimum=0.1, maximum=200.0, help="How wide bridges are"), islands=(Islands.BRIDGED, Islands.BACKED)
    )
    least_opacity: float = number(
        HALF_OPACITY, minimum=1.0, maximum=100.0, help="Pixels of pictures that show less than this, in %, are left out"
    )
    cut_mm: float | None = only_with(
        length(
            None,
            minimum=PERFORATION.least,
            maximum=PERFORATION.most,
            help="Perforation: how far the knife cuts; left out: as its material says",
        ),
        kind=CutKind.PERFORATION,
    )
    gap_mm: float | None = only_with(
        length(
            None,
            minimum=PERFORATION.least,
            maximum=PERFORATION.most,
            help="Perforation: how much stays whole; left out: as its material says",
        ),
        kind=CutKind.PERFORATION,
    )
    line_colour: Colour | None = colour(None, help="Colour of the line; left out: one the art does not use")
    print_art: bool = switch(default=True, help="What the line goes around becomes print")

    @property
    def how(self) -> LineRound:
        """How the line goes round the art."""
        return LineRound(
            distance_mm=self.distance_mm,
            corner=self.corner,
            holes=self.holes,
            least_hole_mm2=self.least_hole_mm2,
            inlet_radius_mm=self.inlet_radius_mm,
            point_radius_mm=self.point_radius_mm,
            islands=self.islands,
            reach_mm=self.reach_mm,
            bridge_width_mm=self.bridge_width_mm,
            least_opacity=self.least_opacity,
        )


def cut_line(job: Job, record: CutLine, progress: Progress) -> Result:
    """Put the cut line about the art on a layer of its own at the front."""
    art = art_to_go_round(record.on, job)
    found = line_round([placed.leaf for placed in art], record.how, progress)
    if not found.path:
        raise no_line_left(record.on, job)
    result = printed(job, art, record.on) if record.print_art else job
    result, key = with_line(
        result, found.path, record.kind, line_colour=record.line_colour, cut_mm=record.cut_mm, gap_mm=record.gap_mm
    )
    return Result(result, found.reports, (key,))


def no_line_left(on: Selection, job: Job) -> CannotApply:
    """Return the refusal where art is narrower than a line inside it leaves room for."""
    msg = "No line is left at this distance."
    return CannotApply(msg, where=on.describe(job), hint="Make the distance larger.")


def printed(job: Job, art: Sequence[Placed], on: Selection) -> Job:
    """Return the job with art as print; white and varnish stay what they are, and so do lines of a knife's own."""
    leaves = [
        placed.leaf
        for placed in art
        if not job.material_of(placed).kind.is_printed
        or (placed.leaf.material is None and placed.layer.material is None)  # printed only as no vinyl shows it
    ]
    leaves += _thin_lines(on, job)
    result = job.with_material(job.material(PRINT.id) or PRINT)
    return result.replaced({leaf.id: (replace(leaf, material=PRINT.id),) for leaf in leaves})


def with_line(
    job: Job,
    path: Path,
    kind: CutKind,
    *,
    line_colour: Colour | None = None,
    cut_mm: float | None = None,
    gap_mm: float | None = None,
) -> tuple[Job, str]:
    """Return the job with a line for the knife at the front, on the layer of its kind, and the line's id."""
    key = cut_line_id(kind)
    material = job.material(key) or Material(
        key, KIND_NAMES[kind], line_colour or _unused_colour(job), MaterialKind.CUT, cut=kind
    )
    material = replace(
        material,
        colour=line_colour or material.colour,
        cut=kind,
        perforation_cut_mm=material.perforation_cut_mm if cut_mm is None else cut_mm,
        perforation_gap_mm=material.perforation_gap_mm if gap_mm is None else gap_mm,
    )
    fresh = job.fresh_id(key)
    shape = Shape(fresh, path, Style(stroke=Stroke(material.colour, HAIRLINE_MM)), name=KIND_NAMES[kind], material=key)
    existing = next((layer for layer in job.layers if layer.material == key), None)
    if existing is not None:
        layer = replace(existing, children=(*existing.children, shape))
    else:
        layer = Layer(job.fresh_id(f"{key}-layer", taken={fresh}), KIND_NAMES[kind], (shape,), material=key)
    return job.with_material(material).with_layer(layer), fresh


def _thin_lines(on: Selection, job: Job) -> list[Leaf]:
    """Return hairlines that are part of a print; one whose material was chosen is a knife's line and stays one."""
    return [
        placed.leaf
        for placed in on.leaves(job)
        if isinstance(placed.leaf, Shape)
        and placed.leaf.style.is_painted
        and placed.leaf.material is None
        and placed.layer.material is None
        and not paints_anything(placed.leaf)
    ]


def _unused_colour(job: Job) -> Colour:
    """Return a colour that neither art nor a line uses yet."""
    used = {leaf.style.colour for placed in job.walk() if not isinstance(leaf := placed.leaf, Picture)}
    used |= {material.colour for material in job.materials if is_cut_line(material.id)}
    return next((each for each in LINE_COLOURS if each not in used), LINE_COLOURS[0])


def summary(record: CutLine) -> str:
    """Return a cut line in words with its numbers."""
    distance = format_number(record.distance_mm)
    parts = [
        phrase("Cut line, {distance} mm", distance=distance)
        if record.kind is CutKind.KISS
        else phrase("Cut line, {kind}, {distance} mm", kind=record.kind, distance=distance),
        phrase("outer edge" if record.holes is Holes.OUTER else "with holes"),
    ]
    if record.islands is not Islands.APART:
        parts.append(phrase("islands {islands}", islands=record.islands))
    return listing(parts)


OPERATIONS = (
    Operation(
        "cut-line",
        "Cut line",
        "The path the knife follows around a print: kiss cut, through cut, perforation or crease.",
        CutLine,
        cut_line,
        summary,
    ),
)
