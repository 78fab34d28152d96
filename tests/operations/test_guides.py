"""Guides are for the eye and the hand; none may ever reach a machine. No source but our own design."""

import pytest

from bladewise import operations
from bladewise.document import Job, MaterialKind
from bladewise.formats import cut_materials


@pytest.mark.parametrize(("way", "box"), [("upright", (70.0, 0.0, 70.0, 100.0)), ("level", (0.0, 70.0, 200.0, 70.0))])
def test_a_guide_runs_across_the_whole_sheet(way, box):
    step = operations.step("draw-guide", {"way": way, "at_mm": 70})
    outcome = operations.apply(Job("Sign", 200.0, 100.0), step)
    (guide,) = outcome.job.shapes()
    assert guide.bounds == box
    assert operations.summary(step) == f"Guide, {way} at 70 mm"
    assert outcome.made == (guide.id,)


def test_no_knife_ever_follows_a_guide():
    job = operations.apply(Job("Sign", 200.0, 100.0), operations.step("draw-guide", {"at_mm": 70})).job
    (placed,) = job.walk()
    assert job.material_of(placed).kind is MaterialKind.GUIDE
    assert not cut_materials(job)
