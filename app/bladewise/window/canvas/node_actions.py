"""What can be done with picked nodes and segments: one list for the keys, the bench and the menu."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, Qt

from bladewise import operations
from bladewise.geometry import node_edits, node_removal, outline_edits
from bladewise.geometry.nodes import NodeKind, numbering
from bladewise.geometry.outline_edits import Joint

if TYPE_CHECKING:
    from bladewise.geometry.node_parts import Edited
    from bladewise.window.canvas.node_editing import NodeEditing

translate = QCoreApplication.translate


@dataclass(frozen=True)
class NodeAction:
    """One thing to do; `fits` says whether what is picked allows it."""

    name: str
    title: Callable[[], str]
    tip: Callable[[], str]
    keys: tuple[Qt.Key, ...]
    fits: Callable[[Any], bool]
    run: Callable[[Any], None]

    def do(self, work: NodeEditing) -> None:
        """Do it if it fits; else say what it needs."""
        if self.fits(work):
            self.run(work)
        else:
            work.canvas.say(self.tip())


def action_of_key(key: Qt.Key) -> str | None:
    """Return the action of a key."""
    return next((name for name, action in NODE_ACTIONS.items() if key in action.keys), None)


def _some_nodes(work: NodeEditing) -> bool:
    return bool(work.chosen)


def _some_segments(work: NodeEditing) -> bool:
    return bool(work.segments())


def _ends(work: NodeEditing) -> list[tuple[str, int]]:
    return [
        (key, node) for key, shape in work.shapes.items() for node in shape.rows() if bool(shape.table.is_end[node])
    ]


def _two_ends(work: NodeEditing) -> bool:
    return len(_ends(work)) == 2 and sum(len(rows) for rows in work.chosen.values()) == 2


def _open_subpaths(work: NodeEditing) -> dict[str, list[int]]:
    """Return a node of each open subpath that a picked node lies on; of all of them where none is picked."""
    found: dict[str, list[int]] = {}
    for key, shape in work.shapes.items():
        rows = shape.rows() if work.chosen else range(len(shape.table.points))
        seen: dict[int, int] = {}
        for node in rows:
            subpath = int(shape.table.subpath[node])
            if not shape.path.closed[subpath]:
                seen.setdefault(subpath, node)
        if seen:
            found[key] = list(seen.values())
    return found


def _one_each(work: NodeEditing) -> bool:
    """Whether a node is picked, at most one on each closed subpath."""
    if not work.chosen:
        return False
    for key, rows in work.chosen.items():
        shape = work.shapes[key]
        subpaths = [int(shape.table.subpath[node]) for node in rows]
        if len(set(subpaths)) != len(subpaths) or not all(shape.path.closed[each] for each in subpaths):
            return False
    return True


def _add(work: NodeEditing) -> None:
    at = work.segment
    if at is not None and 1e-6 < at.t < 1.0 - 1e-6:
        segments, t = {at.shape: [at.segment]}, at.t
    else:
        segments, t = work.segments(), 0.5
    edited: dict[str, Edited] = {}
    new: dict[str, list[int]] = {}
    for key, rows in segments.items():
        path = work.shapes[key].path
        starts = numbering(path).start_node
        now: Edited | None = None
        for row in sorted(rows, reverse=True):
            now = node_edits.node_added(now.path if now is not None else path, row, t)
        assert now is not None
        edited[key] = now
        new[key] = [int(starts[row]) + 1 + index for index, row in enumerate(sorted(rows))]
    work.ask(operations.step("add-node", {"segments": segments, "at": t}), {})
    if all(key in work.shapes and work.shapes[key].path == each.path for key, each in edited.items()):
        work.choose(new)


def _delete(work: NodeEditing) -> None:
    edited = {key: node_removal.nodes_deleted(work.shapes[key].path, rows) for key, rows in work.chosen.items()}
    work.ask(operations.step("delete-nodes", {"nodes": work.chosen}), edited)


def _kind(kind: NodeKind, work: NodeEditing) -> None:
    edited = {key: node_edits.nodes_made(work.shapes[key].path, rows, kind) for key, rows in work.chosen.items()}
    work.ask(operations.step("node-kind", {"nodes": work.chosen, "kind": kind.value}), edited)


def _straighten(work: NodeEditing) -> None:
    segments = work.segments()
    edited = {key: node_edits.segments_straightened(work.shapes[key].path, rows) for key, rows in segments.items()}
    work.ask(operations.step("straighten", {"segments": segments}), edited)


def _curve(work: NodeEditing) -> None:
    segments = work.segments()
    edited = {key: node_edits.segments_curved(work.shapes[key].path, rows) for key, rows in segments.items()}
    work.ask(operations.step("line-to-curve", {"segments": segments}), edited)


def _remove_segments(work: NodeEditing) -> None:
    segments = work.segments()
    edited = {key: outline_edits.segments_removed(work.shapes[key].path, rows) for key, rows in segments.items()}
    work.ask(operations.step("remove-segments", {"segments": segments}), edited)


def _break(work: NodeEditing) -> None:
    edited = {key: outline_edits.broken(work.shapes[key].path, rows) for key, rows in work.chosen.items()}
    work.ask(operations.step("break-path", {"nodes": work.chosen}), edited)


def _join(joint: Joint, work: NodeEditing) -> None:
    ends = _ends(work)
    edited: dict[str, Edited] = {}
    if ends[0][0] == ends[1][0]:
        key = ends[0][0]
        edited = {key: outline_edits.ends_joined(work.shapes[key].path, ends[0][1], ends[1][1], joint)}
    work.ask(operations.step("join-ends", {"nodes": work.chosen, "joint": joint.value}), edited)


def _close(work: NodeEditing) -> None:
    nodes = _open_subpaths(work)
    work.ask(operations.step("close-path", {"nodes": nodes, "joint": Joint.LINE.value}), {})


def _reverse(work: NodeEditing) -> None:
    values: dict[str, object] = {"on": sorted(work.shapes)}
    if work.chosen:
        values = {"on": sorted(work.chosen), "nodes": work.chosen}
    edited = {}
    for key, shape in work.shapes.items():
        if work.chosen and key not in work.chosen:
            continue
        subpaths = sorted({int(shape.table.subpath[node]) for node in shape.rows()})
        rows = subpaths if work.chosen else range(len(shape.path.starts))
        edited[key] = outline_edits.subpaths_reversed(shape.path, rows)
    work.ask(operations.step("reverse-path", values), edited)


def _start(work: NodeEditing) -> None:
    edited = {key: outline_edits.started_at(work.shapes[key].path, rows) for key, rows in work.chosen.items()}
    work.ask(operations.step("start-node", {"nodes": work.chosen}), edited)


def _needs_nodes() -> str:
    return translate("Nodes", "Pick one or several nodes first")


def _needs_segments() -> str:
    return translate("Nodes", "Click a segment first, or pick the nodes at both its ends")


def _needs_ends() -> str:
    return translate("Nodes", "Pick two ends of open outlines first")


_K = Qt.Key
_LIST = (
    NodeAction(
        "add",
        lambda: translate("Nodes", "Add a node"),
        _needs_segments,
        (_K.Key_Insert, _K.Key_A),
        _some_segments,
        _add,
    ),
    NodeAction(
        "delete",
        lambda: translate("Nodes", "Delete"),
        _needs_nodes,
        (_K.Key_Delete, _K.Key_Backspace),
        _some_nodes,
        _delete,
    ),
    NodeAction(
        "corner",
        lambda: translate("Nodes", "Corner"),
        _needs_nodes,
        (_K.Key_C,),
        _some_nodes,
        partial(_kind, NodeKind.CORNER),
    ),
    NodeAction(
        "smooth",
        lambda: translate("Nodes", "Smooth"),
        _needs_nodes,
        (_K.Key_S,),
        _some_nodes,
        partial(_kind, NodeKind.SMOOTH),
    ),
    NodeAction(
        "balanced",
        lambda: translate("Nodes", "Balanced"),
        _needs_nodes,
        (_K.Key_B,),
        _some_nodes,
        partial(_kind, NodeKind.BALANCED),
    ),
    NodeAction(
        "straighten",
        lambda: translate("Nodes", "Straighten"),
        _needs_segments,
        (_K.Key_L,),
        _some_segments,
        _straighten,
    ),
    NodeAction(
        "curve", lambda: translate("Nodes", "Make a curve"), _needs_segments, (_K.Key_U,), _some_segments, _curve
    ),
    NodeAction(
        "remove",
        lambda: translate("Nodes", "Remove segment"),
        _needs_segments,
        (_K.Key_X,),
        _some_segments,
        _remove_segments,
    ),
    NodeAction("break", lambda: translate("Nodes", "Break apart"), _needs_nodes, (_K.Key_K,), _some_nodes, _break),
    NodeAction(
        "join-line",
        lambda: translate("Nodes", "Join by a line"),
        _needs_ends,
        (_K.Key_J,),
        _two_ends,
        partial(_join, Joint.LINE),
    ),
    NodeAction(
        "join-curve",
        lambda: translate("Nodes", "Join by a curve"),
        _needs_ends,
        (_K.Key_V,),
        _two_ends,
        partial(_join, Joint.CURVE),
    ),
    NodeAction(
        "join-meet",
        lambda: translate("Nodes", "Join midway"),
        _needs_ends,
        (_K.Key_M,),
        _two_ends,
        partial(_join, Joint.MEET),
    ),
    NodeAction(
        "close",
        lambda: translate("Nodes", "Close"),
        lambda: translate("Nodes", "Every outline here is closed already"),
        (_K.Key_O,),
        lambda work: bool(_open_subpaths(work)),
        _close,
    ),
    NodeAction(
        "reverse",
        lambda: translate("Nodes", "Reverse"),
        lambda: translate("Nodes", "Turn about the way the outline runs"),
        (_K.Key_R,),
        lambda work: bool(work.shapes),
        _reverse,
    ),
    NodeAction(
        "start",
        lambda: translate("Nodes", "Start here"),
        lambda: translate("Nodes", "Pick one node of a closed outline first"),
        (_K.Key_Home,),
        _one_each,
        _start,
    ),
)

NODE_ACTIONS = {each.name: each for each in _LIST}
