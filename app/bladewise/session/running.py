"""Running a recipe on artwork: steps, check, files, and a summary of what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise import checks, formats, operations
from bladewise.errors import CannotApply
from bladewise.findings import Finding

if TYPE_CHECKING:
    from bladewise.recipe import Recipe
    from bladewise.session.session import Session


@dataclass(frozen=True, slots=True)
class StepDone:
    """A step of a recipe with what it had to say; `failure` if it did not apply."""

    do: str
    summary: str
    reports: tuple[str, ...] = ()
    failure: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a recipe."""

    steps: tuple[StepDone, ...]
    findings: tuple[Finding, ...]
    files: tuple[Path, ...]
    refused: str = ""

    @property
    def failures(self) -> list[StepDone]:
        """The steps that did not apply."""
        return [step for step in self.steps if step.failure]

    @property
    def exit_code(self) -> int:
        """0 all done and ready, 1 findings, 2 a step did not apply."""
        return 2 if self.failures else 1 if self.refused or not checks.is_ready(self.findings) else 0

    def plain(self) -> dict[str, Any]:
        """Return the documented summary of `run --json`."""
        return {
            "ready": checks.is_ready(self.findings) and not self.failures,
            "steps": [
                {"do": step.do, "summary": step.summary, "reports": list(step.reports), "failure": step.failure}
                for step in self.steps
            ],
            "findings": [finding.plain() for finding in self.findings],
            "files": [str(path) for path in self.files],
            "refused": self.refused,
        }

    def lines(self) -> list[str]:
        """Return the summary for people."""
        lines = []
        for number, step in enumerate(self.steps, start=1):
            lines.append(f"{number:3}. {step.summary}")
            lines += [f"     {report}" for report in step.reports]
            if step.failure:
                lines.append(f"     not done: {step.failure}")
        lines += [f"{finding.severity.text}: {finding.message}" for finding in self.findings]
        lines.append(checks.verdict(self.findings))
        if self.refused:
            lines.append(f"No cut files: {self.refused}")
        return lines + [f"{path}" for path in self.files]


def run_recipe(
    session: Session,
    recipe: Recipe,
    folder: Path,
    *,
    painter: formats.PicturePainter | None = None,
    despite_findings: bool = False,
) -> Run:
    """Do a recipe's steps in a session, check, and write job file and cut files into a folder.

    A step that does not apply is reported and the rest goes on. Cut files are not written where the
    knife would cut twice, unless told to, nor after a step that failed. `painter` makes pictures, for a
    destination that wants some.

    Raises
    ------
    CannotRead
        If the recipe names a destination that is not kept here, or cannot be read; nothing is done then.
    CannotWrite
        If a file could not be written.
    """
    named = recipe.output.destination
    destination = formats.find_destination(named) if named else None
    done = []
    for step in recipe.steps:
        try:
            outcome = session.apply(step)
            done.append(StepDone(step.do, operations.summary(step), outcome.reports))
        except CannotApply as error:
            done.append(StepDone(step.do, operations.summary(step), failure=str(error)))
    findings = session.check()
    output = recipe.output
    force = despite_findings or output.despite_findings
    formats.make_folder(Path(folder))
    files = [session.save(Path(folder) / f"{formats.file_name(recipe.name)}.job.svg")]
    refused = ""
    if any(step.failure for step in done) and not force:
        refused = "a step of the recipe could not be done."
    elif any(finding.rule in checks.DOUBLE_CUTS for finding in findings) and not force:
        refused = "the knife would cut twice or through good vinyl."
    else:
        marks = None
        if output.marks:
            marks = formats.RegistrationMarks(
                output.marks, size_mm=output.marks_size_mm, inset_mm=output.marks_inset_mm
            )
        files += session.export(
            folder,
            per_colour=output.per_colour,
            marks=marks,
            destination=destination,
            painter=painter,
            despite_findings=True,
        )
    return Run(tuple(done), tuple(findings), tuple(files), refused)
