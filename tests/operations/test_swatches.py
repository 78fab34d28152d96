"""Near colours join, and it is said which shapes changed."""

from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import Colour, Job, Layer, Material, MaterialKind, Picture, Stroke, Style
from bladewise.document.colour_distance import colour_distance
from bladewise.document.style import Gradient, GradientKind, Stop
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, rectangle
from bladewise.operations.swatches import joined_colours, nearest_vinyls
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape

ALMOST_ORANGE = Colour(0xE5, 0xA1, 0x04)


def done(job, do="reduce-colours", /, **values):
    return operations.apply(job, operations.step(do, values))


def fills(job):
    return {each.id: each.style.fill for each in job.shapes()}


def three():
    return job_of(
        shape("large", circle((50, 50), 30)),
        shape("small", circle((50, 50), 5), ALMOST_ORANGE),
        shape("bar", rectangle(0, 0, 10, 10), BLUE),
    )


def test_colours_within_a_distance_join_into_the_one_that_paints_more():
    job = three()
    outcome = done(job, within=3.0)
    assert fills(outcome.job) == {"large": ORANGE, "small": ORANGE, "bar": BLUE}
    assert outcome.made == ("small",)
    assert outcome.job.element("bar") is job.element("bar")
    assert "Orange #e5a104 became Orange #e69f00" in outcome.reports[0]
    assert "“Small”" in outcome.reports[0]
    assert outcome.reports[-1] == "3 colours became 2."


def test_nothing_joins_below_the_distance_and_that_is_said():
    outcome = done(three(), within=0.1)
    assert not outcome.changes
    assert outcome.reports == ("3 colours, none of them near enough to another to join.",)


def test_colours_join_down_to_a_number_nearest_first():
    assert set(fills(done(three(), until="number", count=2).job).values()) == {ORANGE, BLUE}
    assert set(fills(done(three(), until="number", count=1).job).values()) == {ORANGE}
    assert not done(three(), until="number", count=9).changes


def test_no_colour_of_a_chain_goes_farther_than_the_distance():
    greys = {Colour(level, level, level): 1.0 + level for level in range(0, 256, 8)}
    joined = joined_colours(greys, within=6.0)
    assert 1 < len({target.colour for target in joined.values()}) < len(greys)
    for colour, target in joined.items():
        assert target.distance <= 6.0
        assert target.distance == pytest.approx(colour_distance(colour, target.colour))
        assert joined[target.colour].colour == target.colour


def test_colours_go_to_the_nearest_vinyl_on_hand_and_unlike_ones_are_told():
    sun, sea = Material("sun", "Sun", Colour(0xE0, 0xA0, 0x00)), Material("sea", "Sea", Colour(0x00, 0x50, 0xA0))
    print_ = Material("proof", "Proof", ORANGE, MaterialKind.PRINT)
    job = replace(three(), materials=(sun, sea, print_))
    outcome = done(job, until="vinyls")
    assert fills(outcome.job) == {"large": sun.colour, "small": sun.colour, "bar": sea.colour}
    assert {each.id: each.material for each in outcome.job.shapes()} == {"large": "sun", "small": "sun", "bar": "sea"}
    assert any("became Sea, which looks different" in report for report in outcome.reports)
    assert not done(outcome.job, until="vinyls").changes
    assert nearest_vinyls([BLUE], [sun, sea])[BLUE].material is sea


def test_without_vinyls_or_colours_it_says_what_to_do():
    with pytest.raises(CannotApply, match="lists no vinyl"):
        done(three(), until="vinyls")
    with pytest.raises(CannotApply, match="a flat colour that is cut"):
        done(job_of(shape("bare", circle((5, 5), 2), None)))
    with pytest.raises(CannotApply, match="Nothing in the job"):
        done(three(), on={"name": "Nobody"})


def test_strokes_join_too_and_gradients_and_pictures_are_passed_over():
    gradient = Gradient(GradientKind.LINEAR, (0, 0), (1, 0), (Stop(0, BLUE), Stop(1, ORANGE)))
    job = job_of(
        shape("a", circle((50, 50), 30), ORANGE, Stroke(ALMOST_ORANGE, 2.0)),
        replace(shape("b", circle((5, 5), 2)), style=Style(fill=gradient)),
    )
    photo = Picture("photo", b"", "image/png", Affine())
    job = Job("j", 100, 100, (*job.layers, Layer("p", "P", (photo,))))
    outcome = done(job, within=3.0)
    assert outcome.job.element("a").style.stroke.paint == ORANGE
    assert outcome.job.element("b").style.fill is gradient
    assert outcome.reports[-1] == "Passed over: 2 with gradients or pictures."


def test_guides_keep_their_colour():
    guide = Material("guide", "Guide", BLUE, MaterialKind.GUIDE)
    job = replace(ring_and_bar(), materials=(guide,))
    job = job.replaced({"bar": (replace(job.element("bar"), material="guide"),)})
    assert fills(done(job, until="number", count=1).job) == {"disc": ORANGE, "bar": BLUE}
