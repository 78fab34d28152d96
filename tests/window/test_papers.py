"""Job ticket and customer proof: filled in, seen as they will be printed, written; what was filled in stays."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pikepdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from bladewise.formats import Destination
from bladewise.session import Session
from bladewise.window.hand_off.paper_making import Sort
from bladewise.window.hand_off.papers import PapersDialog
from bladewise.window.hand_off.screen import HandOff
from window.conftest import settle

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

Key = Qt.Key


@pytest.fixture
def shop(make_window, qtbot) -> MainWindow:
    session = Session.new("Squares", 200, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill="#cc3311", name="Left")
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    return window


def papers(window: MainWindow, qtbot: QtBot, sort: Sort, folder: Path) -> PapersDialog:
    window.actions_["job-ticket" if sort is Sort.TICKET else "customer-proof"].trigger()
    (dialog,) = window.findChildren(PapersDialog)
    dialog.file.setText(str(folder / f"paper.{dialog.kind}"))
    made(dialog, qtbot)
    return dialog


def made(dialog: PapersDialog, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: dialog.made is not None, timeout=20_000)


def written(dialog: PapersDialog, qtbot: QtBot) -> str:
    dialog.write()
    qtbot.waitUntil(lambda: not dialog._writer.is_busy, timeout=20_000)
    return dialog.message.text()


def words_on(dialog: PapersDialog) -> str:
    assert dialog.made is not None
    return " ".join(getattr(item, "text", "") for page in dialog.made.pages for item in page.items)


def test_the_ticket_says_what_is_filled_in_and_the_job_keeps_it(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.TICKET, tmp_path)
    dialog.details["customer"].setText("Ada Reed")
    dialog.details["due_date"].setText("Friday")
    made(dialog, qtbot)
    assert "Ada Reed" in words_on(dialog)
    assert "Friday" in words_on(dialog)
    assert written(dialog, qtbot) == "“paper.pdf” is written."
    with pikepdf.open(tmp_path / "paper.pdf") as pdf:
        assert len(pdf.pages) == len(dialog.pages)
    settle(shop, qtbot)
    assert shop.desk.job.details.customer == "Ada Reed"
    assert [row.entry.step.do for row in shop.desk.session.history.rows][-1] == "job-details"
    rows = len(shop.desk.session.history.rows)
    dialog.accept()
    assert len(shop.desk.session.history.rows) == rows
    shop.actions_["customer-proof"].trigger()
    again = shop.findChildren(PapersDialog)[-1]
    assert again.details["customer"].text() == "Ada Reed"
    again.reject()


def test_escape_leaves_the_job_as_it_was(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.TICKET, tmp_path)
    dialog.details["customer"].setText("Nobody")
    qtbot.keyClick(dialog.details["customer"], Key.Key_Escape)
    assert not dialog.isVisible()
    assert shop.desk.job.details.customer == ""


def test_a_ticket_is_written_for_the_browser_too(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.TICKET, tmp_path)
    dialog.kinds.button("html").click()
    assert dialog.path.suffix == ".html"
    written(dialog, qtbot)
    assert "Squares" in (tmp_path / dialog.path.name).read_text(encoding="utf-8")
    dialog.accept()


def test_the_proof_says_its_scale_and_is_written_as_a_picture(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.PROOF, tmp_path)
    assert dialog.remark.text() == "True size."
    assert len(dialog.pages) == 1
    dialog.kinds.button("png").click()
    made(dialog, qtbot)
    written(dialog, qtbot)
    assert dialog.written is not None
    assert dialog.written.read_bytes().startswith(b"\x89PNG")
    dialog.accept()


def test_pages_follow_the_size_of_paper(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.TICKET, tmp_path)
    assert dialog.made.pages[0].width_mm == 210.0
    dialog.papers.button("letter").click()
    made(dialog, qtbot)
    assert dialog.made.pages[0].width_mm == 215.9
    dialog.reject()


def test_a_paper_that_is_refused_is_told_in_place_and_the_old_one_stays(shop, qtbot, tmp_path):
    dialog = papers(shop, qtbot, Sort.TICKET, tmp_path)
    (tmp_path / "blocked").write_text("a file")
    dialog.file.setText(str(tmp_path / "blocked" / "paper.pdf"))
    made(dialog, qtbot)
    assert "There is a file named “blocked”" in written(dialog, qtbot)
    assert (tmp_path / "blocked").read_text() == "a file"
    assert dialog.isVisible()
    dialog.file.setText("")
    assert not dialog.write_button.isEnabled()
    dialog.reject()


def test_an_empty_job_has_no_proof_and_says_so(window, qtbot, tmp_path):
    settle(window, qtbot)
    window.show_proof()
    (dialog,) = window.findChildren(PapersDialog)
    qtbot.waitUntil(lambda: "Nothing in the job shows" in dialog.remark.text(), timeout=10_000)
    assert not dialog.write_button.isEnabled()
    dialog.reject()


def test_the_ticket_of_a_hand_off_says_how_its_files_are_made(shop, qtbot, tmp_path):
    dialog = PapersDialog(
        shop.desk, Sort.TICKET, to=[Destination("hpgl", "Front table", mirrored="yes", marks="cross")]
    )
    qtbot.addWidget(dialog)
    made(dialog, qtbot)
    ((_, text),) = [fact for fact in dialog.made.ticket.facts if fact.label == "Files"]
    assert text.startswith("“Front table”")
    assert "mirrored" in text
    assert "Mirrored" not in [fact.label for fact in dialog.made.ticket.facts]
    assert "marks: " in text
    dialog.close()


def test_where_to_write_is_chosen(shop, qtbot, tmp_path, monkeypatch):
    dialog = papers(shop, qtbot, Sort.PROOF, tmp_path)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(tmp_path / "other"), "")))
    dialog.choose.click()
    assert dialog.path == tmp_path / "other.pdf"
    dialog.reject()


def test_the_ticket_opens_from_the_hand_off_and_what_it_changes_shows_there(shop, qtbot, tmp_path):
    shop.show_export()
    (screen,) = shop.findChildren(HandOff)
    qtbot.waitUntil(
        lambda: all(screen.files.of(each) is not None for each in screen.destinations.chosen), timeout=20_000
    )
    screen.ticket.click()
    (dialog,) = screen.findChildren(PapersDialog)
    dialog.details["revision"].setText("B")
    dialog.accept()
    settle(shop, qtbot)
    assert shop.desk.job.details.revision == "B"
    qtbot.waitUntil(
        lambda: all(screen.files.of(each) is not None for each in screen.destinations.chosen), timeout=20_000
    )
    assert screen.files.looks(screen.destinations.chosen[1])[0].file.job.details.revision == "B"
    screen.reject()
