"""Make cut-ready: every step is seen with its reason before it is done, and only what is ticked is done."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QAbstractButton, QApplication

from bladewise import checks
from bladewise.operations import ALL
from bladewise.session import Session
from bladewise.window.palette import items
from bladewise.window.readying import chain as chains
from bladewise.window.readying.page import ReadyingPage
from window.conftest import settle
from window.person import Ctrl, Key, Shift

RED, BLUE = "#cc3311", "#0044aa"


def _session() -> Session:
    """Return strokes that overlap a square, two blue squares that overlap, and a neck that nobody can mend unasked."""
    session = Session.new("Much", 300, 200)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=40, height_mm=40, fill=BLUE, name="Under")
    session.do("draw-rectangle", x_mm=30, y_mm=30, width_mm=40, height_mm=40, fill=BLUE, name="Over")
    session.do("draw-rectangle", x_mm=120, y_mm=10, width_mm=40, height_mm=40, fill=RED, name="Plate")
    session.do("draw-ellipse", x_mm=150, y_mm=10, width_mm=40, height_mm=40, fill=RED, name="Ring")
    session.do("restyle", on={"name": "Ring"}, no_fill=True, stroke=RED, stroke_width_mm=3.0)
    session.do(
        "draw-outline",
        points_mm=[10, 110, 30, 110, 30, 119.95, 40, 119.95, 40, 110, 60, 110, 60, 130, 40, 130, 40, 120.05, 30, 120.05,
                   30, 130, 10, 130],
        closed=True,
        fill=BLUE,
        name="Neck",
    )  # fmt: skip
    session._saved = session.history
    return session


@pytest.fixture
def window(make_window, qtbot):
    window = make_window(_session())
    settle(window, qtbot)
    return window


@pytest.fixture
def page(window, qtbot) -> ReadyingPage:
    qtbot.keyClick(window, Key.Key_F9, Shift)
    page = window.stage.currentWidget()
    assert isinstance(page, ReadyingPage)
    rests(page, qtbot)
    return page


def rests(page: ReadyingPage, qtbot) -> None:
    qtbot.waitUntil(lambda: page.chain is not None and not page._worker.is_busy, timeout=30_000)


def _words(page: ReadyingPage) -> list[str]:
    return [link.proposal.step.do for link in page.chain.links]


def test_nothing_is_done_by_looking(window, page):
    before = window.desk.session.history
    assert _words(page)[0] == "stroke-to-shape"
    for number in range(len(page.rows)):
        page._choose(number)
    page.leave()
    assert window.desk.session.history is before
    assert window.stage.count() == 1
    assert window.bench.isVisible()
    assert window.canvas.hasFocus()


def test_each_step_is_told_with_its_reason(page):
    for row, link in zip(page.rows, page.chain.links, strict=True):
        assert str(link.proposal.summary) in row.accessibleName()
        assert str(link.proposal.reason) in row.accessibleName()
        assert row.tick.isChecked()


def test_the_ticked_steps_are_done_as_they_were_shown_and_undone_one_by_one(window, page, qtbot):
    desk, count, after = window.desk, len(window.desk.session.history.rows), page.chain.after
    steps = len(page.chain.steps)
    assert steps >= 3
    assert page.do_button.text() == f"Do these {steps} steps"
    qtbot.keyClick(page.rows[0], Key.Key_Return, Ctrl)
    assert window.stage.count() == 1
    assert len(desk.session.history.rows) == count + steps
    assert desk.job is after, "the very job that was shown"
    settle(window, qtbot)
    for left in range(steps - 1, -1, -1):
        desk.undo()
        qtbot.waitUntil(lambda: not desk.steps.is_busy)
        assert desk.session.history.position == count + left


def test_a_step_without_its_tick_is_left_out_and_what_builds_on_it_says_so(window, page, qtbot):
    names = _words(page)
    merge = next(
        number for number, link in enumerate(page.chain.links) if link.proposal.step.do == "merge" and number > 0
        and any("Ring" in str(finding.message) for finding in link.proposal.findings)
    )  # fmt: skip
    page.rows[0].setFocus()
    qtbot.keyClick(page.rows[0], Key.Key_Space)
    rests(page, qtbot)
    assert not page.chain.links[0].ticked
    assert page.chain.links[merge].refusal
    assert "Left out, because a step before it is" in page.rows[merge].accessibleName()
    assert any("there is a remedy" in label.text() for label in page._tail if hasattr(label, "text"))
    done = [step.do for step, _ in page.chain.steps]
    assert len(done) == len(names) - 2
    page.do_button.click()
    rows = window.desk.session.history.rows
    assert [row.entry.step.do for row in rows[-len(done) :]] == done
    settle(window, qtbot)
    assert any(finding.rule == "stroke" for finding in window.desk.findings)


def test_only_what_is_selected_is_made_ready(window, qtbot):
    ids = {placed.leaf.name: placed.leaf.id for placed in window.desk.job.walk()}
    window.desk.select([ids["Under"], ids["Over"]])
    window.open_verb("make-cut-ready")
    page = window.stage.currentWidget()
    rests(page, qtbot)
    assert _words(page) == ["merge"]
    assert page.left_rows == [], "the neck was not asked about"
    page.about.button("all").click()
    rests(page, qtbot)
    assert len(page.chain.links) > 1
    assert [row.finding.rule for row in page.left_rows] == ["narrow-bridge"]


def test_what_a_person_must_decide_is_shown_where_it_is(page, qtbot):
    (row,) = page.left_rows
    assert "someone has to decide" in row.finding.remedy.text.casefold()
    row.show_button.click()
    view, after = page.pair.after.view, page.pair.after
    middle = after.window_box().center()
    assert view.to_mm(middle.x(), middle.y()) == pytest.approx((row.finding.x_mm, row.finding.y_mm), abs=0.5)
    assert len(after.marks()) == 1
    page._choose(0)
    assert after.marks() == []


def test_each_row_shows_the_outlines_before_and_after_it(page):
    for number, link in enumerate(page.chain.links):
        page._choose(number)
        assert page.pair.before.job is link.before
        assert page.pair.after.job is link.after
        assert page.pair.after.title == f"After step {number + 1}"
        changes = link.before.changes_to(link.after)
        assert page.pair.before._changed == changes.removed | changes.altered
        assert page.pair.after._changed == changes.added | changes.altered
    page._choose(-1)
    assert (page.pair.before.job, page.pair.after.job) == (page.chain.job, page.chain.after)
    assert page.pair.before.view_mode == page.pair.after.view_mode == "outline"


def test_escape_leaves_from_anywhere_on_the_page(window, page, qtbot):
    page.rows[-1].setFocus()
    qtbot.keyClick(page.rows[-1], Key.Key_Escape)
    assert window.stage.count() == 1
    assert window.canvas.hasFocus()


def test_up_and_down_go_through_the_steps(page, qtbot):
    page.whole.setFocus()
    qtbot.keyClick(page.whole, Key.Key_Down)
    assert (page.current, page.rows[0].hasFocus()) == (0, True)
    qtbot.keyClick(page.rows[0], Key.Key_Up)
    assert (page.current, page.whole.hasFocus()) == (-1, True)


def test_both_pictures_always_show_the_same_place(page, qtbot):
    pair = page.pair
    at = QPointF(100, 100)
    for view in (pair.before, pair.after):
        QApplication.sendEvent(
            view,
            QWheelEvent(
                at, QPointF(view.mapToGlobal(at.toPoint())), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
                Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
            ),
        )  # fmt: skip
        assert pair.before.view == pair.after.view
    qtbot.mousePress(pair.after, Qt.MouseButton.LeftButton, pos=QPoint(150, 150))
    before = pair.after.view
    qtbot.mouseMove(pair.after, QPoint(190, 150))
    qtbot.mouseRelease(pair.after, Qt.MouseButton.LeftButton, pos=QPoint(190, 150))
    assert pair.after.view != before
    assert pair.before.view == pair.after.view


def test_the_wipe_shows_before_on_its_left_and_after_on_its_right(page, qtbot):
    page.modes.button("wipe").click()
    pair = page.pair
    assert pair.after.width() == pair.width()
    assert pair.before.width() == round(pair.width() / 2)
    assert pair.before.view == pair.after.view
    pair.handle.setFocus()
    qtbot.keyClick(pair.handle, Key.Key_Right)
    assert pair.before.width() == round(pair.width() * 0.525)
    assert pair.before.view == pair.after.view
    page.modes.button("beside").click()
    assert pair.before.size() == pair.after.size()
    assert not pair.handle.isVisible()


def test_an_edit_meanwhile_is_noticed_and_nothing_stale_is_done(window, page, qtbot):
    window.desk.do_plain("move", on={"name": "Plate"}, dx_mm=5.0, dy_mm=0.0)
    assert page.stale.isVisible()
    assert not page.do_button.isEnabled()
    count = len(window.desk.session.history.rows)
    page.do()
    assert len(window.desk.session.history.rows) == count
    page.again.click()
    rests(page, qtbot)
    assert page.chain.job is window.desk.job
    assert not page.stale.isVisible()
    assert page.do_button.isEnabled()


def test_planning_can_be_stopped(window, qtbot, monkeypatch):
    from bladewise.window.readying import page as pages

    def endless(_job, _on, progress):
        import time

        while True:
            progress(0.5)
            time.sleep(0.005)

    monkeypatch.setattr(pages, "proposed", endless)
    window.show_readying()
    page = window.stage.currentWidget()
    assert page.stop.isVisible()
    assert not page.do_button.isEnabled()
    page.stop.click()
    qtbot.waitUntil(lambda: not page._worker.is_busy)
    assert page.chain is None
    assert "nothing was changed" in page.summary.text()
    page.leave()
    assert window.stage.count() == 1


def test_a_job_that_is_ready_says_that_there_is_nothing_to_do(make_window, qtbot):
    session = Session.new("Plain", 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=40, height_mm=40, fill=RED)
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    window.show_readying()
    page = window.stage.currentWidget()
    rests(page, qtbot)
    assert "there is no step to do" in page.summary.text()
    assert not page.do_button.isEnabled()


def test_it_is_reached_from_the_list_the_menu_and_the_palette(window, qtbot):
    window.readiness.ready_button.click()
    page = window.stage.currentWidget()
    assert isinstance(page, ReadyingPage)
    page.leave()
    found = [item for item in items(window.actions_, window.desk, window.open_verb) if item.title == "Make cut-ready"]
    assert len(found) == 1
    found[0].run()
    assert isinstance(window.stage.currentWidget(), ReadyingPage)
    window.files.take(_session(), None)
    assert window.stage.count() == 1, "another job: the page was about this one"


def test_every_control_of_the_page_has_a_name(page):
    named = [*page.findChildren(QAbstractButton), page.pair.before, page.pair.after, page.pair.handle, *page.rows]
    for control in named:
        assert control.accessibleName() or (isinstance(control, QAbstractButton) and control.text()), control


def test_ticking_does_only_what_comes_after_again():
    job = _session().job
    first = chains.proposed(job, ALL, lambda _fraction: None)
    assert checks.check(first.after) == list(first.left)
    ticks = [True] * len(first.links)
    ticks[-1] = False
    second = chains.ticked(first, ticks, lambda _fraction: None)
    assert [one is other for one, other in zip(first.links, second.links, strict=True)] == [True] * (len(ticks) - 1) + [
        False
    ]
    assert second.after is first.links[-1].before
    assert chains.ticked(second, ticks, lambda _fraction: None) is second


def test_an_empty_sheet_has_nothing_to_make_ready(make_window, qtbot):
    window = make_window()
    settle(window, qtbot)
    qtbot.keyClick(window, Key.Key_F9, Shift)
    assert window.stage.count() == 1
    assert "no art yet" in window.bench.strip.text.text()


def test_the_list_ends_with_its_last_row(page, qtbot):
    last = page.left_rows[-1]
    qtbot.waitUntil(
        lambda: page.list_page.height() <= max(last.geometry().bottom() + 40, page.area.viewport().height())
    )
    assert page.list.minimumSize().height() <= page.list.heightForWidth(page.list_page.width())
