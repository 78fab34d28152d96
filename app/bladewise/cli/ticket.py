"""`bladewise ticket` and `bladewise proof`: the papers that go with a job, to the shop floor and to the customer."""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise.errors import CannotWrite
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.layout.figures import MaterialFigures

_DEFAULT_DPI = 254.0
"""Ten pixels a millimetre, so that every millimetre of a bar is whole pixels."""


def add_ticket(commands: Any) -> None:
    """Add both commands to those of the command line."""
    ticket = commands.add_parser("ticket", help="write the job ticket for whoever runs the machine: PDF or HTML")
    _add_common(ticket, "PDF|HTML")
    ticket.add_argument("--remark", metavar="TEXT", help="a line for whoever makes it")
    ticket.add_argument("--cutting-speed", type=_positive, metavar="MM/S", help="knife down (default 150)")
    ticket.add_argument("--moving-speed", type=_positive, metavar="MM/S", help="knife up (default 300)")
    ticket.add_argument("--lift", type=_positive, metavar="S", help="what a lift takes (default 0.15)")
    ticket.set_defaults(command=_ticket)

    proof = commands.add_parser("proof", help="write the proof for the customer: PDF or PNG")
    _add_common(proof, "PDF|PNG")
    proof.add_argument("--dpi", type=_dpi, metavar="N", help="png: pixels an inch (default 254: ten a millimetre)")
    proof.add_argument("--art-only", action="store_true", help="png: just the art with a scale bar, no page around it")
    proof.set_defaults(command=_proof)


def _add_common(parser: argparse.ArgumentParser, kinds: str) -> None:
    parser.add_argument("file", type=Path)
    parser.add_argument("--out", type=Path, required=True, metavar=kinds)
    parser.add_argument("--customer", metavar="TEXT", help="who ordered it; left out: what the job says")
    parser.add_argument("--order", dest="order_number", metavar="TEXT", help="the number of the order")
    parser.add_argument("--due", dest="due_date", metavar="TEXT", help="when it is due")
    parser.add_argument("--revision", metavar="TEXT", help="which revision this is")
    parser.add_argument("--date", type=_date, metavar="YYYY-MM-DD", help="the date it carries (default today)")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="default a4")
    parser.add_argument("--unit", choices=("mm", "in"), default="mm", help="default mm")
    parser.add_argument("--json", action="store_true", help="print a summary as JSON")


def _ticket(options: argparse.Namespace) -> int:
    from bladewise.formats.atomic import write_atomically
    from bladewise.formats.inside_out import inside_out
    from bladewise.layout.figures import Pace
    from bladewise.layout.page import Paper
    from bladewise.layout.ticket import ticket_of
    from bladewise.session import Session

    kind = _kind(options.out, ("pdf", "html", "htm"))
    session = Session.open(options.file)
    job, made = _told(session.job, options), options.date or _today()
    said = {"cutting_mm_s": options.cutting_speed, "moving_mm_s": options.moving_speed, "lift_s": options.lift}
    pace = Pace(**{name: value for name, value in said.items() if value is not None})
    findings = session.check()
    ticket = ticket_of(job, findings, made, unit=options.unit, pace=pace, order=inside_out)
    pages = 1
    if kind == "pdf":
        from bladewise.formats.papers.pdf import pages_as_pdf
        from bladewise.layout.ticket_pages import ticket_pages

        laid = ticket_pages(ticket, Paper(options.paper))
        pages = len(laid)
        data = pages_as_pdf(laid, job.name, _moment(made))
    else:
        from bladewise.formats.papers.html import ticket_html

        data = ticket_html(ticket).encode("utf-8")
    write_atomically(options.out, data)
    if options.json:
        summary = {
            **_heading(job, options.out, made),
            "pages": pages,
            "materials": [_material(each) for each in ticket.figures],
            "work": list(ticket.order),
            "findings": len(findings),
        }
        _print_json(summary)
    else:
        sys.stdout.write(f"{options.out}\n{ticket.totals}\n")
    return 0


