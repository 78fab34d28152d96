"""Materials go onto the job's list and off it, and what a step took from the stock stands in the step."""

import pytest

from bladewise import operations
from bladewise.document import KNOWN_PROFILES, Profile
from bladewise.errors import CannotApply
from bladewise.formats.svg import read_svg, write_svg
from pieces import BLUE, job_of, ring_and_bar


def done(job, do, **values):
    return operations.apply(job, operations.step(do, values)).job


def test_materials_are_listed_with_all_that_is_said_of_them():
    job = done(
        job_of(), "list-materials", materials="Signal red #cc3311 roll_width_mm=630 like=cast-vinyl\nSky #0088ff"
    )
    assert [each.name for each in job.materials] == ["Signal red", "Sky"]
    assert job.materials[0].profile == Profile(roll_width_mm=630, like="cast-vinyl")
    again = done(job, "list-materials", materials="Sky #0077ee")
    assert [(each.id, each.colour.hex) for each in again.materials] == [("signal-red", "#cc3311"), ("sky", "#0077ee")]


def test_a_material_goes_off_the_list_only_while_nothing_is_made_of_it():
    job = done(ring_and_bar(), "list-materials", materials="Sky #0088ff")
    assert done(job, "drop-material", material="Sky").materials == ()
    used = done(job, "set-material", on={"fill": BLUE.hex}, material="Sky")
    with pytest.raises(CannotApply) as refused:
        done(used, "drop-material", material="Sky")
    assert "Something is made of “Sky”" in str(refused.value)


def test_what_is_listed_can_be_changed_though_nothing_is_made_of_it():
    job = done(job_of(), "list-materials", materials="Sky #0088ff")
    assert str(done(job, "set-material", material="Sky", kind="print").materials[0].kind) == "print"
    with pytest.raises(CannotApply):
        done(job_of(), "set-material", material="Sky", kind="print")


def test_a_material_is_renamed_and_keeps_what_is_made_of_it():
    job = done(ring_and_bar(), "material-profile", material="Blue #0072b2", name="Sea", least_gap_mm=2)
    assert "Sea" in [each.name for each in job.materials_in_use()]
    with pytest.raises(CannotApply) as refused:
        done(done(job, "list-materials", materials="Sky #0088ff"), "material-profile", material="Sky", name="Sea")
    assert "already" in str(refused.value)


def test_like_a_kind_stands_for_what_is_left_out_and_is_saved(tmp_path):
    job = done(ring_and_bar(), "material-profile", material="Blue #0072b2", like="reflective", least_gap_mm=3)
    profile = job.materials[0].profile
    assert profile == Profile(like="reflective", least_gap_mm=3)
    full = profile.over(Profile(thickness_mm=9.0))
    assert (full.thickness_mm, full.least_gap_mm) == (KNOWN_PROFILES["reflective"].thickness_mm, 3.0)
    write_svg(job, tmp_path / "job.svg")
    assert read_svg(tmp_path / "job.svg").materials == job.materials


def test_colours_go_to_the_vinyls_that_stand_in_the_step_and_those_are_listed():
    lines = "Sky #0088ff roll_width_mm=630\nSignal red #cc3311\nPaper #0072b2 kind=print"
    outcome = operations.apply(ring_and_bar(), operations.step("reduce-colours", {"until": "vinyls", "vinyls": lines}))
    names = {each.name for each in outcome.job.materials_in_use()}
    assert names <= {"Sky", "Signal red"}
    assert names
    sky = next((each for each in outcome.job.materials if each.name == "Sky"), None)
    assert sky is not None
    assert sky.profile.roll_width_mm == 630
    with pytest.raises(CannotApply) as refused:
        operations.apply(ring_and_bar(), operations.step("reduce-colours", {"until": "vinyls", "vinyls": "Sky"}))
    assert "is no material" in str(refused.value)
