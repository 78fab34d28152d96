"""A job ticket laid out on paper: one page where it fits, more where it does not; black and white does as well.

Read from the top: what and for whom, how it looks, what to load, in which order, what to mind, who did it. Nothing
is told by colour alone: swatches stand beside names, warnings have a word for how bad they are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document import BLACK
from bladewise.layout.page import (
    GREY,
    MAT,
    PALE,
    POINT_MM,
    Box,
    Item,
    Page,
    Paper,
    Words,
    ended_at,
    fitted,
    shortened,
    width_of,
    wrapped,
)
from bladewise.layout.views import is_pale
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.layout.ticket import Row, Shown, Ticket

MARGIN_MM = 14.0
"""Wide enough for every office printer (common practice, no source) and for a punch."""
_BODY = 8.5 * POINT_MM
_CELL = 8.0 * POINT_MM
_SMALL = 7.0 * POINT_MM
_HEADING = 9.5 * POINT_MM
_TITLE = 19.0 * POINT_MM
_LEADING = 1.32
_GAP_MM = 4.0
_SHARES = (0.19, 0.145, 0.145, 0.17, 0.09, 0.065, 0.115, 0.08)
"""Widths of the columns of the table of materials."""
_SWATCH_MM = 3.0
_ACROSS = 4
"""Pictures of layers side by side; five where there are just five."""
_PICTURE_MM = 28.0
_WHOLE_MM = 54.0


def ticket_pages(ticket: Ticket, paper: Paper = Paper.A4, say: Callable[[str], str] = str) -> list[Page]:
    """Return the pages of a ticket; `say` puts a text into the reader's language."""
    return _Flow(ticket, paper, say).pages()


