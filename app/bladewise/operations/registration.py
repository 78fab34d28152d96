"""Registration marks: the same in every vinyl, so that the layers line up; or printed around art that is cut.

In vinyl they stand outside the art, where they are cut away when all is stuck; every layer is put down until
its marks lie on the ones below. Printed, they show whoever cuts, or the machine that looks for them, how the
sheet lies; a zone about each is kept free, and one more mark beside the first shows when a sheet is turned.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from bladewise.document import (
    BLACK,
    PRINT,
    Box,
    Job,
    Layer,
    Leaf,
    Material,
    MaterialKind,
    Shape,
    Style,
    bounds_of,
)
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, choice, integer, length, switch
from bladewise.operations.marking import (
    MARK_ID,
    MARK_NAME,
    MarkKind,
    Spot,
    art_of,
    in_the_way,
    is_mark,
    joined_box,
    mark_outline,
    marks_in,
    painted_extent,
    spots_along,
    spots_at_corners,
    spots_beside,
    zone,
)
from bladewise.operations.painted import label
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_length, format_number

_MOST_NAMED = 4
_TOUCHING_MM = 1e-6
"""Marks whose zones or the sheet's edge are met within this only touch."""

PRINT_MARKS_NAME = "Print marks"
PRINT_MARK_NAME = "Print mark"


class Room(StrEnum):
    """What is done where there is no room for the marks."""

    GROW = "grow"
    REFUSE = "refuse"


@dataclass(frozen=True, kw_only=True)
class RegistrationMarksStep:
    """The same marks on every layer that is cut."""

    on: Selection = acts_on(help="The art whose vinyls get marks; they stand around it")
    kind: MarkKind = choice(MarkKind.CROSS, help="What a mark looks like; none takes them away")
    size_mm: float = length(8.0, minimum=1.0, maximum=200.0, help="How large a mark is, across and down")
    gap_mm: float = length(5.0, minimum=0.0, maximum=500.0, help="How far the marks stand off the art")
    marks: int = integer(
        3, minimum=2, maximum=4, help="How many: 2 at the foot, 4 at all corners; 3 show which way is up"
    )


@dataclass(frozen=True, kw_only=True)
class PrintMarksStep:
    """Printed marks around art that is cut."""

    on: Selection = acts_on(help="The art the marks stand around")
    kind: MarkKind = choice(MarkKind.SQUARE, help="What a mark looks like; none takes them away")
    size_mm: float = length(5.0, minimum=1.0, maximum=100.0, help="How large a mark is, across and down")
    line_mm: float = length(0.5, minimum=0.05, maximum=20.0, help="Width of the lines of crosses and corner angles")
    gap_mm: float = length(
        8.0, minimum=0.0, maximum=500.0, help="How far the marks stand off the art, at least the quiet zone"
    )
    inset_mm: float | None = length(
        None, minimum=0.0, maximum=1000.0, help="Instead: how far they stand from the edges of the sheet"
    )
    every_mm: float | None = length(
        None, minimum=10.0, maximum=1e5, help="More of them along the long sides, at most so far apart"
    )
    quiet_mm: float = length(3.0, minimum=0.0, maximum=100.0, help="Quiet zone: kept free about each mark")
    orientation: bool = switch(default=True, help="One more beside the first, so that a turned sheet is noticed")
    room: Room = choice(Room.GROW, help="Where there is no room: let the sheet grow, or refuse")


def registration_marks(job: Job, record: RegistrationMarksStep, progress: Progress) -> Result:
    """Put the same marks on a layer of each vinyl; marks put there before give way."""
    placed = record.on.leaves(job)
    if not placed:
        raise nothing_matches(record.on, job)
    art = [each for each in placed if each.visible and not is_mark(each.leaf)]
    layers: dict[Material, Layer] = {}
    for each in art:
        material = job.material_of(each)
        if material.kind is MaterialKind.CUT:
            layers[material] = each.layer  # the uppermost that holds some of it
    box = bounds_of([each.leaf for each in art])
    if not layers or box is None:
        msg = "None of this is cut from a vinyl."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose art that is cut.")
    result = _without_marks(job, printed=False)
    if record.kind is MarkKind.NONE:
        progress(1.0)
        return Result(result)
    spots = spots_beside(box, record.size_mm, record.gap_mm, record.marks)
    made: list[str] = []
    for material, layer in layers.items():
        marks = []
        for number, spot in enumerate(spots, start=1):
            key = result.fresh_id(f"{MARK_ID}-{material.id}-{number}", taken=made)
            made.append(key)
            path = mark_outline(record.kind, (spot.x, spot.y), record.size_mm / 2.0, corner=(spot.right, spot.down))
            name = f"{MARK_NAME} {number}"
            marks.append(Shape(key, path, Style(fill=material.colour), name=name, material=material.id))
        result = result.with_material(material)
        now = result.layer(layer.id) or layer
        result = result.with_layer(replace(now, children=(*now.children, *marks)))
    progress(1.0)
    count, vinyls = counted(len(spots), "mark", "marks"), counted(len(layers), "vinyl", "vinyls")
    reports = [phrase("{count} in each of {vinyls}, at the same places.", count=count, vinyls=vinyls)]
    over = _over(_zones(spots, record.size_mm, 0.0), job)
    if over > 0.0:
        reports.append(
            phrase(
                "They stand over the edge of the sheet by {length}: make the sheet larger.", length=format_length(over)
            )
        )
    return Result(result, tuple(reports), tuple(made))


