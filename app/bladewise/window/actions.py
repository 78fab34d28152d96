"""Every action of the window, declared once: the menus, the keys, the bench and the palette all show these.

A key is the platform's own where it has one; a fallback is given for platforms that leave it unbound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QObject
from PySide6.QtGui import QAction, QActionGroup, QKeySequence

from bladewise.window import icons

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QWidget

Key = QKeySequence.StandardKey


@dataclass(frozen=True, slots=True)
class Declared:
    """An action as it is declared."""

    name: str
    text: str
    tip: str = ""
    icon: str = ""
    standard: Key | None = None
    fallback: str = ""
    group: str = ""
    """Actions of one group exclude each other."""
    is_switch: bool = False
    """Whether it turns something on and off."""


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Actions", text)


def declared() -> tuple[Declared, ...]:
    """Return every action, in the order of the menus."""
    return (
        Declared("new", tr("&New job"), tr("Start with an empty sheet"), "new", Key.New, "Ctrl+N"),
        Declared("open", tr("&Open…"), tr("Open artwork or a job file"), "open", Key.Open, "Ctrl+O"),
        Declared(
            "bring-in", tr("&Bring in art…"), tr("Add the art of another file to this job"), "bring-in", None, "Ctrl+B"
        ),
        Declared("save", tr("&Save"), tr("Save the job with its command stack"), "save", Key.Save, "Ctrl+S"),
        Declared(
            "save-as", tr("Save &as…"), tr("Save the job under another name"), "", Key.SaveAs, "Ctrl+Shift+S"
        ),
        Declared("save-recipe", tr("Save as &recipe…"), tr("Save the steps for other art"), "recipe"),
        Declared("save-picture", tr("Save &picture…"), tr("Save what the job looks like as a PNG"), "picture"),
        Declared(
            "make-cut-ready", tr("&Make cut-ready…"),
            tr("See every step the readiness check proposes, with its reason, before it is done"),
            "make-cut-ready", None, "Shift+F9"
        ),
        Declared(
            "export", tr("&Hand off…"), tr("Export: see which file goes to which machine, and write the files"),
            "export", None, "F9"
        ),
        Declared(
            "job-ticket", tr("&Job ticket…"), tr("The page for whoever runs the machine: see it, fill it in, write it"),
            "job-ticket", None, "Ctrl+F9"
        ),
        Declared(
            "customer-proof", tr("&Customer proof…"), tr("The page for the customer to agree to: see it, write it"),
            "customer-proof"
        ),
        Declared("quit", tr("&Quit"), tr("Close the window"), "", Key.Quit, "Ctrl+Q"),
        Declared("undo", tr("&Undo"), tr("Take back the last step"), "undo", Key.Undo, "Ctrl+Z"),
        Declared("redo", tr("&Redo"), tr("Do it again"), "redo", Key.Redo, "Ctrl+Shift+Z"),
        Declared("delete", tr("&Delete"), tr("Remove what is selected"), "delete", Key.Delete, "Del"),
        Declared(
            "select-all", tr("Select &all"), tr("Select all art that shows and is free"), "", Key.SelectAll, "Ctrl+A"
        ),
        Declared(
            "select-none", tr("Select n&othing"), tr("Let go of what is selected"), "", Key.Deselect, "Ctrl+Shift+A"
        ),
        Declared("cut", tr("Cu&t"), tr("Copy what is selected and remove it"), "cut", Key.Cut, "Ctrl+X"),
        Declared("copy", tr("&Copy"), tr("Copy what is selected"), "copy", Key.Copy, "Ctrl+C"),
        Declared("paste", tr("&Paste"), tr("Put in what was copied, a little beside"), "paste", Key.Paste, "Ctrl+V"),
        Declared(
            "paste-in-place", tr("Paste &in place"), tr("Put in what was copied, just where it was"), "paste", None,
            "Ctrl+Shift+V"
        ),
        Declared(
            "duplicate-beside", tr("&Duplicate beside"), tr("Put a copy of what is selected a little beside it"),
            "duplicate-here", None, "Ctrl+Shift+D"
        ),
        Declared("same-fill", tr("Same &fill"), tr("Select all that has the same fill"), "same"),
        Declared("same-stroke", tr("Same &stroke"), tr("Select all that has the same colour of stroke"), "same"),
        Declared("same-layer", tr("Same &layer"), tr("Select all that lies on the same layer"), "same"),
        Declared("same-material", tr("Same &material"), tr("Select all that is made of the same material"), "same"),
        Declared("select-smaller", tr("Smaller &than…"), tr("Select all that is smaller than a size"), "same"),
        Declared(
            "select-inverted", tr("&Invert selection"), tr("Select all that is not selected"), "same", None,
            "Ctrl+Shift+I"
        ),
        Declared(
            "edit-nodes", tr("Edit &nodes"), tr("Show the nodes and handles of what is selected"), "move-nodes", None,
            "Ctrl+E"
        ),
        Declared("measure", tr("&Measure"), tr("Measure distances, and what is selected"), "measure", None, "Ctrl+M"),
        Declared(
            "guide-upright", tr("&Upright guide"), tr("Set an upright line to snap to; it is never cut"), "guide"
        ),
        Declared("guide-level", tr("&Level guide"), tr("Set a level line to snap to; it is never cut"), "guide"),
        Declared(
            "preferences",
            tr("Prefere&nces…"),
            tr("Units, lengths, snapping, theme, language"),
            "preferences",
            Key.Preferences,
            "Ctrl+,",
        ),
        Declared("find-layer", tr("Find in la&yers"), tr("Find by name or material"), "search", Key.Find, "Ctrl+F"),
        Declared("find", tr("&Find any action…"), tr("Find an action by its words"), "search", None, "Ctrl+K"),
        Declared(
            "fill-view", tr("&Fill view"), tr("The job as it will look"), "fill-view", None, "F4", "view"),
        Declared(
            "outline-view",
            tr("&Outline-only view"),
            tr("Every path as a hairline, as the knife sees it; hold E to peek"),
            "outline-view",
            None,
            "F5",
            "view"),
        Declared(
            "as-printed", tr("As printed, as &cut…"),
            tr("What leaves the printer, what the customer holds, and what a cut that is off does to it"),
            "results", None, "Shift+F7"
        ),
        Declared(
            "show-direction",
            tr("Cut &direction and start points"),
            tr("Arrows along every line to be cut, a wedge where it begins; in outline-only view"),
            fallback="Shift+F5",
            is_switch=True,
        ),
        Declared(
            "show-hidden",
            tr("&Hidden art, dotted"),
            tr("What is hidden, and will not be cut, as dots; in outline-only view"),
            fallback="Ctrl+F5",
            is_switch=True,
        ),
        Declared(
            "layers-apart",
            tr("Layers &apart"),
            tr("The layers drawn apart, as they will be stuck one over the other"),
            "layers-apart",
            None,
            "Shift+F4",
        ),
        Declared(
            "materials",
            tr("&Materials"),
            tr("The vinyls and prints of this job and of the stock: rolls, prices, what they ask of the art"),
            "materials",
            None,
            "F3",
        ),
        Declared("zoom-in", tr("Zoom &in"), tr("Larger"), "plus", Key.ZoomIn, "Ctrl++"),
        Declared("zoom-out", tr("Zoom o&ut"), tr("Smaller"), "minus", Key.ZoomOut, "Ctrl+-"),
        Declared("zoom-fit", tr("&Whole job"), tr("Fit the whole job into the canvas"), "fit", None, "Ctrl+0"),
        Declared("zoom-selection", tr("What is &selected"), tr("Fit what is selected into the canvas"), "", None, "F7"),
        Declared(
            "next-trouble", tr("&Next trouble spot"), tr("Go to the next place of trouble"), "goto", None, "F8"
        ),
        Declared(
            "previous-trouble", tr("Pre&vious trouble spot"), tr("Go to the place before"), "", None, "Shift+F8"
        ),
        Declared("next-panel", tr("Next &panel"), tr("Put the focus into the next panel"), "", None, "F6"),
        Declared(
            "previous-panel", tr("Pre&vious panel"), tr("Put the focus into the panel before"), "", None, "Shift+F6"
        ),
        Declared("unit-mm", tr("&Millimetres"), tr("Lengths in millimetres"), "", None, "", "unit"),
        Declared("unit-in", tr("&Inches"), tr("Lengths in inches"), "", None, "", "unit"),
        Declared(
            "theme-system", tr("As the &system"), tr("Light or dark as the system is"), "theme", None, "", "theme"),
        Declared("theme-light", tr("&Light"), tr("Dark words on a light ground"), "", None, "", "theme"),
        Declared("theme-dark", tr("&Dark"), tr("Light words on a dark ground"), "", None, "", "theme"),
        Declared("full-screen", tr("F&ull screen"), tr("Fill the screen, or no longer"), "", Key.FullScreen, "F11"),
        Declared("tour", tr("&Tour"), tr("The window in five cards"), "tour"),
        Declared("shortcuts", tr("&Keys"), tr("All keys on one page"), "keys", Key.HelpContents, "F1"),
        Declared("notes", tr("What was &not understood…"), tr("What the reader left out of the artwork"), "note"),
        Declared("about", tr("&About Bladewise"), tr("What this is, and which version"), "help"),
    )  # fmt: skip


class Actions(QObject):
    """The window's actions by name."""

    def __init__(self, window: QWidget, handlers: dict[str, Callable[[], object]]) -> None:
        """Make the actions; `handlers` says what each does."""
        super().__init__(window)
        self.all: dict[str, QAction] = {}
        groups: dict[str, QActionGroup] = {}
        for each in declared():
            action = QAction(each.text, window)
            action.setObjectName(each.name)
            if each.icon:
                icons.put(action, each.icon)
            if each.tip:
                action.setToolTip(each.tip)
                action.setStatusTip(each.tip)
            action.setShortcuts(keys_of(each))
            action.setCheckable(bool(each.group) or each.is_switch)
            if each.group:
                group = groups.setdefault(each.group, QActionGroup(window))
                group.addAction(action)
            action.triggered.connect(lambda _on=False, handler=handlers[each.name]: handler())
            window.addAction(action)
            self.all[each.name] = action

    def __getitem__(self, name: str) -> QAction:
        """Return an action."""
        return self.all[name]


def keys_of(each: Declared) -> list[QKeySequence]:
    """Return an action's keys: the platform's, or the fallback where it has none."""
    bound = QKeySequence.keyBindings(each.standard) if each.standard is not None else []
    if not bound and each.fallback:
        return [QKeySequence(each.fallback)]
    return bound
