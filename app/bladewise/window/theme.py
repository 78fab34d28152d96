"""Light and dark: the window's own colours, and how each control wears them.

The pairs of text and ground in `TEXT_PAIRS` are held to 4.5:1 and the marks in `MARK_PAIRS` to 3:1 (WCAG 2.2, 1.4.3
and 1.4.11) by a test. Severity never speaks by colour alone: each has a mark of its own shape and a word.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication


class Scheme(StrEnum):
    """What the operator chose."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True, slots=True)
class Theme:
    """The colours of one scheme, as #rrggbb."""

    dark: bool
    window: str
    panel: str
    raised: str
    hover: str
    line: str
    border: str
    text: str
    muted: str
    accent: str
    accent_hover: str
    on_accent: str
    soft: str
    on_soft: str
    focus: str
    spoils: str
    may_spoil: str
    wastes: str
    good: str
    good_soft: str
    trouble_soft: str


LIGHT = Theme(
    dark=False,
    window="#e9e6df",
    panel="#f7f5f0",
    raised="#ffffff",
    hover="#efece4",
    line="#d9d4c9",
    border="#87817a",
    text="#1d2530",
    muted="#575e69",
    accent="#15585c",
    accent_hover="#0f4649",
    on_accent="#ffffff",
    soft="#d3e5e3",
    on_soft="#0f3b3d",
    focus="#0072b2",
    spoils="#9c3a00",
    may_spoil="#765000",
    wastes="#345a80",
    good="#00614b",
    good_soft="#d6ebe2",
    trouble_soft="#f7e3d6",
)

DARK = Theme(
    dark=True,
    window="#15171a",
    panel="#1e2125",
    raised="#2a2e33",
    hover="#32373d",
    line="#363b42",
    border="#7d848d",
    text="#ece9e2",
    muted="#a9afb7",
    accent="#83c9c3",
    accent_hover="#9cd8d3",
    on_accent="#0c2223",
    soft="#23464a",
    on_soft="#d9f0ee",
    focus="#56b4e9",
    spoils="#ff9e66",
    may_spoil="#e8c05a",
    wastes="#94c4ee",
    good="#66d1ad",
    good_soft="#1d3f35",
    trouble_soft="#48301f",
)

TEXT_PAIRS = tuple(
    (text, ground)
    for text, grounds in {
        "text": ("window", "panel", "raised", "hover", "trouble_soft", "good_soft"),
        "muted": ("window", "panel", "raised", "hover"),
        "on_accent": ("accent", "accent_hover"),
        "on_soft": ("soft",),
        "accent": ("panel", "raised", "hover"),
        "spoils": ("panel", "raised", "trouble_soft"),
        "may_spoil": ("panel", "raised"),
        "wastes": ("panel", "raised"),
        "good": ("panel", "raised", "good_soft"),
    }.items()
    for ground in grounds
)
MARK_PAIRS = (("border", "raised"), ("border", "panel"), ("focus", "panel"), ("focus", "raised"), ("focus", "window"))


class ThemeKeeper(QObject):
    """Knows which theme holds, follows the system if asked, and dresses the application."""

    changed = Signal()

    def __init__(self, scheme: Scheme = Scheme.SYSTEM) -> None:
        """Dress the running application."""
        super().__init__()
        self.scheme = scheme
        self.theme = LIGHT
        QApplication.styleHints().colorSchemeChanged.connect(self._system_changed)
        self._dress()

    def choose(self, scheme: Scheme) -> None:
        """Switch to light, to dark, or to whatever the system wears."""
        self.scheme = scheme
        self._dress()

    def _system_changed(self) -> None:
        if self.scheme is Scheme.SYSTEM:
            self._dress()

    def _dress(self) -> None:
        from bladewise.window.stylesheet import stylesheet

        dark = self.scheme is Scheme.DARK or (
            self.scheme is Scheme.SYSTEM and QApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
        )
        self.theme = DARK if dark else LIGHT
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.setPalette(palette(self.theme))
        application.setStyleSheet(stylesheet(self.theme))
        self.changed.emit()


_keeper: ThemeKeeper | None = None


def keeper() -> ThemeKeeper:
    """Return the one keeper of the application's theme."""
    global _keeper  # one application wears one theme
    if _keeper is None:
        _keeper = ThemeKeeper()
    return _keeper


def current() -> Theme:
    """Return the theme that holds."""
    return _keeper.theme if _keeper is not None else LIGHT


def colour(name: str) -> QColor:
    """Return one of the current theme's colours by name."""
    return QColor(getattr(current(), name))


def palette(theme: Theme) -> QPalette:
    """Return Qt's palette for a theme; the canvas and the platform's own dialogs take their colours from it."""
    result = QPalette()
    role = QPalette.ColorRole
    for which, value in (
        (role.Window, theme.panel),
        (role.WindowText, theme.text),
        (role.Base, theme.raised),
        (role.AlternateBase, theme.hover),
        (role.Text, theme.text),
        (role.Button, theme.raised),
        (role.ButtonText, theme.text),
        (role.BrightText, theme.on_accent),
        (role.ToolTipBase, theme.text),
        (role.ToolTipText, theme.panel),
        (role.PlaceholderText, theme.muted),
        (role.Highlight, theme.accent),
        (role.HighlightedText, theme.on_accent),
        (role.Accent, theme.accent),
        (role.Link, theme.accent),
        (role.LinkVisited, theme.accent),
        (role.Light, theme.raised),
        (role.Midlight, theme.hover),
        (role.Mid, theme.line),
        (role.Dark, theme.border),
        (role.Shadow, "#000000"),
    ):
        result.setColor(which, QColor(value))
    for which in (role.WindowText, role.Text, role.ButtonText):
        result.setColor(QPalette.ColorGroup.Disabled, which, QColor(theme.border))
    return result


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours (WCAG 2.2, "contrast ratio")."""
    from bladewise.document import Colour

    high, low = sorted((Colour.from_hex(one).luminance, Colour.from_hex(other).luminance), reverse=True)
    return (high + 0.05) / (low + 0.05)
