"""Nodes by hand: move, add, take out, make smooth; straighten and bend segments; open, join, turn about outlines.

Which nodes and segments is told by their numbers under the ids of their shapes (`places`). The curves
are the work of `geometry.node_edits`, `geometry.node_removal` and `geometry.outline_edits`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document import Element, Job, Lettering, Shape
from bladewise.errors import CannotApply
from bladewise.geometry.node_edits import (
    handle_moved,
    node_added,
    nodes_made,
    nodes_moved,
    nodes_placed,
    segment_pulled,
    segments_curved,
    segments_straightened,
)
from bladewise.geometry.node_parts import count_of
from bladewise.geometry.node_removal import nodes_deleted
from bladewise.geometry.nodes import NodeKind, Side, node_table, numbering
from bladewise.geometry.outline_edits import (
    Joint,
    broken,
    ends_joined,
    segments_removed,
    started_at,
    subpaths_closed,
    subpaths_reversed,
)
from bladewise.geometry.path import Path, joined
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    length,
    number,
    places,
)
from bladewise.operations.painted import label
from bladewise.operations.places import Places
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Callable

_NODES = "Which nodes, by shape"
_SEGMENTS = "Which segments, by shape"


@dataclass(frozen=True, kw_only=True)
class MoveNodes:
    """Move nodes, their handles with them."""

    nodes: Places = places(help=_NODES)
    dx_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="To the right (minus: left)")
    dy_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Down (minus: up)")


@dataclass(frozen=True, kw_only=True)
class PlaceNodes:
    """Put nodes at a place; with one of the two lengths they are lined up."""

    nodes: Places = places(help=_NODES)
    x_mm: float | None = length(None, minimum=-1e6, maximum=1e6, help="From the left of the sheet; may be left out")
    y_mm: float | None = length(None, minimum=-1e6, maximum=1e6, help="From the top of the sheet; may be left out")


@dataclass(frozen=True, kw_only=True)
class MoveHandle:
    """Move one handle of a node."""

    nodes: Places = places(help="Which node")
    side: Side = choice(Side.AFTER, help="The handle before the node or the one after it")
    x_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Where its end goes, from the left of the sheet")
    y_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Where its end goes, from the top of the sheet")
    keep: NodeKind | None = choice(None, kind=NodeKind, help="What the node is taken for; left out: what it is")


@dataclass(frozen=True, kw_only=True)
class MakeNodes:
    """Make nodes corner, smooth or balanced."""

    nodes: Places = places(help=_NODES)
    kind: NodeKind = choice(NodeKind.SMOOTH, help="Balanced nodes have handles of one length")


@dataclass(frozen=True, kw_only=True)
class AddNode:
    """Put nodes on segments; the shape stays as it is."""

    segments: Places = places(help=_SEGMENTS)
    at: float = number(0.5, minimum=0.001, maximum=0.999, help="Where on the segment, 0 its start, 1 its end")


@dataclass(frozen=True, kw_only=True)
class DeleteNodes:
    """Take nodes out, keeping the shape as near as possible."""

    nodes: Places = places(help=_NODES)


@dataclass(frozen=True, kw_only=True)
class Straighten:
    """Make segments lines."""

    segments: Places = places(help=_SEGMENTS)


@dataclass(frozen=True, kw_only=True)
class LineToCurve:
    """Give segments handles; they stay where they are."""

    segments: Places = places(help=_SEGMENTS)


@dataclass(frozen=True, kw_only=True)
class PullSegment:
    """Take hold of a segment and pull."""

    segments: Places = places(help="Which segment")
    at: float = number(0.5, minimum=0.0, maximum=1.0, help="Where it is taken hold of, 0 its start, 1 its end")
    dx_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="To the right (minus: left)")
    dy_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Down (minus: up)")


@dataclass(frozen=True, kw_only=True)
class RemoveSegments:
    """Take segments out; the outline is open there."""

    segments: Places = places(help=_SEGMENTS)


@dataclass(frozen=True, kw_only=True)
class BreakPath:
    """Let outlines come apart at nodes."""

    nodes: Places = places(help=_NODES)


@dataclass(frozen=True, kw_only=True)
class JoinEnds:
    """Join two ends of one line or of two."""

    nodes: Places = places(help="Two ends, of one shape or of two")
    joint: Joint = choice(Joint.LINE, help="A line between them, both meet in the middle, or a smooth curve")


@dataclass(frozen=True, kw_only=True)
class ClosePath:
    """Close the open lines that hold these nodes."""

    nodes: Places = places(help="A node of each line")
    joint: Joint = choice(Joint.LINE, help="A line between the ends, both meet in the middle, or a smooth curve")


@dataclass(frozen=True, kw_only=True)
class ReversePath:
    """Turn outlines about, so that the knife runs the other way."""

    on: Selection = acts_on()
    nodes: Places = places(help="Only the outlines that hold these nodes; left out: all of the shape's")


@dataclass(frozen=True, kw_only=True)
class StartNode:
    """Let outlines begin at other nodes."""

    nodes: Places = places(help="A node of each outline")


def move_nodes(job: Job, record: MoveNodes, progress: Progress) -> Result:
    """Move nodes."""
    return _edited(job, record.nodes, progress, lambda p, n: nodes_moved(p, n, record.dx_mm, record.dy_mm).path)


def place_nodes(job: Job, record: PlaceNodes, progress: Progress) -> Result:
    """Put nodes where the numbers say."""
    return _edited(job, record.nodes, progress, lambda p, n: nodes_placed(p, n, record.x_mm, record.y_mm).path)


def move_handle(job: Job, record: MoveHandle, progress: Progress) -> Result:
    """Move one handle."""
    _just_one(record.nodes, "node")

    def edit(path: Path, nodes: tuple[int, ...]) -> Path:
        table = node_table(path)
        own = (table.segment_before if record.side is Side.BEFORE else table.segment_after)[nodes[0]]
        if own < 0:
            msg = phrase("The line has nothing {side} this node, so there is no handle.", side=record.side)
            raise CannotApply(msg, hint="Take the handle on the other side.")
        return handle_moved(path, nodes[0], record.side, (record.x_mm, record.y_mm), record.keep).path

    return _edited(job, record.nodes, progress, edit)


def make_nodes(job: Job, record: MakeNodes, progress: Progress) -> Result:
    """Make nodes corner, smooth or balanced."""
    return _edited(job, record.nodes, progress, lambda p, n: nodes_made(p, n, record.kind).path)


def add_node(job: Job, record: AddNode, progress: Progress) -> Result:
    """Put nodes on segments."""

    def edit(path: Path, segments: tuple[int, ...]) -> Path:
        for segment in sorted(segments, reverse=True):  # from the last on, so that the numbers before stay
            path = node_added(path, segment, record.at).path
        return path

    return _edited(job, record.segments, progress, edit, of_segments=True)


def delete_nodes(job: Job, record: DeleteNodes, progress: Progress) -> Result:
    """Take nodes out."""
    return _edited(job, record.nodes, progress, lambda p, n: nodes_deleted(p, n).path)


def straighten(job: Job, record: Straighten, progress: Progress) -> Result:
    """Make segments lines."""
    return _edited(job, record.segments, progress, lambda p, s: segments_straightened(p, s).path, of_segments=True)


def line_to_curve(job: Job, record: LineToCurve, progress: Progress) -> Result:
    """Make segments curves with handles."""
    return _edited(job, record.segments, progress, lambda p, s: segments_curved(p, s).path, of_segments=True)


def pull_segment(job: Job, record: PullSegment, progress: Progress) -> Result:
    """Pull a segment."""
    _just_one(record.segments, "segment")

    def edit(path: Path, segments: tuple[int, ...]) -> Path:
        return segment_pulled(path, segments[0], record.at, record.dx_mm, record.dy_mm).path

    return _edited(job, record.segments, progress, edit, of_segments=True)


def remove_segments(job: Job, record: RemoveSegments, progress: Progress) -> Result:
    """Take segments out."""
    return _edited(job, record.segments, progress, lambda p, s: segments_removed(p, s).path, of_segments=True)


def break_path(job: Job, record: BreakPath, progress: Progress) -> Result:
    """Let outlines come apart."""
    return _edited(job, record.nodes, progress, lambda p, n: broken(p, n).path)


def join_ends(job: Job, record: JoinEnds, progress: Progress) -> Result:
    """Join two ends; of two shapes the second goes into the first."""
    if record.nodes.count != 2:
        msg = phrase("Joining takes two ends, not {count}.", count=record.nodes.count)
        raise CannotApply(msg, hint="Choose two ends of open lines.")
    named = [(_shape(job, key), numbers) for key, numbers in record.nodes.of]
    for shape, numbers in named:
        _require(shape, numbers, count_of(shape.path), "node")
        inner = [each for each in numbers if not node_table(shape.path).is_end[each]]
        if inner:
            msg = "This node is no end of an open line."
            raise CannotApply(msg, where=label(shape), hint="Choose two ends, or break the outline first.")
    first, numbers = named[0]
    path, second = first.path, numbers[-1]
    replacements: dict[str, tuple[Element, ...]] = {}
    if len(named) == 2:
        other, theirs = named[1]
        second = count_of(path) + theirs[0]
        path = joined([path, other.path])
        replacements[other.id] = ()
    replacements[first.id] = (replace(first, path=ends_joined(path, numbers[0], second, record.joint).path),)
    progress(1.0)
    return Result(job.replaced(replacements), (), (first.id,))


def close_path(job: Job, record: ClosePath, progress: Progress) -> Result:
    """Close open lines."""
    result = _edited(job, record.nodes, progress, lambda p, n: subpaths_closed(p, _holding(p, n), record.joint).path)
    return result if result.job is not job else replace(result, reports=("These outlines are closed already.",))


def reverse_path(job: Job, record: ReversePath, progress: Progress) -> Result:
    """Turn outlines about."""
    if record.nodes.count:
        return _edited(job, record.nodes, progress, lambda p, n: subpaths_reversed(p, _holding(p, n)).path)
    shapes = shapes_or_refuse(record.on, job)
    turned: dict[str, tuple[Element, ...]] = {}
    for done, shape in enumerate(shapes):
        every = range(len(shape.path.starts))
        turned[shape.id] = (replace(shape, path=subpaths_reversed(shape.path, every).path),)
        progress((done + 1) / len(shapes))
    return Result(job.replaced(turned), (), tuple(turned))


def start_node(job: Job, record: StartNode, progress: Progress) -> Result:
    """Let outlines begin at other nodes."""

    def edit(path: Path, nodes: tuple[int, ...]) -> Path:
        of = numbering(path).subpath[list(nodes)].tolist()
        if len(set(of)) < len(of):
            msg = "An outline begins at one node; two of one outline were chosen."
            raise CannotApply(msg, hint="Choose one node of each outline.")
        table = node_table(path)
        if any(not path.closed[table.subpath[each]] and not table.is_end[each] for each in nodes):
            msg = "An open line begins at one of its ends."
            raise CannotApply(msg, hint="Choose an end, or close the line first.")
        return started_at(path, nodes).path

    return _edited(job, record.nodes, progress, edit)


def _edited(
    job: Job,
    where: Places,
    progress: Progress,
    edit: Callable[[Path, tuple[int, ...]], Path],
    *,
    of_segments: bool = False,
) -> Result:
    """Return the job with an edit done to each shape named; shapes of which nothing is left are gone."""
    word = phrase("segment" if of_segments else "node")
    if not where.count:
        msg = phrase("No {word} was named.", word=word)
        raise CannotApply(msg, hint=phrase("Choose a {word} on the canvas.", word=word))
    replacements: dict[str, tuple[Element, ...]] = {}
    reports: list[str] = []
    made: list[str] = []
    for done, (key, numbers) in enumerate(where.of):
        shape = _shape(job, key)
        _require(shape, numbers, len(shape.path) if of_segments else count_of(shape.path), word)
        try:
            path = edit(shape.path, numbers)
        except CannotApply as error:
            raise CannotApply(error.what, where=label(shape), hint=error.hint) from error
        if not path:
            replacements[key] = ()
            reports.append(phrase("Nothing was left of {shape}; it is gone.", shape=label(shape)))
        else:
            made.append(key)
            if path != shape.path:
                replacements[key] = (replace(shape, path=path),)
        progress((done + 1) / len(where.of))
    return Result(job.replaced(replacements), tuple(reports), tuple(made))


def _shape(job: Job, key: str) -> Shape:
    element = job.element(key)
    if isinstance(element, Shape):
        return element
    if isinstance(element, Lettering):
        msg = "Live lettering has no nodes of its own yet."
        raise CannotApply(msg, where=label(element), hint="Turn the lettering into shapes first.")
    msg = "The shape whose nodes this step works on is not there."
    raise CannotApply(msg, where=f"“{key}”", hint="Switch the step off, or bring the shape back.")


def _require(shape: Shape, numbers: tuple[int, ...], count: int, word: str) -> None:
    if max(numbers) >= count:
        msg = phrase(
            "There is no {word} {max} here: the numbers run from 0 to {count}.",
            word=word,
            max=max(numbers),
            count=count - 1,
        )
        raise CannotApply(msg, where=label(shape), hint="The shape has changed since; do the step again by hand.")


def _just_one(where: Places, word: str) -> None:
    if where.count != 1:
        msg = phrase("This takes one {word}, not {count}.", word=word, count=where.count)
        raise CannotApply(msg, hint=phrase("Choose one {word}.", word=word))


def _holding(path: Path, nodes: tuple[int, ...]) -> list[int]:
    """Return the subpaths that hold nodes."""
    return sorted(set(numbering(path).subpath[list(nodes)].tolist()))


def _by(record: MoveNodes | PullSegment) -> str:
    return phrase("{dx}, {dy} mm", dx=format_number(record.dx_mm), dy=format_number(record.dy_mm))


def _place(record: PlaceNodes) -> str:
    parts = [
        f"{axis} {format_number(value)}"
        for axis, value in (("x", record.x_mm), ("y", record.y_mm))
        if value is not None
    ]
    return f"{', '.join(parts)} mm" if parts else phrase("no place")


OPERATIONS = (
    Operation(
        "move-nodes",
        "Move nodes",
        "Move nodes by so much; their handles go along.",
        MoveNodes,
        move_nodes,
        lambda r: phrase("Move {describe} by {by}", describe=r.nodes.describe(), by=_by(r)),
        by_hand=True,
    ),
    Operation(
        "place-nodes",
        "Place nodes",
        "Put nodes at an exact place, or line them up at one x or one y.",
        PlaceNodes,
        place_nodes,
        lambda r: phrase("Place {describe} at {place}", describe=r.nodes.describe(), place=_place(r)),
        by_hand=True,
    ),
    Operation(
        "move-handle",
        "Move a handle",
        "Move a handle; the other one follows as the node's kind asks.",
        MoveHandle,
        move_handle,
        lambda r: phrase("Move a handle to {x}, {y} mm", x=format_number(r.x_mm), y=format_number(r.y_mm)),
        by_hand=True,
    ),
    Operation(
        "node-kind",
        "Corner, smooth, balanced",
        "Make nodes corner, smooth, or balanced with handles of one length.",
        MakeNodes,
        make_nodes,
        lambda r: (
            phrase(
                "Make {describe} a corner" if r.nodes.count == 1 else "Make {describe} corners",
                describe=r.nodes.describe(),
            )
            if r.kind is NodeKind.CORNER
            else phrase("Make {describe} {kind}", describe=r.nodes.describe(), kind=r.kind)
        ),
        by_hand=True,
    ),
    Operation(
        "add-node",
        "Add a node",
        "Put a node on a segment; the shape stays as it is.",
        AddNode,
        add_node,
        lambda r: phrase("Add {describe}", describe=r.segments.describe()),
        by_hand=True,
    ),
    Operation(
        "delete-nodes",
        "Delete nodes",
        "Take nodes out, keeping the shape as near as possible.",
        DeleteNodes,
        delete_nodes,
        lambda r: phrase("Delete {describe}", describe=r.nodes.describe()),
        by_hand=True,
    ),
    Operation(
        "straighten",
        "Straighten",
        "Make a segment an exact line.",
        Straighten,
        straighten,
        lambda r: phrase("Straighten {describe}", describe=r.segments.describe("segment", "segments")),
        by_hand=True,
    ),
    Operation(
        "line-to-curve",
        "Line to curve",
        "Give a line handles to bend it by; it stays where it is.",
        LineToCurve,
        line_to_curve,
        lambda r: phrase(
            "Make {describe} a curve" if r.segments.count == 1 else "Make {describe} curves",
            describe=r.segments.describe("segment", "segments"),
        ),
        by_hand=True,
    ),
    Operation(
        "pull-segment",
        "Pull a segment",
        "Take hold of a curve and pull; its ends stay.",
        PullSegment,
        pull_segment,
        lambda r: phrase("Pull a segment by {by}", by=_by(r)),
        by_hand=True,
    ),
    Operation(
        "remove-segments",
        "Remove segments",
        "Take segments out; the outline is open there.",
        RemoveSegments,
        remove_segments,
        lambda r: phrase("Remove {describe}", describe=r.segments.describe("segment", "segments")),
        by_hand=True,
    ),
    Operation(
        "break-path",
        "Break",
        "Let an outline come apart at nodes.",
        BreakPath,
        break_path,
        lambda r: phrase("Break at {describe}", describe=r.nodes.describe()),
        by_hand=True,
    ),
    Operation(
        "join-ends",
        "Join ends",
        "Join two ends of one line or of two.",
        JoinEnds,
        join_ends,
        lambda r: {
            Joint.LINE: phrase("Join two ends with a line"),
            Joint.MEET: phrase("Join two ends where they meet"),
            Joint.CURVE: phrase("Join two ends with a smooth curve"),
        }[r.joint],
        by_hand=True,
    ),
    Operation(
        "close-path",
        "Close",
        "Close open lines.",
        ClosePath,
        close_path,
        lambda r: phrase("Close an outline" if r.nodes.count == 1 else "Close outlines"),
        by_hand=True,
    ),
    Operation(
        "reverse-path",
        "Reverse",
        "Turn outlines about, so that the knife runs the other way.",
        ReversePath,
        reverse_path,
        lambda r: (
            phrase("Reverse outlines") if r.nodes.count else phrase("Reverse {describe}", describe=r.on.describe())
        ),
        by_hand=True,
    ),
    Operation(
        "start-node",
        "Start here",
        "Let an outline begin, and the knife with it, at another node.",
        StartNode,
        start_node,
        lambda r: (
            "Start at another node"
            if r.nodes.count == 1
            else phrase("Start at {describe}", describe=r.nodes.describe())
        ),
        by_hand=True,
    ),
)
