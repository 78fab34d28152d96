"""What a material asks of the art, and how large it was ordered, are steps like any other."""

import pytest

from bladewise import operations
from bladewise.document import KNOWN_PROFILES, CutKind, MaterialKind, Profile
from bladewise.errors import CannotApply
from bladewise.formats.cut_lines import cut_lines
from bladewise.formats.svg import read_svg, write_svg
from pieces import BLUE, job_of, ring_and_bar


def done(job, do, **values):
    return operations.apply(job, operations.step(do, values)).job


def _saved(job, folder):
    write_svg(job, folder / "job.svg")
    return read_svg(folder / "job.svg")


def test_a_profile_keeps_what_is_said_and_leaves_the_rest_at_its_default():
    job = done(ring_and_bar(), "material-profile", material="Blue #0072b2", roll_width_mm="24in", least_bridge_mm=2)
    (material,) = job.materials
    assert (material.colour, material.profile) == (BLUE, Profile(roll_width_mm=609.6, least_bridge_mm=2.0))
    again = done(job, "material-profile", material="Blue #0072b2", sharpest_corner_deg=0)
    assert again.materials[0].profile == Profile(sharpest_corner_deg=0.0)


def test_a_profile_may_begin_with_what_is_common_for_a_kind():
    job = done(ring_and_bar(), "material-profile", material="Blue #0072b2", like="heat-transfer", least_gap_mm=3)
    assert job.materials[0].profile.heat_transfer
    assert job.materials[0].profile.least_gap_mm == 3.0
    assert job.materials[0].profile.over(Profile()).thickness_mm == KNOWN_PROFILES["heat-transfer"].thickness_mm
    job = done(job, "material-profile", material="Blue #0072b2", like="heat-transfer", heat_transfer="no")
    assert not job.materials[0].profile.heat_transfer


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"material": "Gold"}, "The job has no material “Gold”."),
        ({"material": "Blue #0072b2", "like": "wood"}, "There is no profile “wood”."),
        ({"material": "Blue #0072b2", "heat_transfer": "perhaps"}, "“heat_transfer” is yes or no."),
    ],
)
def test_a_profile_that_cannot_be_is_refused_with_what_can(values, said):
    with pytest.raises(CannotApply) as refused:
        done(ring_and_bar(), "material-profile", **values)
    assert said in str(refused.value)
    assert refused.value.hint


def test_the_ordered_size_stays_with_the_job():
    job = done(job_of(), "ordered-size", width_mm="10cm")
    assert (job.ordered_width_mm, job.ordered_height_mm) == (100.0, None)
    assert operations.summary(operations.step("ordered-size", {"width_mm": 100})) == "Ordered: width 100 mm"
    assert operations.summary(operations.step("ordered-size")) == "Ordered in any size"


def test_the_art_is_told_against_what_was_ordered():
    outcome = operations.apply(ring_and_bar(), operations.step("ordered-size", {"width_mm": 50, "height_mm": 60.1}))
    assert outcome.reports == (
        "The width is 40 mm, 20 % less than the 50 mm ordered.",
        "The height is 60 mm, as ordered.",
    )


def test_the_sheet_is_fitted_to_the_art_with_room_around_it():
    job = done(ring_and_bar(), "fit-sheet", margin_mm=5)
    assert (job.width_mm, job.height_mm) == (50.0, 70.0)
    assert job.bounds == pytest.approx((5.0, 5.0, 45.0, 65.0))
    with pytest.raises(CannotApply):
        done(job_of(), "fit-sheet")


def test_the_values_of_a_profile_are_taken_over_from_another():
    base = Profile(least_gap_mm=1.0, thickness_mm=0.2, heat_transfer=True)
    assert Profile(least_gap_mm=2.0).over(base) == Profile(least_gap_mm=2.0, thickness_mm=0.2, heat_transfer=True)


@pytest.mark.parametrize("cut", CutKind)
def test_how_deep_a_material_is_cut_is_said_by_a_step_and_saved_with_the_job(cut, tmp_path):
    said = {"cut": str(cut), "perforation_cut_mm": 4, "perforation_gap_mm": "0.5mm"}
    job = done(ring_and_bar(), "set-material", on={"fill": BLUE.hex}, material="Blue #0072b2", **said)
    (material,) = job.materials
    assert (material.cut, material.perforation_cut_mm, material.perforation_gap_mm) == (cut, 4.0, 0.5)
    assert _saved(job, tmp_path).materials == job.materials


@pytest.mark.parametrize("kind", [MaterialKind.WHITE, MaterialKind.VARNISH])
def test_white_ink_and_varnish_are_printed_and_never_cut(kind, tmp_path):
    job = done(ring_and_bar(), "set-material", on={"fill": BLUE.hex}, material="Blue #0072b2", kind=str(kind))
    assert job.materials[0].kind.is_printed
    assert [line.colour for line in cut_lines(job)] == [
        each.colour for each in job.materials_in_use() if each.kind is MaterialKind.CUT
    ]
    assert _saved(job, tmp_path).materials == job.materials
