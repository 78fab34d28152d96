"""A material in words: a step can hold it, and it comes back as it was."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.document import Colour, CutKind, Job, Material, MaterialKind, Profile
from bladewise.document.profiles import KNOWN_PROFILES, VALUES
from bladewise.document.stock import listed, material_line, materials_in

RED = Material("signal-red", "Signal red", Colour(0xCC, 0x33, 0x11))


def test_what_is_usual_is_not_said():
    assert material_line(RED) == "Signal red #cc3311"
    assert materials_in("Signal red #cc3311\n\n") == (RED,)


@st.composite
def _materials(draw):
    values = {
        name: draw(st.none() | st.floats(each.least, each.most).map(lambda value: round(value, 3)))
        for name, each in VALUES.items()
    }
    values = {
        name: None if value is None else min(max(value, VALUES[name].least), VALUES[name].most)
        for name, value in values.items()
    }
    like = draw(st.none() | st.sampled_from(sorted(KNOWN_PROFILES)))
    name = " ".join(draw(st.lists(st.sampled_from(["Red", "matt", "#2", "a=b", "40"]), min_size=1, max_size=3)))
    colour = Colour(*draw(st.tuples(*[st.integers(0, 255)] * 3)))
    profile = Profile(**values, heat_transfer=draw(st.booleans()), like=like)
    cut = draw(st.sampled_from(list(CutKind)))
    return Material("any", name, colour, draw(st.sampled_from(list(MaterialKind))), profile, cut, 4.5, 0.5)


@settings(max_examples=60, deadline=None)
@given(_materials())
def test_every_material_comes_back_from_its_line_as_it_was(material):
    (back,) = materials_in(material_line(material))
    assert (back.name, back.colour, back.kind, back.cut) == (
        material.name,
        material.colour,
        material.kind,
        material.cut,
    )
    assert (back.perforation_cut_mm, back.perforation_gap_mm) == (4.5, 0.5)
    assert back.profile == material.profile


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Signal red", "takes a name, a colour"),
        ("Red #cc3311 roll=630", "has “roll”; it takes"),
        ("Red #cc3311 roll_width_mm=wide", "between 1 and 100000, not wide"),
        ("Red #cc3311 roll_width_mm=nan", "between 1 and 100000, not nan"),
        ("Red #cc3311 kind=vinyl", "kind is one of cut, print"),
    ],
)
def test_a_line_that_is_no_material_says_why(line, said):
    with pytest.raises(ValueError, match="“") as refused:
        materials_in(line)
    assert said in str(refused.value)


def test_a_job_gives_a_material_the_id_of_the_one_called_so_else_a_free_one():
    known = Material("colour-cc3311", "Signal red", Colour(1, 2, 3))
    other = Material("blue", "Not blue", Colour(4, 5, 6))
    job = Job("j", 10, 10, materials=(known, other))
    assert [each.id for each in listed(job, materials_in("Signal red #cc3311\nBlue #0000ff"))] == [
        "colour-cc3311",
        "blue-2",
    ]