class _Flow:
    """Fills pages from the top; what does not fit whole begins the next one."""

    def __init__(self, ticket: Ticket, paper: Paper, say: Callable[[str], str]) -> None:
        self._ticket, self._say = ticket, say
        self._wide, self._high = paper.size_mm
        self._left, self._right = MARGIN_MM, self._wide - MARGIN_MM
        self._foot = self._high - MARGIN_MM - 6.0
        self._pages: list[list[Item]] = []
        self._y = 0.0

    @property
    def _room(self) -> float:
        return self._right - self._left

    def pages(self) -> list[Page]:
        """Return all pages, numbered."""
        self._next_page()
        self._top()
        self._facts_and_picture()
        self._materials()
        self._layers()
        self._work()
        self._warnings()
        self._cautions()
        self._signatures()
        count = len(self._pages)
        for number, items in enumerate(self._pages, start=1):
            text = self._say(phrase("Page {number} of {count}", number=number, count=count))
            y = self._high - MARGIN_MM
            items.append(
                Words(self._left, y, shortened(self._ticket.name, _SMALL, self._room * 0.7), _SMALL, colour=GREY)
            )
            items.append(ended_at(Words(self._right, y, text, _SMALL, colour=GREY)))
        return [Page(self._wide, self._high, tuple(items)) for items in self._pages]

    def _put(self, *items: Item) -> None:
        self._pages[-1].extend(items)

    def _next_page(self) -> None:
        self._pages.append([])
        self._y = MARGIN_MM

    def _needs(self, height_mm: float) -> None:
        if self._y + height_mm > self._foot and self._y > MARGIN_MM + 1.0:
            self._next_page()

    def _heading(self, text: str, needs_mm: float) -> None:
        self._needs(needs_mm + 8.0)
        self._y += _GAP_MM
        self._put(Words(self._left, self._y + _HEADING, self._say(text), _HEADING, bold=True))
        self._y += _HEADING * 1.5
        self._put(Box(self._left, self._y, self._room, 0.35, fill=BLACK))
        self._y += 2.0

    def _lines(self, texts: Sequence[str], x_mm: float, size_mm: float, *, bold: bool = False) -> None:
        for text in texts:
            self._needs(size_mm * _LEADING)
            self._put(Words(x_mm, self._y + size_mm, text, size_mm, bold=bold))
            self._y += size_mm * _LEADING

    def _top(self) -> None:
        ticket = self._ticket
        self._put(Words(self._left, self._y + _HEADING, self._say("Job ticket"), _HEADING, colour=GREY))
        made = ticket.made.isoformat()
        self._put(ended_at(Words(self._right, self._y + _HEADING, made, _HEADING, colour=GREY)))
        self._y += _HEADING * 1.6
        for line in wrapped(ticket.name, _TITLE, self._room, bold=True)[:2]:
            self._put(Words(self._left, self._y + _TITLE, line, _TITLE, bold=True))
            self._y += _TITLE * 1.2
        self._y += 1.0
        self._put(Box(self._left, self._y, self._room, 0.6, fill=BLACK))
        self._y += 4.0

    def _facts_and_picture(self) -> None:
        ticket, top = self._ticket, self._y
        width = self._room * 0.4
        label = max(width_of(self._say(fact.label), _BODY) for fact in ticket.facts) + 4.0
        for fact in ticket.facts:
            lines = wrapped(self._say(fact.value), _BODY, width - label, bold=True)
            self._put(Words(self._left, self._y + _BODY, self._say(fact.label), _BODY, colour=GREY))
            self._lines(lines, self._left + label, _BODY, bold=True)
            self._y += 0.6
        if ticket.remark:
            self._y += 1.5
            self._lines(wrapped(f"“{ticket.remark}”", _BODY, width), self._left, _BODY)
        bottom = self._y
        if ticket.whole is not None:
            x = self._left + width + 6.0
            high = max(_WHOLE_MM, bottom - top)
            self._picture(ticket.whole, x, top, self._right - x, high)
            bottom = max(bottom, top + high + _SMALL * 1.6)
        self._y = bottom

    def _picture(self, shown: Shown, x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> None:
        """Put a picture in its frame, its caption under it."""
        mat = MAT if is_pale(shown.job) else None
        self._put(
            Box(x_mm, y_mm, width_mm, height_mm, fill=mat, line=PALE, line_mm=0.2),
            fitted(shown.job, x_mm + 1.5, y_mm + 1.5, width_mm - 3.0, height_mm - 3.0),
        )
        caption = shortened(self._say(shown.caption), _SMALL, width_mm, bold=True)
        own = width_of(caption, _SMALL, bold=True)
        note = shortened(self._say(shown.note), _SMALL, max(0.0, width_mm - own - 1.5))
        y = y_mm + height_mm + _SMALL * 1.25
        self._put(Words(x_mm, y, caption, _SMALL, bold=True))
        if width_of(note, _SMALL) <= width_mm - own - 1.5:
            self._put(Words(x_mm + own + 1.5, y, note, _SMALL, colour=GREY))

    def _materials(self) -> None:
        ticket = self._ticket
        if not ticket.rows:
            return
        self._heading("Materials", 20.0)
        self._table_head()
        for row in ticket.rows:
            cells = [
                wrapped(self._say(cell), _CELL, width) for cell, width in zip(row.cells, self._widths(), strict=True)
            ]
            high = max(len(cell) for cell in cells) * _CELL * _LEADING + 1.6
            if self._y + high > self._foot:
                self._next_page()
                self._table_head()
            self._row(row, cells, high)
        self._y += 0.6
        for line in wrapped(self._say(ticket.totals), _BODY, self._room, bold=True):
            self._needs(_BODY * _LEADING)
            self._put(Words(self._left, self._y + 1.0 + _BODY, line, _BODY, bold=True))
            self._y += _BODY * _LEADING
        self._y += 1.5
        self._small(ticket.assumptions)

    def _table_head(self) -> None:
        for x, text in zip(self._columns(), self._ticket.head, strict=True):
            self._put(Words(x, self._y + _SMALL, self._say(text), _SMALL, colour=GREY))
        self._y += _SMALL * 1.6
        self._put(Box(self._left, self._y, self._room, 0.15, fill=PALE))
        self._y += 0.8

    def _row(self, row: Row, cells: list[list[str]], high_mm: float) -> None:
        middle = self._y + 0.4
        if row.colour is None:
            pass
        elif row.is_line:  # a line to be cut, not an area
            self._put(Box(self._left, middle + _BODY * 0.55, _SWATCH_MM, 0.6, fill=row.colour, line=BLACK, line_mm=0.1))
        else:
            self._put(Box(self._left, middle, _SWATCH_MM, _SWATCH_MM, fill=row.colour, line=BLACK, line_mm=0.15))
        for place, (x, lines) in enumerate(zip(self._columns(), cells, strict=True)):
            for number, line in enumerate(lines):
                y = self._y + _CELL + number * _CELL * _LEADING
                self._put(Words(x, y, line, _CELL, bold=place == 0))
        self._y += high_mm
        self._put(Box(self._left, self._y, self._room, 0.15, fill=PALE))
        self._y += 0.8

    def _columns(self) -> list[float]:
        edges = [self._left + _SWATCH_MM + 2.0]
        room = self._room - _SWATCH_MM - 2.0
        for share in _SHARES[:-1]:
            edges.append(edges[-1] + share * room)
        return edges

    def _widths(self) -> list[float]:
        room = self._room - _SWATCH_MM - 2.0
        return [share * room - 2.0 for share in _SHARES]

    def _small(self, text: str) -> None:
        for line in wrapped(self._say(text), _SMALL, self._room):
            self._needs(_SMALL * _LEADING)
            self._put(Words(self._left, self._y + _SMALL, line, _SMALL, colour=GREY))
            self._y += _SMALL * _LEADING

    def _layers(self) -> None:
        layers = self._ticket.layers
        if len(layers) < 2:
            return
        self._heading("Layer by layer", _PICTURE_MM + 8.0)
        gap = 4.0
        across = len(layers) if len(layers) == _ACROSS + 1 else _ACROSS
        wide = (self._room - (across - 1) * gap) / across
        for begin in range(0, len(layers), across):
            self._needs(_PICTURE_MM + _SMALL * 2.0)
            for place, shown in enumerate(layers[begin : begin + across]):
                self._picture(shown, self._left + place * (wide + gap), self._y, wide, _PICTURE_MM)
            self._y += _PICTURE_MM + _SMALL * 2.2

    def _work(self) -> None:
        order = self._ticket.order
        if not order:
            return
        self._heading("Order of work", 8.0)
        for number, text in enumerate(order, start=1):
            lines = wrapped(self._say(text), _BODY, self._room - 12.0)
            self._needs(len(lines) * _BODY * _LEADING)
            y = self._y + _BODY
            self._put(Box(self._left, self._y + 0.4, 2.6, 2.6, line=BLACK, line_mm=0.2))
            self._put(Words(self._left + 5.0, y, f"{number}.", _BODY, bold=True))
            self._lines(lines, self._left + 11.0, _BODY)
            self._y += 0.7

    def _warnings(self) -> None:
        ticket = self._ticket
        self._heading("Still open", 8.0)
        if not ticket.warnings:
            self._lines([self._say("The readiness check finds nothing.")], self._left, _BODY)
            return
        for warned in ticket.warnings:
            self._led(self._say(warned.severity), self._say(warned.message))
        if ticket.more_warnings:
            more = phrase("{count} more stand in the readiness list.", count=ticket.more_warnings)
            self._lines([self._say(more)], self._left, _BODY)

    def _cautions(self) -> None:
        self._heading("Mind", 12.0)
        for label, text in self._ticket.cautions:
            self._led(self._say(label), self._say(text))

    def _led(self, lead: str, text: str) -> None:
        """Put down a text that is led by a bold word."""
        word = f"{lead}: "
        own = width_of(word, _BODY, bold=True)
        first, *rest = _after(word, text, self._room)
        self._needs((1 + len(rest)) * _BODY * _LEADING)
        self._put(Words(self._left, self._y + _BODY, word, _BODY, bold=True))
        self._put(Words(self._left + own, self._y + _BODY, first, _BODY))
        self._y += _BODY * _LEADING
        self._lines(rest, self._left, _BODY)
        self._y += 0.5

    def _signatures(self) -> None:
        self._needs(18.0)
        self._y = max(self._y + 13.0, min(self._foot - 5.0, self._y + 24.0))
        labels = self._ticket.signatures
        gap = 8.0
        wide = (self._room - (len(labels) - 1) * gap) / len(labels)
        for place, label in enumerate(labels):
            x = self._left + place * (wide + gap)
            self._put(Box(x, self._y, wide, 0.25, fill=BLACK))
            self._put(Words(x, self._y + _SMALL * 1.4, self._say(label), _SMALL, colour=GREY))
        self._y += _SMALL * 2.0


def _after(word: str, text: str, width_mm: float) -> list[str]:
    """Return a text in lines of which the first stands behind a bold word."""
    own = width_of(word, _BODY, bold=True)
    first = wrapped(text, _BODY, width_mm - own)[0]
    rest = text[len(first) :].strip() if text.startswith(first) else " ".join(text.split())[len(first) :].strip()
    return [first, *(wrapped(rest, _BODY, width_mm) if rest else [])]
