"""The canvas' own colours, light and dark, and those of what lies above the art.

What lies above the art takes the palette of Okabe and Ito (2008), which survives colour-vision
deficiency. No mark speaks by colour alone: marks differ by shape, ghosts and guides by dash.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtGui import QColor, QPalette

from bladewise.document import Colour

if TYPE_CHECKING:
    from bladewise.window.painting import ViewMode

ORANGE = QColor("#e69f00")
SKY_BLUE = QColor("#56b4e9")
GREEN = QColor("#009e73")
YELLOW = QColor("#f0e442")
BLUE = QColor("#0072b2")
VERMILION = QColor("#d55e00")
PURPLE = QColor("#cc79a7")


@dataclass(frozen=True)
class CanvasColours:
    """What the canvas is painted with, apart from the art."""

    pasteboard: QColor
    sheet: dict[str, Colour]
    sheet_edge: QColor
    ruler: QColor
    ruler_tick: QColor
    ruler_text: QColor
    text: QColor
    quiet_text: QColor
    selection: QColor
    handle: QColor
    ghost: QColor
    label: QColor
    label_text: QColor
    halo: QColor
    open_end: QColor
    direction: QColor

    @classmethod
    def of(cls, palette: QPalette, mode: str = "fill") -> CanvasColours:
        """Return the colours that go with a window's palette; in the dark, outlines are shown on a dark sheet."""
        window = palette.color(QPalette.ColorRole.Window)
        text = palette.color(QPalette.ColorRole.WindowText)
        dark = window.lightness() < 128
        if dark:
            return cls(
                pasteboard=window.darker(125),
                sheet={"fill": Colour(0xD2, 0xD5, 0xD9), "outline": Colour(0x1B, 0x1E, 0x23)},
                sheet_edge=window.lighter(210),
                ruler=window,
                ruler_tick=_mixed(window, text, 0.55),
                ruler_text=_mixed(window, text, 0.85),
                text=text,
                quiet_text=_mixed(window, text, 0.8),
                selection=SKY_BLUE if mode == "outline" else BLUE,
                handle=QColor("#0f1216") if mode == "outline" else QColor("#ffffff"),
                ghost=ORANGE if mode == "outline" else VERMILION,
                label=QColor("#f4f6f8"),
                label_text=QColor("#14181d"),
                halo=QColor("#14181d"),
                open_end=ORANGE,
                direction=SKY_BLUE,
            )
        return cls(
            pasteboard=window.darker(109),
            sheet={"fill": Colour(255, 255, 255), "outline": Colour(255, 255, 255)},
            sheet_edge=window.darker(150),
            ruler=window.lighter(102),
            ruler_tick=_mixed(window, text, 0.5),
            ruler_text=_mixed(window, text, 0.8),
            text=text,
            quiet_text=_mixed(window, text, 0.8),
            selection=BLUE,
            handle=QColor("#ffffff"),
            ghost=VERMILION,
            label=QColor("#1d2430"),
            label_text=QColor("#ffffff"),
            halo=QColor("#ffffff"),
            open_end=VERMILION,
            direction=BLUE,
        )

    def paper(self, mode: ViewMode) -> Colour:
        """Return the colour of the sheet in a view."""
        return self.sheet[mode.value]


def _mixed(ground: QColor, ink: QColor, share: float) -> QColor:
    return QColor(
        *(
            round(low + (high - low) * share)
            for low, high in zip(
                (ground.red(), ground.green(), ground.blue()), (ink.red(), ink.green(), ink.blue()), strict=True
            )
        )
    )
