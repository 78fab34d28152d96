"""A placed picture is cut along the line as shapely has its area: outside it is clear, inside it is itself."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import shapely
from PIL import Image

from bladewise.document import Picture
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, circle, joined, rectangle
from bladewise.layout import clipping
from bladewise.layout.clipping import clipped
from bladewise.layout.cut_pictures import MOST_PIXELS

RING = joined([circle((50, 50), 20), circle((50, 50), 10).reversed()])


def photo(transform: Affine, size: tuple[int, int] = (300, 200), key: str = "photo") -> Picture:
    wide, high = size
    red, green = np.meshgrid(np.linspace(0, 255, wide), np.linspace(0, 255, high))
    pixels = np.stack([red, green, np.full_like(red, 90.0), np.full_like(red, 255.0)], axis=2).astype(np.uint8)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG")
    return Picture(key, stream.getvalue(), "image/png", transform)


def pixels(picture: Picture) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(picture.data)).convert("RGBA")).astype(float)


def covered_mm2(picture: Picture) -> float:
    found = pixels(picture)
    return float(found[..., 3].mean()) / 255.0 * abs(picture.transform.determinant)


@pytest.mark.parametrize(
    "transform",
    [
        Affine(60, 0, 0, 40, 20, 30),
        Affine(60, 0, 0, 40, 20, 30).after(Affine.rotated(20.0, about=(0.5, 0.5))),
        Affine(-60, 0, 10, 40, 75, 30),
    ],
    ids=["upright", "turned", "mirrored and sheared"],
)
def test_as_much_of_a_picture_is_left_as_lies_inside(transform: Affine) -> None:
    (found,) = clipped((photo(transform),), RING)
    corners = transform.apply(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]))
    ring = shapely.Point(50, 50).buffer(20, quad_segs=2000).difference(shapely.Point(50, 50).buffer(10, quad_segs=2000))
    assert covered_mm2(found) == pytest.approx(shapely.Polygon(corners).intersection(ring).area, rel=2e-3)


def test_what_lies_inside_shows_the_same_colours_at_the_same_places() -> None:
    whole = photo(Affine(60, 0, 0, 40, 20, 30))
    (found,) = clipped((whole,), circle((50, 50), 15))
    assert found.bounds == pytest.approx((35, 35, 65, 65), abs=0.41)
    for x, y in ((50.0, 50.0), (40.0, 45.0), (58.0, 58.0)):
        seen = []
        for each in (whole, found):
            column, row = each.transform.inverse().apply(np.array([x, y]))
            image = pixels(each)
            seen.append(image[int(row * image.shape[0]), int(column * image.shape[1])])
        assert np.abs(seen[0] - seen[1]).max() < 3.0
    column, row = found.transform.inverse().apply(np.array([36.0, 36.0]))
    image = pixels(found)
    assert image[int(row * image.shape[0]), int(column * image.shape[1]), 3] == 0


def test_a_picture_of_few_pixels_has_a_smooth_edge_all_the_same() -> None:
    (found,) = clipped((photo(Affine(60, 0, 0, 60, 20, 20), (6, 6)),), circle((50, 50), 20))
    assert covered_mm2(found) == pytest.approx(math.pi * 400, rel=2e-3)


def test_a_picture_wholly_inside_is_the_very_same_and_one_in_a_hole_is_gone() -> None:
    inside, hole = photo(Affine(4, 0, 0, 4, 63, 48)), photo(Affine(4, 0, 0, 4, 48, 48))
    assert clipped((inside, hole), RING) == (inside,)
    touching = photo(Affine(20, 0, 0, 20, 40, 40))
    assert clipped((touching,), rectangle(40, 40, 20, 20)) == (touching,)


def test_of_copies_one_is_cut_and_the_others_are_its_copies(monkeypatch: pytest.MonkeyPatch) -> None:
    count = 0
    cut = clipping.cut_picture

    def counted(picture: Picture, pieces: list[Path]) -> Picture | None:
        nonlocal count
        count += 1
        return cut(picture, pieces)

    monkeypatch.setattr(clipping, "cut_picture", counted)
    pieces = joined(circle((50.0 + 50.0 * n, 50.0), 20.0) for n in range(6))
    found = clipped(tuple(photo(Affine(46, 0, 0, 46, 27 + 50.0 * n, 27), key=f"p{n}") for n in range(6)), pieces)
    assert count == 1
    assert [each.bounds[0] for each in found] == pytest.approx([found[0].bounds[0] + 50.0 * n for n in range(6)])
    assert len({id(each.data) for each in found}) == 1


def test_no_more_pixels_are_kept_than_paper_shows() -> None:
    (found,) = clipped((photo(Affine(5000, 0, 0, 3000, 0, 0), (30, 20)),), circle((2500, 1500), 1400))
    assert pixels(found)[..., 0].size <= MOST_PIXELS * 1.01
