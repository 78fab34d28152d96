"""The one door: open, do, undo, save, open again, export."""

import hashlib

import pytest

from bladewise import Job, operations
from bladewise.document import Changes, MaterialKind
from bladewise.errors import CannotApply, CannotRead, CannotWrite
from bladewise.geometry.path import circle, rectangle
from bladewise.history import History
from bladewise.session import Session
from pieces import job_of, ring_and_bar, shape, two_circles

ART = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">
<circle id="left" cx="30" cy="25" r="15" fill="#e69f00"/>
<circle id="right" cx="45" cy="25" r="15" fill="#e69f00"/>
</svg>"""


@pytest.fixture
def art(tmp_path):
    path = tmp_path / "art.svg"
    path.write_text(ART, encoding="utf-8")
    return path


def test_the_python_way_is_a_few_obvious_lines(art, tmp_path):
    job = Job.open(art)
    assert [finding.rule for finding in job.check()] == ["overlap"]
    job.do("merge", on={"fill": "#e69f00"})
    assert job.check() == []
    written = job.export(tmp_path / "out")
    assert all(path.exists() for path in written)


def test_artwork_is_never_written_to(art):
    before = hashlib.sha256(art.read_bytes()).digest()
    session = Session.open(art)
    session.do("merge")
    with pytest.raises(CannotWrite, match="no file yet"):
        session.save()
    assert hashlib.sha256(art.read_bytes()).digest() == before


def test_saving_and_opening_again_restores_the_job_and_the_stack_exactly(art, tmp_path):
    session = Session.open(art)
    session.do("merge")
    session.do("stepped-outline", steps=2, distance_mm=2.5, colours=["#ffffff", "#000000"])
    session.do("move", dx_mm=3)
    session.switch_step(1, enabled=False)
    session.undo()
    session.undo()
    path = session.save(tmp_path / "cup.job.svg")
    again = Session.open(path)
    assert again.job == session.job
    assert again.history.entries == session.history.entries
    assert again.history.position == session.history.position == 2
    assert again.path == path
    assert not again.is_modified
    first = path.read_bytes()
    again.save()
    assert path.read_bytes() == first
    again.jump(0)
    assert again.job == session.history.base
    again.jump(3)
    session.redo()
    assert again.job == session.job


def test_listeners_hear_what_changed():
    session = Session(History(ring_and_bar()))
    heard: list[Changes] = []
    stop = session.listen(lambda _session, changes: heard.append(changes))
    session.do("move", on="bar", dx_mm=1)
    session.do("move")  # changes nothing: nothing to hear
    session.undo()
    stop()
    session.redo()
    assert [changes.altered for changes in heard] == [{"bar"}, {"bar"}]


def test_undo_and_redo_go_through_steps_and_edits_of_the_stack_alike():
    session = Session(History(two_circles()))
    session.do("merge")
    session.do("move", dx_mm=5)
    session.change_step(1, dx_mm=9)
    session.switch_step(0, enabled=False)
    jobs = [session.job]
    for _ in range(4):
        session.undo()
        jobs.append(session.job)
    assert not session.can_undo
    assert jobs[-1] == two_circles()
    for expected in reversed(jobs[:-1]):
        session.redo()
        assert session.job == expected
    assert not session.can_redo


def test_jumping_back_and_undoing_agree():
    session = Session(History(two_circles()))
    for distance in (1, 2, 3):
        session.do("move", dx_mm=distance)
    session.jump(1)
    assert session.history.position == 1
    session.redo()
    assert session.history.position == 2
    session.undo()
    session.undo()
    assert session.job == two_circles()


def test_jumping_to_the_end_leaves_nothing_to_do_again():
    session = Session(History(two_circles()))
    for distance in (1, 2, 3):
        session.do("move", dx_mm=distance)
    session.jump(0)
    assert session.can_redo
    session.jump(3)
    assert not session.can_redo
    session.jump(99)
    assert session.history.position == 3


def test_a_reopened_job_goes_back_to_its_beginning_without_redoing_its_steps(tmp_path):
    session = Session(History(two_circles()))
    for distance in (1, 2, 3):
        session.do("move", dx_mm=distance)
    again = Session.open(session.save(tmp_path / "circles.job.svg"))
    again.jump(0)
    assert again.job == two_circles()
    assert [row.is_known for row in again.history.rows] == [False, False, True]


def test_a_step_that_cannot_apply_leaves_everything_as_it_was():
    session = Session(History(two_circles()))
    with pytest.raises(CannotApply):
        session.do("ungroup")
    assert not session.can_undo
    assert not session.is_modified


def test_what_was_done_while_a_file_was_being_written_is_still_to_be_saved(tmp_path):
    session = Session(History(two_circles()))
    session.do("move", on="all", dx_mm=1)
    written = session.history
    session.do("move", on="all", dx_mm=1)
    session.was_saved(tmp_path / "circles.svg", written)
    assert session.is_modified
    session.was_saved(tmp_path / "circles.svg", session.history)
    assert not session.is_modified


def test_what_was_recovered_is_still_to_be_saved(tmp_path):
    session = Session(History(two_circles()))
    assert not session.is_modified
    session.was_recovered(tmp_path / "circles.svg")
    assert session.is_modified
    assert session.path == tmp_path / "circles.svg"


def test_cut_files_are_refused_while_the_knife_would_cut_twice(tmp_path):
    session = Session(History(two_circles()))
    with pytest.raises(CannotWrite, match=r"overlap by 671\.01 mm²") as caught:
        session.export(tmp_path / "out")
    assert "despite the findings" in caught.value.hint
    assert not (tmp_path / "out").exists()
    assert session.export(tmp_path / "out", despite_findings=True)


def test_more_art_comes_in_at_the_front_and_the_steps_still_hold(art):
    session = Session(History(job_of(shape("left", rectangle(0, 0, 5, 5)))))
    session.do("move", on="left", dx_mm=2)
    session.bring_in(art)
    assert [each.id for each in session.job.shapes()] == ["left", "left-2", "right"]
    assert session.job.element("left").bounds[0] == 2.0
    session.undo()
    assert [each.id for each in session.job.shapes()] == ["left"]


def test_what_is_no_file_is_told_in_one_message(tmp_path):
    with pytest.raises(CannotRead) as caught:
        Session.open(tmp_path / "nothing.svg")
    assert caught.value.hint


def test_work_done_elsewhere_is_taken_in():
    session = Session(History(two_circles()))
    step = operations.step("merge")
    session.adopt_step(step, operations.apply(session.job, step))
    session.adopt(session.history.changed(0, operations.step("keep-common")))
    assert session.history.entries[0].step.do == "keep-common"


def test_a_new_job_starts_empty_and_can_be_drawn_on():
    session = Session.new("Sign", 300, 100)
    session.do("draw-ellipse", x_mm=10, y_mm=10, width_mm=20, height_mm=20)
    assert session.job.shapes()[0].path == circle((20, 20), 10)
    assert next(iter(session.job.materials_in_use())).kind is MaterialKind.CUT
