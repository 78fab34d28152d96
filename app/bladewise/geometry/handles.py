"""One cubic, one arc or one line through a stretch of points, for many stretches at once.

A stretch has fixed ends and, for a cubic, fixed end directions; what is left to find are the two
handle lengths (P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics
Gems, 1990). Schneider alternates between the lengths and the parameters of the points and needs
many rounds. Here the lengths are found by Gauss-Newton steps on the distances measured square to the
curve, to which the parameters matter only in the second order, and the parameters move with them, so
that a few rounds settle both.

A stretch comes as m samples with an allowed distance each; the fit's *strain* is the largest
distance over what is allowed: 1 or less is good. Lengths are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_ROUNDS = 6
"""Gauss-Newton rounds for the handle lengths."""
_SEARCH_ROUNDS = 3
"""Rounds after which a fit may be left or given up in a search."""
_FEET = 2
"""Rounds in which the samples' feet settle afterwards."""
_STIFFNESS = 1e-8
"""Share of a third of the run's length that a handle is held to where the points do not tell."""
_SHORTEST_HANDLE = 0.02
"""Least handle as a share of the run's length: no handle turns back or vanishes."""
_LONGEST_HANDLE = 1.2
"""Greatest handle as a share of the run's length; longer ones make loops."""


class Stretches(NamedTuple):
    """Stretches of points to be followed, k of them with m samples each."""

    samples: Floats
    """Shape (k, m, 2); the first and the last are the ends."""
    along: Floats
    """Length run from the stretch's start to each sample, shape (k, m)."""
    allowed: Floats
    """Distance allowed at each sample, shape (k, m)."""
    first: Floats
    """Unit direction of travel at the start, shape (k, 2)."""
    last: Floats
    """Unit direction of travel at the end, shape (k, 2)."""


def fit_cubics(
    stretches: Stretches, *, rounds: int = _ROUNDS, feet: int = _FEET, hopeless: float | None = None
) -> tuple[Floats, Floats]:
    """Return the control points, shape (k, 4, 2), and the strain, shape (k,), of the best cubic for each.

    Parameters
    ----------
    stretches
        What the cubics are to follow.
    rounds, feet
        Gauss-Newton rounds, and rounds in which the feet settle afterwards; more where one fit must be as good as can
        be.
    hopeless
        If given, a fit that is near enough after a few rounds is left at that, and one that strays by this
        many times what is allowed is given up.
    """
    samples = stretches.samples
    px, py = samples[..., 0] - samples[:, :1, 0], samples[..., 1] - samples[:, :1, 1]
    run = np.maximum(stretches.along[:, -1], 1e-300)
    ends = (px[:, -1:], py[:, -1:], *(way[:, axis, None] for way in stretches[3:] for axis in (0, 1)))
    at = np.clip(stretches.along / run[:, None], 0.0, 1.0)  # where a stretch has no length, rounding is all there is
    fit = _Handles(px, py, stretches.allowed, ends, run, at, run / 3.0, run / 3.0)
    if hopeless is None:
        fit.settle(rounds, feet)
    else:
        fit.settle(_SEARCH_ROUNDS, 1)
        unsure = np.flatnonzero((fit.strain > 1.0) & (fit.strain < hopeless))
        if len(unsure):
            some = fit.only(unsure)
            some.settle(_ROUNDS - _SEARCH_ROUNDS, _FEET)
            fit.one[unsure], fit.two[unsure], fit.strain[unsure] = some.one, some.two, some.strain
    control = np.empty((len(samples), 4, 2))
    control[:, 0], control[:, 3] = samples[:, 0], samples[:, -1]
    control[:, 1] = samples[:, 0] + fit.one[:, None] * stretches.first
    control[:, 2] = samples[:, -1] - fit.two[:, None] * stretches.last
    return control, fit.strain


