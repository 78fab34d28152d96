"""Customer, order, due date and revision: said by a step, kept in the job file, shown to whoever makes it."""

import pytest

from bladewise import operations
from bladewise.document import Job, JobDetails
from bladewise.formats import read_job_file
from bladewise.session import Session
from pieces import ring_and_bar


def done(job: Job, **values) -> Job:
    return operations.apply(job, operations.step("job-details", values)).job


def test_what_is_left_out_stays_as_it_was():
    job = done(ring_and_bar(), customer="Puddlewick", order_number="1042", revision="1")
    job = done(job, revision=" 2 ")
    assert job.details == JobDetails("Puddlewick", "1042", "", "2")


def test_the_details_come_back_with_the_job_file(tmp_path):
    session = Session.new()
    session.do("job-details", customer="Ærlig & Søn <Øl>", due_date='2 "May"', remark="matt, please")
    path = session.save(tmp_path / "job.svg")
    held = read_job_file(path)
    assert held.current.details == JobDetails("Ærlig & Søn <Øl>", "", '2 "May"', "", "matt, please")
    assert held.base.details == JobDetails()
    assert Session.open(path).history.rows[0].entry.step.do == "job-details"


def test_saying_nothing_leaves_no_row_and_a_change_counts_as_one():
    session = Session.new()
    session.do("job-details")
    assert not session.is_modified
    session.do("job-details", customer="Heron")
    assert session.is_modified
    assert session.job.details.customer == "Heron"


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({}, "Job details"),
        ({"customer": "Heron", "revision": "3"}, "Job details: customer Heron, revision 3"),
    ],
)
def test_the_command_stack_says_what_was_said(values, told):
    assert operations.summary(operations.step("job-details", values)) == told
