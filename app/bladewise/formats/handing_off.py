"""The files a destination wants: in its format, with its marks, mirrored where it says so, one or one a material."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import CUT_LINE, Material
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.formats.cut_files import mark_layers_of, outlines_only
from bladewise.formats.cut_lines import (
    CutLines,
    cut_lines,
    cut_materials,
    lines_of,
    marks_line,
    mirrored,
    nothing_to_cut,
)
from bladewise.formats.dxf import DxfSettings, dxf_bytes
from bladewise.formats.file_names import file_name, unique
from bladewise.formats.pdf.spots import CUT_KINDS, Spot
from bladewise.formats.plotter import PlotterSettings, plotter_text
from bladewise.formats.svg import svg_text
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path as FilePath

    from bladewise.document import Job
    from bladewise.formats.destinations import Destination


class _Piece(NamedTuple):
    """What goes into one file: the job, and what a knife follows of it (nothing made for SVG and PDF)."""

    stem: str
    job: Job
    lines: list[CutLines]


class Prepared(NamedTuple):
    """A file made for a destination and not yet written.

    Parameters
    ----------
    name
        The file's name.
    data
        All of its contents.
    job
        What lies in it, marks included, mirrored where it is.
    lines
        What a knife follows, the marks last; empty for a drawing of the whole job.
    """

    name: str
    data: bytes
    job: Job
    lines: list[CutLines]

    def write(self, folder: FilePath) -> FilePath:
        """Write the file into a folder, which is made if need be; return its path.

        Raises
        ------
        CannotWrite
            If it could not be written; what stood there before still stands.
        """
        make_folder(folder)
        write_atomically(folder / self.name, self.data)
        return folder / self.name


def prepared(job: Job, destination: Destination) -> list[Prepared]:
    """Return the files a destination wants, made whole; nothing is written.

    Raises
    ------
    CannotWrite
        As `write_to` does of a job.
    """
    pieces = _per_colour(job, destination) if destination.per_colour else [_whole(job, destination)]
    return [
        Prepared(f"{piece.stem}.{destination.format}", _contents(piece, destination), piece.job, piece.lines)
        for piece in pieces
    ]


def only_made_of(job: Job, materials: Collection[str]) -> Job:
    """Return a job without the art of any other material, each by its id."""
    others = {placed.leaf.id for placed in job.walk() if job.material_of(placed).id not in materials}
    return job.without(others) if others else job


def write_to(job: Job, folder: FilePath, destination: Destination) -> list[FilePath]:
    """Write a job for a destination; return the paths of the files.

    All contents are made before the first file is written, so that a job that is not ready leaves
    nothing behind.

    Raises
    ------
    CannotWrite
        If nothing is to be cut where a knife's file is asked for, lettering is still live or a shape is
        only a stroke, the marks do not fit, the device cannot reach it, some materials are mirrored and
        others not in one file, the format is not at hand, or a file cannot be written.
    """
    files = prepared(job, destination)
    return [file.write(folder) for file in files]


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
    if destination.format in ("dxf", "hpgl"):
        return _Piece(file_name(job.name), job, cut_lines(job, destination.registration_marks))
    marked = replace(job, layers=(*job.layers, *mark_layers_of(job, destination.registration_marks)))
    return _Piece(file_name(job.name), marked, [])


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
        alone = outlines_only(seen[side], material, leaves, mark_layers)
        pieces.append(_Piece(name, alone, [line, *marks_line(job, marks)]))
    if not pieces:
        raise nothing_to_cut(job)
    return pieces


def _is_mirrored(material: Material, destination: Destination) -> bool:
    if destination.mirrored == "heat-transfer":
        return material.profile.heat_transfer
    return destination.mirrored == "yes"


def _contents(piece: _Piece, destination: Destination) -> bytes:
    match destination.format:
        case "svg":
            return svg_text(piece.job).encode("utf-8")
        case "dxf":
            settings = DxfSettings(destination.units, destination.tolerance_mm, destination.version)
            return dxf_bytes(piece.lines, piece.job.height_mm, settings)
        case "hpgl":
            sheet = piece.job.width_mm, piece.job.height_mm
            return plotter_text(piece.lines, sheet, plotter_settings(destination)).encode("ascii")
        case "pdf":
            return _pdf(piece, destination)
        case _:
            raise CannotWrite(
                phrase("“{suffix}” is not a kind of file that can be written.", suffix=destination.format)
            )


def _pdf(piece: _Piece, destination: Destination) -> bytes:
    from bladewise.formats.pdf import pdf_bytes

    job = piece.job
    if piece.lines:  # one material alone: all of it is the knife's
        line = Material(CUT_LINE, piece.lines[0].name, piece.lines[0].colour)
        layers = tuple(replace(layer, material=line.id) for layer in job.layers)
        job = replace(job, layers=layers, materials=(line,))
    kinds = dict(destination.spots)
    spots = {one.id: Spot(one.name, CUT_KINDS[kinds[one.name]]) for one in job.materials if one.name in kinds}
    return pdf_bytes(job, cut_name=destination.cut_name, cut_step=CUT_KINDS[destination.cut_kind], spots=spots)


def plotter_settings(destination: Destination) -> PlotterSettings:
    """Return what a destination says of plotter files."""
    tolerance = {} if destination.tolerance_mm is None else {"tolerance_mm": destination.tolerance_mm}
    return PlotterSettings(
        origin=destination.origin,
        rotation_deg=destination.rotation_deg,
        curves=destination.curves,
        unit_mm=destination.unit_mm,
        pen=destination.pen,
        pens=destination.pens,
        force=destination.force,
        speed=destination.speed,
        takes_negative=destination.takes_negative,
        **tolerance,
    )
