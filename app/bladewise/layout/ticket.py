"""What a job ticket says, whatever it is printed with: one sheet for whoever runs the machine and finishes the job.

Nothing in it is known here alone: figures are those of `layout.figures`, warnings those of the readiness check,
customer and order what the job has been told. What is assumed is said to be.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import Colour, CutKind, Job, MaterialKind, is_cut_line
from bladewise.layout.figures import (
    MaterialFigures,
    Pace,
    area_text,
    material_figures,
    travel_text,
)
from bladewise.layout.portions import portion
from bladewise.layout.views import finished, finished_box, material_alone
from bladewise.operations.declaration import quiet
from bladewise.operations.marking import marks_in
from bladewise.phrases import listing, phrase
from bladewise.units import MM_PER_INCH, counted, format_number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from bladewise.findings import Finding
    from bladewise.geometry.path import Path
    from bladewise.operations.declaration import Progress

MOST_WARNINGS = 12
"""More are counted, not told: they are the readiness list's business."""
MOST_PICTURES = 12
"""More materials than this are not shown one by one."""

_CUTS = {
    CutKind.KISS: "kiss cut",
    CutKind.THROUGH: "cut through",
    CutKind.PERFORATION: "perforated",
    CutKind.CREASE: "creased",
}
_PRINTS = {
    MaterialKind.PRINT: "printed",
    MaterialKind.WHITE: "white ink, under the print",
    MaterialKind.VARNISH: "varnish, over the print",
}
_LOOSENING = (CutKind.KISS, CutKind.CREASE, CutKind.PERFORATION, CutKind.THROUGH)
"""What holds the sheet least is cut last."""


class Fact(NamedTuple):
    """A word and what is to be said of it."""

    label: str
    value: str


class Shown(NamedTuple):
    """A picture: its caption, a line under it, and the job that it is of."""

    caption: str
    note: str
    job: Job


class Row(NamedTuple):
    """A row of the table of materials: its colour if it has one of its own, and the cells under the head."""

    colour: Colour | None
    is_line: bool
    cells: tuple[str, ...]


class Warned(NamedTuple):
    """A warning that is still open."""

    severity: str
    message: str


@dataclass(frozen=True)
class Ticket:
    """All that stands on a job ticket, in the order in which it is read."""

    name: str
    facts: tuple[Fact, ...]
    whole: Shown | None
    head: tuple[str, ...]
    rows: tuple[Row, ...]
    totals: str
    layers: tuple[Shown, ...]
    order: tuple[str, ...]
    warnings: tuple[Warned, ...]
    more_warnings: int
    remark: str
    cautions: tuple[Fact, ...]
    assumptions: str
    signatures: tuple[str, ...]
    made: date
    figures: tuple[MaterialFigures, ...]


def _open(findings: Sequence[Finding]) -> tuple[tuple[Warned, ...], int]:
    """Return the warnings that are told, alike ones once with their number, and how many findings are left."""
    alike = Counter((each.severity.text, each.message) for each in findings)  # in the order in which they came
    told = list(alike.items())[:MOST_WARNINGS]
    warned = (
        Warned(severity, message if count == 1 else phrase("{count} × {message}", count=count, message=message))
        for (severity, message), count in told
    )
    return tuple(warned), len(findings) - sum(count for _, count in told)


def ticket_of(
    job: Job,
    findings: Sequence[Finding],
    made: date,
    *,
    unit: str = "mm",
    pace: Pace | None = None,
    order: Callable[[Path], Iterable[Path]] = lambda path: path.subpaths(),
    progress: Progress = quiet,
) -> Ticket:
    """Return what the ticket of a job says.

    Parameters
    ----------
    job
        The job, with what it was told of the order.
    findings
        What the readiness check still finds.
    made
        The date that the ticket carries.
    unit
        "mm" or "in".
    pace
        How fast the machine works; left out: what is common.
    order
        In which order the contours of a material are written.
    progress
        Told from 0 to 1 between portions of the work; it may raise `Cancelled`.
    """
    pace = pace or Pace()
    figures = material_figures(job, pace=pace, order=order, progress=portion(progress, 0.0, 0.3))
    view = finished(job, portion(progress, 0.3, 1.0))
    shown = [(each, alone) for each in figures if (alone := material_alone(job, each)) is not None]
    layers = tuple(
        Shown(phrase("{name}", name=each.material.name), _how(each, layered=_is_layered(figures)), alone)
        for each, alone in shown[:MOST_PICTURES]
    )
    return Ticket(
        job.name,
        tuple(_facts(job, figures, unit, made)),
        None if view is None else Shown("Finished piece", size_text(finished_box(job), unit), view),
        ("Material", "How", "Size", "Takes", "Net area", "Pieces", "Knife", "Time"),
        tuple(_row(each, unit, layered=_is_layered(figures)) for each in figures),
        _totals(figures, unit),
        layers,
        tuple(_order(figures)),
        *_open(findings),
        job.details.remark,
        tuple(_cautions(figures)),
        phrase(
            "Time is an estimate: {cutting} mm/s cutting, {moving} mm/s moving, {lift} s a lift, loading and weeding "
            "not counted. What a material takes is the art with {margin} mm around it, over the roll's whole width "
            "where that is known.",
            cutting=format_number(pace.cutting_mm_s),
            moving=format_number(pace.moving_mm_s),
            lift=format_number(pace.lift_s),
            margin="10",
        ),
        ("Cut by, date", "Checked by, date"),
        made,
        tuple(figures),
    )


