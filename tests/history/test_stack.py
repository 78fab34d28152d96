"""The command stack."""

import pytest

from bladewise import operations
from bladewise.errors import Cancelled, CannotApply
from bladewise.geometry.measures import area
from bladewise.history import Entry, History
from pieces import ring_and_bar, two_circles


def stack(job, *steps):
    history = History(job)
    for name, values in steps:
        history, _ = history.applied(operations.step(name, values))
    return history


OUTLINED = (("merge", {}), ("stepped-outline", {"distance_mm": 3}), ("move", {"dx_mm": 10}))


def test_undo_is_holding_on_to_the_old_value():
    history = stack(two_circles(), *OUTLINED)
    assert history.at(0).job is history.base
    assert history.at(2).job is history.rows[1].job
    assert history.at(1).at(3).job is history.job


def test_a_new_step_after_undo_drops_what_could_be_redone():
    history, _ = stack(two_circles(), *OUTLINED).at(1).applied(operations.step("move", {"dy_mm": 1}))
    assert [entry.step.do for entry in history.entries] == ["merge", "move"]
    assert not history.can_redo


def test_changing_a_number_recomputes_all_after_it():
    history = stack(two_circles(), *OUTLINED)
    wider = history.changed(1, operations.step("stepped-outline", {"distance_mm": 6}))
    box, before = wider.job.bounds, history.job.bounds
    assert box[0] == pytest.approx(before[0] - 3)
    assert wider.rows[0] is history.rows[0]


def test_a_step_switched_off_passes_the_job_on():
    history = stack(two_circles(), *OUTLINED).switched(1, enabled=False)
    assert [layer.id for layer in history.job.layers] == ["art"]
    again = history.switched(1, enabled=True)
    assert again.job == stack(two_circles(), *OUTLINED).job


def test_a_step_that_can_no_longer_apply_says_why_and_leaves_the_rest_standing():
    history = stack(
        ring_and_bar(),
        ("cut-out", {"on": ["disc", "bar"]}),
        ("restyle", {"on": "bar", "fill": "#000"}),
        ("move", {"dx_mm": 5}),
    )
    broken = history.changed(0, operations.step("delete", {"on": "bar"}))
    assert "Nothing in the job matches" in broken.rows[1].failure
    assert broken.rows[2].failure == ""
    assert broken.job.element("disc").bounds[0] == pytest.approx(35.0)


def test_removing_a_step_recomputes_and_steps_back():
    history = stack(two_circles(), *OUTLINED).removed(1)
    assert history.position == 2
    assert [layer.id for layer in history.job.layers] == ["art"]
    assert history.removed(0).job.shapes()[0].id == "left"


def test_a_step_that_changes_nothing_leaves_no_row():
    history, outcome = History(two_circles()).applied(operations.step("move"))
    assert history.rows == ()
    assert not outcome.changes


def test_a_step_that_does_not_apply_changes_nothing():
    history = History(two_circles())
    with pytest.raises(CannotApply):
        history.applied(operations.step("ungroup"))
    assert history.job == two_circles()


def test_a_stack_read_from_a_file_knows_its_job_and_computes_the_rest_when_asked():
    history = stack(two_circles(), *OUTLINED)
    restored = History.restored(history.base, history.entries, history.position, history.job)
    assert restored.job is history.job
    assert not restored.rows[0].is_known
    assert restored.at(1).job == history.at(1).job
    assert restored.at(0).at(3).job == history.job


def test_long_recomputing_can_be_stopped():
    def stop(_fraction):
        raise Cancelled

    history = stack(two_circles(), *OUTLINED)
    with pytest.raises(Cancelled):
        history.switched(0, enabled=False, progress=stop)


def test_a_rebased_stack_does_the_same_to_other_art():
    history = stack(two_circles(), ("merge", {"on": {"fill": "#e69f00"}}), ("move", {"dx_mm": 1}))
    other = history.rebased(two_circles().without({"left"}))
    assert other.rows[0].failure
    assert area(other.job.shapes()[0].path) == pytest.approx(area(two_circles().shapes()[1].path))


def test_an_entry_that_is_the_same_changes_nothing():
    history = stack(two_circles(), *OUTLINED)
    assert history.changed(0, history.rows[0].entry.step) is history
    assert history.entries[0] == Entry(operations.step("merge"))
