"""What a file to be written holds, ready to be drawn: its outlines in order, the sheet, the origin, the marks.

Worked out from the file's own contents where they can be read back (plotter files), else from what they were made of;
so the preview shows what the machine gets. Lengths are mm, y down as on the screen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import BLACK, Box, CutKind, Job, Shape
from bladewise.formats import Prepared
from bladewise.formats.cut_lines import MARKS_NAME, CutLines, extent
from bladewise.formats.plotter_reader import read_plotter
from bladewise.geometry import measures
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import joined

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.document import Colour
    from bladewise.formats import Destination
    from bladewise.geometry.path import Floats, Path

_FINENESS = 4000.0
"""Outlines are drawn as chords within this part of the sheet's larger side: less than a pixel of any screen."""


class Row(NamedTuple):
    """What is cut from one material, or the marks: name, colour, how deep, and its pen where the file says one."""

    name: str
    colour: Colour
    cut: CutKind = CutKind.KISS
    pen: int | None = None

    @property
    def is_marks(self) -> bool:
        """Whether these are registration marks."""
        return self.name == MARKS_NAME


class Outline(NamedTuple):
    """One lowering of the knife: the number of its row, and its places, shape (k, 2)."""

    row: int
    places: Floats


@dataclass(frozen=True, eq=False)
class Look:
    """A file as it is drawn.

    Parameters
    ----------
    file
        What will be written.
    rows
        Materials in the order in which they are cut.
    outlines
        In the order in which they are cut.
    sheet
        Left, top, right, bottom.
    origin, y_up
        Where the machine counts from, and whether it counts upwards.
    painted
        A drawing to show beneath, where the file holds more than the knife's lines.
    travel_mm, lifted_mm
        How far the knife goes lowered, and how far lifted from outline to outline.
    pieces
        How many pieces come of it.
    held_mm
        How far what is read back from the file lies from what was meant; None of a picture.
    """

    file: Prepared
    rows: tuple[Row, ...]
    outlines: tuple[Outline, ...]
    sheet: Box
    origin: tuple[float, float]
    y_up: bool
    painted: Job | None
    travel_mm: float
    lifted_mm: float
    pieces: int
    held_mm: float | None

    @property
    def cut_count(self) -> int:
        """How many outlines are cut, the marks not counted."""
        return sum(1 for outline in self.outlines if not self.rows[outline.row].is_marks)

    @property
    def box(self) -> Box:
        """What must be seen: the sheet, whatever lies beyond it, and the origin."""
        places = [np.array([self.sheet[:2], self.sheet[2:], self.origin])]
        if self.outlines:
            places.append(np.concatenate([outline.places for outline in self.outlines]))
        everything = np.concatenate(places)
        left, top = everything.min(axis=0).tolist()
        right, bottom = everything.max(axis=0).tolist()
        return left, top, right, bottom


def look_of(file: Prepared, destination: Destination) -> Look:
    """Return what a file made for a destination looks like."""
    job = file.job
    sheet, origin = (0.0, 0.0, job.width_mm, job.height_mm), (0.0, job.height_mm)
    lines = file.lines or [*file.cuts, *_marks_in(job)]
    rows = [Row(line.name, line.colour, CutKind.KISS if line.is_parted else line.cut) for line in lines]
    paths = [line.path for line in lines]
    if destination.format == "hpgl":
        paths, pens, sheet = _as_plotted(file, destination)
        rows = [row._replace(pen=pen) for row, pen in zip(rows, pens, strict=True)]
        origin = (0.0, 0.0)
    elif destination.format in ("svg", "png"):
        origin = (0.0, 0.0)
    tolerance = max(job.width_mm, job.height_mm, 1.0) / _FINENESS
    outlines = tuple(
        Outline(row, places) for row, path in enumerate(paths) if path for places in _polylines(path, tolerance)
    )
    return Look(
        file=file,
        rows=tuple(rows),
        outlines=outlines,
        sheet=sheet,
        origin=origin,
        y_up=destination.format not in ("svg", "png"),
        painted=None if file.lines else job,
        travel_mm=sum(measures.length(path) for row, path in zip(rows, paths, strict=True) if not row.is_marks),
        lifted_mm=_lifted(outlines, origin),
        pieces=sum(line.pieces for line in file.cuts),
        held_mm=file.apart_mm,
    )


def _marks_in(job: Job) -> list[CutLines]:
    """Return the registration marks in a drawing of the whole job."""
    return [
        CutLines(MARKS_NAME, BLACK, joined(child.path for child in layer.children if isinstance(child, Shape)))
        for layer in job.layers
        if layer.name == MARKS_NAME and layer.visible
    ]


def _as_plotted(file: Prepared, destination: Destination) -> tuple[list[Path], list[int | None], Box]:
    """Return what a plotter file says it draws, row after row, with which pen, and where that puts the sheet."""
    up = Affine(d=-1.0)
    plotted = read_plotter(file.data.decode("ascii")).drawn
    drawn = [each.path for each in plotted]
    counts = [len(line.path.starts) for line in file.lines]
    ends = np.cumsum(counts).tolist()
    paths = [joined(drawn[end - count : end]).transformed(up) for count, end in zip(counts, ends, strict=True)]
    pens = [plotted[end - count].pen if count else None for count, end in zip(counts, ends, strict=True)]
    width, height = file.job.width_mm, file.job.height_mm
    turned = Affine.rotated(float(destination.rotation_deg)).after(Affine(1.0, 0.0, 0.0, -1.0, 0.0, height))
    meant = extent([line._replace(path=line.path.transformed(turned)) for line in file.lines])
    corners = turned.apply(np.array([[0.0, 0.0], [width, height]]))
    boxes = [box for path in paths if (box := path.bounds()) is not None]
    left, bottom = min((box[0] for box in boxes), default=0.0), max((box[3] for box in boxes), default=0.0)
    least, most = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    dx, dy = left - meant[0], -bottom - meant[1]
    sheet = least[0] + dx, -(most[1] + dy), most[0] + dx, -(least[1] + dy)
    return paths, pens, sheet


def _polylines(path: Path, tolerance_mm: float) -> Iterator[Floats]:
    flat = flatten(path, tolerance_mm)
    yield from np.split(flat.coords, flat.starts[1:])


def _lifted(outlines: Sequence[Outline], origin: tuple[float, float]) -> float:
    here, length = origin, 0.0
    for outline in outlines:
        length += math.dist(here, outline.places[0])
        here = (float(outline.places[-1][0]), float(outline.places[-1][1]))
    return length
