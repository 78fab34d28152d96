"""Affine transforms, in the order and the letters of SVG: ``matrix(a b c d e f)``.

A point (x, y) goes to (a·x + c·y + e, b·x + d·y + f). Lengths are millimetres, y downward, so a
positive angle turns clockwise as seen on the screen (SVG 2, "Coordinate systems").
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Affine(NamedTuple):
    """An affine transform of the plane."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def moved(cls, dx: float, dy: float) -> Affine:
        """Return the move by (dx, dy) millimetres."""
        return cls(e=dx, f=dy)

    @classmethod
    def scaled(cls, sx: float, sy: float | None = None, *, about: tuple[float, float] = (0.0, 0.0)) -> Affine:
        """Return the scaling by sx across and sy down (sx for both if left out) that keeps one point still."""
        sy = sx if sy is None else sy
        return cls(sx, 0.0, 0.0, sy, about[0] * (1.0 - sx), about[1] * (1.0 - sy))

    @classmethod
    def rotated(cls, angle_deg: float, *, about: tuple[float, float] = (0.0, 0.0)) -> Affine:
        """Return the rotation about a point; positive turns clockwise on the screen."""
        quarter, rest = divmod(angle_deg, 90.0)
        if rest == 0.0:  # quarter turns keep whole numbers whole
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        x, y = about
        return cls(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)

    def after(self, first: Affine) -> Affine:
        """Return the transform that does `first`, then this one (the matrix product self · first)."""
        return Affine(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    @property
    def determinant(self) -> float:
        """The factor on areas; negative where the transform mirrors."""
        return self.a * self.d - self.b * self.c

    @property
    def mean_scale(self) -> float:
        """The factor on lengths, averaged over directions: the square root of the factor on areas."""
        return math.sqrt(abs(self.determinant))

    @property
    def along_scale(self) -> float:
        """The factor on lengths along x."""
        return math.hypot(self.a, self.b)

    @property
    def height_scale(self) -> float:
        """The factor on heights above lines along x, at right angles to them; 0 where those lines vanish."""
        return abs(self.determinant) / (self.along_scale or math.inf)

    @property
    def is_similarity(self) -> bool:
        """Whether circles stay circles (within one part in a thousand million)."""
        size = max(abs(self.a), abs(self.b), abs(self.c), abs(self.d), 1e-300)
        same = abs(self.a - self.d) + abs(self.b + self.c) < 1e-9 * size
        mirrored = abs(self.a + self.d) + abs(self.b - self.c) < 1e-9 * size
        return same or mirrored

    def inverse(self) -> Affine:
        """Return the transform that undoes this one.

        Raises
        ------
        ZeroDivisionError
            If the transform flattens the plane to a line or a point.
        """
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def apply(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the transformed points; any array whose last axis is (x, y)."""
        linear = np.array([[self.a, self.b], [self.c, self.d]])
        moved: NDArray[np.float64] = points @ linear + (self.e, self.f)
        return moved


IDENTITY = Affine()
