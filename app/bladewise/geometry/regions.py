"""A region: a path together with the rule by which it paints."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from bladewise.geometry.path import Path


class FillRule(StrEnum):
    """Which places a path encloses (SVG 2, section 13.4, "fill-rule")."""

    NONZERO = "nonzero"
    EVEN_ODD = "evenodd"


class Region(NamedTuple):
    """The area a path paints under a fill rule; open subpaths are closed by a line, as painting does."""

    path: Path
    rule: FillRule = FillRule.NONZERO
