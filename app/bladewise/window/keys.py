"""The keys that mean something only while a part of the window has the focus, declared once.

The part looks here what a key means, and the page of keys lists the same declarations; keys of the window itself are
declared with its actions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QKeyCombination, Qt
from PySide6.QtGui import QKeySequence

from bladewise.units import format_length

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from bladewise.window.preferences import Preferences


@dataclass(frozen=True, slots=True)
class PartKey:
    """A key of a part: what it is for, and the keys that mean it, as QKeySequence writes them."""

    name: str
    text: str
    keys: tuple[str, ...]
    says: str = ""
    """How it is written where it is more than a key: "hold E"."""

    @property
    def written(self) -> str:
        """The keys as they are written on this platform."""
        form = QKeySequence.SequenceFormat.NativeText
        return self.says or ", ".join(QKeySequence(key).toString(form) for key in self.keys)


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Keys", text)


def layer_keys() -> tuple[PartKey, ...]:
    """Return the keys of the layer tree."""
    return (
        PartKey("rename", tr("Rename"), ("F2",)),
        PartKey("show", tr("Hide or show"), ("H",)),
        PartKey("lock", tr("Lock or free"), ("L",)),
        PartKey("unfold", tr("Fold or unfold"), ("Return", "Enter")),
        PartKey("delete", tr("Delete"), ("Del", "Backspace")),
    )


def find_keys() -> tuple[PartKey, ...]:
    """Return the keys of the line that searches the layers."""
    return (
        PartKey("select", tr("Select what was found"), ("Return", "Enter")),
        PartKey("rows", tr("Into the rows"), ("Down",)),
        PartKey("all", tr("Show all again"), ("Esc",)),
    )


def stack_keys() -> tuple[PartKey, ...]:
    """Return the keys of the command stack."""
    return (
        PartKey("open", tr("Change the numbers"), ("Return", "Enter")),
        PartKey("switch", tr("Switch on or off"), ("Space",)),
        PartKey("go", tr("Go to this point"), ("G",)),
        PartKey("remove", tr("Remove"), ("Del", "Backspace")),
    )


def readying_keys() -> tuple[PartKey, ...]:
    """Return the keys of the page that makes a job cut-ready."""
    return (
        PartKey("next", tr("Next step"), ("Down",)),
        PartKey("previous", tr("Previous step"), ("Up",)),
        PartKey("show", tr("Show what it does"), ("Return", "Enter")),
        PartKey("tick", tr("Do the step, or leave it out"), ("Space",)),
        PartKey("do", tr("Do the steps"), ("Ctrl+Return", "Ctrl+Enter")),
        PartKey("leave", tr("Leave"), ("Esc",)),
    )


def number_keys() -> tuple[PartKey, ...]:
    """Return the keys of a field with a number."""
    return (
        PartKey("more", tr("One more"), ("Up",)),
        PartKey("less", tr("One less"), ("Down",)),
        PartKey("more-tenth", tr("A tenth more"), ("Shift+Up",)),
        PartKey("less-tenth", tr("A tenth less"), ("Shift+Down",)),
        PartKey("more-ten", tr("Ten more"), ("PgUp",)),
        PartKey("less-ten", tr("Ten less"), ("PgDown",)),
        PartKey("apply", tr("Apply"), ("Return", "Enter")),
        PartKey("leave", tr("Leave"), ("Esc",)),
    )


def chip_keys() -> tuple[PartKey, ...]:
    """Return the keys of a material chip."""
    return (
        PartKey("alone", tr("Only this material"), ("Return", "Enter", "Space")),
        PartKey("rename", tr("Rename"), ("F2",)),
    )


def canvas_keys(preferences: Preferences | None = None) -> tuple[PartKey, ...]:
    """Return the keys of the canvas, with the nudges that were chosen."""
    small, large = (preferences.nudge_mm, preferences.big_nudge_mm) if preferences is not None else (0.1, 1.0)
    unit = preferences.unit if preferences is not None else "mm"
    near, far = (format_length(each, unit=unit, decimals=4 if unit == "in" else 3) for each in (small, large))
    arrows, shifted = ("Left", "Right", "Up", "Down"), ("Shift+Left", "Shift+Right", "Shift+Up", "Shift+Down")
    return (
        PartKey("next", tr("Next shape"), ("Tab",)),
        PartKey("previous", tr("Previous shape"), ("Shift+Tab",)),
        PartKey("nudge", tr("Move by {length}").format(length=near), arrows, tr("arrows")),
        PartKey("nudge-far", tr("Move by {length}").format(length=far), shifted, tr("Shift+arrows")),
        PartKey("zoom-in", tr("Larger"), ("+",)),
        PartKey("zoom-out", tr("Smaller"), ("-",)),
        PartKey("fit", tr("Whole job"), ("0",)),
        PartKey("peek", tr("Peek at the outlines"), ("E",), tr("hold E")),
        PartKey("pan", tr("Pan"), ("Space",), tr("Space and drag")),
        PartKey("nodes", tr("Nodes of the shape; retype lettering"), ("Return", "Enter", "F2")),
        PartKey("let-go", tr("Let go"), ("Esc",)),
    )


def node_keys() -> tuple[PartKey, ...]:
    """Return the keys while nodes are shown: those of what can be done with them, and those to get about."""
    from bladewise.window.canvas.node_actions import NODE_ACTIONS

    form = QKeySequence.SequenceFormat.PortableText
    doing = tuple(
        PartKey(name, action.title(), tuple(QKeySequence(key).toString(form) for key in action.keys))
        for name, action in NODE_ACTIONS.items()
    )
    return (
        PartKey("next", tr("Next node"), ("Tab",)),
        PartKey("previous", tr("Previous node"), ("Shift+Tab",)),
        PartKey("all", tr("All nodes"), ("Ctrl+A",)),
        PartKey("handles", tr("To the handles of the node"), ("H",)),
        *doing,
        PartKey("done", tr("Leave the nodes"), ("Return", "Enter", "Esc")),
    )


def drawing_keys() -> tuple[PartKey, ...]:
    """Return the keys while something is drawn or measured on the canvas."""
    return (
        PartKey("aim", tr("Move the aim"), ("Left", "Right", "Up", "Down"), tr("arrows, Shift+arrows")),
        PartKey("press", tr("Press there"), ("Return", "Enter")),
        PartKey("back", tr("Take the last node back"), ("Backspace", "Del")),
        PartKey("free", tr("Leave snapping out"), ("Alt",), tr("hold Alt")),
        PartKey("straight", tr("Square, or steps of 45°"), ("Shift",), tr("hold Shift")),
        PartKey("give-up", tr("Give up, then leave"), ("Esc",)),
    )


def meant(keys: tuple[PartKey, ...], event: QKeyEvent) -> str:
    """Return the name of the key that was pressed; empty if it is none of these."""
    held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    pressed = QKeySequence(QKeyCombination(held, Qt.Key(event.key())))
    return next((key.name for key in keys if any(QKeySequence(each) == pressed for each in key.keys)), "")


def typed(shortcuts: list[QKeySequence]) -> list[QKeySequence]:
    """Return the shortcuts that any keyboard can type: a few have keys of their own for "open" or "copy" besides."""
    named = range(Qt.Key.Key_Back.value, Qt.Key.Key_Multi_key.value)
    return [each for each in shortcuts if each[0].key().value not in named]  # type: ignore[index]
