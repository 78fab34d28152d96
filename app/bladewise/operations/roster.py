"""Names by the dozen: a list fills a design, once for each row, set, shrunk to its room, merged, arranged.

Lettering of the design says what goes where: “{name}”, “{number}”, any column in braces. A column
"colour" gives the paint of that lettering, "size" its height where it is a length, "quantity" how
often a row is made; one that stands in braces in the design is text like any other. A row that cannot
be cut as it stands is left out and told with its line and the reason; nothing is cut wrong.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import Colour, Element, Fit, Group, Job, Layer, Lettering, Shape, bounds_of, leaves_in
from bladewise.errors import CannotApply, CannotRead
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.regions import Region
from bladewise.lettering import find_face, set_outline, word_outlines
from bladewise.lettering.setting import missing_letters, set_block
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    integer,
    length,
    number,
    switch,
    wording,
)
from bladewise.operations.lists import Row, Table, column_name, read_table
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_number, parse_length

if TYPE_CHECKING:
    from bladewise.document import Box

_PLACE = re.compile(r"\{([^{}]*)\}")
_COLOUR = ("colour", "color")
_SIZE = ("size", "height")
_QUANTITY = ("quantity", "qty", "count")
_MOST_TOLD = 12
_GARMENT = re.compile(r"\d{1,2}\s*x{1,3}[sl]", re.IGNORECASE)
"""A size that is none of lettering, though it begins with a figure: 3XL."""

_HEIGHTS_MM = (0.1, 1e5)
"""What a lettering may be asked to be high, as in every other step."""

MOST_PIECES = 20_000
"""More pieces than this are not made at once."""


@dataclass(frozen=True, kw_only=True)
class FillRoster:
    """A design once for each row of a list."""

    on: Selection = acts_on(help="The design")
    rows: str = wording("", help="The list: names of columns in the first line, one row for each piece")
    width_mm: float | None = length(None, minimum=0.1, maximum=1e6, help="Room for each lettering; it shrinks to fit")
    least_percent: float = number(60.0, minimum=1.0, maximum=100.0, help="What shrinks to less is too long, in percent")
    across: int = integer(4, minimum=1, maximum=1000, help="How many side by side")
    gap_mm: float = length(10.0, minimum=0.0, maximum=1e4, help="Space between them")
    merge: bool = switch(default=True, help="Turn the lettering into shapes, each merged to what is one piece")


class Wrong(NamedTuple):
    """A row that was left out: its line in the list, what it says, and why."""

    line: int
    text: str
    reason: str


class Filled(NamedTuple):
    """What a list made of a design: the job, the names in order, and the rows left out."""

    job: Job
    names: tuple[str, ...]
    wrong: tuple[Wrong, ...]
    layer: str


def filled(job: Job, record: FillRoster, progress: Progress) -> Filled:
    """Return the job with the design made once for each row.

    Raises
    ------
    CannotApply
        If the design has no place for a column, its font is missing, or no row can be made.
    """
    design = record.on.elements(job)
    if not design or bounds_of(tuple(design)) is None:
        raise nothing_matches(record.on, job)
    try:
        table = read_table(record.rows)
    except CannotRead as error:
        raise CannotApply(error.what, where=record.on.describe(job), hint=error.hint) from error
    design = [_at_home(element, _materials(job)) for element in design]
    places = _places(design, table, record, job)
    used = frozenset(column_name(column) for each in places for column in _PLACE.findall(each.text))
    made: list[tuple[str, list[tuple[Lettering, Lettering]]]] = []
    wrong: list[Wrong] = []
    for count, row in enumerate(table.rows):
        try:
            words = [(each, _filled(row, each, record, job, used)) for each in places]
            made += [(_name(row, table, used), words)] * _quantity(row, used)
        except _LeftOut as left_out:
            wrong.append(Wrong(row.line, ", ".join(filter(None, row.values.values())), left_out.reason))
        if len(made) > MOST_PIECES:
            what = phrase("The list asks for more than {most} pieces.", most=MOST_PIECES)
            raise CannotApply(what, where=record.on.describe(job), hint="Take it in parts.")
        progress(0.5 * (count + 1) / len(table.rows))
    if not made:
        hint = "Every quantity in it is 0."
        if wrong:
            hint = phrase("Line {line}: {reason}", line=wrong[0].line, reason=wrong[0].reason)
        raise CannotApply("No row of the list can be made.", where=record.on.describe(job), hint=hint)
    return _arranged(job, record, design, made, tuple(wrong), progress)


def fill_roster(job: Job, record: FillRoster, progress: Progress) -> Result:
    """Make the design once for each row of the list."""
    done = filled(job, record, progress)
    reports = [counted(len(done.names), "piece was made.", "pieces were made.")]
    if locked := _locked_within(job, bounds_of(tuple(record.on.elements(job)))):
        reports.append(
            phrase(
                "Locked parts stay where they are and are not repeated: {names}.", names=listing(locked[:_MOST_TOLD])
            )
        )
    reports += [
        phrase("Line {line} was left out: {reason}", line=each.line, reason=each.reason)
        for each in done.wrong[:_MOST_TOLD]
    ]
    if len(done.wrong) > _MOST_TOLD:
        reports.append(phrase("{count} more were left out.", count=len(done.wrong) - _MOST_TOLD))
    return Result(done.job, tuple(reports), (done.layer,))


def _locked_within(job: Job, design: Box | None) -> list[str]:
    """Return the names of what is locked and lies where the design does: a plate, perhaps, that ought to be in it."""
    if design is None:
        return []
    left, top, right, bottom = design
    return [
        f"“{placed.leaf.name or placed.leaf.id}”"
        for placed in job.walk()
        if placed.locked
        and placed.visible
        and (box := placed.leaf.bounds) is not None
        and left < box[2]
        and box[0] < right
        and top < box[3]
        and box[1] < bottom
    ]


class _LeftOut(Exception):
    """Why a row is left out."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def _places(design: list[Element], table: Table, record: FillRoster, job: Job) -> list[Lettering]:
    """Return the lettering that takes words of the list; a design with one lettering takes the first column."""
    live = [leaf for leaf in leaves_in(design) if isinstance(leaf, Lettering)]
    if not live:
        what = "The design has no live lettering for the list to fill."
        raise CannotApply(what, where=record.on.describe(job), hint="Set lettering such as “{name}” in it.")
    places = [each for each in live if _PLACE.search(each.text)]
    if not places and len(live) == 1:
        places = [replace(live[0], text="{" + table.columns[0] + "}")]
    if not places:
        what = "No lettering of the design says which column goes there."
        raise CannotApply(what, where=record.on.describe(job), hint="Write the column's name in braces: “{name}”.")
    for each in places:
        for column in _PLACE.findall(each.text):
            if column_name(column) not in table.columns:
                what = phrase("The list has no column “{name}”.", name=column)
                columns = ", ".join(table.columns)
                raise CannotApply(what, where=each.text, hint=phrase("It has: {columns}.", columns=columns))
        face = find_face(each.family, each.weight, italic=each.italic)
        if face is None or face.substitute:
            what = phrase("The font “{family}” is not to be had here.", family=each.family)
            raise CannotApply(what, where=each.text, hint="Install it, or choose another font for the design.")
    return places


