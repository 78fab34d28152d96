"""What the window remembers between two days: units, lengths, snapping, theme, language, recent files, its own size.

Kept by QSettings in the operator's own place. Every answer is read through a check: what is damaged or out of range
counts as not there, so that a broken file never stops the start. File format (INI, group and key): see `KEYS`.
"""

from __future__ import annotations

import math
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QObject, QSettings, QStandardPaths, Signal

from bladewise.window.theme import Scheme

if TYPE_CHECKING:
    from collections.abc import Collection

MOST_RECENT = 10


class Snap(StrEnum):
    """A kind of thing that moved or drawn art can snap to; the value is what the settings file holds."""

    NODES = "nodes"
    EDGES = "edges"
    MIDPOINTS = "midpoints"
    CENTRES = "centres"
    INTERSECTIONS = "intersections"
    TANGENTS = "tangents"
    GUIDES = "guides"
    GRID = "grid"
    EQUAL_GAPS = "equal-gaps"


SNAP_AT_FIRST = frozenset(Snap) - {Snap.GRID}
"""A grid pulls everywhere, so it is asked for; the others pull only where there is something."""

LENGTHS_MM = {
    "nudge": (0.1, 0.001, 100.0),
    "big-nudge": (1.0, 0.001, 1000.0),
    "grid": (10.0, 0.1, 1000.0),
    "fit-tolerance": (0.02, 0.001, 5.0),
    "sheet-width": (600.0, 1.0, 100_000.0),
    "sheet-height": (400.0, 1.0, 100_000.0),
}
"""Every length that can be set: its first value, the least and the most, in mm."""

LANGUAGES = ("", "en", "de")
"""The languages there are; the empty one is the system's."""

KEYS = {
    "unit": "mm or in",
    "scheme": "system, light or dark",
    "language": "empty (the system's), en or de",
    "snap/on": "true or false: snapping as a whole",
    "snap/to": "the kinds snapped to, by the values of Snap, with commas",
    "lengths/<name>": "a length in mm; names and limits in LENGTHS_MM",
    "tour-seen": "true once the tour was shown or put off",
    "recent": "files, the latest first",
    "layout/<name>": "sizes and divisions of the window",
    "answers/<name>": "what was last answered in a dialog",
}


