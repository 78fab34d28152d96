"""Ink on film that is not white: itself where white lies beneath, darkened by the film where none does."""

import io

import numpy as np
import pytest
from PIL import Image

from bladewise import operations
from bladewise.document import Colour, Gradient, GradientKind, Picture, Shape, Stop, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, rectangle
from bladewise.layout.films import GROUNDS, Film, glazed
from bladewise.layout.results import cut_result, printed_result
from layout.test_results import look
from pieces import BLUE, ORANGE, print_of, shape

DARK, CLEAR = GROUNDS[Film.DARK], GROUNDS[Film.CLEAR]


def job(*more, white=True):
    """Return a disc of 20 mm cut out of print that runs on to 24 mm, with white under its upper bar alone."""
    made = print_of(
        circle((50, 50), 20), shape("art", circle((50, 50), 24)), shape("bar", rectangle(40, 35, 20, 10), BLUE), *more
    )
    if not white:
        return made
    return operations.apply(made, operations.step("white-underprint", {"on": {"id": "bar"}, "choke_mm": 0.5})).job


def test_white_film_shows_all_as_it_is():
    assert cut_result(job(), ground=GROUNDS[Film.WHITE]) == cut_result(job())
    assert look(cut_result(job()), (50, 40), (50, 55)) == [BLUE, ORANGE]


@pytest.mark.parametrize("ground", [DARK, CLEAR], ids=["dark", "clear"])
@pytest.mark.parametrize("result", [cut_result, printed_result])
def test_ink_without_white_is_darkened_by_the_film_and_ink_on_white_is_itself(ground, result):
    on_white, rim, bare = look(result(job(), ground=ground), (50, 40), (50, 35.2), (50, 55))
    assert on_white == BLUE
    assert rim == glazed(BLUE, ground.film)  # the choke: no white so near the edge
    assert bare == glazed(ORANGE, ground.film)


def test_without_any_white_nothing_is_itself_and_film_shows_where_no_ink_is():
    result = printed_result(job(white=False), ground=DARK)
    assert look(result, (50, 40), (5, 5)) == [glazed(BLUE, DARK.film), DARK.film]


def test_gradients_and_pictures_are_darkened_too():
    stream = io.BytesIO()
    Image.fromarray(np.full((20, 20, 3), (200, 100, 50), np.uint8)).save(stream, "PNG")
    photo = Picture("photo", stream.getvalue(), "image/png", Affine(6, 0, 0, 6, 47, 60))
    same = (Stop(0.0, ORANGE), Stop(1.0, ORANGE))
    run = Shape("run", rectangle(47, 48, 6, 6), Style(Gradient(GradientKind.LINEAR, (47, 48), (53, 48), same)))
    found = look(cut_result(job(run, photo), ground=DARK), (50, 51), (50, 63))
    for seen, colour in zip(found, (ORANGE, Colour(200, 100, 50)), strict=True):
        assert np.abs(np.array(seen) - glazed(colour, DARK.film)).max() <= 1
