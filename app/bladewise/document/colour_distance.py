"""How far apart two colours look: sRGB to CIELAB, and the CIEDE2000 colour difference.

From sRGB to XYZ: IEC 61966-2-1, white D65. From XYZ to L*a*b*: CIE 15. The difference: CIE 142-2001 in the form
of G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test
Data, and Mathematical Observations", Color Research and Application 30 (2005), whose numbers of equations stand
beside the lines; kL = kC = kH = 1. All formulas from memory, held against the paper's 34 pairs by the tests.

A difference of 1 is about what a trained eye just sees side by side; vinyls a customer would call the same colour lie
within 2 or 3 (common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from bladewise.document.style import Colour

Floats: TypeAlias = NDArray[np.float64]

_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
"""Linear sRGB to XYZ, white D65, Y of white 1."""
_WHITE = _TO_XYZ.sum(axis=1)
"""What sRGB's own white becomes, so that every grey has a* = b* = 0."""
_EPSILON, _KAPPA = 216.0 / 24389.0, 24389.0 / 27.0
"""Where L*'s cube root gives way to a line, and the line's slope (CIE 15, as exact fractions)."""
_SEVENTH = 25.0**7


def lab(colours: Sequence[Colour] | ArrayLike) -> Floats:
    """Return the L*, a*, b* of sRGB colours, white D65.

    Parameters
    ----------
    colours
        Channels from 0 to 255, shape (..., 3).

    Returns
    -------
    Floats
        Shape (..., 3); L* from 0 (black) to 100 (white).

    Examples
    --------
    >>> lab([(255, 255, 255), (0, 0, 0)]).round(6).tolist()
    [[100.0, 0.0, 0.0], [0.0, 0.0, 0.0]]
    """
    channel = np.asarray(colours, dtype=np.float64) / 255.0
    linear = np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)
    share = linear @ _TO_XYZ.T / _WHITE
    f = np.where(share > _EPSILON, np.cbrt(share), (_KAPPA * share + 16.0) / 116.0)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    made: Floats = np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1) + 0.0
    return made


def ciede2000(one: ArrayLike, other: ArrayLike) -> Floats:
    """Return the CIEDE2000 differences of colours given as L*, a*, b*.

    Parameters
    ----------
    one, other
        Shapes (..., 3), which are broadcast against each other.

    Examples
    --------
    >>> float(ciede2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]).round(4))
    2.0425
    """
    first, second = np.broadcast_arrays(np.asarray(one, np.float64), np.asarray(other, np.float64))
    (l1, a1, b1), (l2, a2, b2) = np.moveaxis(first, -1, 0), np.moveaxis(second, -1, 0)
    mean = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2.0  # (3)
    g = 0.5 * (1.0 - np.sqrt(mean**7 / (mean**7 + _SEVENTH)))  # (4)
    a1, a2 = (1.0 + g) * a1, (1.0 + g) * a2  # (5)
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)  # (6)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360.0, np.degrees(np.arctan2(b2, a2)) % 360.0  # (7)
    grey = c1 * c2 == 0.0
    turn = h2 - h1
    turn = np.where(turn > 180.0, turn - 360.0, np.where(turn < -180.0, turn + 360.0, turn))
    turn = np.where(grey, 0.0, turn)  # (10)
    lighter, purer = l2 - l1, c2 - c1  # (8), (9)
    hue = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2.0)  # (11)
    lightness, chroma = (l1 + l2) / 2.0, (c1 + c2) / 2.0  # (12), (13)
    total = h1 + h2
    middle = np.where(np.abs(h1 - h2) <= 180.0, total / 2.0, (total + np.where(total < 360.0, 360.0, -360.0)) / 2.0)
    middle = np.where(grey, total, middle)  # (14)
    t = (
        1.0
        - 0.17 * _cos(middle - 30.0)
        + 0.24 * _cos(2.0 * middle)
        + 0.32 * _cos(3.0 * middle + 6.0)
        - 0.20 * _cos(4.0 * middle - 63.0)
    )  # (15)
    spread = 30.0 * np.exp(-(((middle - 275.0) / 25.0) ** 2))  # (16)
    r_c = 2.0 * np.sqrt(chroma**7 / (chroma**7 + _SEVENTH))  # (17)
    off = (lightness - 50.0) ** 2
    s_l = 1.0 + 0.015 * off / np.sqrt(20.0 + off)  # (18)
    s_c = 1.0 + 0.045 * chroma  # (19)
    s_h = 1.0 + 0.015 * chroma * t  # (20)
    r_t = -np.sin(np.radians(2.0 * spread)) * r_c  # (21)
    dl, dc, dh = lighter / s_l, purer / s_c, hue / s_h
    found: Floats = np.sqrt(np.maximum(dl**2 + dc**2 + dh**2 + r_t * dc * dh, 0.0))  # (22)
    return found


def colour_distances(colours: Sequence[Colour], others: Sequence[Colour] | None = None) -> Floats:
    """Return how far each colour looks from each other one (CIEDE2000), shape (n, m); m is n if only one list is given.

    Examples
    --------
    >>> from bladewise.document.style import Colour
    >>> colour_distances([Colour(0, 0, 0)], [Colour(255, 255, 255)]).round(6).tolist()
    [[100.0]]
    """
    one = lab(np.asarray(colours, np.float64).reshape(-1, 3))
    other = one if others is None else lab(np.asarray(others, np.float64).reshape(-1, 3))
    return ciede2000(one[:, None], other[None, :])


def colour_distance(one: Colour, other: Colour) -> float:
    """Return how far apart two colours look (CIEDE2000): 0 the same, 1 hardly seen, 100 from black to white."""
    return float(ciede2000(lab(one), lab(other)))


def _cos(degrees: Floats) -> Floats:
    made: Floats = np.cos(np.radians(degrees))
    return made