def _proof(options: argparse.Namespace) -> int:
    from bladewise.layout.page import Paper
    from bladewise.layout.proof import proof_of
    from bladewise.session import Session

    kind = _kind(options.out, ("pdf", "png"))
    if kind == "pdf" and (options.dpi is not None or options.art_only):
        raise CannotWrite(
            "A PDF has no pixels.",
            where=options.out.name,
            hint="Leave out --dpi and --art-only, or let it end in .png.",
        )
    session = Session.open(options.file)
    job, made = _told(session.job, options), options.date or _today()
    scale = (options.dpi or _DEFAULT_DPI) / 25.4
    said = "1:1"
    if options.art_only:
        from bladewise.layout.scale_bar import with_scale_bar
        from bladewise.window.picture import write_png

        write_png(with_scale_bar(job, options.unit), options.out, scale=scale)
    else:
        proof = proof_of(job, made, paper=Paper(options.paper), unit=options.unit)
        said = proof.scale_text
        if kind == "pdf":
            from bladewise.formats.atomic import write_atomically
            from bladewise.formats.papers.pdf import pages_as_pdf

            write_atomically(options.out, pages_as_pdf([proof.page], job.name, _moment(made)))
        else:
            from bladewise.layout.page import page_as_job
            from bladewise.window.picture import write_png

            write_png(page_as_job(proof.page, job.name), options.out, scale=scale)
    if options.json:
        _print_json({**_heading(job, options.out, made), "scale": said, "true_size": said == "1:1"})
    else:
        told = phrase("True size.") if said == "1:1" else phrase("Shown at {scale}.", scale=said)
        sys.stdout.write(f"{options.out}\n{told}\n")
    return 0


def _told(job: Job, options: argparse.Namespace) -> Job:
    """Return the job with what the command says of the order in place of what the job says."""
    from bladewise.document import DETAILS

    said = {name: value for name in DETAILS if (value := getattr(options, name, None)) is not None}
    return replace(job, details=replace(job.details, **said))


def _kind(out: Path, known: tuple[str, ...]) -> str:
    kind = out.suffix.lower().removeprefix(".")
    if kind not in known:
        raise CannotWrite(
            phrase("“{suffix}” is not a kind of file that can be written.", suffix=out.suffix or out.name),
            where=out.name,
            hint=phrase("Known: {join}.", join=", ".join(f".{each}" for each in known if each != "htm")),
        )
    return kind


def _heading(job: Job, out: Path, made: date) -> dict[str, Any]:
    return {
        "file": str(out),
        "job": job.name,
        "customer": job.details.customer,
        "order_number": job.details.order_number,
        "due_date": job.details.due_date,
        "revision": job.details.revision,
        "date": made.isoformat(),
    }


def _material(found: MaterialFigures) -> dict[str, Any]:
    material, need = found.material, found.need
    return {
        "material": material.name,
        "kind": str(material.kind),
        "cut": str(material.cut) if material.kind == "cut" else None,
        "mirrored": found.is_mirrored,
        "turn": found.turn,
        "pieces": found.figures.pieces,
        "marks": found.marks,
        "area_mm2": round(found.figures.area_mm2, 3),
        "taken_mm": [round(need.across_mm, 3), round(need.along_mm, 3)] if need is not None else None,
        "cost": round(found.cost, 4) if found.cost is not None else None,
        "down_mm": round(found.travel.down_mm, 3),
        "up_mm": round(found.travel.up_mm, 3),
        "lifts": found.travel.lifts,
        "seconds": round(found.seconds, 1),
    }


def _print_json(value: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(value, indent=2, ensure_ascii=False) + "\n")


def _today() -> date:
    return datetime.now().astimezone().date()


def _moment(made: date) -> datetime:
    """Return the date as PDF wants one: noon, where the shop is."""
    return datetime.combine(made, time(12, 0)).astimezone()


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        msg = "a date such as 2026-05-31 is needed"
        raise argparse.ArgumentTypeError(msg) from None


def _positive(text: str) -> float:
    return _between(text, 0.001, 1e5, "a number above 0 is needed")


def _dpi(text: str) -> float:
    return _between(text, 10.0, 2400.0, "from 10 to 2400 pixels an inch are needed")


def _between(text: str, least: float, most: float, told: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        raise argparse.ArgumentTypeError(told)
    return value
