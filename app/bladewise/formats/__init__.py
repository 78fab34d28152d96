"""Files in and out, behind one registry: `read` for every kind that is read, `WRITERS` for those written."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from bladewise.errors import CannotWrite
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.formats.cut_files import cut_files, write_cut_files
from bladewise.formats.cut_lines import cut_materials
from bladewise.formats.destinations import Destination, destination_text, read_destination
from bladewise.formats.dxf import DxfSettings, write_dxf
from bladewise.formats.file_names import file_name
from bladewise.formats.handing_off import PicturePainter, only_made_of, prepared, write_to
from bladewise.formats.job_file import JobFile, job_file_text, read_job_file, write_job_file
from bladewise.formats.kept import (
    destinations_folder,
    drop_destination,
    find_destination,
    keep_destination,
    kept_destinations,
)
from bladewise.formats.marks import MARK_KINDS, RegistrationMarks
from bladewise.formats.plotter import PlotterSettings, write_plotter
from bladewise.formats.prepared import Prepared, write_files
from bladewise.formats.svg import read_svg, svg_text, write_svg
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from bladewise.document import Job
    from bladewise.formats.svg.tree import Progress

__all__ = [
    "MARK_KINDS",
    "READERS",
    "WRITERS",
    "Destination",
    "DxfSettings",
    "JobFile",
    "PicturePainter",
    "PlotterSettings",
    "Prepared",
    "RegistrationMarks",
    "cut_files",
    "cut_materials",
    "destination_text",
    "destinations_folder",
    "drop_destination",
    "file_name",
    "find_destination",
    "job_file_text",
    "keep_destination",
    "kept_destinations",
    "make_folder",
    "only_made_of",
    "prepared",
    "read",
    "read_destination",
    "read_job_file",
    "read_svg",
    "svg_text",
    "write",
    "write_cut_files",
    "write_dxf",
    "write_files",
    "write_job_file",
    "write_pdf",
    "write_plotter",
    "write_svg",
    "write_text",
    "write_to",
]


def write_pdf(job: Job, path: FilePath) -> None:
    """Write a job as a PDF, real size, for printing and cutting; `bladewise.formats.pdf` has the choices.

    Raises
    ------
    CannotWrite
        If the job cannot be shown in a PDF, or the file cannot be written.
    """
    from bladewise.formats import pdf

    pdf.write_pdf(job, path)


READERS: Mapping[str, Callable[..., JobFile]] = {".svg": read_job_file, ".svgz": read_job_file}
"""What can be opened, by the end of the file's name."""
WRITERS: Mapping[str, Callable[[Job, FilePath], None]] = {
    ".svg": write_svg,
    ".dxf": write_dxf,
    ".hpgl": write_plotter,
    ".pdf": write_pdf,
    ".plt": write_plotter,
}
"""What a job can be written as, by the end of the file's name."""


def read(path: FilePath | str, progress: Progress | None = None) -> JobFile:
    """Return what a file holds, whatever its kind; the contents decide where the name tells nothing.

    Parameters
    ----------
    path
        A job file or artwork.
    progress
        Called with the part done, 0 to 1; it may raise `bladewise.errors.Cancelled`.

    Raises
    ------
    CannotRead
        With one message that says what is wrong, with which file, and what to do.
    """
    path = FilePath(path)
    return READERS.get(path.suffix.lower(), read_job_file)(path, progress=progress)


def write(job: Job, path: FilePath | str) -> None:
    """Write a job as the kind of file its name ends with.

    Raises
    ------
    CannotWrite
        If the kind is not known, or the file cannot be written.
    """
    path = FilePath(path)
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise CannotWrite(
            phrase("“{suffix}” is not a kind of file that can be written.", suffix=path.suffix),
            where=path.name,
            hint=phrase("Known: {join}.", join=", ".join(WRITERS)),
        )
    writer(job, path)


def write_text(text: str, path: FilePath | str) -> None:
    """Write a text file whole or not at all.

    Raises
    ------
    CannotWrite
        If it cannot be written; what stood there before still stands.
    """
    write_atomically(FilePath(path), text.encode("utf-8"))
