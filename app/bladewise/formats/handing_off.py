"""The files a destination wants: in its format, with its marks, mirrored where it says so, one or one a material."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from bladewise.document import Material, cut_line_id
from bladewise.errors import CannotWrite
from bladewise.formats.cut_files import drawing, mark_layers_of, outlines_only
from bladewise.formats.cut_lines import (
    CutLines,
    application_order,
    cut_lines,
    cut_materials,
    in_cutting_order,
    lines_of,
    marks_line,
    mirrored,
    nothing_to_cut,
    ready_lines,
)
from bladewise.formats.dxf import DxfSettings, dxf_made
from bladewise.formats.file_names import file_name, unique
from bladewise.formats.pdf.spots import CUT_KINDS, spot_of
from bladewise.formats.pixels import hold_pixels
from bladewise.formats.plotter import PlotterSettings, plotter_made
from bladewise.formats.prepared import Prepared, write_files
from bladewise.layout.scale_bar import with_scale_bar
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path as FilePath

    from bladewise.document import Job
    from bladewise.formats.destinations import Destination
    from bladewise.formats.reading_back import Made

PicturePainter: TypeAlias = Callable[["Job", float, bool], bytes]
"""Makes a PNG of a job: the job, dots an inch, whether nothing lies behind the art. The window has one."""


class _Piece(NamedTuple):
    """What goes into one file: the job, what a knife follows of it, and what of it is cut (nothing of a picture)."""

    stem: str
    job: Job
    lines: list[CutLines]
    cuts: list[CutLines]


def prepared(
    job: Job,
    destination: Destination,
    painter: PicturePainter | None = None,
    progress: Callable[[float], None] = lambda _fraction: None,
) -> list[Prepared]:
    """Return the files a destination wants, made whole and read back; nothing is written.

    Parameters
    ----------
    job
        The job.
    destination
        What the machine wants.
    painter
        Who makes pictures; needed for these alone.
    progress
        Told how far it is, file by file; it may raise to stop.

    Raises
    ------
    CannotWrite
        As `write_to` does of a job.
    """
    order = application_order(job)
    pieces = _per_colour(job, destination) if destination.per_colour else [_whole(job, destination)]
    files = []
    for number, piece in enumerate(pieces):
        progress((1.0 + number) / (1.0 + len(pieces)))
        files.append(_file(piece, destination, painter, order))
    return files


def only_made_of(job: Job, materials: Collection[str]) -> Job:
    """Return a job without the art of any other material, each by its id."""
    others = {placed.leaf.id for placed in job.walk() if job.material_of(placed).id not in materials}
    return job.without(others) if others else job


def write_to(
    job: Job, folder: FilePath, destination: Destination, painter: PicturePainter | None = None
) -> list[FilePath]:
    """Write a job for a destination; return the paths of the files. The parameters are those of `prepared`.

    All contents are made before the first file is written, so that a job that is not ready leaves
    nothing behind.

    Raises
    ------
    CannotWrite
        If nothing is to be cut where a knife's file is asked for, lettering is still live or a shape is
        only a stroke, the marks do not fit, the device cannot reach it, some materials are mirrored and
        others not in one file, the format is not at hand, a file does not read back as it was meant, or
        cannot be written.
    """
    return write_files(prepared(job, destination, painter), folder)


def _whole(job: Job, destination: Destination) -> _Piece:
    sides = {_is_mirrored(material, destination) for material in cut_materials(job)}
    if len(sides) > 1:
        raise CannotWrite(
            "Some materials are cut mirrored and others not: one file cannot hold both.",
            where=job.name,
            hint="Let the destination write one file per colour.",
        )
    if destination.mirrored == "yes" or True in sides:
        job = mirrored(job)
    marks = destination.registration_marks
    if destination.format in ("dxf", "hpgl"):
        cuts = in_cutting_order(cut_lines(job))
        followed = [*cuts, *marks_line(job, marks)]
        return _Piece(file_name(job.name), job, _followed(followed, destination), cuts)
    marked = replace(job, layers=(*job.layers, *mark_layers_of(job, marks)))
    return _Piece(file_name(job.name), marked, [], ready_lines(job))


def _per_colour(job: Job, destination: Destination) -> list[_Piece]:
    seen = {True: mirrored(job), False: job}
    cuts = {side: cut_materials(one) for side, one in seen.items()}
    marks = destination.registration_marks
    mark_layers = mark_layers_of(job, marks)
    stem, taken, pieces = file_name(job.name), set[str](), []
    for material in cuts[False]:
        side = _is_mirrored(material, destination)
        leaves = cuts[side][material]
        line = lines_of(material, leaves)
        if not line.path:
            continue
        name = unique(f"{stem} - {file_name(material.name, fallback=material.id)}", taken)
        if destination.format == "png":
            alone = only_made_of(seen[side], {material.id})
            pieces.append(_Piece(name, replace(alone, layers=(*alone.layers, *mark_layers)), [], [line]))
            continue
        alone = outlines_only(seen[side], material, leaves, mark_layers)
        pieces.append(_Piece(name, alone, _followed([line, *marks_line(job, marks)], destination), [line]))
    if not pieces:
        raise nothing_to_cut(job)
    return pieces


def _followed(lines: list[CutLines], destination: Destination) -> list[CutLines]:
    """Return what is followed, in the order it is: the order of the file, and what is shown of it, are the same."""
    if destination.format == "pdf":  # the line and its dashes are told apart there
        return lines
    return in_cutting_order(line.followed(destination.perforation) for line in lines)


def _is_mirrored(material: Material, destination: Destination) -> bool:
    if destination.mirrored == "heat-transfer":
        return material.profile.heat_transfer
    return destination.mirrored == "yes"


def _file(piece: _Piece, destination: Destination, painter: PicturePainter | None, order: dict[str, int]) -> Prepared:
    stem, job, lines, cuts = piece
    match destination.format:
        case "svg":
            return drawing(stem, job, lines, cuts, perforation=destination.perforation, order=order)
        case "dxf":
            settings = DxfSettings(
                destination.units, destination.tolerance_mm, destination.version, destination.perforation
            )
            made = dxf_made(lines, job.height_mm, settings)
        case "hpgl":
            made = plotter_made(lines, (job.width_mm, job.height_mm), plotter_settings(destination))
        case "pdf":
            made = _pdf(piece, destination)
        case "png":
            shown = with_scale_bar(job) if destination.scale_bar else job
            return Prepared(f"{stem}.png", _picture(shown, destination, painter), shown, [], tuple(cuts))
        case _:
            raise CannotWrite(
                phrase("“{suffix}” is not a kind of file that can be written.", suffix=destination.format)
            )
    return Prepared(f"{stem}.{destination.format}", made.data, job, lines, tuple(cuts), made.apart_mm)


def _picture(job: Job, destination: Destination, painter: PicturePainter | None) -> bytes:
    if painter is None:
        raise CannotWrite("Pictures cannot be painted here.", where=job.name, hint="Choose another format.")
    data = painter(job, destination.dpi, destination.transparent)
    hold_pixels(data, job, destination.dpi, transparent=destination.transparent)
    return data


def _pdf(piece: _Piece, destination: Destination) -> Made:
    from bladewise.formats.pdf import pdf_made

    job = piece.job
    if piece.lines:  # one material alone: all of it is the knife's, the marks too
        (own, *_) = job.materials
        line = replace(own, id=cut_line_id(own.cut))
        layers = tuple(replace(layer, material=line.id) for layer in job.layers)
        job = replace(job, layers=layers, materials=(line,))
    kinds, dashed = dict(destination.spots), destination.perforation == "dashes"
    spots = {
        one.id: spot_of(one, one.name, CUT_KINDS[kinds[one.name]], dashed=dashed)
        for one in job.materials
        if one.name in kinds
    }
    step = CUT_KINDS[destination.cut_kind] if destination.cut_kind else None
    return pdf_made(job, cut_name=destination.cut_name, cut_step=step, spots=spots, dashed=dashed)


def plotter_settings(destination: Destination) -> PlotterSettings:
    """Return what a destination says of plotter files."""
    settings = PlotterSettings(
        origin=destination.origin,
        rotation_deg=destination.rotation_deg,
        curves=destination.curves,
        unit_mm=destination.unit_mm,
        pen=destination.pen,
        pens=destination.pens,
        force=destination.force,
        speed=destination.speed,
        takes_negative=destination.takes_negative,
        perforation=destination.perforation,
    )
    given = destination.tolerance_mm
    return settings if given is None else replace(settings, tolerance_mm=given)
