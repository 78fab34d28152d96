"""One cubic, one arc or one line through a stretch of points, for many stretches at once.

A stretch has fixed ends and, for a cubic, fixed end directions; what is left to find are the two
handle lengths (P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics
Gems, 1990). Schneider alternates between the lengths and the parameters of the points and needs
many rounds. Here the lengths are found by Gauss-Newton steps on the distances measured square to the
curve, to which the parameters matter only in the second order, so that a few rounds settle it.

A stretch comes as m samples with an allowed distance each; the fit's *strain* is the largest
distance over what is allowed: 1 or less is good. Lengths are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bernstein import basis, basis_first

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats

_ROUNDS = 6
"""Gauss-Newton rounds for the handle lengths."""
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


def fit_cubics(stretches: Stretches) -> tuple[Floats, Floats]:
    """Return the control points, shape (k, 4, 2), and the strain, shape (k,), of the best cubic for each."""
    samples, along, allowed, first, last = stretches
    start, end = samples[:, 0], samples[:, -1]
    run = np.maximum(along[:, -1], 1e-300)
    t = along / run[:, None]
    lengths = np.repeat(run[:, None] / 3.0, 2, axis=1)
    control = np.ones((len(samples), 4, 3))
    local = samples - start[:, None]
    for _ in range(_ROUNDS):
        _place(control, start, end, first, last, lengths)
        weight, velocity = basis(t), basis_first(t) @ control[..., :2]
        speed = np.maximum(np.hypot(velocity[..., 0], velocity[..., 1]), 1e-300)
        normal = np.stack([-velocity[..., 1], velocity[..., 0]], axis=-1) / speed[..., None]
        off = local - weight @ control[..., :2]
        away = (off * normal).sum(axis=-1)
        towards_first, towards_last = (normal @ first[:, :, None])[..., 0], (normal @ last[:, :, None])[..., 0]
        pull = np.stack([weight[..., 1] * towards_first, -weight[..., 2] * towards_last], axis=-1)
        square = np.einsum("kmi,kmj->kij", pull, pull)
        right = np.einsum("kmi,km->ki", pull, away)
        hold = _STIFFNESS * samples.shape[1]
        square[:, 0, 0] += hold
        square[:, 1, 1] += hold
        right += hold * (run[:, None] / 3.0 - lengths)
        det = square[:, 0, 0] * square[:, 1, 1] - square[:, 0, 1] ** 2
        step = np.stack(
            [
                square[:, 1, 1] * right[:, 0] - square[:, 0, 1] * right[:, 1],
                square[:, 0, 0] * right[:, 1] - square[:, 0, 1] * right[:, 0],
            ],
            axis=1,
        )
        lengths = lengths + step / det[:, None]
        lengths = np.clip(lengths, _SHORTEST_HANDLE * run[:, None], _LONGEST_HANDLE * run[:, None])
        _place(control, start, end, first, last, lengths)
        t = _foot(control, local, t)
    _place(control, start, end, first, last, lengths)
    for _ in range(2):
        t = _foot(control, local, t)
    off = local - basis(t) @ control[..., :2]
    strain: Floats = (np.hypot(off[..., 0], off[..., 1]) / allowed).max(axis=1)
    out = control[..., :2] + start[:, None]
    out[:, 3] = end
    return out, strain


def _place(control: Floats, start: Floats, end: Floats, first: Floats, last: Floats, lengths: Floats) -> None:
    """Set the control points from the handle lengths, relative to the start."""
    control[:, 0, :2] = 0.0
    control[:, 3, :2] = end - start
    control[:, 1, :2] = lengths[:, :1] * first
    control[:, 2, :2] = control[:, 3, :2] - lengths[:, 1:] * last


def _foot(control: Floats, local: Floats, t: Floats) -> Floats:
    """Return the parameters one step nearer to the feet of the samples on the curves."""
    at, slope = basis(t) @ control[..., :2], basis_first(t) @ control[..., :2]
    square = np.maximum((slope * slope).sum(axis=-1), 1e-300)
    return _slid(t, ((local - at) * slope).sum(axis=-1) / square)


def _slid(t: Floats, step: Floats) -> Floats:
    """Return parameters moved to the feet of the samples, never past an end, and in rising order."""
    moved = np.clip(t + np.clip(step, -0.1, 0.1), 0.0, 1.0)
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