def _materials(job: Job) -> dict[str, str]:
    """Return the material that each leaf has of its layer alone."""
    return {
        placed.leaf.id: placed.layer.material
        for placed in job.walk()
        if placed.leaf.material is None and placed.layer.material is not None
    }


def _at_home(element: Element, materials: dict[str, str]) -> Element:
    """Return an element that keeps its material on another layer."""
    if isinstance(element, Group):
        return replace(element, children=tuple(_at_home(child, materials) for child in element.children))
    return replace(element, material=materials.get(element.id, element.material))


def _filled(row: Row, place: Lettering, record: FillRoster, job: Job, used: frozenset[str]) -> Lettering:
    """Return a lettering of the design as a row has it."""
    if row.surplus:  # a comma within a name that nobody put in quotation marks
        cells = listing(f"“{cell}”" for cell in row.surplus)
        raise _LeftOut(phrase("Beyond the last column it goes on with {cells}.", cells=cells))
    for column in _PLACE.findall(place.text):
        if not row.values.get(column_name(column)):
            raise _LeftOut(phrase("“{column}” is empty.", column=column))
    text = _PLACE.sub(lambda match: row.values[column_name(match.group(1))], place.text)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    made = replace(place, text=text, name=text.split("\n")[0][:40])
    if (tall := _height(_ordered(row, _SIZE, used))) is not None:
        made = replace(made, size_mm=tall / (place.transform.height_scale or 1.0))
    if colour := _ordered(row, _COLOUR, used):
        made = _painted(made, colour, job)
    if record.width_mm is not None:
        width = record.width_mm / (place.transform.along_scale or 1.0)
        made = replace(made, setting=replace(made.setting, width_mm=width, fit=Fit.SHRINK))
    if lacking := missing_letters(made):
        names = listing(f"“{letter}”" for letter in lacking)
        raise _LeftOut(phrase("The font has no {letters}.", letters=names))
    try:
        share = _share(made)
        made = set_outline(made)
    except CannotApply as error:
        raise _LeftOut(error.what) from error
    if not made.outline:
        raise _LeftOut(phrase("“{text}” shows nothing.", text=text))
    if share < record.least_percent:
        raise _LeftOut(
            phrase("“{text}” is too long: it would shrink to {share} %.", text=text, share=format_number(share, 0))
        )
    return made


