"""A list of names filled into a design and written out: the job, a drawing for each piece, the rows left out."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise import formats, operations
from bladewise.document import Group, Layer, bounds_of
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.file_names import file_name, unique
from bladewise.geometry.affine import Affine
from bladewise.operations.roster import Wrong, filled
from bladewise.units import counted

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.operations.declaration import Progress
    from bladewise.session.session import Session


@dataclass(frozen=True, slots=True)
class RosterDone:
    """What came of a list: the pieces made, the rows left out, the files."""

    names: tuple[str, ...]
    wrong: tuple[Wrong, ...]
    files: tuple[Path, ...]

    @property
    def exit_code(self) -> int:
        """0 every row was made, 1 some were left out."""
        return 1 if self.wrong else 0

    def plain(self) -> dict[str, Any]:
        """Return the documented summary of `roster --json`."""
        return {
            "made": len(self.names),
            "names": list(self.names),
            "left_out": [{"line": each.line, "row": each.text, "reason": each.reason} for each in self.wrong],
            "files": [str(path) for path in self.files],
        }

    def lines(self) -> list[str]:
        """Return the summary for people."""
        made = counted(len(self.names), "piece was made.", "pieces were made.")
        return [
            made,
            *(f"line {each.line} was left out ({each.text}): {each.reason}" for each in self.wrong),
            *(f"{path}" for path in self.files),
        ]


def fill_roster(
    session: Session,
    rows: str,
    folder: Path,
    *,
    each: bool = False,
    progress: Progress = operations.quiet,
    **values: Any,
) -> RosterDone:
    """Fill a design with the rows of a list and write what comes of it.

    Parameters
    ----------
    session
        Holds the design; the step is added to its stack.
    rows
        The list as text.
    folder
        Where the files go: "<design> roster.svg", "left out.csv" if a row was, and with `each` a drawing a piece.
    values
        Other parameters of the step "fill-roster".

    Raises
    ------
    CannotApply
        If the list does not fit the design, or no row can be made.
    CannotWrite
        If a file cannot be written.
    """
    step = operations.step("fill-roster", {"rows": rows, **values})
    done = filled(session.job, step.record, progress)
    session.adopt_step(step, operations.Outcome(done.job, session.job.changes_to(done.job), (), (done.layer,)))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotWrite("The folder cannot be made.", where=str(folder), hint="Choose another one.") from error
    stem = file_name(session.job.name or "design")
    files = [folder / f"{stem} roster.svg"]
    formats.write_job_file(session.as_job_file(), files[0])
    if done.wrong:
        files.append(folder / "left out.csv")
        write_atomically(files[-1], _left_out(done.wrong))
    if each:
        layer = next(layer for layer in done.job.layers if layer.id == done.layer)
        digits, taken = len(str(len(layer.children))), set[str]()
        for count, piece in enumerate(layer.children):
            name = unique(f"{count + 1:0{digits}} {file_name(piece.name, fallback='piece')}", taken)
            files.append(folder / f"{name}.svg")
            formats.write_svg(_alone(done.job, layer, piece), files[-1])
    return RosterDone(done.names, done.wrong, tuple(files))


def _alone(job: Job, layer: Layer, piece: Any) -> Job:
    """Return a job that holds one piece on a sheet of its own size."""
    box = bounds_of((piece,)) or (0.0, 0.0, job.width_mm, job.height_mm)
    moved: Group = piece.transformed(Affine.moved(-box[0], -box[1]))
    size = (max(box[2] - box[0], 0.001), max(box[3] - box[1], 0.001))
    return replace(
        job,
        name=piece.name,
        width_mm=size[0],
        height_mm=size[1],
        layers=(replace(layer, name=piece.name, children=(moved,)),),
    )


def _left_out(wrong: tuple[Wrong, ...]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(("line", "row", "reason"))
    writer.writerows((each.line, each.text, str(each.reason)) for each in wrong)
    return out.getvalue().encode("utf-8-sig")  # spreadsheets know it by its mark
