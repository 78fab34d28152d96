"""A list of names as people have it: saved by a spreadsheet, or pasted from one. Text in, rows out.

Quotes, commas within quotes, line ends within quotes as RFC 4180 has them; semicolons and tabs as
spreadsheets write them; the first line names the columns.
"""

from __future__ import annotations

import csv
import io
import re
from typing import NamedTuple

from bladewise.errors import CannotRead
from bladewise.phrases import phrase

_SEPARATORS = "\t;,|"

_SAID = re.compile(r'"?sep=([\t;,|])"?[ \t]*(?:\r\n|\n|\r)', re.IGNORECASE)
"""A first line by which some spreadsheets say what stands between cells."""

MOST_ROWS = 100_000
"""More than this is no list of names."""


class Row(NamedTuple):
    """One row: its line in the text, counted from 1, its values by column, and cells beyond the last column."""

    line: int
    values: dict[str, str]
    surplus: tuple[str, ...] = ()


class Table(NamedTuple):
    """The columns in order, lower case, and the rows that hold anything."""

    columns: tuple[str, ...]
    rows: list[Row]


def read_table(text: str, *, where: str = "") -> Table:
    """Return the rows of a list.

    Raises
    ------
    CannotRead
        If there are no column names, two columns have one name, nothing stands below them, or a quotation mark
        is out of place, so that nobody can say where a cell ends.
    """
    text = text.lstrip("\ufeff")
    said = _SAID.match(text)
    if said is not None:  # its line stays as an empty one, so that lines count as in the file
        text = "\n" + text[said.end() :]
    first = next((line for line in text.splitlines() if line.strip()), "")
    guessed = max(_SEPARATORS, key=lambda sign: (_outside_quotes(first, sign), -_SEPARATORS.index(sign)))
    separator = said[1] if said is not None else guessed
    old_limit = csv.field_size_limit(1_000_000)
    try:
        lines = _lines(text, separator, where)
    finally:
        csv.field_size_limit(old_limit)
    filled = [(number, cells) for number, cells in lines if any(cell.strip() for cell in cells)]
    if not filled:
        raise CannotRead("The list is empty.", where=where, hint="Its first line names the columns: name, number …")
    columns = tuple(column_name(cell) for cell in filled[0][1])
    named = [column for column in columns if column]
    if len(set(named)) < len(named):
        double = next(column for column in named if named.count(column) > 1)
        what = phrase("Two columns of the list are called “{name}”.", name=double)
        raise CannotRead(what, where=where, hint="Give each column a name of its own.")
    if len(filled) < 2:
        hint = "Its first line names the columns, one line for each piece follows."
        raise CannotRead("There are no rows below the names of the columns.", where=where, hint=hint)
    if len(filled) > MOST_ROWS:
        what = phrase("The list has more than {most} rows.", most=MOST_ROWS)
        raise CannotRead(what, where=where, hint="Take it in parts.")
    rows = [
        Row(
            number,
            {column: cell.strip() for column, cell in zip(columns, cells, strict=False) if column},
            tuple(cell.strip() for cell in cells[len(columns) :] if cell.strip()),
        )
        for number, cells in filled[1:]
    ]
    return Table(tuple(named), rows)


def column_name(text: str) -> str:
    """Return what a column is found by, however it was typed: lower case, single blanks."""
    return " ".join(text.split()).casefold()


def _lines(text: str, separator: str, where: str) -> list[tuple[int, list[str]]]:
    # strict: an open quotation mark would take all the rows below it into one cell
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    found = []
    before = 0
    try:
        for cells in reader:
            found.append((before + 1, cells))
            before = reader.line_num
    except csv.Error as error:
        what = phrase("In line {line} of the list a quotation mark is out of place.", line=before + 1)
        hint = 'Close it, or write it twice within a cell in quotation marks: """Ace"" Smith".'
        raise CannotRead(what, where=where, hint=hint) from error
    return found


def _outside_quotes(line: str, sign: str) -> int:
    """Return how often a sign stands outside quotes."""
    return sum(part.count(sign) for part in line.split('"')[::2])
