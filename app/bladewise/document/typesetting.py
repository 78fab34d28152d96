"""How live lettering is set beyond family, size and weight: measured height, spaces, width, alternates, bends.

All of it stays with the lettering, so that a word can be retyped and comes out set the same way.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from bladewise.geometry.path import EMPTY, Path


class Height(StrEnum):
    """What a lettering's size is the height of. A sign is ordered by the height of its letters."""

    EM = "em"
    CAPS = "caps"
    X = "x"
    TOTAL = "total"


class Fit(StrEnum):
    """What happens to lettering that has a width to keep to."""

    SHRINK = "shrink"
    STRETCH = "stretch"
    SPACE = "space"


class BendKind(StrEnum):
    """The shapes a line of lettering can be bent to."""

    ARC = "along-an-arc"
    PATH = "along-a-path"
    RIPPLE = "ripple"
    ARCH = "upright-arch"
    CLIMB = "climb"
    SWELL = "swell"
    CORNERS = "four-corners"


class Letters(StrEnum):
    """Whether letters along a line are bent with it or only turned, each as it is."""

    BENT = "bent"
    TURNED = "turned"


@dataclass(frozen=True, kw_only=True)
class Bending:
    """A bend with its numbers; each kind uses those that mean something to it.

    Parameters
    ----------
    kind
        Which bend.
    radius_mm
        Along an arc: of the baseline; positive like a rainbow, negative like a bowl. 0: by the angle.
    angle_deg
        Along an arc: the angle that the lettering fills, where no radius is given; negative like a bowl.
    rise_mm
        Upright arch and climb: how far it rises. Ripple: the height of a wave.
    wave_mm
        Ripple: from crest to crest.
    shift_mm
        Ripple: where the first wave begins. Along a path: how far off the path the baseline stands.
    start_mm
        Along a path: the length at which the lettering begins.
    other_side
        Along a path: on its other side, read the other way.
    share
        Swell: how much taller the middle is; 0.5 is half as tall again.
    eased
        Climb: level at both ends.
    corners_mm
        Four corners: how far each is pulled, x and y in turn, from the top left clockwise.
    letters
        Along an arc or a path: bent with it, or each as it is and only turned.
    even_spaces
        Along an arc or a path: spaces that look even at half the letters' height, whichever way the line bends.
    path
        The path for "along a path", in the lettering's own space.
    """

    kind: BendKind
    radius_mm: float = 0.0
    angle_deg: float = 0.0
    rise_mm: float = 0.0
    wave_mm: float = 0.0
    shift_mm: float = 0.0
    start_mm: float = 0.0
    other_side: bool = False
    share: float = 0.0
    eased: bool = True
    corners_mm: tuple[float, ...] = (0.0,) * 8
    letters: Letters = Letters.BENT
    even_spaces: bool = True
    path: Path = field(default=EMPTY)

    def scaled(self, along: float, high: float) -> Bending:
        """Return the bend with its lengths, but not its path, times one factor along the line and one across it.

        Operators give lengths as they come out on the sheet; lettering keeps them in its own space.
        """
        corners = tuple(length * (along, high)[index % 2] for index, length in enumerate(self.corners_mm))
        return dataclasses.replace(
            self,
            radius_mm=self.radius_mm * along,
            rise_mm=self.rise_mm * high,
            wave_mm=self.wave_mm * along,
            shift_mm=self.shift_mm * (high if self.kind is BendKind.PATH else along),
            start_mm=self.start_mm * along,
            corners_mm=corners,
        )


@dataclass(frozen=True, kw_only=True)
class Typesetting:
    """What is asked of a lettering besides its font, size and alignment.

    Parameters
    ----------
    height
        What the size is the height of.
    word_spacing_mm
        Extra space at each blank.
    line_spacing
        From baseline to baseline, in ems (CSS 2.2, "normal" line height: 1.0 to 1.2).
    width_mm, fit
        A width to keep to, and how; None sets it as wide as it comes.
    slant_deg
        How far uprights lean to the right.
    features
        OpenType features as HarfBuzz writes them: "smcp", "ss02", "salt[3]=2" for the fourth letter alone.
    axes
        Places on the axes of a variable font: ("wght", 625.0).
    bending
        The bend, if any.
    """

    height: Height = Height.EM
    word_spacing_mm: float = 0.0
    line_spacing: float = 1.2
    width_mm: float | None = None
    fit: Fit = Fit.SHRINK
    slant_deg: float = 0.0
    features: tuple[str, ...] = ()
    axes: tuple[tuple[str, float], ...] = ()
    bending: Bending | None = None

    def plain(self) -> dict[str, Any]:
        """Return what differs from the defaults as plain values; the bend's path is not among them."""
        values = _changed(self)
        if self.bending is not None:
            values["bending"] = {"kind": str(self.bending.kind), **_changed(self.bending)}
            values["bending"].pop("path", None)
        return values

    @classmethod
    def from_plain(cls, values: dict[str, Any], path: Path = EMPTY) -> Typesetting:
        """Return what `plain` gave; `path` is the bend's.

        Raises
        ------
        ValueError
            If the values are not of that form.
        """
        try:
            bending = values.get("bending")
            read = _read(cls, {name: value for name, value in values.items() if name != "bending"})
            if bending is not None:
                read["bending"] = Bending(**_read(Bending, bending), path=path)
            made = cls(**read)
        except (TypeError, AttributeError, KeyError, OverflowError) as error:
            message = f"this is not how lettering is set: {error}"
            raise ValueError(message) from error
        made._refuse_nonsense()
        return made

    def _refuse_nonsense(self) -> None:
        is_flat = self.width_mm is not None and self.width_mm <= 0.0
        is_odd = self.bending is not None and len(self.bending.corners_mm) != 8
        if is_flat or is_odd or abs(self.slant_deg) >= 90.0:
            message = "lettering takes widths above 0, slants below 90 degrees, and eight numbers for four corners"
            raise ValueError(message)


def _changed(value: Any) -> dict[str, Any]:
    changed = {}
    for each in dataclasses.fields(value):
        mine = getattr(value, each.name)
        if each.name in ("bending", "path", "kind") or mine == each.default:
            continue
        changed[each.name] = str(mine) if isinstance(mine, StrEnum) else mine
    return changed


_ENUMS: dict[str, type[StrEnum]] = {"height": Height, "fit": Fit, "kind": BendKind, "letters": Letters}
_TEXTS = ("features",)
_NUMBERS = ("corners_mm",)


def _read(kind: type[Any], values: dict[str, Any]) -> dict[str, Any]:
    known = {each.name: each for each in dataclasses.fields(kind)}
    read: dict[str, Any] = {}
    for name, value in values.items():
        default = known[name].default
        if name in _ENUMS:
            read[name] = _ENUMS[name](value)
        elif name in _TEXTS:
            read[name] = tuple(str(each) for each in value)
        elif name in _NUMBERS:
            read[name] = tuple(_finite(each) for each in value)
        elif name == "axes":
            read[name] = tuple((str(axis), _finite(place)) for axis, place in value)
        elif isinstance(default, bool):
            read[name] = bool(value)
        else:
            read[name] = None if value is None else _finite(value)
    return read


def _finite(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        message = f"{number} is no number to set lettering by"
        raise ValueError(message)
    return number


PLAIN = Typesetting()
"""Set as it comes."""
