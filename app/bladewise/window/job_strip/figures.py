"""The figures of the chips: those of `bladewise.layout.figures`, so that window and job ticket say the same."""

from __future__ import annotations

from bladewise.layout.figures import Figurer, Figures, area_text, travel_text

__all__ = ["Figurer", "Figures", "area_text", "travel_text"]
