"""Outlines that are the same but for where they lie: copies of a sticker are worked on once, not five hundred times."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path

_DECIMALS = 5
"""Of a millimetre: copies differ by the rounding of their places, far below; drawings by more."""

Key: TypeAlias = tuple[bytes, ...]


def key_of(path: Path, origin: Floats) -> Key:
    """Return what is the same for two paths that differ by a move alone; `origin` is a point that moves with them."""
    places = np.round(path.points - origin, _DECIMALS) + 0.0
    return (
        places.tobytes(),
        path.kinds.tobytes(),
        np.round(path.weights, _DECIMALS).tobytes(),
        path.starts.tobytes(),
        path.closed.tobytes(),
    )
