"""The customer proof: one page with the finished look, true to size where the paper allows it, to be approved.

It says its scale in words and lets it be measured: whoever prints the page at another size than 100 percent finds
a bar that is not as long as it says.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import BLACK, Colour, Job, MaterialKind, colour_word, is_cut_line
from bladewise.errors import CannotWrite
from bladewise.layout.page import (
    GREY,
    MAT,
    PALE,
    POINT_MM,
    Art,
    Box,
    Item,
    Page,
    Paper,
    Words,
    ended_at,
    shortened,
    width_of,
    wrapped,
)
from bladewise.layout.scale_bar import bar_for, bar_items
from bladewise.layout.ticket import size_text
from bladewise.layout.views import finished, finished_box, flat_colours, is_pale
from bladewise.operations.declaration import quiet
from bladewise.phrases import phrase
from bladewise.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from bladewise.operations.declaration import Progress

_MARGIN_MM = 14.0
_BODY = 9.0 * POINT_MM
_SMALL = 7.5 * POINT_MM
_TITLE = 19.0 * POINT_MM
_ROUND = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5)
"""A picture that is too large for the paper is shown at one of these parts of its size, or a tenth of one."""
_MOST_COLOURS = 14
_FRAME_MM = 2.0


class Proof(NamedTuple):
    """A proof: its page, and how many times smaller than the piece it shows it."""

    page: Page
    parts: float

    @property
    def scale_text(self) -> str:
        """The scale as it is said: 1:1 for true size."""
        return f"1:{self.parts:g}"


def proof_of(
    job: Job,
    made: date,
    *,
    paper: Paper = Paper.A4,
    unit: str = "mm",
    say: Callable[[str], str] = str,
    progress: Progress = quiet,
) -> Proof:
    """Return the proof of a job; the paper is turned where the piece is shown larger that way.

    Progress is told from 0 to 1 between portions of the work; whoever is told may raise `Cancelled`.

    Raises
    ------
    CannotWrite
        If nothing in the job shows.
    """
    view = finished(job, progress)
    if view is None:
        raise CannotWrite("Nothing in the job shows.", where=job.name, hint="Bring in art, or show what is hidden.")
    upright = _Sheet(job, view, made, paper.size_mm, unit, say)
    wide, high = paper.size_mm
    level = _Sheet(job, view, made, (high, wide), unit, say)
    best = min((upright, level), key=lambda sheet: sheet.parts)
    return Proof(best.page(), best.parts)


def colours_of(job: Job, view: Job | None) -> list[tuple[Colour, str]]:
    """Return the colours of a job and its finished piece, with names: of vinyls, and the flat ones of the print."""
    found: dict[Colour, str] = {}
    for material in job.materials_in_use():
        if material.kind is MaterialKind.CUT and not is_cut_line(material.id):
            found[material.colour] = material.name
    if view is not None:
        for colour in flat_colours(view):
            found.setdefault(colour, f"{colour_word(colour)} {colour.hex}")
    return list(found.items())


class _Sheet:
    """One way of laying the proof out."""

    def __init__(
        self, job: Job, view: Job, made: date, size_mm: tuple[float, float], unit: str, say: Callable[[str], str]
    ) -> None:
        self._job, self._view, self._made, self._unit, self._say = job, view, made, unit, say
        self._wide, self._high = size_mm
        self._left, self._right = _MARGIN_MM, self._wide - _MARGIN_MM
        self._top = _MARGIN_MM + _BODY * 1.6 + _TITLE * 1.3 + 6.0
        self._colours = colours_of(job, view)
        self._columns = 2 if self._wide < self._high else 3
        rows = -(-min(len(self._colours), _MOST_COLOURS) // self._columns)
        self._facts_mm = max(
            6 * _BODY * 1.45, (rows + (len(self._colours) > _MOST_COLOURS)) * _BODY * 1.55 + _SMALL * 1.6
        )
        self._foot = self._high - _MARGIN_MM - 24.0 - self._facts_mm - 15.0
        room = self._right - self._left - 2.0 * _FRAME_MM, self._foot - self._top - 2.0 * _FRAME_MM
        self.parts = _parts(max(view.width_mm / room[0], view.height_mm / room[1]))

    def page(self) -> Page:
        """Return the page."""
        items = [*self._head(), *self._picture(), *self._bar(), *self._facts(), *self._approval()]
        return Page(self._wide, self._high, tuple(items))

    def _head(self) -> list[Item]:
        room = self._right - self._left
        y = _MARGIN_MM + _BODY
        title = shortened(self._job.name, _TITLE, room, bold=True)
        revision = self._job.details.revision
        told = (
            phrase("Revision {revision}, {date}", revision=revision, date=self._made.isoformat()) if revision else None
        )
        return [
            Words(self._left, y, self._say("Proof for approval"), _BODY, colour=GREY),
            ended_at(Words(self._right, y, self._say(told) if told else self._made.isoformat(), _BODY, colour=GREY)),
            Words(self._left, y + _TITLE * 1.25, title, _TITLE, bold=True),
            Box(self._left, y + _TITLE * 1.25 + 2.6, room, 0.6, fill=BLACK),
        ]

    def _picture(self) -> list[Item]:
        wide, high = self._right - self._left, self._foot - self._top
        scale = 1.0 / self.parts
        x = self._left + (wide - self._view.width_mm * scale) / 2.0
        y = self._top + (high - self._view.height_mm * scale) / 2.0
        mat = MAT if is_pale(self._view) else None
        return [
            Box(self._left, self._top, wide, high, fill=mat, line=PALE),
            Art(x, y, scale, self._view),
        ]

    def _bar(self) -> list[Item]:
        room = self._right - self._left
        unit = self._unit
        bar = bar_for(room * 0.6, unit, most_mm=4.0 * MM_PER_INCH if unit == "in" else 100.0)
        if self.parts == 1.0:
            scale = phrase("Shown at true size (1:1).")
        else:
            scale = phrase(
                "Shown at {scale}: the piece is {parts} times as large.",
                scale=f"1:{self.parts:g}",
                parts=f"{self.parts:g}",
            )
        y = self._foot + 4.0
        items = bar_items(bar, self._left, y, self._say(phrase("Measure this bar: {length}", length=bar.text)))
        x = self._left + bar.length_mm + 6.0
        lines = wrapped(self._say(scale), _BODY, self._right - x, bold=True)
        for number, line in enumerate(lines):
            items.append(Words(x, y + 2.3 + number * _BODY * 1.3, line, _BODY, bold=True))
        y += 2.3 + len(lines) * _BODY * 1.3
        told = self._say("If the bar is longer or shorter, the page was not printed at 100 %.")
        for number, line in enumerate(wrapped(told, _SMALL, self._right - x)):
            items.append(Words(x, y + number * _SMALL * 1.3, line, _SMALL, colour=GREY))
        return items

    def _facts(self) -> list[Item]:
        told = self._job.details
        facts = [
            ("Customer", phrase("{name}", name=told.customer)),
            ("Order number", phrase("{name}", name=told.order_number)),
            ("Due", phrase("{name}", name=told.due_date)),
            ("Revision", phrase("{name}", name=told.revision)),
            ("Size", size_text(finished_box(self._job), self._unit)),
        ]
        room = self._right - self._left
        share = 0.42 if self._columns == 2 else 0.36
        top = self._foot + 17.0
        label = max(width_of(self._say(name), _BODY) for name, _ in facts) + 4.0
        items: list[Item] = []
        for number, (name, value) in enumerate(facts):
            y = top + _BODY + number * _BODY * 1.45
            shown = shortened(self._say(value) or "–", _BODY, room * share - label - 4.0, bold=True)
            items.append(Words(self._left, y, self._say(name), _BODY, colour=GREY))
            items.append(Words(self._left + label, y, shown, _BODY, bold=True))
        return [*items, *self._swatches(self._left + room * share, top, room * (1.0 - share))]

    def _swatches(self, x_mm: float, y_mm: float, width_mm: float) -> list[Item]:
        items: list[Item] = [Words(x_mm, y_mm + _SMALL, self._say("Colours"), _SMALL, colour=GREY)]
        column = width_mm / self._columns
        shown = self._colours[:_MOST_COLOURS]
        rows = -(-len(shown) // self._columns)
        for number, (colour, name) in enumerate(shown):
            x = x_mm + (number // rows) * column
            y = y_mm + _SMALL * 1.7 + (number % rows) * _BODY * 1.55
            items.append(Box(x, y, 3.2, 3.2, fill=colour, line=BLACK, line_mm=0.15))
            items.append(Words(x + 5.0, y + _BODY * 0.86, shortened(name, _BODY, column - 7.0), _BODY))
        if len(self._colours) > len(shown):
            more = phrase("and {count} more", count=len(self._colours) - len(shown))
            y = y_mm + _SMALL * 1.7 + rows * _BODY * 1.55 + _SMALL
            items.append(Words(x_mm, y, self._say(more), _SMALL, colour=GREY))
        return items

    def _approval(self) -> list[Item]:
        y = self._high - _MARGIN_MM - 4.0
        room = self._right - self._left
        items: list[Item] = []
        x = self._left
        for text in ("Approved as shown", "Changes as noted"):
            items.append(Box(x, y - 13.0, 3.2, 3.2, line=BLACK, line_mm=0.25))
            words = Words(x + 5.0, y - 10.2, self._say(text), _BODY, bold=True)
            items.append(words)
            x += words.width_mm + 15.0
        told = self._say("Colours on screen and paper differ from those of film and ink.")
        items.append(
            ended_at(Words(self._right, y - 10.2, shortened(told, _SMALL, self._right - x), _SMALL, colour=GREY))
        )
        for place, share, text in ((0.0, 0.38, "Name"), (0.4, 0.18, "Date"), (0.6, 0.4, "Signature")):
            left = self._left + place * room
            items.append(Box(left, y, share * room, 0.25, fill=BLACK))
            items.append(Words(left, y + _SMALL * 1.4, self._say(text), _SMALL, colour=GREY))
        return items


def _parts(least: float) -> float:
    """Return the smallest round part that a picture must be shown at: 1, 1.25, 1.5 and so on to 10, 15."""
    tens = 1.0
    while True:
        for factor in _ROUND:
            if factor * tens >= least - 1e-9:
                return factor * tens
        tens *= 10.0
