"""Fonts, shaping, and the outlines of live lettering."""

from bladewise.lettering.fonts import Face, families, find_face, search_also
from bladewise.lettering.setting import set_outline, word_outlines

__all__ = ["Face", "families", "find_face", "search_also", "set_outline", "word_outlines"]