def _share(made: Lettering) -> float:
    """Return how much of its free width a lettering keeps in its room, in percent, whichever way it is fitted."""
    wanted = made.setting.width_mm
    if wanted is None:
        return 100.0
    free = set_block(replace(made, setting=replace(made.setting, width_mm=None, bending=None)))
    return 100.0 * wanted / max(free.wide, wanted) if free is not None else 100.0


def _ordered(row: Row, names: tuple[str, ...], used: frozenset[str]) -> str:
    """Return what a row orders in a column of one of these names; a column that stands in the design is text."""
    return next((row.values[name] for name in names if name not in used and row.values.get(name)), "")


def _height(text: str) -> float | None:
    """Return the height a row orders in mm; None where its size is that of a garment, or not there."""
    try:
        value = parse_length(text)
    except ValueError as error:
        if text[:1].isdigit() and not _GARMENT.fullmatch(text):
            raise _LeftOut(phrase("“{size}” is no height of letters.", size=text)) from error
        return None
    if not _HEIGHTS_MM[0] <= value <= _HEIGHTS_MM[1]:
        raise _LeftOut(phrase("“{size}” is no height of letters.", size=text))
    return value


def _painted(made: Lettering, colour: str, job: Job) -> Lettering:
    """Return lettering in the colour of a row: a material of the job by its name, or #rrggbb."""
    wanted = colour.casefold()
    for material in job.materials:
        if wanted in (material.name.casefold(), material.id.casefold()):
            return replace(made, material=material.id, style=replace(made.style, fill=material.colour))
    try:
        fill = Colour.from_hex(colour)
    except ValueError as error:
        reason = phrase("“{colour}” is neither a material of the job nor a colour such as #336699.", colour=colour)
        raise _LeftOut(reason) from error
    return replace(made, material=None, style=replace(made.style, fill=fill))  # the colour says what it is cut from


def _quantity(row: Row, used: frozenset[str]) -> int:
    text = _ordered(row, _QUANTITY, used) or "1"
    if not text.isdecimal() or len(text) > 9 or int(text) > MOST_PIECES:
        raise _LeftOut(phrase("“{text}” is not how many.", text=text))
    return int(text)


