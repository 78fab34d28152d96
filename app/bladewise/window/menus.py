"""The menus of the window: which actions stand in which, in one table, and the menu of a right click on the canvas."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from PySide6.QtCore import QCoreApplication

from bladewise.window import icons
from bladewise.window.bench.fields import words
from bladewise.window.bench.sheaves import sheaves

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QMenu, QMenuBar

    from bladewise.window.actions import Actions
    from bladewise.window.desk import Desk

Entry: TypeAlias = "str | tuple[str, tuple[str, ...]]"
"""An action's name, an empty text for a line between, or a menu within: its title and its actions."""

SELECT_MORE = ("same-fill", "same-stroke", "same-layer", "same-material", "select-smaller")


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Menus", text)


def declared() -> tuple[tuple[str, tuple[Entry, ...]], ...]:
    """Return every menu of the bar."""
    file: tuple[Entry, ...] = (
        *("new", "open", "bring-in", (tr("Open &recent"), ()), ""),
        *(
            "save",
            "save-as",
            "save-recipe",
            "save-picture",
            "",
            "make-cut-ready",
            "export",
            "job-ticket",
            "customer-proof",
            "",
            "quit",
        ),
    )
    edit: tuple[Entry, ...] = (
        *("undo", "redo", "", "cut", "copy", "paste", "paste-in-place", "duplicate-beside", "delete", ""),
        *("select-all", "select-none", (tr("Select &more"), SELECT_MORE), "select-inverted", ""),
        *("edit-nodes", "measure", "guide-upright", "guide-level", "", "find-layer", "find", "", "preferences"),
    )
    view: tuple[Entry, ...] = (
        *("fill-view", "outline-view", "show-direction", "show-hidden", ""),
        *("layers-apart", "materials", "as-printed", ""),
        *("zoom-in", "zoom-out", "zoom-fit", "zoom-selection", ""),
        *("next-trouble", "previous-trouble", "next-panel", "previous-panel", ""),
        (tr("&Unit"), ("unit-mm", "unit-in")),
        (tr("&Theme"), ("theme-system", "theme-light", "theme-dark")),
        *("", "full-screen"),
    )
    return (
        (tr("&File"), file),
        (tr("&Edit"), edit),
        (tr("&View"), view),
        (tr("&Help"), ("tour", "shortcuts", "notes", "about")),
    )


def fill(bar: QMenuBar, actions: Actions) -> QMenu:
    """Fill the menu bar; return the menu of recent files, which is filled as they come."""
    bar.setAccessibleName(tr("Menu"))
    recent: QMenu | None = None
    for title, entries in declared():
        menu = bar.addMenu(title)
        for entry in entries:
            if isinstance(entry, tuple):
                inner = menu.addMenu(entry[0])
                inner.addActions([actions[name] for name in entry[1]])
                recent = recent if entry[1] else inner
            elif entry:
                menu.addAction(actions[entry])
            else:
                menu.addSeparator()
    assert recent is not None
    return recent


def select_more(menu: QMenu, actions: Actions) -> None:
    """Put the ways to select more into a menu."""
    menu.addMenu(tr("Select &more")).addActions([actions[name] for name in SELECT_MORE])


def add_verbs(menu: QMenu, desk: Desk, open_verb: Callable[[str], None]) -> None:
    """Put the verbs that fit what is selected into a menu, those for one purpose in a menu within."""
    menu.addSeparator()
    for sheaf in sheaves(desk):
        under = menu.addMenu(icons.icon(sheaf.icon), sheaf.title) if len(sheaf.verbs) > 1 else menu
        for operation in sheaf.verbs:
            under.addAction(words(operation.title), partial(open_verb, operation.name))
