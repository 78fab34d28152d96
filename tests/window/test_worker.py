"""Long work: one piece at a time, stopped when asked, never silent when it fails."""

from __future__ import annotations

import time

import pytest

from bladewise.errors import Cancelled, CannotApply
from bladewise.window.worker import Worker


@pytest.fixture
def worker(qapp):
    worker = Worker()
    yield worker
    worker.close()


def test_work_hands_back_its_result_on_the_interface_thread(worker, qtbot):
    got = []
    worker.start(lambda _progress: 6 * 7, got.append)
    qtbot.waitUntil(lambda: got == [42])
    assert not worker.is_busy


def test_pieces_of_work_run_in_the_order_they_were_asked_for(worker, qtbot):
    got = []
    for number in range(4):
        worker.start(lambda _progress, number=number: number, got.append)
    qtbot.waitUntil(lambda: got == [0, 1, 2, 3])


def test_an_error_for_the_operator_arrives_as_such(worker, qtbot):
    errors = []

    def work(_progress):
        raise CannotApply("No.", hint="Try again.")

    worker.start(work, lambda _result: None, errors.append)
    qtbot.waitUntil(lambda: len(errors) == 1)
    assert errors[0].what == "No."


def test_a_fault_of_ours_becomes_a_message_and_the_worker_goes_on(worker, qtbot, caplog):
    errors, got = [], []
    worker.start(lambda _progress: 1 // 0, got.append, errors.append)
    worker.start(lambda _progress: "next", got.append)
    qtbot.waitUntil(lambda: got == ["next"])
    assert "nothing was changed" in errors[0].what
    assert "ZeroDivisionError" in caplog.text


def _slowly(progress):
    for step in range(200):
        progress(step / 200)
        time.sleep(0.01)
    return "done"


def test_work_can_be_stopped_at_its_next_report(worker, qtbot):
    errors, got = [], []
    worker.start(_slowly, got.append, errors.append)
    qtbot.wait(60)
    worker.cancel()
    qtbot.waitUntil(lambda: len(errors) == 1)
    assert isinstance(errors[0], Cancelled)
    assert got == []


def test_only_the_latest_counts_where_that_is_asked(worker, qtbot):
    got = []
    worker.start(_slowly, got.append, instead=True)
    qtbot.wait(40)
    for number in range(3):
        worker.start(lambda _progress, number=number: number, got.append, instead=True, after_ms=10)
    qtbot.waitUntil(lambda: not worker.is_busy)
    assert got == [2]


def test_a_closed_worker_hands_back_nothing(worker, qtbot):
    got = []
    worker.start(lambda _progress: time.sleep(0.05), got.append)
    worker.close()
    qtbot.wait(120)
    assert got == []
