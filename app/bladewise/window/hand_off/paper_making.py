"""The papers that go with a job, made from values alone: their pages to look at, and the bytes of their files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Job
from bladewise.formats import file_name
from bladewise.formats.inside_out import inside_out
from bladewise.layout.page import Page, Paper, page_as_job
from bladewise.layout.ticket import Fact, Ticket
from bladewise.units import MM_PER_INCH
from bladewise.window.hand_off.said import summary
from bladewise.window.hand_off.settings import tr
from bladewise.window.language import quoted, say

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.findings import Finding
    from bladewise.formats import Destination

PROOF_DPI = 254.0
"""Ten pixels a millimetre, so that every millimetre of a scale bar is whole pixels."""


_NOT_MIRRORED = Fact("Mirrored", "no")
"""Said of the art alone; beside files that are mirrored it would only confuse."""


class Sort(StrEnum):
    """For the shop floor, or for the customer."""

    TICKET = "ticket"
    PROOF = "proof"

    @property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of files it is written as."""
        return ("pdf", "html") if self is Sort.TICKET else ("pdf", "png")

    def file_of(self, job: Job, kind: str) -> str:
        """Return what its file is called."""
        word = tr("job ticket") if self is Sort.TICKET else tr("proof")
        return f"{file_name(f'{job.name} - {word}')}.{kind}"


@dataclass(frozen=True, eq=False)
class Made:
    """A paper: its pages, and what is said of it."""

    sort: Sort
    job: Job
    pages: tuple[Page, ...]
    shown: tuple[Job, ...]
    remark: str
    ticket: Ticket | None
    made: date


def make(
    sort: Sort,
    job: Job,
    findings: Sequence[Finding],
    *,
    unit: str,
    paper: str,
    made: date,
    progress: Callable[[float], None],
    to: Sequence[Destination] = (),
) -> Made:
    """Return a paper with its pages; a ticket says of each destination in `to` how its files are made.

    Raises
    ------
    CannotWrite
        If nothing in the job shows.
    """
    from bladewise.layout.portions import portion
    from bladewise.layout.proof import proof_of
    from bladewise.layout.ticket import ticket_of
    from bladewise.layout.ticket_pages import ticket_pages

    most = portion(progress, 0.1, 0.6)
    ticket, remark = None, ""
    if sort is Sort.TICKET:
        ticket = ticket_of(job, findings, made, unit=unit, order=inside_out, progress=most)
        files = tuple(Fact(tr("Files"), f"{quoted(each.name)}: {summary(each)}") for each in to)
        of_art = (each for each in ticket.facts if not (files and each == _NOT_MIRRORED))
        ticket = replace(ticket, facts=(*of_art, *files))
        pages = ticket_pages(ticket, Paper(paper), say)
    else:
        proof = proof_of(job, made, paper=Paper(paper), unit=unit, say=say, progress=most)
        pages = [proof.page]
        remark = tr("True size.") if proof.parts == 1.0 else tr("Shown at {scale}.").format(scale=proof.scale_text)
    progress(0.6)
    shown = tuple(page_as_job(page, job.name) for page in pages)
    return Made(sort, job, tuple(pages), shown, remark, ticket, made)


def file_bytes(found: Made, kind: str, language: str) -> bytes:
    """Return a paper as the bytes of a file.

    Raises
    ------
    CannotWrite
        If a picture cannot be shown in a file of that kind.
    """
    from bladewise.window.picture import png_bytes

    if kind == "html" and found.ticket is not None:
        from bladewise.formats.papers.html import ticket_html

        return ticket_html(found.ticket, say, language).encode("utf-8")
    if kind == "png":
        return png_bytes(found.shown[0], scale=PROOF_DPI / MM_PER_INCH)
    from bladewise.formats.papers.pdf import pages_as_pdf

    moment = datetime.combine(found.made, time(12, 0)).astimezone()
    return pages_as_pdf(found.pages, found.job.name, moment)


def today() -> date:
    """Return the date where the shop is."""
    return datetime.now().astimezone().date()
