"""Tails under a word: drawn by numbers, or drawn by hand and joined to the letter's end stroke.

Either way the word, its tail and the small words in it come out as one piece. A word that is still
live becomes shapes by this; retyped further up in the stack, it gets its tail anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import (
    Align,
    Bending,
    BendKind,
    Element,
    Group,
    Height,
    Job,
    Lettering,
    Letters,
    Shape,
    Typesetting,
    bounds_of,
)
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import length as length_of
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.regions import Region
from bladewise.geometry.tails import EndStroke, TailShape, TailStyle, blended, end_stroke, spine_of, tail
from bladewise.lettering import set_outline
from bladewise.lettering.setting import word_letters
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    length,
    number,
    optional_selection,
    wording,
)
from bladewise.operations.own_font import notices, with_its_font
from bladewise.operations.script import is_mark
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from bladewise.document import Box

_WORDS_HIGH = 0.55
"""Capitals of small words in a tail, as a share of its thickness."""

_WORDS_WIDE = 0.6
"""Of the tail's length small words take up so much at most."""


class From(StrEnum):
    """Which letter a tail leaves."""

    LAST = "last"
    FIRST = "first"


@dataclass(frozen=True, kw_only=True)
class AddTail:
    """A tail drawn by numbers."""

    on: Selection = acts_on(help="The word")
    style: TailStyle = choice(TailStyle.SWEEP, help="How it runs")
    leaving: From = choice(From.LAST, help="The letter it leaves")
    length_mm: float | None = length(None, minimum=0.1, maximum=1e6, help="How far it runs; left out: under the word")
    thickness_mm: float | None = length(None, minimum=0.01, maximum=1e5, help="Its middle; left out: as the stroke")
    drop_mm: float | None = length(None, minimum=0.0, maximum=1e5, help="How far below the word; left out: a third")
    curl_percent: float = number(0.0, minimum=0.0, maximum=100.0, help="How far its end rolls up")
    taper_percent: float = number(80.0, minimum=0.0, maximum=100.0, help="How much thinner its end is")
    split_percent: float = number(0.0, minimum=0.0, maximum=100.0, help="How deep its end is split in two")
    words: str = wording("", help="Small words cut out of its middle")
    words_family: str = wording("", help="Their font; left out: the one that comes with the program")


@dataclass(frozen=True, kw_only=True)
class AttachTail:
    """A tail drawn by hand."""

    on: Selection = acts_on(help="The word")
    drawn: Selection | None = optional_selection(help="The drawn tail; left out: the topmost of those selected")
    leaving: From = choice(From.LAST, help="The letter it leaves")
    thickness_mm: float | None = length(None, minimum=0.01, maximum=1e5, help="Of a drawn line; left out: its stroke")
    taper_percent: float = number(80.0, minimum=0.0, maximum=100.0, help="How much thinner the end of a line is")


class _Word(NamedTuple):
    """A word as it is to be: what it replaces, its regions, the letter a tail leaves, its box."""

    element: Lettering | Shape
    regions: list[Region]
    others: list[tuple[str, list[Region]]]
    name: str
    letter: Path
    box: tuple[float, float, float, float]


def add_tail(job: Job, record: AddTail, progress: Progress) -> Result:
    """Give each word a tail."""
    words = [_word(each, record.leaving, line) for each, line in _targets(job, record.on, record.leaving)]
    replacements: dict[str, tuple[Element, ...]] = {}
    small_print = record.words.strip()
    reports: list[str] = []
    if small_print:
        reports += notices(Lettering("words", small_print, record.words_family, 1.0))
    for count, word in enumerate(words):
        leftward = record.leaving is From.FIRST
        end = _end(word, leftward=leftward)
        high = word.box[3] - word.box[1]
        thick = record.thickness_mm or (1.15 if record.style is not TailStyle.BANNER else 3.0) * end.width_mm
        shape = TailShape(
            style=record.style,
            length_mm=record.length_mm or (0.9 if record.style is not TailStyle.FLICK else 0.3) * _wide(word),
            thickness_mm=thick,
            drop_mm=record.drop_mm if record.drop_mm is not None else 0.3 * high,
            curl=record.curl_percent / 100.0,
            taper=record.taper_percent / 100.0,
            split=record.split_percent / 100.0,
        )
        spine = spine_of(end, word.box, shape, leftward=leftward)
        body = tail(end, spine, shape)
        if small_print:
            small = _small_words(record, spine, shape)
            if not small:
                reports.append(phrase("“{words}” shows nothing in the tail.", words=record.words))
            body = booleans.cut_out(Region(body), [Region(small)]) if small else body
        replacements |= _joined(job, word, [Region(body)])
        progress((count + 1) / len(words))
    return Result(job.replaced(replacements), tuple(reports), tuple(replacements))


