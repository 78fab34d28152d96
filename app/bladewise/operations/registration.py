"""Registration marks in every colour: the same marks at the same places on each layer, so that the layers line up.

A mark is one closed outline that crosses nothing: it weeds as one piece, and sticks as one. They stand outside the
art, where they are cut away when all is stuck; every layer is put down until its marks lie on the ones below.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from bladewise.document import Job, Layer, Material, MaterialKind, Shape, Style, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry.path import Path, Point, circle, polygon, rectangle
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, choice, integer, length
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import phrase
from bladewise.units import counted, format_length, format_number

ARM_SHARE = 0.2
"""Width of a cross's arms as a share of its size: it closes, weeds as one piece, and crosses nothing."""

_ID = "registration-mark"
_NAME = "Registration mark"


class MarkKind(StrEnum):
    """What a mark looks like."""

    CROSS = "cross"
    SQUARE = "square"
    ROUND = "round"


@dataclass(frozen=True, kw_only=True)
class RegistrationMarksStep:
    """The same marks on every layer that is cut."""

    on: Selection = acts_on(help="The art whose vinyls get marks; they stand around it")
    kind: MarkKind = choice(MarkKind.CROSS, help="What a mark looks like")
    size_mm: float = length(8.0, minimum=1.0, maximum=200.0, help="How large a mark is, across and down")
    gap_mm: float = length(5.0, minimum=0.0, maximum=500.0, help="How far the marks stand off the art")
    marks: int = integer(
        3, minimum=2, maximum=4, help="How many: 2 at the foot, 4 at all corners; 3 show which way is up"
    )


def mark_outline(kind: MarkKind, place: Point, reach_mm: float) -> Path:
    """Return the outline of a mark about a place, from its middle to its edge so far; clockwise on the screen."""
    x, y = place
    if kind is MarkKind.ROUND:
        return circle(place, reach_mm)
    if kind is MarkKind.SQUARE:
        return rectangle(x - reach_mm, y - reach_mm, 2.0 * reach_mm, 2.0 * reach_mm)
    arm = reach_mm * ARM_SHARE
    corners = ((arm, reach_mm), (arm, arm), (reach_mm, arm))
    quarters = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    around = [(sx * a, sy * b) for sx, sy in quarters for a, b in (corners if sx * sy < 0 else corners[::-1])]
    return polygon([(x + dx, y + dy) for dx, dy in around])


def is_mark(shape: Shape) -> bool:
    """Whether a shape is one of the marks that this step has put there."""
    return shape.id.startswith(_ID)


def registration_marks(job: Job, record: RegistrationMarksStep, progress: Progress) -> Result:
    """Put the same marks on a layer of each vinyl; marks put there before give way."""
    placed = record.on.leaves(job)
    if not placed:
        raise nothing_matches(record.on, job)
    art = [each for each in placed if each.visible and not (isinstance(each.leaf, Shape) and is_mark(each.leaf))]
    layers: dict[Material, Layer] = {}
    for each in art:
        material = job.material_of(each)
        if material.kind is MaterialKind.CUT:
            layers[material] = each.layer  # the uppermost that holds some of it
    box = bounds_of([each.leaf for each in art])
    if not layers or box is None:
        msg = "None of this is cut from a vinyl."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose art that is cut.")
    old = [shape.id for shape in job.shapes() if is_mark(shape)]
    result = job.without(old)
    places = mark_places(box, record.size_mm, record.gap_mm, record.marks)
    made: list[str] = []
    for material, layer in layers.items():
        marks = []
        for number, place in enumerate(places, start=1):
            key = result.fresh_id(f"{_ID}-{material.id}-{number}", taken=made)
            made.append(key)
            marks.append(
                Shape(
                    key,
                    mark_outline(record.kind, place, record.size_mm / 2.0),
                    Style(fill=material.colour),
                    name=f"{_NAME} {number}",
                    material=material.id,
                )
            )
        result = result.with_material(material)
        now = result.layer(layer.id) or layer
        result = result.with_layer(replace(now, children=(*now.children, *marks)))
    progress(1.0)
    count, vinyls = counted(len(places), "mark", "marks"), counted(len(layers), "vinyl", "vinyls")
    reports = [phrase("{count} in each of {vinyls}, at the same places.", count=count, vinyls=vinyls)]
    reach = record.size_mm / 2.0
    over = max(max(reach - x, reach - y, x + reach - job.width_mm, y + reach - job.height_mm) for x, y in places)
    if over > 0.0:
        reports.append(
            phrase(
                "They stand over the edge of the sheet by {length}: make the sheet larger.", length=format_length(over)
            )
        )
    return Result(result, tuple(reports), tuple(made))


def mark_places(box: tuple[float, float, float, float], size_mm: float, gap_mm: float, count: int) -> list[Point]:
    """Return the middles of marks around art: left and right at its foot, then at its head.

    Parameters
    ----------
    box
        The art's extent in mm.
    size_mm, gap_mm
        How large the marks are and how far off the art they stand, beside it.
    count
        2, 3 or 4.
    """
    x0, y0, x1, y1 = box
    off = gap_mm + size_mm / 2.0
    middle, apart = (y0 + y1) / 2.0, max(y1 - y0 - size_mm, size_mm + gap_mm)  # beside flat art they keep apart too
    foot, head = middle + apart / 2.0, middle - apart / 2.0
    return [(x0 - off, foot), (x1 + off, foot), (x0 - off, head), (x1 + off, head)][:count]


def _summary(record: RegistrationMarksStep) -> str:
    return phrase(
        "Registration marks around {on}, {marks} of {size} mm in each vinyl",
        on=record.on.describe(),
        marks=record.marks,
        size=format_number(record.size_mm),
    )


OPERATIONS = (
    Operation(
        "registration-marks",
        "Registration marks",
        "The same marks in every vinyl, outside the art, so that the layers line up.",
        RegistrationMarksStep,
        registration_marks,
        _summary,
    ),
)
