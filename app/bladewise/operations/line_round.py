"""How a line goes round printed art: at which distance, past which notches, into which holes, about which islands."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import MaterialKind, is_cut_line
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.joining import Joined, backed, bridged
from bladewise.geometry.parallels import Corner, closed, opened, parallel
from bladewise.geometry.path import EMPTY, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import FITTING_MM
from bladewise.operations.marking import is_mark
from bladewise.operations.painted import BLEED_LAYER, painted_area, paints_anything
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Job, Leaf, Placed
    from bladewise.geometry.path import Path
    from bladewise.operations.declaration import Progress
    from bladewise.operations.selection import Selection


class Holes(StrEnum):
    """Which of the design's outlines a cut line follows."""

    OUTER = "outer"
    WITH_HOLES = "with-holes"


class Islands(StrEnum):
    """What becomes of parts of a design that do not hang together."""

    APART = "apart"
    BRIDGED = "bridged"
    BACKED = "backed"


@dataclass(frozen=True, kw_only=True)
class LineRound:
    """How a line goes round art; the numbers are those of the step `cut-line`, where they are explained."""

    distance_mm: float = 0.0
    corner: Corner = Corner.ROUND
    holes: Holes = Holes.WITH_HOLES
    least_hole_mm2: float = 0.0
    inlet_radius_mm: float = 0.0
    point_radius_mm: float = 0.0
    islands: Islands = Islands.APART
    reach_mm: float = 10.0
    bridge_width_mm: float = 4.0
    least_opacity: float = 50.0


class Round(NamedTuple):
    """A line round art, and what the operator should be told of it."""

    path: Path
    reports: tuple[str, ...]


def art_in(on: Selection, job: Job) -> list[Placed]:
    """Return the leaves a line goes round: what paints and is neither a line for the knife, a guide nor a mark.

    A bleed counts only where nothing else is chosen.
    """
    art = [placed for placed in on.leaves(job) if _is_art(placed, job)]
    return [placed for placed in art if not placed.layer.id.startswith(BLEED_LAYER)] or art


def art_to_go_round(on: Selection, job: Job) -> list[Placed]:
    """Return what `art_in` does.

    Raises
    ------
    CannotApply
        If there is nothing to go round.
    """
    art = art_in(on, job)
    if not art:
        msg = "Nothing that paints is selected."
        raise CannotApply(msg, where=on.describe(job), hint="Select shapes, lettering or pictures that show.")
    return art


def _is_art(placed: Placed, job: Job) -> bool:
    material = job.material_of(placed)
    return (
        paints_anything(placed.leaf)
        and all(group.opacity > 0.0 for group in placed.groups)
        and not is_cut_line(material.id)
        and material.kind is not MaterialKind.GUIDE
        and not is_mark(placed.leaf)
    )


def line_round(leaves: Sequence[Leaf], how: LineRound, progress: Progress) -> Round:
    """Return the line round all that some leaves paint; empty where none is left at this distance."""
    path = painted_area(leaves, least_opacity=how.least_opacity)
    if how.holes is Holes.OUTER:
        path, _ = _with_holes(path, how)
    progress(0.3)
    inlets = how.inlet_radius_mm
    if how.islands is Islands.APART and how.corner is Corner.ROUND and how.distance_mm > 0.0 and inlets > 0.0:
        # grown once by both: the corners are round anyway
        grown = parallel(Region(path), how.distance_mm + inlets, tolerance_mm=FITTING_MM / 2.0)
        path = parallel(Region(grown), -inlets)
        inlets = 0.0
    elif how.distance_mm:
        path = parallel(Region(path), how.distance_mm, corner=how.corner)
    progress(0.6)
    path, left_out = _with_holes(path, how)
    reports: list[str] = []
    if how.islands is not Islands.APART and path:
        join = bridged if how.islands is Islands.BRIDGED else backed
        islands = join(path, how.bridge_width_mm, how.reach_mm)
        path = islands.path
        reports += _told(islands, how.reach_mm)
    progress(0.8)
    if inlets > 0.0:
        path = closed(Region(path), inlets)
    if how.point_radius_mm > 0.0:
        path = opened(Region(path), how.point_radius_mm)
    progress(0.9)
    path, more = _with_holes(path, how)
    if left_out + more and how.holes is Holes.WITH_HOLES:
        holes = counted(left_out + more, "small hole was", "small holes were")
        reports.insert(0, phrase("{counted} left out.", counted=holes))
    return Round(path, tuple(reports))


def _with_holes(path: Path, how: LineRound) -> tuple[Path, int]:
    """Return the outlines a line follows, and how many holes were left out for their size."""
    keep = []
    left_out = 0
    for ring in path.subpaths():
        size = measures.area(ring)
        if size > 0.0 or (how.holes is Holes.WITH_HOLES and -size >= how.least_hole_mm2):
            keep.append(ring)
        else:
            left_out += 1
    if not left_out:
        return path, 0
    # what stood in a hole that is gone is no piece of its own any more
    return booleans.merge([Region(joined(keep))]) if keep else EMPTY, left_out


def _told(islands: Joined, reach_mm: float) -> list[str]:
    told = []
    if islands.bridges:
        told.append(phrase("{counted} laid.", counted=counted(islands.bridges, "bridge was", "bridges were")))
    if islands.pieces > 1:
        told.append(
            phrase(
                "{counted} left: they lie more than {reach} mm apart.",
                counted=counted(islands.pieces, "piece is", "pieces are"),
                reach=format_number(reach_mm),
            )
        )
    return told
