"""A job ticket as one HTML file: everything in it, nothing fetched; pictures are vector; prints like the PDF.

The words are those of `layout.ticket`; only how they are set is said here. Fonts are the reader's own.
"""

from __future__ import annotations

import base64
from html import escape
from typing import TYPE_CHECKING

from bladewise.formats.svg import svg_text
from bladewise.layout.views import is_pale
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from bladewise.layout.ticket import Fact, Row, Shown, Ticket

_STYLE = """
  :root { color-scheme: light; }
  body { font: 10.5pt/1.4 "Noto Sans", system-ui, sans-serif; color: #000; background: #fff;
         max-width: 190mm; margin: 8mm auto; padding: 0 4mm; }
  header { border-bottom: 2.5px solid #000; margin-bottom: 4mm; }
  header p { display: flex; justify-content: space-between; color: #595959; margin: 0; }
  h1 { font-size: 20pt; line-height: 1.2; margin: 1mm 0 2mm; }
  h2 { font-size: 11pt; border-bottom: 1.5px solid #000; margin: 5mm 0 2mm; break-after: avoid; }
  .top { display: grid; grid-template-columns: 2fr 3fr; gap: 6mm; }
  dl { display: grid; grid-template-columns: auto 1fr; gap: 0.6mm 4mm; margin: 0; align-content: start; }
  dt { color: #595959; } dd { margin: 0; font-weight: 600; }
  figure { margin: 0; break-inside: avoid; }
  figure div { border: 1px solid #b8b8b8; padding: 1.5mm; display: flex; justify-content: center; align-items: center; }
  .pale div { background: #e4e4e4; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .whole img { width: 100%; height: 54mm; object-fit: contain; }
  .layers { display: grid; grid-template-columns: repeat(4, 1fr); gap: 4mm; }
  .layers img { width: 100%; height: 28mm; object-fit: contain; }
  figcaption { font-size: 8.5pt; } figcaption span { color: #595959; }
  table { border-collapse: collapse; width: 100%; font-size: 9.5pt; }
  th { text-align: left; font-weight: normal; font-size: 8.5pt; color: #595959; }
  th, td { border-bottom: 1px solid #b8b8b8; padding: 1mm 2mm 1mm 0; vertical-align: top; }
  td:first-child { font-weight: 600; } tr { break-inside: avoid; }
  .swatch { display: inline-block; width: 3mm; height: 3mm; border: 1px solid #000; margin-right: 2mm;
            print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .swatch.line { height: 0.8mm; vertical-align: middle; }
  .small { font-size: 8.5pt; color: #595959; }
  ol { padding: 0; margin: 0; list-style-position: inside; } li::marker { font-weight: 700; }
  .sign { display: grid; grid-auto-flow: column; grid-auto-columns: 1fr; gap: 8mm; margin-top: 16mm;
          break-inside: avoid; }
  .sign span { border-top: 1.2px solid #000; padding-top: 0.6mm; font-size: 8.5pt; color: #595959; }
  p { margin: 0.8mm 0; }
  @page { margin: 14mm; }
  @media print { body { margin: 0; padding: 0; max-width: none; } }
"""


def ticket_html(ticket: Ticket, say: Callable[[str], str] = str, language: str = "en") -> str:
    """Return a ticket as the text of an HTML file.

    Parameters
    ----------
    ticket
        What it says.
    say
        Puts a text into the reader's language.
    language
        Which that is, as a BCP 47 tag.
    """

    def text(value: str) -> str:
        return escape(say(value)).replace("\n", "<br>")

    name = escape(ticket.name)
    body = [
        f"<header><p><span>{text('Job ticket')}</span><span>{ticket.made.isoformat()}</span></p>",
        f"<h1>{name}</h1></header>",
        '<section class="top"><div>',
        "<dl>",
        *(f"<dt>{text(label)}</dt><dd>{text(value)}</dd>" for label, value in ticket.facts),
        "</dl>",
    ]
    if ticket.remark:
        body.append(f"<p>“{escape(ticket.remark)}”</p>")
    body += ["</div>", *([_figure(ticket.whole, text, "whole")] if ticket.whole else []), "</section>"]
    if ticket.rows:
        body += _table(ticket, text)
    if len(ticket.layers) > 1:
        pictures = [_figure(each, text, "") for each in ticket.layers]
        body += [f"<h2>{text('Layer by layer')}</h2>", '<div class="layers">', *pictures, "</div>"]
    if ticket.order:
        body += [
            f"<h2>{text('Order of work')}</h2>",
            "<ol>",
            *(f"<li>{text(each)}</li>" for each in ticket.order),
            "</ol>",
        ]
    body.append(f"<h2>{text('Still open')}</h2>")
    body += [f"<p><b>{text(each.severity)}:</b> {text(each.message)}</p>" for each in ticket.warnings] or [
        f"<p>{text('The readiness check finds nothing.')}</p>"
    ]
    if ticket.more_warnings:
        more = phrase("{count} more stand in the readiness list.", count=ticket.more_warnings)
        body.append(f"<p>{text(more)}</p>")
    body += [f"<h2>{text('Mind')}</h2>", *_told(ticket.cautions, text)]
    body += ['<div class="sign">', *(f"<span>{text(each)}</span>" for each in ticket.signatures), "</div>"]
    head = f'<meta charset="utf-8"><title>{name} – {text("Job ticket")}</title><style>{_STYLE}</style>'
    lines = [
        "<!DOCTYPE html>",
        f'<html lang="{escape(language)}"><head>{head}</head><body>',
        *body,
        "</body></html>",
        "",
    ]
    return "\n".join(lines)


def _table(ticket: Ticket, text: Callable[[str], str]) -> list[str]:
    head = "".join(f"<th>{text(each)}</th>" for each in ticket.head)
    return [
        f"<h2>{text('Materials')}</h2>",
        f"<table><thead><tr>{head}</tr></thead><tbody>",
        *(f"<tr>{_cells(row, text)}</tr>" for row in ticket.rows),
        "</tbody></table>",
        f"<p><b>{text(ticket.totals)}</b></p>",
        f'<p class="small">{text(ticket.assumptions)}</p>',
    ]


def _cells(row: Row, text: Callable[[str], str]) -> str:
    swatch = ""
    if row.colour is not None:
        swatch = f'<span class="swatch{" line" if row.is_line else ""}" style="background:{row.colour.hex}"></span>'
    first, *rest = (text(cell) for cell in row.cells)
    return "".join([f"<td>{swatch}{first}</td>", *(f"<td>{cell}</td>" for cell in rest)])


def _figure(shown: Shown, text: Callable[[str], str], kind: str) -> str:
    data = base64.b64encode(svg_text(shown.job).encode("utf-8")).decode("ascii")
    words = " ".join(filter(None, (kind, "pale" if is_pale(shown.job) else "")))
    caption = f"<b>{text(shown.caption)}</b> <span>{text(shown.note)}</span>"
    picture = f'<img src="data:image/svg+xml;base64,{data}" alt="{text(shown.caption)}">'
    return f'<figure class="{words}"><div>{picture}</div><figcaption>{caption}</figcaption></figure>'


def _told(facts: Iterable[Fact], text: Callable[[str], str]) -> list[str]:
    return [f"<p><b>{text(label)}:</b> {text(value)}</p>" for label, value in facts]
