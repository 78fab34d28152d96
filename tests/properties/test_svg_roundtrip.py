"""Saving and opening changes nothing, whatever the job holds: to the last bit, and to the last byte."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bladewise.formats import JobFile, job_file_text, read_job_file, read_svg, svg_text, write_job_file
from bladewise.formats.svg.path_data import read_path_data, write_exact_arcs, write_exact_path, write_path_data
from strategies import jobs, paths, steps

if TYPE_CHECKING:
    from bladewise.document import Job

slow = settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def reopened(text: str) -> JobFile:
    """What a file with this text opens as."""
    with TemporaryDirectory() as folder:
        path = Path(folder, "job.svg")
        path.write_bytes(text.encode("utf-8"))
        return read_job_file(path)


@slow
@given(job=jobs())
def test_a_drawing_written_and_read_is_the_same_job(job: Job) -> None:
    text = svg_text(job)
    found = reopened(text).current
    assert found == job
    assert svg_text(found) == text


@slow
@given(base=jobs(), current=jobs(), done=steps, data=st.data())
def test_a_job_file_opened_and_saved_again_has_the_same_bytes(base: Job, current: Job, done: tuple, data) -> None:
    job_file = JobFile(base, current, done, data.draw(st.integers(0, len(done))))
    text = job_file_text(job_file)
    found = reopened(text)
    assert found == job_file
    assert job_file_text(found) == text


@given(path=paths())
def test_path_data_and_exact_arcs_give_back_the_path(path) -> None:
    assert read_path_data(write_exact_path(path)).path == path
    plain = read_path_data(write_path_data(path), exact_arcs=write_exact_arcs(path)).path
    if len(plain) == len(path):
        assert plain.points[:, [0, 3]].tolist() == path.points[:, [0, 3]].tolist()


@slow
@given(job=jobs(lettering=False))
def test_saving_through_a_file_is_the_same_as_saving_to_text(job: Job) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder, "job.svg")
        write_job_file(JobFile(job, job), path)
        assert path.read_text(encoding="utf-8") == job_file_text(JobFile(job, job))
        assert read_svg(path) == job