class Preferences(QObject):
    """The operator's choices."""

    unit_changed = Signal(str)
    recent_changed = Signal()
    changed = Signal(str)
    """Anything else changed: "snapping", "scheme", "language" or the name of a length."""

    def __init__(self, settings: QSettings | None = None, parent: QObject | None = None) -> None:
        """Read from the operator's own settings, or from those given."""
        super().__init__(parent)
        self._settings = settings if settings is not None else QSettings("Bladewise", "Bladewise")

    # --- units and lengths ----------------------------------------------------------------------------------------

    @property
    def unit(self) -> str:
        """The unit lengths are shown in: "mm" or "in"."""
        return "in" if self._value("unit") == "in" else "mm"

    def set_unit(self, unit: str) -> None:
        """Show lengths in another unit."""
        if unit != self.unit:
            self._settings.setValue("unit", unit)
            self.unit_changed.emit(unit)

    def length_mm(self, name: str) -> float:
        """Return a length that can be set, in mm; see `LENGTHS_MM` for the names."""
        first, least, most = LENGTHS_MM[name]
        try:
            value = float(str(self._value(f"lengths/{name}", first)))
        except ValueError:
            return first
        return value if math.isfinite(value) and least <= value <= most else first

    def set_length_mm(self, name: str, value_mm: float) -> None:
        """Set a length.

        Raises
        ------
        ValueError
            With a sentence for the operator, if it is out of range.
        """
        _, least, most = LENGTHS_MM[name]
        if not least <= value_mm <= most:
            msg = self.tr("This must lie between {least:g} and {most:g} mm.").format(least=least, most=most)
            raise ValueError(msg)
        if value_mm != self.length_mm(name):
            self._settings.setValue(f"lengths/{name}", repr(float(value_mm)))
            self.changed.emit(name)

    @property
    def nudge_mm(self) -> float:
        """How far an arrow key moves, in mm."""
        return self.length_mm("nudge")

    @property
    def big_nudge_mm(self) -> float:
        """How far an arrow key moves with Shift, in mm."""
        return self.length_mm("big-nudge")

    @property
    def grid_mm(self) -> float:
        """The spacing of the grid, in mm."""
        return self.length_mm("grid")

    @property
    def fit_tolerance_mm(self) -> float:
        """How far a fitted curve may leave what it was fitted to, in mm, where a step asks for it."""
        return self.length_mm("fit-tolerance")

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """Width and height of a new sheet, in mm."""
        return self.length_mm("sheet-width"), self.length_mm("sheet-height")

    # --- snapping -------------------------------------------------------------------------------------------------

    @property
    def snapping(self) -> bool:
        """Whether anything is snapped to at all."""
        return self._flag("snap/on", first=True)

    def set_snapping(self, *, on: bool) -> None:
        """Turn snapping on or off as a whole; the kinds are kept."""
        if on != self.snapping:
            self._settings.setValue("snap/on", "true" if on else "false")
            self.changed.emit("snapping")

    @property
    def snap_to(self) -> frozenset[Snap]:
        """The kinds of things that are snapped to while snapping is on."""
        kept = self._value("snap/to")
        if kept is None:
            return SNAP_AT_FIRST
        words = kept if isinstance(kept, (list, tuple)) else str(kept).split(",")
        known = {str(kind): kind for kind in Snap}
        return frozenset(known[word] for each in words if (word := str(each).strip()) in known)

    def set_snap_to(self, kinds: Collection[Snap]) -> None:
        """Choose what is snapped to."""
        if frozenset(kinds) != self.snap_to:
            self._settings.setValue("snap/to", ",".join(str(kind) for kind in Snap if kind in kinds))
            self.changed.emit("snapping")

    # --- look and language ----------------------------------------------------------------------------------------

    @property
    def scheme(self) -> Scheme:
        """Light, dark, or as the system."""
        try:
            return Scheme(str(self._value("scheme", "system")))
        except ValueError:
            return Scheme.SYSTEM

    def set_scheme(self, scheme: Scheme) -> None:
        """Remember the theme."""
        if scheme is not self.scheme:
            self._settings.setValue("scheme", str(scheme))
            self.changed.emit("scheme")

    @property
    def language(self) -> str:
        """The language of the window by its code; empty for the system's."""
        kept = str(self._value("language", ""))
        return kept if kept in LANGUAGES else ""

    def set_language(self, code: str) -> None:
        """Remember the language; it holds from the next start on."""
        if code != self.language:
            self._settings.setValue("language", code)
            self.changed.emit("language")

    @property
    def tour_seen(self) -> bool:
        """Whether the tour need not be shown by itself any more."""
        return self._flag("tour-seen", first=False)

    def set_tour_seen(self) -> None:
        """Never show the tour again unless asked."""
        self._settings.setValue("tour-seen", "true")

    # --- files ----------------------------------------------------------------------------------------------------

    @property
    def recent(self) -> list[Path]:
        """Files opened or saved of late, the latest first."""
        kept = self._value("recent", [])
        texts = [kept] if isinstance(kept, str) else list(kept) if isinstance(kept, (list, tuple)) else []
        return [Path(text) for text in texts if isinstance(text, str) and text and "\0" not in text][:MOST_RECENT]

    def remember(self, path: Path) -> None:
        """Put a file first among the recent ones."""
        path = path.absolute()
        files = [path, *(each for each in self.recent if each != path)][:MOST_RECENT]
        self._settings.setValue("recent", [str(each) for each in files])
        self.recent_changed.emit()

    def forget(self, path: Path) -> None:
        """Take a file that is gone off the list."""
        self._settings.setValue("recent", [str(each) for each in self.recent if each != path])
        self.recent_changed.emit()

    @property
    def folder(self) -> str:
        """The folder the last file came from."""
        return str(self.recent[0].parent) if self.recent else str(Path.home())

    @property
    def folder_of_settings(self) -> Path:
        """The operator's own folder, in which the settings and other files of his lie."""
        file = Path(self._settings.fileName())
        if file.is_absolute() and file.suffix:  # a registry has neither
            return file.parent
        return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppConfigLocation))

    # --- layout and answers ---------------------------------------------------------------------------------------

    def layout(self, name: str) -> QByteArray:
        """Return a remembered size or division of the window."""
        kept = self._value(f"layout/{name}")
        return kept if isinstance(kept, QByteArray) else QByteArray()

    def set_layout(self, name: str, state: QByteArray) -> None:
        """Remember a size or division of the window."""
        self._settings.setValue(f"layout/{name}", state)

    def text(self, name: str, default: str = "") -> str:
        """Return a remembered answer of a dialog."""
        kept = self._value(f"answers/{name}", default)
        return kept if isinstance(kept, str) else default

    def number(self, name: str, first: float) -> float:
        """Return a remembered number of a dialog; what is no number, or less than nothing, counts as not there."""
        try:
            value = float(self.text(name, str(first)))
        except ValueError:
            return first
        return value if math.isfinite(value) and value >= 0.0 else first

    def set_text(self, name: str, value: str) -> None:
        """Remember an answer of a dialog."""
        self._settings.setValue(f"answers/{name}", value)

    # --- the file -------------------------------------------------------------------------------------------------

    def _value(self, key: str, default: object = None) -> object:
        """Return what the file holds for a key; what cannot be read counts as not there."""
        try:
            return self._settings.value(key, default)
        except (EOFError, OSError, RuntimeError, TypeError, ValueError):
            return default

    def _flag(self, key: str, *, first: bool) -> bool:
        kept = self._value(key, first)
        if isinstance(kept, bool):
            return kept
        return {"true": True, "false": False}.get(str(kept).strip().lower(), first)
