"""Points and edges known again by their bits: GEOS keeps the coordinates of vertices it does not make."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats


def point_keys(points: Floats) -> NDArray[np.uint64]:
    """Return a 64-bit hash of each point's bits, shape (n,)."""
    bits = np.ascontiguousarray(points).view(np.uint64).reshape(-1, 2)
    x, y = bits[:, 0].copy(), bits[:, 1].copy()
    for word, odd in ((x, 0x9E3779B97F4A7C15), (y, 0xC2B2AE3D27D4EB4F)):
        word ^= word >> np.uint64(29)
        word *= np.uint64(odd)
        word ^= word >> np.uint64(32)
    key = x * np.uint64(0xD6E8FEB86659FD93) + y
    key ^= key >> np.uint64(31)
    key *= np.uint64(0xFF51AFD7ED558CCD)
    key ^= key >> np.uint64(33)
    return key


def edge_keys(start: NDArray[np.uint64], end: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return a 64-bit hash of each edge from those of its ends, the same in both directions, shape (n,)."""
    key: NDArray[np.uint64] = (start + end) * np.uint64(0x9E3779B97F4A7C15) ^ (start ^ end)
    return key