def print_marks(job: Job, record: PrintMarksStep, progress: Progress) -> Result:
    """Put printed marks on a layer of their own at the front; those put there before give way."""
    placed = record.on.leaves(job)
    if not placed:
        raise nothing_matches(record.on, job)
    result = _without_marks(job, printed=True)
    if record.kind is MarkKind.NONE:
        progress(1.0)
        return Result(result)
    chosen = art_of(result, [each for each in placed if not is_mark(each.leaf)])
    box = painted_extent(chosen)
    if box is None:
        msg = "There is no art to put marks around."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose art that shows.")
    progress(0.2)
    reports: list[str] = []
    result, spots = _with_room(result, box, record, reports)
    progress(0.6)
    _refuse_crowded(spots, record)
    art = art_of(result, result.walk())
    zones = _zones(spots, record.size_mm, record.quiet_mm)
    blocking = in_the_way(art, zones)
    if blocking:
        raise _blocked(blocking, record)
    result, made = _printed(result, spots, record)
    progress(1.0)
    told = phrase(
        "{count} printed, {quiet} kept free about each.",
        count=counted(len(spots), "mark", "marks"),
        quiet=format_length(record.quiet_mm),
    )
    return Result(result, (told, *reports), made)


def _with_room(job: Job, box: Box, record: PrintMarksStep, reports: list[str]) -> tuple[Job, list[tuple[Spot, float]]]:
    """Return the job with room for the marks, and where each stands with its size."""
    spots = _spots(job, box, record)
    zones = _zones(spots, record.size_mm, record.quiet_mm)
    if record.inset_mm is None:
        short = _short_of(zones, job)
        fits = max(short) <= _TOUCHING_MM
    else:
        margin = record.inset_mm + record.size_mm + record.quiet_mm
        whole = painted_extent(art_of(job, job.walk())) or box
        right, bottom = whole[2] + margin - job.width_mm, whole[3] + margin - job.height_mm
        short = margin - whole[0], margin - whole[1], right, bottom
        fits = not in_the_way(art_of(job, job.walk()), zones)
    if fits:
        return job, spots
    if record.room is Room.REFUSE:
        if record.inset_mm is not None and (blocking := in_the_way(art_of(job, job.walk()), zones)):
            raise _blocked(blocking, record)
        raise CannotApply(
            phrase("The sheet lacks {length} for the marks and their quiet zone.", length=format_length(max(short))),
            where=record.on.describe(job),
            hint="Make the sheet larger, or let it grow.",
        )
    left, top, right, bottom = (max(0.0, each) for each in short)
    job = _grown(job, left, top, right, bottom)
    box = box[0] + left, box[1] + top, box[2] + left, box[3] + top
    reports.append(
        phrase(
            "The sheet grew to {width} × {height} mm.",
            width=format_number(job.width_mm),
            height=format_number(job.height_mm),
        )
    )
    return job, _spots(job, box, record)


def _spots(job: Job, box: Box, record: PrintMarksStep) -> list[tuple[Spot, float]]:
    """Return where the marks stand and how large each is: the corners, those along the sides, the one for the turn."""
    half = record.size_mm / 2.0
    if record.inset_mm is None:
        off = max(record.gap_mm, record.quiet_mm) + half
        frame = box[0] - off, box[1] - off, box[2] + off, box[3] + off
    else:
        off = record.inset_mm + half
        frame = off, off, job.width_mm - off, job.height_mm - off
        if frame[0] >= frame[2] or frame[1] >= frame[3]:
            raise CannotApply(
                phrase("Marks of {size} do not fit the sheet.", size=format_length(record.size_mm)),
                where=record.on.describe(job),
                hint="Make the marks smaller, or set them less far in.",
            )
    spots = [(spot, record.size_mm) for spot in spots_at_corners(frame)]
    if record.every_mm is not None:
        spots += [(spot, record.size_mm) for spot in spots_along(frame, record.every_mm)]
    if record.orientation:
        step = half + record.quiet_mm + half / 2.0
        level = frame[2] - frame[0] < frame[3] - frame[1]  # on the short side, where no others stand
        short = min(frame[2] - frame[0], frame[3] - frame[1])
        if short < 2.0 * (step + half) - half / 2.0:
            level = not level
        spots.append((Spot(frame[0] + step, frame[1]) if level else Spot(frame[0], frame[1] + step), half))
    return spots


def _zones(spots: list[tuple[Spot, float]] | list[Spot], size_mm: float, quiet_mm: float) -> list[Box]:
    return [
        zone(each, size_mm, quiet_mm) if isinstance(each, Spot) else zone(each[0], each[1], quiet_mm) for each in spots
    ]


