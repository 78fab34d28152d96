"""A file made and checked, but not yet written: its contents, what is in it, and how true it is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from bladewise.document import CutKind, MaterialKind
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import make_folder, write_together
from bladewise.formats.cut_lines import MARKS_NAME
from bladewise.formats.svg.names import OURS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path as FilePath

    from bladewise.document import Job
    from bladewise.formats.cut_lines import CutLines


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
        What a knife follows, in the order it does, the marks too; empty for a drawing of the whole job.
    cuts
        What of it is to be cut, a row a material, the marks left out; also of a drawing of the whole job.
    apart_mm
        How far what is read back from it lies from what was meant, in mm; None of a picture.
    """

    name: str
    data: bytes
    job: Job
    lines: list[CutLines]
    cuts: tuple[CutLines, ...] = ()
    apart_mm: float | None = None

    def write(self, folder: FilePath) -> FilePath:
        """Write the file into a folder, which is made if need be; return its path.

        Raises
        ------
        CannotWrite
            If it could not be written; what stood there before still stands.
        """
        return write_files([self], folder)[0]

    def plain(self) -> dict[str, Any]:
        """Return what is in the file, for other programs; lengths in mm."""
        known = {line.name for line in self.cuts}
        rows: list[dict[str, Any]] = [
            {
                "name": line.name,
                "kind": MaterialKind.CUT.value,
                "cut": line.cut.value,
                "perforation_mm": list(line.perforation_mm) if line.cut is CutKind.PERFORATION else None,
                "pieces": line.pieces,
                "knife_travel_mm": round(line.travel_mm, 3),
            }
            for line in self.cuts
        ]
        if not self.lines:
            rows += [
                {"name": one.name, "kind": one.kind.value, "cut": None, "perforation_mm": None, "pieces": 0}
                | {"knife_travel_mm": 0.0}
                for one in self.job.materials_in_use()
                if one.name not in known and one.name != MARKS_NAME and one.kind is not MaterialKind.GUIDE
            ]
        return {
            "format": self.name.rpartition(".")[2],
            "width_mm": self.job.width_mm,
            "height_mm": self.job.height_mm,
            "materials": rows,
            "pieces": sum(row["pieces"] for row in rows),
            "knife_travel_mm": round(sum(row["knife_travel_mm"] for row in rows), 3),
            "tolerance_held_mm": None if self.apart_mm is None else math.ceil(self.apart_mm * 1e6) / 1e6,
        }


def write_files(files: Sequence[Prepared], folder: FilePath) -> list[FilePath]:
    """Write files into a folder, which is made if need be: all of them or, if one cannot be, none; return their paths.

    Raises
    ------
    CannotWrite
        If one could not be written, or would take the place of artwork or of a job with its steps; what stood there
        before still stands.
    """
    make_folder(folder)
    paths = [folder / file.name for file in files]
    for path in paths:
        if _is_kept(path):
            raise CannotWrite(
                "A drawing of this name stands there that is no cut file: artwork, or a job.",
                where=path.name,
                hint="Choose another folder.",
            )
    write_together([(path, file.data) for path, file in zip(paths, files, strict=True)])
    return paths


def _is_kept(path: FilePath) -> bool:
    """Whether a file is a drawing that is no earlier cut file of ours: a customer's, or a job with its steps."""
    if path.suffix.lower() != ".svg" or not path.is_file():
        return False
    try:
        text = path.read_bytes()
    except OSError:
        return False  # writing it will say what is wrong
    return b"<svg" in text and (OURS.encode() not in text or b"<bw:steps" in text)