class _Handles:
    """The search for handle lengths of some cubics, as it stands."""

    def __init__(
        self,
        px: Floats,
        py: Floats,
        allowed: Floats,
        ends: tuple[Floats, ...],
        run: Floats,
        t: Floats,
        one: Floats,
        two: Floats,
    ) -> None:
        self.px, self.py, self.allowed, self.ends, self.run = px, py, allowed, ends, run
        self.t, self.one, self.two = t, one, two
        self.strain = np.full(len(px), np.inf)

    def only(self, rows: NDArray[np.int64]) -> _Handles:
        """Return the search for some of them."""
        ends = tuple(each[rows] for each in self.ends)
        fixed = (self.px[rows], self.py[rows], self.allowed[rows], ends, self.run[rows])
        return _Handles(*fixed, self.t[rows], self.one[rows], self.two[rows])

    def settle(self, rounds: int, feet: int) -> None:
        """Take some Gauss-Newton steps, let the feet settle, and note the strain."""
        px, py, ends, run, t, one, two = self.px, self.py, self.ends, self.run, self.t, self.one, self.two
        _, _, fx, fy, gx, gy = ends
        third = run / 3.0
        least, most = _SHORTEST_HANDLE * run, _LONGEST_HANDLE * run
        hold = _STIFFNESS * px.shape[1]
        for _ in range(rounds):
            b1, b2, offx, offy, vx, vy, square = _looked_at(t, px, py, ends, one, two)
            # away from the curve, times its speed
            away = offy * vx - offx * vy
            by_one, by_two = b1 * (fy * vx - fx * vy), b2 * (gx * vy - gy * vx)
            weight = 1.0 / square
            weighted_one, weighted_two = by_one * weight, by_two * weight
            aa = np.einsum("km,km->k", weighted_one, by_one) + hold
            ab = np.einsum("km,km->k", weighted_one, by_two)
            bb = np.einsum("km,km->k", weighted_two, by_two) + hold
            pa = np.einsum("km,km->k", weighted_one, away) + hold * (third - one)
            pb = np.einsum("km,km->k", weighted_two, away) + hold * (third - two)
            det = aa * bb - ab * ab
            new_one = np.minimum(np.maximum(one + (bb * pa - ab * pb) / det, least), most)
            new_two = np.minimum(np.maximum(two + (aa * pb - ab * pa) / det, least), most)
            by, from_ = (new_one - one)[:, None] * b1, (new_two - two)[:, None] * b2
            ahead = (offx - by * fx + from_ * gx) * vx + (offy - by * fy + from_ * gy) * vy
            t = _slid(t, ahead * weight)
            one, two = new_one, new_two
        for _ in range(feet):
            _, _, offx, offy, vx, vy, square = _looked_at(t, px, py, ends, one, two)
            t = _slid(t, (offx * vx + offy * vy) / square)
        _, _, offx, offy, *_ = _looked_at(t, px, py, ends, one, two)
        self.strain = np.sqrt(((offx * offx + offy * offy) / (self.allowed * self.allowed)).max(axis=1))
        self.t, self.one, self.two = t, one, two


def _looked_at(
    t: Floats, px: Floats, py: Floats, ends: tuple[Floats, ...], one: Floats, two: Floats
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats]:
    """Return the middle Bernstein polynomials, the samples' offsets, the velocities and their squares at t."""
    ex, ey, fx, fy, gx, gy = ends
    s = 1.0 - t
    st3 = 3.0 * s * t
    b1, b2, tt = st3 * s, st3 * t, t * t
    upto = b2 + tt * t
    handle_one, handle_two = one[:, None], two[:, None]
    x1, y1 = handle_one * fx, handle_one * fy
    x2, y2 = handle_two * gx, handle_two * gy
    offx, offy = px - (b1 * x1 + upto * ex - b2 * x2), py - (b1 * y1 + upto * ey - b2 * y2)
    # the derivative's three control vectors: first handle, between the handles, last handle
    ss, twice = 3.0 * s * s, 2.0 * st3
    tt3 = 3.0 * tt
    vx = ss * x1 + twice * (ex - x1 - x2) + tt3 * x2
    vy = ss * y1 + twice * (ey - y1 - y2) + tt3 * y2
    return b1, b2, offx, offy, vx, vy, np.maximum(vx * vx + vy * vy, 1e-300)


def _slid(t: Floats, step: Floats) -> Floats:
    """Return parameters moved to the feet of the samples, never past an end, and in rising order."""
    moved = t + np.minimum(np.maximum(step, -0.1), 0.1)
    moved = np.minimum(np.maximum(moved, 0.0), 1.0)
    moved[:, 0], moved[:, -1] = 0.0, 1.0
    rising: Floats = np.maximum.accumulate(moved, axis=1)
    return rising