def _short_of(zones: list[Box], job: Job) -> tuple[float, float, float, float]:
    """Return by how much boxes lie over each edge of the sheet: left, top, right, bottom; negative within it."""
    x0, y0, x1, y1 = joined_box(zones)
    return -x0, -y0, x1 - job.width_mm, y1 - job.height_mm


def _over(zones: list[Box], job: Job) -> float:
    return max(_short_of(zones, job))


def _refuse_crowded(spots: list[tuple[Spot, float]], record: PrintMarksStep) -> None:
    """Refuse marks of which one stands in another's quiet zone.

    Raises
    ------
    CannotApply
        If there is one.
    """
    for place, (spot, size) in enumerate(spots):
        for other, own in spots[:place]:
            least = (size + own) / 2.0 + record.quiet_mm - _TOUCHING_MM
            if abs(spot.x - other.x) < least and abs(spot.y - other.y) < least:
                raise CannotApply(
                    "One mark would stand in the quiet zone of another.",
                    where=record.on.describe(),
                    hint="Set them farther apart, make them smaller, or leave out the one that shows a turned sheet.",
                )


def _blocked(blocking: list[Leaf], record: PrintMarksStep) -> CannotApply:
    names = [label(leaf) for leaf in blocking[:_MOST_NAMED]]
    more = len(blocking) - len(names)
    what = phrase(
        "{names} lies in the quiet zone of a mark."
        if len(blocking) == 1
        else "{names} lie in the quiet zone of a mark.",
        names=listing([*names, phrase("{count} more", count=more)] if more else names),
    )
    return CannotApply(
        what,
        where=record.on.describe(),
        hint="Put the marks farther off the art, include that art in what they stand around, or let the sheet grow.",
    )


def _grown(job: Job, left: float, top: float, right: float, bottom: float) -> Job:
    """Return the job on a sheet that is larger by so much at each side; the art stays where it lay on it."""
    shift = Affine.moved(left, top)
    layers = job.layers
    if left or top:
        layers = tuple(
            replace(layer, children=tuple(child.transformed(shift) for child in layer.children)) for layer in layers
        )
    return replace(job, width_mm=job.width_mm + left + right, height_mm=job.height_mm + top + bottom, layers=layers)


def _printed(job: Job, spots: list[tuple[Spot, float]], record: PrintMarksStep) -> tuple[Job, tuple[str, ...]]:
    """Return the job with printed marks on a layer of their own at the front."""
    material = next((each for each in job.materials_in_use() if each.kind is MaterialKind.PRINT), PRINT)
    made: list[str] = []
    marks = []
    for number, (spot, size) in enumerate(spots, start=1):
        key = job.fresh_id(f"{MARK_ID}-print-{number}", taken=made)
        made.append(key)
        turned = record.orientation and number == len(spots)
        kind = MarkKind.SQUARE if turned and record.kind is MarkKind.CORNER else record.kind
        path = mark_outline(
            kind, (spot.x, spot.y), size / 2.0, arm_mm=record.line_mm / 2.0, corner=(spot.right, spot.down)
        )
        marks.append(Shape(key, path, Style(fill=BLACK), name=f"{PRINT_MARK_NAME} {number}"))
    layer_id = job.fresh_id("print-marks")
    layer = Layer(layer_id, PRINT_MARKS_NAME, tuple(marks), material=material.id)
    return job.with_material(material).with_layer(layer), (layer_id,)


def _without_marks(job: Job, *, printed: bool) -> Job:
    """Return the job without the marks put there before: the printed ones, or those in vinyl."""
    old = [mark.id for mark in marks_in(job) if mark.id.startswith(f"{MARK_ID}-print-") == printed]
    if not old:
        return job
    job = job.without(old)
    layers = tuple(each for each in job.layers if each.children or each.name != PRINT_MARKS_NAME)
    return job if len(layers) == len(job.layers) else replace(job, layers=layers)


def _summary(record: RegistrationMarksStep) -> str:
    if record.kind is MarkKind.NONE:
        return phrase("No registration marks in the vinyls")
    return phrase(
        "Registration marks around {on}, {marks} of {size} mm in each vinyl",
        on=record.on.describe(),
        marks=record.marks,
        size=format_number(record.size_mm),
    )


def _print_summary(record: PrintMarksStep) -> str:
    if record.kind is MarkKind.NONE:
        return phrase("No print marks")
    where = (
        phrase("{gap} mm off {on}", gap=format_number(record.gap_mm), on=record.on.describe())
        if record.inset_mm is None
        else phrase("{inset} mm from the edges of the sheet", inset=format_number(record.inset_mm))
    )
    return phrase(
        "Print marks, {kind} of {size} mm, {where}", kind=record.kind, size=format_number(record.size_mm), where=where
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
    Operation(
        "print-marks",
        "Print marks",
        "Printed marks around art that is cut, a quiet zone about each, one that shows when the sheet is turned.",
        PrintMarksStep,
        print_marks,
        _print_summary,
    ),
)