def _name(row: Row, table: Table, used: frozenset[str]) -> str:
    """Return what a row is called in the layer tree: the words that stand on it, in one line."""
    words = (row.values[column] for column in table.columns if column in used and row.values.get(column))
    return " · ".join(" ".join(each.split()) for each in words)


def _arranged(
    job: Job,
    record: FillRoster,
    design: list[Element],
    made: list[tuple[str, list[tuple[Lettering, Lettering]]]],
    wrong: tuple[Wrong, ...],
    progress: Progress,
) -> Filled:
    taken = {element.id for element in job.elements()} | {layer.id for layer in job.layers}
    last: dict[str, int] = {}

    def fresh(stem: str) -> str:  # counted on from the last one: thousands of pieces have the same stem
        identity = stem
        while identity in taken:
            last[stem] = last.get(stem, 1) + 1
            identity = f"{stem}-{last[stem]}"
        taken.add(identity)
        return identity

    def copied(element: Element, words: dict[str, Lettering], move: Affine) -> Element:
        if isinstance(element, Group):
            children = tuple(copied(child, words, move) for child in element.children)
            return replace(element, id=fresh(element.id), children=children)
        return replace(words.get(element.id, element).transformed(move), id=fresh(element.id))

    box = _room(design, made)
    step_x, step_y = box[2] - box[0] + record.gap_mm, box[3] - box[1] + record.gap_mm
    groups = []
    for count, (name, words) in enumerate(made):
        move = Affine.moved(step_x * (count % record.across), step_y * (count // record.across))
        children = tuple(copied(element, {old.id: new for old, new in words}, move) for element in design)
        groups.append(Group(fresh("row"), children, name))
        progress(0.5 + 0.5 * (count + 1) / len(made))
    if record.merge:
        groups = _merged(groups)
    without = job.replaced({element.id: () for element in design})
    layer = Layer(fresh("roster"), f"{len(groups)} × {job.name}" if job.name else str(len(groups)), tuple(groups))
    wide = max(job.width_mm, box[0] + step_x * min(record.across, len(groups)))
    high = max(job.height_mm, box[1] + step_y * -(-len(groups) // record.across))
    result = replace(without.with_layer(layer), width_mm=wide, height_mm=high)
    return Filled(result, tuple(name for name, _ in made), wrong, layer.id)


def _merged(groups: list[Group]) -> list[Group]:
    """Return the pieces with their lettering as shapes, merged to what is one; all at once, for they lie apart."""
    live = [leaf for group in groups for leaf in leaves_in(group.children) if isinstance(leaf, Lettering)]
    letters = [[Region(path) for _, path in word_outlines(each, per="letter")] for each in live]
    shapes = {
        each.id: Shape(each.id, path, each.style, each.name, each.material, each.visible, each.locked)
        for each, path in zip(live, booleans.merge_each(letters), strict=True)
    }

    def swapped(element: Element) -> Element:
        if isinstance(element, Group):
            return replace(element, children=tuple(swapped(child) for child in element.children))
        return shapes.get(element.id, element)

    return [replace(group, children=tuple(swapped(child) for child in group.children)) for group in groups]


def _room(design: list[Element], made: list[tuple[str, list[tuple[Lettering, Lettering]]]]) -> Box:
    """Return the box that holds any one of the pieces, as they stand in the place of the design."""
    filled_ids = {old.id for _, words in made for old, _ in words}
    fixed = [leaf for leaf in leaves_in(design) if leaf.id not in filled_ids]
    box = bounds_of((*fixed, *(new for _, words in made for _, new in words)))
    return box or (0.0, 0.0, 0.0, 0.0)


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "fill-roster",
        "Names by the dozen",
        "Make the design once for each row of a list: names, numbers, sizes, colours.",
        FillRoster,
        fill_roster,
        lambda r: phrase("Names by the dozen, {count} lines", count=max(len(r.rows.strip().splitlines()) - 1, 0)),
    ),
)
"""The step that works through a list."""