class Arcs(NamedTuple):
    """Circular arcs, k of them."""

    centres: Floats
    sweeps: Floats
    """Angle swept in radians, shape (k,), positive clockwise on the screen."""
    strain: Floats
    first: Floats
    """Unit direction at the start, shape (k, 2)."""
    last: Floats


def fit_arcs(stretches: Stretches) -> Arcs:
    """Return for each stretch the arc through both its ends that lies nearest to its samples.

    The circles through both ends have one free number, the place of the centre on the chord's middle
    line; the algebraic distance is linear in it (I. Kåsa 1976, held to two points). Strain is
    infinite where the samples do not run along the arc in order.
    """
    samples, allowed = stretches.samples, stretches.allowed
    start, end = samples[:, 0], samples[:, -1]
    chord = end - start
    half = np.hypot(chord[:, 0], chord[:, 1]) / 2.0
    safe = np.maximum(half, 1e-300)
    normal = np.stack([-chord[:, 1], chord[:, 0]], axis=1) / (2.0 * safe[:, None])
    off = samples - ((start + end) / 2.0)[:, None]
    height = (off * normal[:, None]).sum(axis=-1)
    power = (off * off).sum(axis=-1) - (half * half)[:, None]
    shift = (height * power).sum(axis=1) / np.maximum(2.0 * (height * height).sum(axis=1), 1e-300)
    centres = (start + end) / 2.0 + shift[:, None] * normal
    radius = np.hypot(shift, half)
    spoke = samples - centres[:, None]
    a, b = spoke[:, :-1], spoke[:, 1:]
    turned = np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], (a * b).sum(axis=-1))
    sweeps = turned.sum(axis=1)
    way = np.where(sweeps < 0.0, -1.0, 1.0)
    so_far = np.concatenate([np.zeros((len(turned), 1)), np.cumsum(turned, axis=1)], axis=1) * way[:, None]
    beyond = np.maximum(np.maximum(-so_far, so_far - np.abs(sweeps)[:, None]), 0.0) * radius[:, None]
    away = np.hypot(spoke[..., 0], spoke[..., 1]) - radius[:, None]
    strain = (np.hypot(away, beyond) / allowed).max(axis=1)
    # a sample may fall back by its allowance, no more
    back = -turned * way[:, None] * radius[:, None] > 2.0 * allowed[:, 1:]
    bad = back.any(axis=1) | (half == 0.0) | (np.abs(sweeps) > 1.95 * np.pi) | ~np.isfinite(radius)
    first = _turned(samples[:, 0] - centres, way)
    last = _turned(samples[:, -1] - centres, way)
    return Arcs(centres, sweeps, np.where(bad, np.inf, strain), first, last)


def _turned(spoke: Floats, way: Floats) -> Floats:
    """Return the direction of travel at the end of a spoke."""
    far = np.maximum(np.hypot(spoke[:, 0], spoke[:, 1]), 1e-300)
    unit: Floats = np.stack([-spoke[:, 1], spoke[:, 0]], axis=1) * (way / far)[:, None]
    return unit


def line_strain(stretches: Stretches) -> Floats:
    """Return the strain of the straight line between the ends, shape (k,); infinite where it would turn back."""
    samples, allowed = stretches.samples, stretches.allowed
    chord = samples[:, -1] - samples[:, 0]
    long = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-300)
    unit = chord / long[:, None]
    off = samples - samples[:, :1]
    away = off[..., 0] * unit[:, None, 1] - off[..., 1] * unit[:, None, 0]
    ahead = (off * unit[:, None]).sum(axis=-1)
    beyond = np.maximum(np.maximum(-ahead, ahead - long[:, None]), 0.0)
    # without a chord there is no direction, and every way counts
    away = np.where((long > 1e-300)[:, None], np.hypot(away, beyond), np.hypot(off[..., 0], off[..., 1]))
    strain = (away / allowed).max(axis=1)
    back = (np.diff(ahead, axis=1) < -2.0 * allowed[:, 1:]).any(axis=1)
    return np.where(back, np.inf, strain)
