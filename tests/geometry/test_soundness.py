"""Whether rings cross themselves: told where they do, and at a bounded price where two sides all but coincide."""

from __future__ import annotations

import numpy as np

from bladewise.geometry import soundness
from bladewise.geometry.path import Path, PathBuilder, circle, joined, polygon
from bladewise.geometry.soundness import WOVEN, Rings, crossed_places
from bladewise.geometry.tolerances import FLATTENING_MM


def rings_of(path: Path) -> Rings:
    size = path.ends - path.starts
    single = np.zeros(len(path), np.bool_)
    return Rings(path.points, path.kinds, path.weights, single, size, np.zeros(len(size), np.int64))


def halves(curve, where):
    """Return a cubic in two parts, by de Casteljau."""
    a, b, c, d = (np.asarray(point, np.float64) for point in curve)
    ab, bc, cd = a + (b - a) * where, b + (c - b) * where, c + (d - c) * where
    abc, bcd = ab + (bc - ab) * where, bc + (cd - bc) * where
    middle = abc + (bcd - abc) * where
    return (ab, abc, middle), (bcd, cd, d)


def with_spur(waves: int) -> Path:
    """Return a square with a spur of no width: out along waves, and back along the same ones in other parts."""
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    for corner in ((20.0, 0.0), (20.0, 20.0), (0.0, 20.0)):
        pen.line_to(corner)
    curves = [[(-10.0 * n, 20.0), (-10.0 * n - 3.0, 27.0), (-10.0 * n - 6.0, 11.0), (-10.0 * n - 10.0, 20.0)]
              for n in range(waves)]  # fmt: skip
    there = [part for curve in curves for part in halves(curve, 0.3)]
    back = [part for curve in reversed(curves) for part in halves(curve[::-1], 0.413)]
    for one, two, end in (*there, *back):
        pen.cubic_to(tuple(one.tolist()), tuple(two.tolist()), tuple(end.tolist()))
    pen.close()
    return pen.path()


def test_sound_rings_cross_nowhere_and_a_bow_crosses_in_its_middle():
    assert (
        len(crossed_places(rings_of(joined([circle((0, 0), 20), circle((0, 0), 10).reversed()])), FLATTENING_MM)) == 0
    )
    bow = polygon([(0, 0), (20, 20), (20, 0), (0, 20)])
    assert crossed_places(rings_of(bow), FLATTENING_MM).tolist() == [[10.0, 10.0]]


def test_sides_that_all_but_coincide_are_not_looked_at_ever_more_closely(monkeypatch):
    """Their chords cross the more often the finer they are: a minute of work went into one emoji."""
    looks = []
    plain = soundness._polygons
    monkeypatch.setattr(soundness, "_polygons", lambda *given: looks.append(1) or plain(*given))
    assert len(crossed_places(rings_of(with_spur(40)), FLATTENING_MM)) > WOVEN
    assert len(looks) == 1