def size_text(box: tuple[float, float, float, float] | None, unit: str) -> str:
    """Return the size of a box for reading, across by down."""
    if box is None:
        return ""
    return lengths_text(box[2] - box[0], box[3] - box[1], unit)


def lengths_text(wide_mm: float, high_mm: float, unit: str) -> str:
    """Return two lengths for reading: "120 × 80 mm"."""
    scale, places = (MM_PER_INCH, 2) if unit == "in" else (1.0, 1)
    return phrase(
        "{wide} × {high} {unit}",
        wide=format_number(wide_mm / scale, places),
        high=format_number(high_mm / scale, places),
        unit=unit,
    )


def time_text(seconds: float) -> str:
    """Return a time for reading, to what an estimate is worth: "< 1 min", "4 min", "1 h 05 min"."""
    if seconds <= 0.0:
        return "–"
    minutes = max(1, round(seconds / 60.0))
    if seconds < 45.0:
        return phrase("< 1 min")
    if minutes < 60:
        return phrase("{minutes} min", minutes=minutes)
    return phrase("{hours} h {minutes} min", hours=minutes // 60, minutes=f"{minutes % 60:02d}")


def marks_text(job: Job, figures: Sequence[MaterialFigures]) -> str:
    """Return which marks a job has."""
    printed = sum(each.marks for each in figures if each.material.kind.is_printed)
    vinyls = [each.marks for each in figures if each.material.kind is MaterialKind.CUT and each.marks]
    parts = [phrase("{count} printed", count=printed)] if printed else []
    if vinyls:
        parts.append(
            phrase("{count} in each of {vinyls}", count=max(vinyls), vinyls=counted(len(vinyls), "vinyl", "vinyls"))
        )
    return listing(parts) if marks_in(job) and parts else phrase("none in the art")


def mirrored_text(figures: Sequence[MaterialFigures]) -> str:
    """Return which materials are cut mirrored."""
    cut = [each for each in figures if each.material.kind is MaterialKind.CUT]
    turned = [each.material.name for each in cut if each.is_mirrored]
    if not turned:
        return phrase("no")
    return phrase("yes, all") if len(turned) == len(cut) else phrase("yes: {names}", names=", ".join(turned))


def _is_layered(figures: Sequence[MaterialFigures]) -> bool:
    """Whether vinyls are put on one over the other, and not only lines cut about a print."""
    return any(each.material.kind is MaterialKind.CUT and not is_cut_line(each.material.id) for each in figures)


def _facts(job: Job, figures: Sequence[MaterialFigures], unit: str, made: date) -> Iterable[Fact]:
    told = job.details
    for label, value in (
        ("Customer", told.customer),
        ("Order number", told.order_number),
        ("Due", told.due_date),
        ("Revision", told.revision),
    ):
        yield Fact(label, phrase("{name}", name=value or "–"))
    yield Fact("Date", made.isoformat())
    yield Fact("Finished size", size_text(finished_box(job), unit) or "–")
    if job.ordered_width_mm is not None or job.ordered_height_mm is not None:
        yield Fact("Ordered size", lengths_text(job.ordered_width_mm or 0.0, job.ordered_height_mm or 0.0, unit))
    yield Fact("Sheet", lengths_text(job.width_mm, job.height_mm, unit))
    yield Fact("Marks", marks_text(job, figures))
    yield Fact("Mirrored", mirrored_text(figures))


def _how(found: MaterialFigures, *, layered: bool) -> str:
    material = found.material
    if material.kind.is_printed:
        return phrase(_PRINTS[material.kind])
    parts = [phrase(_CUTS[material.cut])]
    if material.cut is CutKind.PERFORATION:
        lengths = format_number(material.perforation_cut_mm), format_number(material.perforation_gap_mm)
        parts = [phrase("perforated, {cut} mm cut, {gap} mm left", cut=lengths[0], gap=lengths[1])]
    if found.is_mirrored:
        parts.append(phrase("mirrored"))
    if layered and not is_cut_line(material.id):
        parts.append(phrase("layer {turn}", turn=found.turn))
    return listing(parts)


def _row(found: MaterialFigures, unit: str, *, layered: bool) -> Row:
    is_cut = found.material.kind is MaterialKind.CUT
    takes = "–"
    if found.need is not None and not (is_cut and is_cut_line(found.material.id)):
        takes = phrase(
            "{length} off the roll\n{area}" if found.need.on_roll else "{length}\n{area}",
            length=_long(found.need.along_mm, unit)
            if found.need.on_roll
            else lengths_text(found.need.across_mm, found.need.along_mm, unit),
            area=area_text(found.need.area_mm2, unit),
        )
        if found.cost is not None:
            takes = phrase("{takes}\ncosts {cost}", takes=takes, cost=f"{found.cost:.2f}")
    return Row(
        None if found.material.kind is MaterialKind.PRINT else found.material.colour,
        is_cut and is_cut_line(found.material.id),
        (
            phrase("{name}", name=found.material.name),
            _how(found, layered=layered),
            size_text(found.box, unit) or "–",
            takes,
            area_text(found.figures.area_mm2, unit) if is_cut and found.figures.area_mm2 else "–",
            str(found.figures.pieces) if is_cut else "–",
            phrase(
                "{down} down\n{up} up",
                down=travel_text(found.travel.down_mm, unit),
                up=travel_text(found.travel.up_mm, unit),
            )
            if is_cut
            else "–",
            time_text(found.seconds),
        ),
    )


def _long(mm: float, unit: str) -> str:
    if unit == "in":
        return phrase("{length} in", length=format_number(mm / MM_PER_INCH, 1))
    return (
        phrase("{length} m", length=format_number(mm / 1000.0, 2))
        if mm >= 1000.0
        else phrase("{length} mm", length=format_number(mm, 0))
    )


def _totals(figures: Sequence[MaterialFigures], unit: str) -> str:
    cut = [each for each in figures if each.material.kind is MaterialKind.CUT]
    if not cut:
        return phrase("Nothing in this job is cut.")
    parts = [
        counted(sum(each.figures.pieces for each in cut), "piece", "pieces"),
        phrase("knife {down} down", down=travel_text(sum(each.travel.down_mm for each in cut), unit)),
        phrase("{up} up", up=travel_text(sum(each.travel.up_mm for each in cut), unit)),
        counted(sum(each.travel.lifts for each in cut), "lift", "lifts"),
        phrase("time by estimate {time}", time=time_text(sum(each.seconds for each in cut))),
    ]
    costs = [each.cost for each in figures if each.cost is not None]
    if costs:
        parts.append(phrase("material {cost}", cost=f"{sum(costs):.2f}"))
    return phrase("In all: {parts}.", parts=listing(parts))


def _order(figures: Sequence[MaterialFigures]) -> Iterable[str]:
    """Yield what is done in which order."""
    printed = [each for each in figures if each.material.kind.is_printed]
    for kind in (MaterialKind.WHITE, MaterialKind.PRINT, MaterialKind.VARNISH):
        for each in printed:
            if each.material.kind is kind is MaterialKind.PRINT:
                yield phrase("Print “{name}”.", name=each.material.name)
            elif each.material.kind is kind:
                yield phrase("Print “{name}”: {how}.", name=each.material.name, how=phrase(_PRINTS[kind]))
    if any(each.marks for each in printed):
        yield phrase("Lay the sheet in as the mark beside the first one says, and line it up by the printed marks.")
    lines = [each for each in figures if each.material.kind is MaterialKind.CUT and is_cut_line(each.material.id)]
    for each in sorted(lines, key=lambda one: _LOOSENING.index(one.material.cut)):
        yield phrase("Cut along “{name}”: {how}.", name=each.material.name, how=_how(each, layered=False))
    vinyls = [each for each in figures if each.material.kind is MaterialKind.CUT and not is_cut_line(each.material.id)]
    for turn, each in enumerate(vinyls, start=1):
        name = each.material.name
        if each.is_mirrored:
            yield phrase("Cut “{name}” mirrored, weed it, press it on as layer {turn}.", name=name, turn=turn)
        elif len(vinyls) == 1:
            yield phrase("Cut “{name}”, weed it, put it on.", name=name)
        else:
            yield phrase(
                "Cut “{name}”, weed it, put it on as layer {turn}, at the back."
                if turn == 1
                else "Cut “{name}”, weed it, put it on as layer {turn}.",
                name=name,
                turn=turn,
            )


def _cautions(figures: Sequence[MaterialFigures]) -> Iterable[Fact]:
    if any(each.material.kind is MaterialKind.CUT for each in figures):
        yield Fact(
            "Blade",
            phrase(
                "Change it with the machine off; the lightest touch cuts. Try its depth on a test piece. Keep "
                "fingers, hair and sleeves off the moving carriage. Used blades go into a closed, hard container."
            ),
        )
    if any(each.is_mirrored for each in figures):
        yield Fact(
            "Heat press",
            phrase(
                "It burns: heat-proof gloves, nothing that burns beside it, air to breathe, nobody alone with it who "
                "has not been shown. Time, heat and pressure are those of the film's maker; try them on a scrap first."
            ),
        )
    yield Fact(
        "First of all",
        phrase(
            "The instructions of the makers of machine, film and press, and the rules of your workplace, go before "
            "anything on this page."
        ),
    )
