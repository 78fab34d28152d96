"""What a material asks of the art: the blade that cuts it, how thin and how small it may be, its roll.

Each value stands on the material and is the operator's; one left out is the default. The defaults are
common practice, no source: they are what a shop with a drag knife and sign vinyl would call safe.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple


class Bounds(NamedTuple):
    """What a profile's value may be."""

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Profile:
    """What the operator knows of a material; None stands for the default.

    Parameters
    ----------
    blade_width_mm
        How wide the blade is where it turns: places nearer than this are one to it.
    thickness_mm
        Of the film without its liner.
    least_piece_mm2
        Pieces of less area lift off with the waste or are lost.
    least_bridge_mm, least_gap_mm
        Strips and gaps narrower than this take long to weed, or tear.
    sharpest_corner_deg
        Corners whose sides enclose less than this tear when the blade swivels.
    least_bleed_mm
        How far a print must run on beyond its cut line, or end before it.
    roll_width_mm
        Of the roll that can be cut; None: not known.
    price_a_m2
        What a square metre costs, in the shop's own money; None: not known.
    heat_transfer
        Whether it is pressed on from the back, and so cut mirrored.
    like
        The kind of material (a name in `KNOWN_PROFILES`) whose common values stand for what is left out.
    """

    blade_width_mm: float | None = None
    thickness_mm: float | None = None
    least_piece_mm2: float | None = None
    least_bridge_mm: float | None = None
    least_gap_mm: float | None = None
    sharpest_corner_deg: float | None = None
    least_bleed_mm: float | None = None
    roll_width_mm: float | None = None
    price_a_m2: float | None = None
    heat_transfer: bool = False
    like: str | None = None

    def over(self, base: Profile) -> Profile:
        """Return this profile, with what it leaves out taken from the kind it is like, or else from another."""
        given = {name: value for name in VALUES if (value := getattr(self, name)) is not None}
        kind = KNOWN_PROFILES.get(self.like) if self.like is not None else None
        if kind is not None:
            return replace(kind, **given, heat_transfer=self.heat_transfer, like=self.like)
        return replace(base, **given, heat_transfer=self.heat_transfer or base.heat_transfer)

    @property
    def common(self) -> Profile:
        """What is common practice for its kind: what holds for each value that is left out."""
        return KNOWN_PROFILES.get(self.like or "vinyl", DEFAULTS)


VALUES: dict[str, Bounds] = {
    "blade_width_mm": Bounds(0.0, 5.0),
    "thickness_mm": Bounds(0.0, 20.0),
    "least_piece_mm2": Bounds(0.0, 1e6),
    "least_bridge_mm": Bounds(0.0, 100.0),
    "least_gap_mm": Bounds(0.0, 100.0),
    "sharpest_corner_deg": Bounds(0.0, 120.0),
    "least_bleed_mm": Bounds(0.0, 100.0),
    "roll_width_mm": Bounds(1.0, 1e5),
    "price_a_m2": Bounds(0.0, 1e6),
}
"""The numbers of a profile, and between which bounds each makes sense."""

NO_PROFILE = Profile()

DEFAULTS = Profile(
    blade_width_mm=0.02,
    thickness_mm=0.07,
    least_piece_mm2=4.0,
    least_bridge_mm=0.5,
    least_gap_mm=0.5,
    sharpest_corner_deg=10.0,
    least_bleed_mm=1.0,
)
"""Sign vinyl under a drag knife (each value common practice, no source). The roll's width is not guessed."""

KNOWN_PROFILES: dict[str, Profile] = {
    "vinyl": DEFAULTS,
    "cast-vinyl": replace(DEFAULTS, thickness_mm=0.05, least_piece_mm2=3.0, least_bridge_mm=0.4, least_gap_mm=0.4),
    "reflective": replace(
        DEFAULTS,
        thickness_mm=0.15,
        least_piece_mm2=9.0,
        least_bridge_mm=1.5,
        least_gap_mm=1.5,
        sharpest_corner_deg=20.0,
    ),
    "heat-transfer": replace(
        DEFAULTS, thickness_mm=0.09, least_piece_mm2=4.0, least_bridge_mm=0.8, least_gap_mm=0.8, heat_transfer=True
    ),
    "stencil-film": replace(DEFAULTS, thickness_mm=0.1, least_bridge_mm=1.5, least_gap_mm=1.0),
    "paper": replace(DEFAULTS, thickness_mm=0.2, least_bridge_mm=1.0, least_gap_mm=0.8, sharpest_corner_deg=15.0),
}
"""Profiles by the kind of material (each value common practice, no source), for art whose material has none."""
