"""What was answered last time, for each folder of jobs; and the destinations that are kept."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication

from bladewise.formats import Destination, drop_destination, keep_destination, kept_destinations
from bladewise.window.language import say

if TYPE_CHECKING:
    from pathlib import Path

    from bladewise.errors import CannotRead
    from bladewise.window.preferences import Preferences

MOST_FOLDERS = 60
_KEY = "hand-off"


@dataclass(frozen=True)
class Answers:
    """What a hand-off goes by.

    Parameters
    ----------
    folder
        Where the files go.
    to
        Names of the destinations that get files.
    without
        Ids of the materials that are left out.
    """

    folder: str = ""
    to: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


def answers_for(place: Path | None, preferences: Preferences) -> Answers:
    """Return what was last answered for the jobs of a folder, else what was last answered anywhere."""
    kept = _kept(preferences)
    known = kept.get(_known_as(place))
    if known is not None:
        return known
    last = next(reversed(kept.values()), Answers())
    return replace(last, folder="", without=())


def keep_answers(place: Path | None, answers: Answers, preferences: Preferences) -> None:
    """Keep what was answered for the jobs of a folder."""
    kept = _kept(preferences)
    kept.pop(_known_as(place), None)
    kept[_known_as(place)] = answers
    latest = dict(list(kept.items())[-MOST_FOLDERS:])
    plain = {key: {"folder": each.folder, "to": each.to, "without": each.without} for key, each in latest.items()}
    preferences.set_text(_KEY, json.dumps(plain))


def _kept(preferences: Preferences) -> dict[str, Answers]:
    try:
        plain = json.loads(preferences.text(_KEY, "{}"))
    except (ValueError, RecursionError):
        return {}
    if not isinstance(plain, dict):
        return {}
    return {key: found for key, value in plain.items() if (found := _answers(value)) is not None}


def _answers(value: Any) -> Answers | None:
    if not isinstance(value, dict) or not isinstance(value.get("folder"), str):
        return None
    to, without = value.get("to"), value.get("without")
    if not (isinstance(to, list) and isinstance(without, list) and all(isinstance(word, str) for word in to + without)):
        return None
    return Answers(value["folder"], tuple(to), tuple(without))


def _known_as(place: Path | None) -> str:
    """Return what a folder is known by: unreadable to whoever reads the settings."""
    text = str(place.absolute()) if place is not None else ""
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:16]


class Shelf:
    """The operator's destinations, in the folder they are kept in; two to begin with while there are none."""

    def __init__(self, folder: Path) -> None:
        """Read what is kept in a folder."""
        self.folder = folder
        self.destinations: list[Destination] = []
        self.troubles: list[CannotRead] = []
        self.read()

    def read(self) -> None:
        """Look into the folder again."""
        if self.folder.is_dir():
            found, self.troubles = kept_destinations(self.folder)
            self.destinations = list({each.name: each for each in reversed(found)}.values())[::-1]
        else:
            self.destinations, self.troubles = beginnings(), []

    def names(self) -> list[str]:
        """Return the names of all, in order."""
        return [each.name for each in self.destinations]

    def put(self, destination: Destination, instead_of: str = "") -> None:
        """Keep a destination, in place of one of another name.

        Raises
        ------
        CannotWrite
            If it could not be kept; what was kept before still is.
        """
        self._keep_beginnings()
        keep_destination(destination, self.folder)
        if instead_of and instead_of != destination.name:
            drop_destination(instead_of, self.folder)
        self.read()

    def remove(self, name: str) -> None:
        """Take a destination off.

        Raises
        ------
        CannotWrite
            If its file could not be removed.
        """
        self._keep_beginnings()
        drop_destination(name, self.folder)
        self.read()

    def free_name(self, name: str) -> str:
        """Return a name that no other destination has."""
        taken, number = set(self.names()), 2
        free = name
        while free in taken:
            free = f"{name} {number}"
            number += 1
        return free

    def _keep_beginnings(self) -> None:
        if not self.folder.is_dir():
            for each in self.destinations:
                keep_destination(each, self.folder)


def beginnings() -> list[Destination]:
    """Return what there is before the operator has kept any: a drawing of everything, and a file a colour to cut."""
    return [
        Destination("svg", QCoreApplication.translate("HandOff", "Cut files"), per_colour=True),
        Destination("svg", QCoreApplication.translate("HandOff", "Layered drawing")),
    ]


def why_not_called(name: str, others: list[str]) -> str:
    """Return why a destination cannot be called so; empty if it can."""
    if not name.strip():
        return QCoreApplication.translate("HandOff", "Give it a name you will know the machine by.")
    if name.strip().casefold() in {other.casefold() for other in others}:
        return QCoreApplication.translate("HandOff", "There is a destination of that name.")
    return ""


def told(trouble: CannotRead) -> str:
    """Return what is wrong with a destination that could not be read."""
    return say(str(trouble))