def attach_tail(job: Job, record: AttachTail, progress: Progress) -> Result:
    """Join a drawn tail to a word."""
    leaves = [placed.leaf for placed in record.on.leaves(job)]
    if record.drawn is not None:
        drawn = record.drawn.shapes(job)
    else:
        drawn = [leaf for leaf in leaves if isinstance(leaf, Shape)][-1:]
    ids = {shape.id for shape in drawn}
    live = next((leaf for leaf in leaves if isinstance(leaf, Lettering)), None)
    shapes = [leaf for leaf in leaves if isinstance(leaf, Shape) and leaf.path and leaf.id not in ids]
    if not drawn or (live is None and not shapes):
        what = "A word and a drawn tail are needed."
        raise CannotApply(what, where=record.on.describe(job), hint="Select both, the tail on top.")
    if live is not None:
        word = _word(live, record.leaving)
    else:
        shape, line = _at_end(shapes, record.leaving)
        word = _word(shape, record.leaving, line)
    leftward = record.leaving is From.FIRST
    end = _end(word, leftward=leftward)
    regions = []
    for shape in drawn:
        if shape.style.fill is None or not bool(shape.path.closed.all()):
            regions.append(Region(_along_line(shape, end, record)))
        else:
            regions += _snapped(shape, end, leftward=leftward)
    progress(0.5)
    replacements = _joined(job, word, regions)
    replacements |= {shape.id: () for shape in drawn}
    progress(1.0)
    return Result(job.replaced(replacements), (), (word.element.id,))


def _targets(job: Job, on: Selection, leaving: From) -> list[tuple[Lettering | Shape, Box | None]]:
    """Return what gets a tail, and the box of the line it stands in where that is shapes in a group.

    Of the letters or words that are shapes in one group only the one at that end gets a tail.
    """
    found: list[tuple[Lettering | Shape, Box | None]] = []
    grouped: dict[str, list[Shape]] = {}
    for placed in on.leaves(job):
        leaf = placed.leaf
        if isinstance(leaf, Lettering):
            found.append((leaf, None))
        elif isinstance(leaf, Shape) and leaf.style.fill is not None and leaf.path:
            if placed.groups:
                grouped.setdefault(placed.groups[-1].id, []).append(leaf)
            else:
                found.append((leaf, None))
    found += [_at_end(shapes, leaving) for shapes in grouped.values()]
    if not found:
        raise nothing_matches(on, job)
    return found


def _at_end(shapes: list[Shape], leaving: From) -> tuple[Shape, Box | None]:
    """Return the shape that ends or begins the last or first line of some, and the box of that line."""
    shapes = [shape for shape in shapes if not is_mark(shape.name)] or shapes
    boxes = {shape.id: box for shape in shapes if (box := shape.bounds) is not None}

    def line_of(shape: Shape) -> list[Shape]:
        top, bottom = boxes[shape.id][1], boxes[shape.id][3]
        return [each for each in shapes if top < boxes[each.id][3] and boxes[each.id][1] < bottom]

    if leaving is From.LAST:
        line = line_of(max(shapes, key=lambda each: boxes[each.id][1]))
        end = max(line, key=lambda each: boxes[each.id][2])
    else:
        line = line_of(min(shapes, key=lambda each: boxes[each.id][3]))
        end = min(line, key=lambda each: boxes[each.id][0])
    return end, bounds_of(tuple(line))


def _word(element: Lettering | Shape, leaving: From, line: Box | None = None) -> _Word:
    """Return a word with the letter a tail leaves; of several words of a lettering the last or first.

    `line` is the box of the line that a shape stands in, where that is more than itself.
    """
    if isinstance(element, Shape):
        box = line or element.bounds or (0.0, 0.0, 0.0, 0.0)
        return _Word(element, [element.region], [], element.name, element.path, box)
    words = word_letters(with_its_font(element))
    if not words:
        raise CannotApply("The lettering says nothing.", where=element.name or element.id, hint="Type a word.")
    place = -1 if leaving is From.LAST else 0
    name, letters = words[place]
    others = [
        (other, [Region(path) for _, path in parts])
        for index, (other, parts) in enumerate(words)
        if index != (len(words) - 1 if place else 0)
    ]
    shapes = [Shape(f"{index}", path) for index, (_, path) in enumerate(letters)]
    box = bounds_of(tuple(shapes)) or (0.0, 0.0, 0.0, 0.0)
    able = [path for letter, path in letters if not is_mark(letter)] or [path for _, path in letters]
    return _Word(element, [Region(path) for _, path in letters], others, name, able[place], box)


def _wide(word: _Word) -> float:
    return word.box[2] - word.box[0]


def _end(word: _Word, *, leftward: bool) -> EndStroke:
    """Return the end stroke in the lower two thirds of the word, where script letters go on."""
    high = word.box[3] - word.box[1]
    return end_stroke(word.letter, leftward=leftward, low_mm=word.box[1] + 0.33 * high)


