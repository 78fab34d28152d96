"""The one cubic that stands for several segments: its ends and their directions given, nearest to them all.

Only the two handle lengths are free. Following a long run with one cubic is far from it in places, and
there the sum of squared distances has more than one hollow. So the lengths are first looked for on a
grid, by the distances both ways between points of the run and of the cubic; from the best few, steps of
Levenberg and Marquardt on the distances from the run to their feet on the cubic go down to the bottom
(K. Levenberg 1944, D. Marquardt 1963), and the deepest counts.

Lengths are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.bernstein import basis
from bladewise.geometry.crossings import Curves, project
from bladewise.geometry.curves import derivative_at, point_at
from bladewise.geometry.nodes import directions
from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path

_SAMPLES = 64
"""Places at which the cubic is held to the run, evenly along it."""

_SHARES = np.array([0.02, 0.06, 0.12, 0.2, 0.28, 0.36, 0.45, 0.55, 0.67, 0.8, 1.0])
"""Handle lengths tried, as shares of the run's length; a third is what a gentle curve has."""

_LOOK = 24
"""Points of the run and of the cubic that are compared on the grid."""

_STARTS = 3
_ROUNDS = 25
_ENOUGH = 1e-5
"""A step that gains less than this share of what is left is the last."""
_GENTLE_SHARE = 1e-3
"""A cubic that strays by no more than this share of the run's length lies in the one hollow there is."""

_LEAST_SHARE = 1e-3
"""No handle gets shorter than this share of the run's length, so that it keeps its direction."""


def nearest_cubic(path: Path) -> Floats:
    """Return the control points, shape (4, 2), of the cubic nearest to an open path with its end directions.

    Nearest in the sense of least squares of the distances from evenly spaced points of the path.
    """
    samples, run = _even(path)
    leaving, arriving = directions(path)
    ways = np.stack([_unit(leaving[0]), -_unit(arriving[-1])])
    if run <= 0.0:
        return np.stack([samples[0], samples[0], samples[-1], samples[-1]])
    best, least = np.zeros(2), np.inf
    for start in _likely(samples, ways, run):
        lengths, cost = _settled(samples, ways, start, run)
        if cost < least:
            best, least = lengths, cost
        if least <= (_GENTLE_SHARE * run) ** 2:
            break
    return _control(samples, ways, best)


def _even(path: Path) -> tuple[Floats, float]:
    """Return points evenly along an open path, its ends to the last bit, and its length."""
    each = max(8, -(-4 * _SAMPLES // len(path)))
    rows = np.repeat(np.arange(len(path)), each)
    t = np.tile(np.arange(each) / each, len(path))
    dense = np.concatenate([point_at(path.points[rows], path.kinds[rows], path.weights[rows], t), path.points[-1:, 3]])
    run = np.append(0.0, np.cumsum(np.hypot(*np.diff(dense, axis=0).T)))
    even = np.linspace(0.0, run[-1], _SAMPLES)
    samples = np.stack([np.interp(even, run, dense[:, axis]) for axis in range(2)], axis=1)
    samples[0], samples[-1] = dense[0], dense[-1]
    return samples, float(run[-1])


def _likely(samples: Floats, ways: Floats, run: float) -> Floats:
    """Return the most promising handle lengths of a grid, shape (k, 2)."""
    lengths = run * np.stack(np.meshgrid(_SHARES, _SHARES, indexing="ij"), axis=-1).reshape(-1, 2)
    weights = basis(np.linspace(0.0, 1.0, _LOOK))
    control = np.empty((len(lengths), 4, 2))
    control[:, 0], control[:, 3] = samples[0], samples[-1]
    control[:, 1] = samples[0] + lengths[:, :1] * ways[0]
    control[:, 2] = samples[-1] + lengths[:, 1:] * ways[1]
    few = samples[np.linspace(0, len(samples) - 1, _LOOK).astype(int)]
    gaps = (weights @ control)[:, :, None] - few
    square = gaps[..., 0] ** 2 + gaps[..., 1] ** 2
    cost = square.min(axis=1).mean(axis=1) + square.min(axis=2).mean(axis=1)
    likely: Floats = lengths[np.argsort(cost, kind="stable")[:_STARTS]]
    return likely


def _settled(samples: Floats, ways: Floats, lengths: Floats, run: float) -> tuple[Floats, float]:
    """Return handle lengths at the bottom of the hollow they start in, and the mean square of the distances."""
    damping = 1e-3
    t, off, cost = _looked_at(samples, ways, lengths)
    for _ in range(_ROUNDS):
        middle = basis(t)[:, 1:3]
        _, along = derivative_at(*_repeated(samples, ways, lengths), t)
        normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.hypot(*along.T), 1e-300)[:, None]
        slope = middle * (normal @ ways.T)
        away = (off * normal).sum(axis=1)
        square = slope.T @ slope
        step = np.linalg.solve(square + damping * (np.diag(np.diag(square)) + 1e-12 * np.eye(2)), slope.T @ away)
        tried = np.clip(lengths + step, _LEAST_SHARE * run, 2.0 * run)
        new = _looked_at(samples, ways, tried)
        if new[2] < cost:
            gained = cost - new[2]
            lengths, (t, off, cost) = tried, new
            damping = max(damping / 10.0, 1e-9)
            if gained <= _ENOUGH * cost:
                break
        elif damping > 1e3:
            break
        else:
            damping *= 10.0
    return lengths, cost


def _looked_at(samples: Floats, ways: Floats, lengths: Floats) -> tuple[Floats, Floats, float]:
    """Return where on the cubic each sample has its foot, how far off it is, and the mean square of that."""
    curves = _repeated(samples, ways, lengths)
    t, _ = project(curves, samples)
    off = samples - point_at(*curves, t)
    return t, off, float((off * off).sum(axis=1).mean())


def _repeated(samples: Floats, ways: Floats, lengths: Floats) -> Curves:
    control = np.broadcast_to(_control(samples, ways, lengths), (len(samples), 4, 2))
    return Curves(control, np.full(len(samples), SegmentKind.CUBIC, np.uint8), np.ones(len(samples)))


def _control(samples: Floats, ways: Floats, lengths: Floats) -> Floats:
    return np.stack([samples[0], samples[0] + lengths[0] * ways[0], samples[-1] + lengths[1] * ways[1], samples[-1]])


def _unit(vector: Floats) -> Floats:
    far = float(np.hypot(vector[0], vector[1]))
    unit: Floats = vector / far if far > 0.0 else np.array([1.0, 0.0])
    return unit
