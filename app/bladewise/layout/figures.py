"""What each material takes: pieces, area, knife travel, and from them how much of the roll, how long, what it costs.

One count serves the chips of the window, the job ticket and the command line. What cannot be known is assumed and
said so: how fast a knife goes and what a lift takes are common practice, no source, and the shop's own to change.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import Box, CutKind, Leaf, Lettering, Material, MaterialKind, Picture, Shape
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.path import joined
from bladewise.geometry.perforation import perforated
from bladewise.geometry.regions import FillRule, Region
from bladewise.layout.alike import Key, key_of
from bladewise.operations.declaration import quiet
from bladewise.operations.marking import is_mark, painted_extent
from bladewise.operations.painted import is_hairline
from bladewise.units import MM_PER_INCH, format_number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from bladewise.document import Job
    from bladewise.geometry.path import Path
    from bladewise.operations.declaration import Progress

MM_PER_FOOT = 12.0 * MM_PER_INCH
ROLL_MARGIN_MM = 10.0
"""Left free around what is cut from a roll, for the grip of the machine (common practice, no source)."""
_AT_ONCE = 50
"""So many outlines are measured before it is asked whether to go on."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Pieces, area in mm² and knife travel in mm."""

    pieces: int = 0
    area_mm2: float = 0.0
    travel_mm: float = 0.0

    def __add__(self, other: Figures) -> Figures:
        return Figures(self.pieces + other.pieces, self.area_mm2 + other.area_mm2, self.travel_mm + other.travel_mm)


class Figurer:
    """Measures jobs; what did not change since the last time is not measured again."""

    def __init__(self) -> None:
        """Start with nothing known."""
        self._known: dict[str, tuple[Path, Figures]] = {}
        self._alike: dict[tuple[Key, FillRule | None], Figures] = {}
        self.by_material: dict[str, Figures] = {}

    def measure(self, job: Job, progress: Callable[[float], None]) -> None:
        """Measure all that shows, by material id; marks are cut along, but are no pieces and none of the area."""
        totals: dict[str, Figures] = {}
        uses = job.materials_in_use()
        for number, (material, leaves) in enumerate(uses.items()):
            total = Figures()
            for leaf in leaves:
                found = self.of(leaf)
                total += Figures(travel_mm=found.travel_mm) if is_mark(leaf) else found
            totals[material.id] = total
            progress(number / len(uses))
        self.by_material = totals

    def of(self, leaf: Leaf) -> Figures:
        """Return what one leaf takes."""
        if isinstance(leaf, Picture):
            return Figures(1, 0.0, 0.0)
        path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
        known = self._known.get(leaf.id)
        if known is not None and known[0] is path:
            return known[1]
        if not path:
            return Figures()
        key = key_of(path, path.points[0, 0]), None if leaf.style.fill is None else leaf.style.fill_rule
        figures = self._alike.get(key)
        if figures is None:
            figures = self._alike[key] = measured(leaf, path)
        self._known[leaf.id] = (path, figures)
        return figures


def measured(leaf: Shape | Lettering, path: Path) -> Figures:
    """Return what an outline takes: its pieces with their area, and how far a knife goes along it."""
    if not path:
        return Figures()
    travel = measures.length(path)
    if leaf.style.fill is None and not path.closed.all():
        return Figures(len(path.starts), 0.0, travel)
    if len(path.starts) == 1:
        return Figures(1, abs(measures.area(path)), travel)
    resolved = booleans.resolve(Region(path, leaf.style.fill_rule))
    return Figures(len(booleans.pieces(resolved)), abs(measures.area(resolved)), travel)


class Travel(NamedTuple):
    """How far a knife goes: down in the material, up between the contours, and how often it is lifted."""

    down_mm: float
    up_mm: float
    lifts: int


def travel_of(contours: Iterable[Path], start: tuple[float, float] = (0.0, 0.0)) -> Travel:
    """Return the knife's way along contours in the order given, from where it waits.

    Parameters
    ----------
    contours
        Paths; each subpath is one stroke of the knife, which ends where it closes.
    start
        Where the knife waits, in mm on the sheet; the way back to it is not counted.
    """
    whole = joined(contours)
    if not whole:
        return Travel(0.0, 0.0, 0)
    begins = whole.points[whole.starts, 0]
    ends = whole.points[whole.ends - 1, 3].copy()
    ends[whole.closed] = begins[whole.closed]
    jumps = begins - np.vstack([start, ends[:-1]])
    return Travel(measures.length(whole), float(np.hypot(jumps[:, 0], jumps[:, 1]).sum()), len(whole.starts))


@dataclass(frozen=True)
class Pace:
    """How fast a machine works (each value common practice, no source).

    Parameters
    ----------
    cutting_mm_s, moving_mm_s
        How fast it goes with the knife down and up, slowing down in curves and corners counted in.
    lift_s
        What lifting and setting down again take together.
    """

    cutting_mm_s: float = 150.0
    moving_mm_s: float = 300.0
    lift_s: float = 0.15

    def seconds(self, travel: Travel) -> float:
        """Return how long a knife is about."""
        return travel.down_mm / self.cutting_mm_s + travel.up_mm / self.moving_mm_s + travel.lifts * self.lift_s


