"""What the window remembers between two days: unit, theme, recent files, its own size. Kept by QSettings."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QObject, QSettings, Signal

from bladewise.window.theme import Scheme

MOST_RECENT = 10


class Preferences(QObject):
    """The operator's choices."""

    unit_changed = Signal(str)
    recent_changed = Signal()

    def __init__(self, settings: QSettings | None = None, parent: QObject | None = None) -> None:
        """Read from the operator's own settings, or from those given."""
        super().__init__(parent)
        self._settings = settings if settings is not None else QSettings("Bladewise", "Bladewise")

    @property
    def unit(self) -> str:
        """The unit lengths are shown in: "mm" or "in"."""
        return "in" if self._settings.value("unit") == "in" else "mm"

    def set_unit(self, unit: str) -> None:
        """Show lengths in another unit."""
        if unit != self.unit:
            self._settings.setValue("unit", unit)
            self.unit_changed.emit(unit)

    @property
    def scheme(self) -> Scheme:
        """Light, dark, or as the system."""
        try:
            return Scheme(str(self._settings.value("scheme", "system")))
        except ValueError:
            return Scheme.SYSTEM

    def set_scheme(self, scheme: Scheme) -> None:
        """Remember the theme."""
        self._settings.setValue("scheme", str(scheme))

    @property
    def recent(self) -> list[Path]:
        """Files opened or saved of late, the latest first."""
        kept = self._settings.value("recent", [])
        texts = [kept] if isinstance(kept, str) else list(kept) if isinstance(kept, (list, tuple)) else []
        return [Path(str(text)) for text in texts if text]

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

    def layout(self, name: str) -> QByteArray:
        """Return a remembered size or division of the window."""
        kept = self._settings.value(f"layout/{name}")
        return kept if isinstance(kept, QByteArray) else QByteArray()

    def set_layout(self, name: str, state: QByteArray) -> None:
        """Remember a size or division of the window."""
        self._settings.setValue(f"layout/{name}", state)

    def text(self, name: str, default: str = "") -> str:
        """Return a remembered answer of a dialog."""
        return str(self._settings.value(f"answers/{name}", default))

    def set_text(self, name: str, value: str) -> None:
        """Remember an answer of a dialog."""
        self._settings.setValue(f"answers/{name}", value)
