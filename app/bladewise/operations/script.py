"""Merge script: the overlapping letters of a word become one piece, and letters that just miss are found.

Where two neighbouring letters do not touch but come nearer than a set distance, the cutter would leave a
hair of waste between them. They are told, and bridged if that is asked for: by a round-ended bar along
the shortest way between them, as wide as set.
"""

from __future__ import annotations

import itertools
import math
import unicodedata
from dataclasses import dataclass, replace
from typing import NamedTuple

from bladewise.document import Element, Group, Job, Lettering, Shape
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.distances import least_distance
from bladewise.geometry.path import Path, polygon
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_to_shape
from bladewise.lettering.setting import word_letters
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, length, switch
from bladewise.operations.own_font import with_its_font
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import phrase
from bladewise.units import format_number

_MOST_TOLD = 8


@dataclass(frozen=True, kw_only=True)
class MergeScript:
    """The letters of each word become one piece."""

    on: Selection = acts_on()
    near_mm: float = length(0.5, minimum=0.0, maximum=100.0, help="Letters nearer than this ought to touch")
    bridge: bool = switch(default=False, help="Bridge letters that just miss each other")
    bridge_mm: float | None = length(None, minimum=0.01, maximum=100.0, help="How wide; left out: three times the gap")


class Miss(NamedTuple):
    """Two neighbours that do not touch: their names, the gap in mm, and the nearest places of both."""

    first: str
    second: str
    gap_mm: float
    start: tuple[float, float]
    end: tuple[float, float]


def near_misses(letters: list[tuple[str, Path]], near_mm: float) -> list[Miss]:
    """Return the neighbours of a word that do not touch but come nearer than a distance.

    Letters inside one another (a dot in a bowl) have the distance of their outlines. Marks of punctuation
    stand apart by design and are no neighbours of anything.
    """
    found = []
    for (first, one), (second, two) in itertools.pairwise(letters):
        if is_mark(first) or is_mark(second):
            continue
        a, b = one.bounds(), two.bounds()
        if a is None or b is None or max(b[0] - a[2], a[0] - b[2], b[1] - a[3], a[1] - b[3]) >= near_mm:
            continue
        gap = least_distance(one, two)
        if 0.0 < gap.distance_mm < near_mm:
            found.append(Miss(first, second, gap.distance_mm, gap.first.point, gap.second.point))
    return found


def is_mark(name: str) -> bool:
    """Whether a letter, by its name, is none: a mark of punctuation or a sign."""
    return bool(name) and all(unicodedata.category(letter)[0] in "PS" for letter in name)


def bridge_of(miss: Miss, width_mm: float) -> Path:
    """Return the bar that joins two letters: along the shortest way, its round ends reaching into both.

    They reach three quarters of its width beyond the outlines, so that its full width meets a curved stroke.
    """
    (x0, y0), (x1, y1) = miss.start, miss.end
    far = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / far, (y1 - y0) / far
    reach = 0.25 * width_mm
    line = polygon([(x0 - reach * ux, y0 - reach * uy), (x1 + reach * ux, y1 + reach * uy)], closed=False)
    return stroke_to_shape(line, StrokeGeometry(width_mm, LineCap.ROUND, LineJoin.ROUND))


def merge_script(job: Job, record: MergeScript, progress: Progress) -> Result:
    """Merge the letters of each word; of shapes, those of one colour that lie in one group."""
    placed = record.on.leaves(job)
    live = [each.leaf for each in placed if isinstance(each.leaf, Lettering)]
    loose: dict[object, list[Shape]] = {}
    for each in placed:
        if isinstance(each.leaf, Shape) and each.leaf.style.fill is not None:
            home = each.groups[-1].id if each.groups else each.layer.id
            loose.setdefault((home, each.leaf.style.fill, each.leaf.material), []).append(each.leaf)
    if not live and not loose:
        raise nothing_matches(record.on, job)
    words: list[tuple[str, list[tuple[str, Path]]]] = []
    owners: list[tuple[Lettering | None, list[Shape]]] = []
    for lettering in live:
        own = word_letters(with_its_font(lettering))
        words += own
        owners += [(lettering, [])] * len(own)
    for shapes in loose.values():
        words.append((shapes[-1].name, [(shape.name or shape.id, shape.path) for shape in shapes]))
        owners.append((None, shapes))
    if not words:
        raise CannotApply("The lettering says nothing.", where=record.on.describe(job), hint="Type a word.")
    misses = [near_misses(letters, record.near_mm) for _, letters in words]
    progress(0.3)
    groups = []
    for (_, letters), missed, (_, shapes) in zip(words, misses, owners, strict=True):
        regions = [shape.region for shape in shapes] or [Region(path) for _, path in letters]
        if record.bridge:
            regions += [Region(bridge_of(miss, record.bridge_mm or 3.0 * miss.gap_mm)) for miss in missed]
        groups.append(regions)
    paths = booleans.merge_each(groups)
    progress(0.9)
    replacements, made = _replaced(job, words, owners, paths)
    progress(1.0)
    return Result(job.replaced(replacements), _reports(misses, bridged=record.bridge), made)


def _replaced(
    job: Job,
    words: list[tuple[str, list[tuple[str, Path]]]],
    owners: list[tuple[Lettering | None, list[Shape]]],
    paths: list[Path],
) -> tuple[dict[str, tuple[Element, ...]], tuple[str, ...]]:
    """Return what takes the place of what, and the ids of what was made."""
    taken: set[str] = set()
    replacements: dict[str, tuple[Element, ...]] = {}
    made = []
    by_lettering: dict[str, list[tuple[str, Path]]] = {}
    lettering_of = {}
    for (name, _), (lettering, shapes), path in zip(words, owners, paths, strict=True):
        if lettering is not None:
            by_lettering.setdefault(lettering.id, []).append((name, path))
            lettering_of[lettering.id] = lettering
            continue
        replacements |= {shape.id: () for shape in shapes}
        kept = shapes[-1]
        replacements[kept.id] = (replace(kept, path=path),)
        made.append(kept.id)
    for identity, parts in by_lettering.items():
        live = lettering_of[identity]
        pieces = []
        for name, path in parts:
            fresh = identity if len(parts) == 1 else job.fresh_id(f"{identity}-word", taken=taken)
            taken.add(fresh)
            pieces.append(Shape(fresh, path, live.style, name, live.material, live.visible, live.locked))
        title = live.name or live.text
        replacements[identity] = tuple(pieces) if len(pieces) == 1 else (Group(identity, tuple(pieces), title),)
        made.append(identity)
    return replacements, tuple(made)


def _reports(misses: list[list[Miss]], *, bridged: bool) -> tuple[str, ...]:
    every = [miss for missed in misses for miss in missed]
    told = [
        phrase(
            "“{first}” and “{second}” were bridged over {gap} mm."
            if bridged
            else "“{first}” and “{second}” miss each other by {gap} mm; “bridge” would join them.",
            first=miss.first,
            second=miss.second,
            gap=format_number(miss.gap_mm, 3),
        )
        for miss in every[:_MOST_TOLD]
    ]
    if len(every) > _MOST_TOLD:
        told.append(phrase("{count} more places like this.", count=len(every) - _MOST_TOLD))
    return tuple(told)


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "merge-script",
        "Merge script",
        "The letters of each word become one piece; those that just miss each other are found, and bridged if wanted.",
        MergeScript,
        merge_script,
        lambda r: (
            phrase("Merge script, bridging gaps under {near} mm", near=format_number(r.near_mm))
            if r.bridge
            else phrase("Merge script")
        ),
    ),
)
"""The step that makes a word one piece."""