class Need(NamedTuple):
    """What is taken off a roll or a sheet: across and along it, in mm, and whether the art lies turned on it."""

    across_mm: float
    along_mm: float
    is_turned: bool
    on_roll: bool

    @property
    def area_mm2(self) -> float:
        """The area that is paid for."""
        return self.across_mm * self.along_mm


def need_of(box: Box, roll_width_mm: float | None, margin_mm: float = ROLL_MARGIN_MM) -> Need:
    """Return what art of this extent takes of a material.

    Of a roll its whole width is taken, and the art lies the way round that takes less length of it. Art that is
    wider than the roll either way, and material of no known width, is counted as its own box with the margins.
    """
    wide, high = box[2] - box[0] + 2.0 * margin_mm, box[3] - box[1] + 2.0 * margin_mm
    if roll_width_mm is not None:
        lying = [
            (along, turned)
            for across, along, turned in ((wide, high, False), (high, wide, True))
            if across <= roll_width_mm
        ]
        if lying:
            along, turned = min(lying)
            return Need(roll_width_mm, along, turned, on_roll=True)
    return Need(wide, high, is_turned=False, on_roll=False)


@dataclass(frozen=True)
class MaterialFigures:
    """What one material takes.

    Parameters
    ----------
    material
        Which.
    leaves
        All that is made of it and shows, marks included.
    figures
        Pieces, net area and outline length, marks left out; none for what is printed.
    marks
        How many registration marks it holds.
    travel
        The knife's way, marks included; none for what is printed.
    seconds
        How long the knife is about.
    box
        The extent of it all.
    need
        What is taken off the roll or the sheet; None where nothing has an extent.
    cost
        In the shop's own money; None where no price is known.
    turn
        In which turn it is put on, from 1.
    """

    material: Material
    leaves: tuple[Leaf, ...]
    figures: Figures
    marks: int
    travel: Travel
    seconds: float
    box: Box | None
    need: Need | None
    cost: float | None
    turn: int

    @property
    def is_mirrored(self) -> bool:
        """Whether it is cut from the back."""
        return self.material.profile.heat_transfer


def material_figures(
    job: Job,
    *,
    pace: Pace | None = None,
    margin_mm: float = ROLL_MARGIN_MM,
    order: Callable[[Path], Iterable[Path]] = lambda path: path.subpaths(),
    progress: Progress = quiet,
) -> list[MaterialFigures]:
    """Return what each material of a job takes, in the order in which they are put on: from the back to the front.

    Parameters
    ----------
    job
        The job; hidden art and guides are left out.
    pace
        How fast the machine works.
    margin_mm
        Left free around what is cut from a roll.
    order
        In which order the contours of a material are written; left out: as they lie.
    progress
        Told from 0 to 1 between portions of the work; it may raise `Cancelled`.
    """
    pace = pace or Pace()
    figurer = Figurer()
    found = []
    uses = [each for each in job.materials_in_use().items() if each[0].kind is not MaterialKind.GUIDE]
    for turn, (material, leaves) in enumerate(uses, start=1):
        total = Figures()
        for number, leaf in enumerate(leaves if material.kind is MaterialKind.CUT else ()):
            if number % _AT_ONCE == 0:
                progress((turn - 1 + number / len(leaves)) / len(uses))
            if not is_mark(leaf):
                total += figurer.of(leaf)
        travel = _travel(material, leaves, order)
        box = painted_extent(leaves)
        need = need_of(box, material.profile.roll_width_mm, margin_mm) if box is not None else None
        price = material.profile.price_a_m2
        cost = price * need.area_mm2 / 1e6 if price is not None and need is not None else None
        marks = sum(is_mark(leaf) for leaf in leaves)
        seconds = pace.seconds(travel)
        found.append(MaterialFigures(material, tuple(leaves), total, marks, travel, seconds, box, need, cost, turn))
    return found


def _travel(material: Material, leaves: Iterable[Leaf], order: Callable[[Path], Iterable[Path]]) -> Travel:
    if material.kind is not MaterialKind.CUT:
        return Travel(0.0, 0.0, 0)
    contours: Iterable[Path] = order(
        joined(leaf.path for leaf in leaves if isinstance(leaf, Shape) and is_followed(leaf))
    )
    if material.cut is CutKind.PERFORATION:
        try:
            contours = [perforated(each, material.perforation_cut_mm, material.perforation_gap_mm) for each in contours]
        except CannotApply:  # too fine to be cut: counted as the line it follows
            contours = list(contours)
    return travel_of(contours)


def is_followed(shape: Shape) -> bool:
    """Whether a knife follows a shape's outline: not where it is a stroke that has a width of its own."""
    stroke = shape.style.stroke
    return shape.style.fill is not None or stroke is None or is_hairline(stroke)


def area_text(mm2: float, unit: str) -> str:
    """Return an area for reading, in cm² or square inches."""
    if unit == "in":
        return f"{format_number(mm2 / MM_PER_INCH**2, 1)} in²"
    return f"{format_number(mm2 / 100.0, 1 if mm2 < 10_000 else 0)} cm²"


def travel_text(mm: float, unit: str) -> str:
    """Return knife travel for reading, in metres or feet."""
    if unit == "in":
        return f"{format_number(mm / MM_PER_FOOT, 1)} ft"
    return f"{format_number(mm / 1000.0, 2 if mm < 10_000 else 1)} m"