def _joined(job: Job, word: _Word, more: list[Region]) -> dict[str, tuple[Element, ...]]:
    """Return what takes the place of a word: it and its tail as one piece, its other words beside it."""
    paths = booleans.merge_each([[*word.regions, *more], *(regions for _, regions in word.others)])
    element = word.element
    if isinstance(element, Shape):
        return {element.id: (replace(element, path=paths[0]),)}
    names = [word.name, *(name for name, _ in word.others)]
    taken: set[str] = set()
    pieces = []
    for name, path in zip(names, paths, strict=True):
        fresh = element.id if len(paths) == 1 else job.fresh_id(f"{element.id}-word", taken=taken)
        taken.add(fresh)
        pieces.append(Shape(fresh, path, element.style, name, element.material, element.visible, element.locked))
    if len(pieces) == 1:
        return {element.id: tuple(pieces)}
    return {element.id: (Group(element.id, tuple(pieces), element.name or element.text),)}


def _small_words(record: AddTail, spine: Path, shape: TailShape) -> Path:
    """Return small words along the middle of a tail, read from left to right, as large as there is room."""
    whole = length_of(spine)
    ends = spine.points[0, 0], spine.points[-1, 3]
    backward = bool(ends[0][0] > ends[1][0])
    caps = _WORDS_HIGH * shape.thickness_mm
    room = _WORDS_WIDE * min(shape.length_mm, whole)
    middle = whole - 0.5 * shape.length_mm if whole > shape.length_mm else 0.5 * whole
    start = whole - middle if backward else middle
    bending = Bending(
        kind=BendKind.PATH,
        path=spine,
        other_side=backward,
        start_mm=start - 0.5 * room,
        shift_mm=-0.5 * caps,
        letters=Letters.BENT,
    )
    setting = Typesetting(height=Height.CAPS, width_mm=room, bending=None)
    words = Lettering("words", record.words.strip(), record.words_family, caps, setting=setting, align=Align.START)
    straight = set_outline(words).bounds
    if straight is None:
        return EMPTY
    free = 0.5 * (room - (straight[2] - straight[0]))
    bending = replace(bending, start_mm=bending.start_mm + free)
    return set_outline(replace(words, setting=replace(setting, bending=bending))).outline


def _along_line(shape: Shape, end: EndStroke, record: AttachTail) -> Path:
    """Return the tail along a drawn line: its nearer end moved to the letter and made to leave in its way."""
    line = next(shape.path.subpaths())
    first, last = line.points[0, 0], line.points[-1, 3]
    if math.dist(last, end.place) < math.dist(first, end.place):
        line = line.reversed()
    move = Affine.moved(end.place[0] - float(line.points[0, 0, 0]), end.place[1] - float(line.points[0, 0, 1]))
    line = line.transformed(move)
    points, kinds, weights = line.points.copy(), line.kinds.copy(), line.weights.copy()
    handle = 0.4 * math.dist(points[0, 0], points[0, 3])
    if kinds[0] != SegmentKind.CUBIC:
        way = points[0, 3] - points[0, 0]
        points[0, 2] = points[0, 3] - way / 3.0
        kinds[0], weights[0] = SegmentKind.CUBIC, 1.0
    points[0, 1] = points[0, 0] + handle * np.array(end.way)
    spine = Path(points, kinds, weights, line.starts, line.closed)
    stroke = shape.style.stroke
    thick = record.thickness_mm or (stroke.width_mm if stroke is not None else 0.0)
    if thick < 0.05:  # a hairline has no width of its own
        thick = 1.15 * end.width_mm
    numbers = TailShape(length_mm=length_of(spine), thickness_mm=thick, drop_mm=0.0, taper=record.taper_percent / 100.0)
    return tail(end, spine, numbers)


def _snapped(shape: Shape, end: EndStroke, *, leftward: bool) -> list[Region]:
    """Return a drawn shape moved to the letter, and the strip that joins the two."""
    own = end_stroke(shape.path, leftward=not leftward)
    gap = max(end.width_mm, own.width_mm)
    goal = (end.place[0] + gap * end.way[0], end.place[1] + gap * end.way[1])
    moved = shape.path.transformed(Affine.moved(goal[0] - own.place[0], goal[1] - own.place[1]))
    strip = blended(end, EndStroke(goal, own.way, own.width_mm))
    return [Region(moved, shape.style.fill_rule), Region(strip)]


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "add-tail",
        "Tail",
        "A swash from the last or first letter runs on under the word, with room for small words.",
        AddTail,
        add_tail,
        lambda r: phrase("Tail, {style}, from the {letter} letter", style=r.style, letter=r.leaving),
    ),
    Operation(
        "attach-tail",
        "Attach a drawn tail",
        "A drawn line or shape becomes the tail: its end is moved to the letter and blended into its stroke.",
        AttachTail,
        attach_tail,
        lambda r: phrase("Drawn tail at the {letter} letter", letter=r.leaving),
    ),
)
"""The steps that give a word a tail."""
