"""Opening, joining, closing and turning about the subpaths of a path.

Segments keep their bits, but for the ends that are moved to meet. As in `node_edits`, each function
gives the new path and where each node of the old one went.

Lengths are mm, y down. Numbers that are not there raise ValueError.
"""

from __future__ import annotations

from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.node_edits import moved_each
from bladewise.geometry.node_parts import Edited, Part, assembled, checked, count_of, parts_of
from bladewise.geometry.nodes import directions, node_table, numbering
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.tolerances import COINCIDENT_MM

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats, Path


class Joint(StrEnum):
    """How two ends become one line."""

    LINE = "line"
    MEET = "meet"
    CURVE = "curve"


def segments_removed(path: Path, segments: Iterable[int]) -> Edited:
    """Take segments out; the path is open there."""
    chosen = set(checked(segments, len(path)).tolist())
    parts: list[Part] = []
    for start, part in zip(path.starts.tolist(), parts_of(path), strict=True):
        gone = sorted(each - start for each in chosen if start <= each < start + len(part))
        if not gone:
            parts.append(part)
            continue
        if part.closed:
            part, gone = part.turned(gone[0] + 1).opened(), [(each - gone[0] - 1) % len(part) for each in gone]
        stops = [-1, *sorted(gone), len(part)]
        parts += [part.cut(one + 1, two) for one, two in pairwise(stops) if two > one + 1]
    return assembled(parts, count_of(path))


def broken(path: Path, nodes: Iterable[int]) -> Edited:
    """Let the path come apart at nodes; a closed subpath opens at the first, ends of open ones stay.

    Of the two ends that come of a node, `now` gives the one that begins a subpath.
    """
    chosen = set(checked(nodes, count_of(path)).tolist())
    parts: list[Part] = []
    for part in parts_of(path):
        at = [local for local, node in enumerate(part.nodes.tolist()) if node in chosen]
        if part.closed and at:
            part, at = part.turned(at[0]).opened(), [each - at[0] for each in at[1:]]
        stops = [0, *[each for each in at if 0 < each < len(part)], len(part)]
        parts += [part.cut(one, two) for one, two in pairwise(stops)] if len(stops) > 2 else [part]
    return assembled(parts, count_of(path))


def ends_joined(path: Path, first: int, second: int, joint: Joint = Joint.LINE) -> Edited:
    """Join two ends: of one open subpath, which closes, or of two, which become one.

    The subpath of the first end keeps its direction and its place; the other is turned about if it must.

    Parameters
    ----------
    path, first, second
        Two different ends of open subpaths.
    joint
        Line: a straight line between them (none if they lie together). Meet: both move to the middle.
        Curve: a curve that goes on smoothly from both.
    """
    table = node_table(path)
    both = checked([first, second], len(table.points))
    if len(both) < 2 or not table.is_end[both].all():
        message = "two different ends of open subpaths are needed"
        raise ValueError(message)
    gap = float(np.hypot(*(table.points[second] - table.points[first])))
    if gap > 0.0 and (joint is Joint.MEET or gap <= COINCIDENT_MM):
        middle = (table.points[first] + table.points[second]) / 2.0
        ends = np.array([first, second])
        met = moved_each(path, ends, middle - table.points[ends], np.stack([middle, middle]))
        return met.then(_joined(met.path, int(met.now[first]), int(met.now[second]), joint))
    return _joined(path, first, second, joint)


def _joined(path: Path, first: int, second: int, joint: Joint) -> Edited:
    """Join two ends, the gap between them left as it is or bridged."""
    parts = parts_of(path)
    of = numbering(path).subpath
    one, two = int(of[first]), int(of[second])
    if one == two:
        ahead = parts[one]
        parts[one] = ahead.bridged(_bridge(ahead, ahead, joint)).looped()
        return _met(assembled(parts, count_of(path)), first, second)
    a, b = parts[one], parts[two]
    if a.nodes[-1] == first:
        b = b if b.nodes[0] == second else b.reversed()
        new = a.bridged(_bridge(a, b, joint)).followed_by(b)
    else:
        b = b if b.nodes[-1] == second else b.reversed()
        new = b.bridged(_bridge(b, a, joint)).followed_by(a)
    parts[one] = new
    del parts[two]
    return _met(assembled(parts, count_of(path)), first, second)


def subpaths_closed(path: Path, subpaths: Iterable[int], joint: Joint = Joint.LINE) -> Edited:
    """Close open subpaths; closed ones stay."""
    edited = Edited(path, np.arange(count_of(path)))
    for number in checked(subpaths, len(path.starts)).tolist():
        if not path.closed[number]:
            nodes = np.flatnonzero(numbering(edited.path).subpath == number)
            edited = edited.then(ends_joined(edited.path, int(nodes[-1]), int(nodes[0]), joint))
    return edited


def subpaths_reversed(path: Path, subpaths: Iterable[int]) -> Edited:
    """Turn subpaths about; a closed one begins at the same node as before."""
    chosen = set(checked(subpaths, len(path.starts)).tolist())
    parts = [part.reversed() if number in chosen else part for number, part in enumerate(parts_of(path))]
    return assembled(parts, count_of(path))


def started_at(path: Path, nodes: Iterable[int]) -> Edited:
    """Let closed subpaths begin at the given nodes, one each; an open one given its end is turned about.

    Raises
    ------
    ValueError
        If a node lies within an open subpath, or two lie on one subpath.
    """
    chosen = checked(nodes, count_of(path)).tolist()
    parts = parts_of(path)
    of = numbering(path).subpath
    if len({int(of[node]) for node in chosen}) < len(chosen):
        message = "a subpath begins at one node"
        raise ValueError(message)
    for node in chosen:
        number = int(of[node])
        part = parts[number]
        local = int(np.flatnonzero(part.nodes == node)[0])
        if part.closed:
            parts[number] = part.turned(local)
        elif local == len(part):
            parts[number] = part.reversed()
        elif local:
            message = "an open line begins at one of its ends"
            raise ValueError(message)
    return assembled(parts, count_of(path))


def _met(edited: Edited, first: int, second: int) -> Edited:
    """Return the edit with two ends that became one node both known as that node."""
    for one, two in ((first, second), (second, first)):
        if edited.now[one] < 0:
            edited.now[one] = edited.now[two]
    return edited


def _bridge(one: Part, two: Part, joint: Joint) -> Rows | None:
    """Return what lies between the end of one part and the start of another; None if they meet."""
    start, end = one.points[-1, 3], two.points[0, 0]
    gap = float(np.hypot(*(end - start)))
    if gap == 0.0:
        return None
    if joint is Joint.CURVE:
        leaving, _ = directions(two.path())
        _, arriving = directions(one.path())
        first, last = start + _unit(arriving[-1]) * (gap / 3.0), end - _unit(leaving[0]) * (gap / 3.0)
        return np.stack([start, first, last, end])[None], np.array([SegmentKind.CUBIC], np.uint8), np.ones(1)
    return np.stack([start, start, end, end])[None], np.array([SegmentKind.LINE], np.uint8), np.ones(1)


def _unit(vector: Floats) -> Floats:
    far = float(np.hypot(vector[0], vector[1]))
    unit: Floats = vector / far if far > 0.0 else np.array([1.0, 0.0])
    return unit
