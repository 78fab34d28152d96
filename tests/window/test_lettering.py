"""Lettering in the window: retyped where it stands, set in fonts seen beforehand, bent by hand, filled from lists."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QFileDialog, QPushButton

from bladewise.document import BendKind, Lettering
from bladewise.history import History
from bladewise.lettering import search_also
from bladewise.session import Session
from bladewise.window.lettering.font_page import recent
from bladewise.window.lettering.missing import MissingFonts
from bladewise.window.lettering.pull_bend import PullBend
from bladewise.window.lettering.retyping import Retyping
from bladewise.window.messages import Message
from window.conftest import settle
from window.person import Person

search_also(Path(__file__).parents[2] / "demo_art" / "fonts")

Key = Qt.Key
Shift = Qt.KeyboardModifier.ShiftModifier


def lettered(*texts: str, family: str = "Pacifico") -> Session:
    """Return a job of live lettering, line under line."""
    session = Session.new("Cart", 300, 60 * len(texts) + 30)
    for row, text in enumerate(texts):
        session.do("set-lettering", text=text, family=family, size_mm=40, x_mm=20, y_mm=60 + 60 * row, fill="#e8613c")
    session._saved = session.history
    return session


def at_rest(window) -> bool:
    """Whether no ghost, page or step is under way."""
    desk, page = window.desk, window.side.page
    workers = [desk.steps, desk.ghosts, desk.errands]
    workers += [each for name in ("sampler", "_details", "worker") if (each := getattr(page, name, None)) is not None]
    return not any(each.is_busy for each in workers)


@pytest.fixture
def person(make_window, qtbot, monkeypatch):
    window = make_window(lettered("Puddlewick"))
    settle(window, qtbot)
    somebody = Person(window, qtbot, monkeypatch)
    window.desk.select(["lettering"])
    yield somebody
    window.bench.leave()
    window.canvas.put_down()
    qtbot.waitUntil(lambda: at_rest(window), timeout=20_000)


def word(window) -> Lettering:
    """Return the lettering of the job."""
    found = window.desk.job.element("lettering")
    assert isinstance(found, Lettering)
    return found


# --- retyping ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["enter", "F2", "double-click", "verb"])
def test_lettering_is_retyped_where_it_stands(person, qtbot, way):
    window = person.window
    window.canvas.setFocus()
    if way == "double-click":
        box = word(window).bounds
        place = person.at(box[0] + 4.0, 0.5 * (box[1] + box[3]))
        qtbot.mouseDClick(window.canvas, Qt.MouseButton.LeftButton, pos=place)
        qtbot.mouseRelease(window.canvas, Qt.MouseButton.LeftButton, pos=place)
    elif way == "verb":
        person.takes("retype")
    else:
        qtbot.keyClick(window.canvas, Key.Key_Return if way == "enter" else Key.Key_F2)
    editor = QApplication.focusWidget()
    qtbot.keyClicks(editor, "Puddle")
    qtbot.keyClick(editor, Key.Key_Return, Shift)
    qtbot.keyClicks(editor, "duck")
    qtbot.keyClick(editor, Key.Key_Return)
    person.waits()
    assert word(window).text == "Puddle\nduck"
    assert window.desk.session.history.rows[-1].entry.step.do == "retype"
    assert window.canvas.work is None


def test_the_canvas_shows_what_is_typed_before_it_is_taken(person, qtbot):
    window = person.window
    window.handling.retype()
    before = window.canvas.job.element("lettering").bounds
    qtbot.keyClicks(QApplication.focusWidget(), "I")
    qtbot.waitUntil(lambda: window.canvas.job.element("lettering").bounds != before)
    assert word(window).text == "Puddlewick"


def test_escape_leaves_the_lettering_as_it_was(person, qtbot):
    window = person.window
    steps = len(window.desk.session.history.rows)
    window.handling.retype()
    qtbot.keyClicks(QApplication.focusWidget(), "Duck")
    qtbot.waitUntil(lambda: not window.desk.ghosts.is_busy)
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Escape)
    assert len(window.desk.session.history.rows) == steps
    assert window.canvas.job.element("lettering") == word(window)
    assert window.canvas.work is None


def test_what_is_typed_is_taken_when_one_goes_elsewhere(person, qtbot):
    window = person.window
    window.handling.retype()
    qtbot.keyClicks(QApplication.focusWidget(), "Duck")
    person.clicks_art(290, 5)
    person.waits()
    assert word(window).text == "Duck"


def test_lettering_that_would_say_nothing_stays_as_it_was(person, qtbot):
    window = person.window
    window.handling.retype()
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Delete)
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Return)
    assert word(window).text == "Puddlewick"
    assert window.canvas.job.element("lettering") == word(window)


def test_undo_ends_retyping_without_a_step(person, qtbot):
    window = person.window
    window.handling.retype()
    assert isinstance(window.canvas.work, Retyping)
    window.desk.undo()
    person.waits()
    assert window.canvas.work is None
    assert window.desk.job.element("lettering") is None


# --- the bench --------------------------------------------------------------------------------------------------------


def test_the_bench_is_about_words_where_lettering_is_selected(person):
    bench = person.window.bench
    for verb in ("retype", "set-font", "letter-height", "alternates", "merge-script", "add-tail", "fill-roster"):
        assert bench.entry(verb) is not None, verb
    assert bench.verb("ripple") is None
    assert bench.findChild(QPushButton, "fold-bends") is not None


def test_shapes_are_bent_too_and_words_are_folded_up(squares):
    squares.desk.select_all()
    bench = squares.bench
    assert bench.entry("set-font") is None
    assert bench.entry("fill-roster") is None
    folds = [bench.findChild(QPushButton, f"fold-{name}") for name in ("bends", "script")]
    assert [next(each.text() for each in fold.menu().actions()) for fold in folds] == ["Along an arc", "Merge script"]


def test_a_verb_begins_with_how_the_lettering_is_set(person):
    window = person.window
    person.takes("letter-height")
    assert window.bench.by_hand.numbers()["size_mm"] == pytest.approx(40.0)
    assert window.bench.by_hand.numbers()["of"] == "em"
    window.bench.leave()
    window.desk.do_plain("upright-arch", on=["lettering"], rise_mm=7.0)
    person.waits()
    window.bench.open("upright-arch")
    assert window.bench.by_hand.numbers()["rise_mm"] == pytest.approx(7.0)


# --- fonts ------------------------------------------------------------------------------------------------------------


def test_a_font_is_found_seen_and_taken_by_keys_alone(person, qtbot):
    window = person.window
    person.takes("set-font")
    page = window.side.page
    assert QApplication.focusWidget() is page.search
    qtbot.waitUntil(lambda: page.family() == "Pacifico", timeout=20_000)
    qtbot.keyClicks(page.search, "josefin sans")
    qtbot.keyClick(page.search, Key.Key_Down)
    assert page.family() == "Josefin Sans"
    qtbot.waitUntil(lambda: "Josefin Sans" in page.sampler.samples, timeout=20_000)
    assert window.bench.by_hand.numbers()["family"] == "Josefin Sans"
    assert window.bench.by_hand.numbers()["weight"] == 700
    qtbot.keyClick(page.search, Key.Key_Return)
    person.waits()
    assert word(window).family == "Josefin Sans"
    assert window.side.page is None
    assert recent(window.desk) == ["Josefin Sans"]


def test_a_sample_is_made_of_the_operators_own_words_only_where_it_is_seen(person, qtbot):
    window = person.window
    window.bench.open("set-font")
    page = window.side.page
    qtbot.waitUntil(lambda: bool(page.list.fonts.shown) and not page.sampler.is_busy, timeout=30_000)
    assert page.sampler.text == "Puddlewick"
    assert set(page.list.seen()) <= set(page.sampler.samples)
    qtbot.waitUntil(lambda: page.sampler.joins("Pacifico") is True, timeout=30_000)
    assert "letters join" in page.list.fonts.marks("Pacifico")


def test_only_fonts_whose_letters_join_are_shown_if_asked_for(person, qtbot, monkeypatch):
    window = person.window
    window.desk._families = ["DejaVu Sans", "Josefin Sans", "Pacifico"]
    window.bench.open("set-font")
    page = window.side.page
    person.clicks(page.joined)
    qtbot.waitUntil(lambda: page.list.fonts.shown == ["Pacifico"], timeout=30_000)


def test_letters_that_a_font_lacks_are_named(person, qtbot):
    window = person.window
    window.desk.do_plain("retype", on=["lettering"], text="Owl 梟")
    person.waits()
    window.bench.open("set-font")
    page = window.side.page
    qtbot.waitUntil(lambda: "Pacifico" in page.sampler.samples, timeout=30_000)
    assert "lacks 梟" in page.list.fonts.marks("Pacifico")


def test_fonts_used_of_late_come_first(person, qtbot):
    window = person.window
    window.preferences.set_text("fonts-used", "Pacifico\nGone")
    window.bench.open("set-font")
    page = window.side.page
    qtbot.waitUntil(lambda: bool(page.list.fonts.shown), timeout=20_000)
    assert page.list.fonts.shown[0] == "Pacifico"
    assert page.list.fonts.shown.count("Pacifico") == 1


def test_new_lettering_takes_the_font_chosen(make_window, qtbot):
    window = make_window()
    settle(window, qtbot)
    window.bench.open("set-lettering")
    page = window.side.page
    window.bench.form.fields["text"].line.setText("Cup")
    window.bench.form.changed.emit()
    qtbot.waitUntil(lambda: bool(page.list.fonts.shown), timeout=20_000)
    assert page.sampler.text == "Cup"
    page.list.setCurrentIndex(page.list.fonts.row_of("Pacifico"))
    window.bench.apply()
    settle(window, qtbot)
    assert word(window).family == "Pacifico"
    qtbot.waitUntil(lambda: at_rest(window), timeout=20_000)


def test_a_variable_font_has_its_axes_and_named_instances(person, qtbot, tmp_path, monkeypatch):
    from bladewise.lettering import fonts
    from lettering.test_catalogue import variable_font

    monkeypatch.setattr(fonts, "_folders", list(fonts._folders))
    variable_font(tmp_path / "sway.ttf")
    search_also(tmp_path)
    window = person.window
    window.desk._families = None
    window.desk.do_plain("retype", on=["lettering"], text="HH")
    person.waits()
    window.bench.open("set-font")
    page = window.side.page
    qtbot.waitUntil(lambda: page.list.fonts.row_of("Sway").isValid(), timeout=20_000)
    page.list.setCurrentIndex(page.list.fonts.row_of("Sway"))
    qtbot.waitUntil(lambda: set(page._axes) == {"wght", "wdth"}, timeout=20_000)
    page.style_.setCurrentIndex(page.style_.findText("Black Narrow"))
    page._style_chosen()
    assert (window.bench.by_hand.numbers()["weight"], window.bench.by_hand.numbers()["axes"]) == (900, "wdth=75")
    _, slider, figure = page._axes["wdth"]
    slider.setFocus()
    qtbot.keyClick(slider, Key.Key_End)
    assert (window.bench.by_hand.numbers()["axes"], figure.text()) == ("wdth=125", "125")
    window.bench.apply()
    person.waits()
    assert dict(word(window).setting.axes) == {"wdth": 125.0}
    fonts._own_faces.cache_clear()


def test_a_font_that_is_missing_is_named_and_nothing_reflows(make_window, qtbot):
    session = lettered("Puddlewick")
    leaf = session.job.element("lettering")
    gone = replace(leaf, family="Gone Script")
    job = session.job.replaced({"lettering": (gone,)})
    window = make_window(Session(History(job)))
    qtbot.waitUntil(lambda: "Gone Script" in window.bench.strip.text.text(), timeout=20_000)
    assert "“Puddlewick”" in window.bench.strip.text.text()
    assert "saved" in window.bench.strip.text.text()
    assert word(window).outline == leaf.outline
    window.desk.select(["lettering"])
    window.handling.retype()
    qtbot.keyClicks(QApplication.focusWidget(), "Duck")
    qtbot.waitUntil(lambda: "not on this computer" in window.bench.strip.text.text(), timeout=20_000)
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Return)
    settle(window, qtbot)
    assert word(window).outline == leaf.outline


def test_a_missing_font_is_told_once_where_the_notes_on_the_artwork_tell_it(window):
    note = "1 text is set in a substitute, because its font is not on this computer (Gone Script)."
    window.files.take(Session(History(replace(window.desk.job, notes=(note,)))), None)
    (missing,) = window.findChildren(MissingFonts)
    window.desk.tell(Message(""))
    missing._tell(window.desk.job, {"Gone Script": ["Puddlewick"]})
    assert window.bench.strip.text.text() == ""
    missing._tell(window.desk.job, {"Other Script": ["Puddlewick"]})
    assert "Other Script" in window.bench.strip.text.text()


# --- alternates, height, merging, tails -------------------------------------------------------------------------------


def test_a_letter_takes_another_form_by_a_click(person, qtbot):
    window = person.window
    person.takes("alternates")
    page = window.side.page
    person.clicks(page.letters[0])
    qtbot.waitUntil(lambda: len(page.forms) > 1, timeout=20_000)
    assert page.forms[0].isChecked()
    other = page.forms[1]
    person.clicks(other)
    assert other.isChecked()
    assert not page.forms[0].isChecked()
    assert window.bench.by_hand.numbers()["features"] == f"{other.form.feature}[0]"
    window.bench.apply()
    person.waits()
    assert word(window).setting.features == (f"{other.form.feature}[0]",)


def test_a_feature_is_switched_for_all_letters_and_off_where_it_is_usually_on(person):
    window = person.window
    person.takes("alternates")
    page = window.side.page
    assert page.switches["liga"].isChecked()
    assert not page.switches["ss01"].isChecked()
    person.clicks(page.switches["ss01"])
    person.clicks(page.switches["liga"])
    assert window.bench.by_hand.numbers()["features"] == "ss01 -liga"


def test_what_is_read_from_afar_is_told_with_its_source(person, qtbot):
    window = person.window
    person.takes("letter-height")
    page = window.side.page
    person.fills(seen_from_mm="20 m")
    qtbot.waitUntil(lambda: "too small" in page.asked.text(), timeout=20_000)
    assert "2010 ADA Standards" in page.asked.text()
    person.fills(size_mm="400")
    qtbot.waitUntil(lambda: "enough" in page.asked.text(), timeout=20_000)


def test_near_misses_are_listed_and_bridged_by_one_click(make_window, qtbot):
    window = make_window(lettered("mill", family="Josefin Sans"))
    settle(window, qtbot)
    window.desk.select(["lettering"])
    window.bench.open("merge-script")
    page = window.side.page
    window.bench.form.fields["near_mm"].set_value(20.0)
    window.bench.form.changed.emit()
    qtbot.waitUntil(lambda: page.list.count() == 3, timeout=20_000)
    assert "“m” and “i”" in page.list.item(0).text()
    before = window.canvas.view
    page.list.setCurrentRow(1)
    assert window.canvas.view != before
    qtbot.mouseClick(page.bridge, Qt.MouseButton.LeftButton)
    window.bench.apply()
    settle(window, qtbot)
    assert window.desk.session.history.rows[-1].entry.step.record.bridge
    assert len(window.desk.job.shapes()) == 1
    qtbot.waitUntil(lambda: at_rest(window), timeout=20_000)


def test_a_tail_shows_how_each_style_runs(person):
    person.takes("add-tail")
    field = person.window.bench.form.fields["style"]
    assert all(not field.segments.button(style).icon().isNull() for style in ("sweep", "wave", "banner", "flick"))


# --- bends by hand ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("verb", "number", "kind"),
    [
        ("bend-along-arc", "angle_deg", BendKind.ARC),
        ("ripple", "rise_mm", BendKind.RIPPLE),
        ("upright-arch", "rise_mm", BendKind.ARCH),
        ("climb", "rise_mm", BendKind.CLIMB),
        ("swell", "percent", BendKind.SWELL),
    ],
)
def test_a_bend_is_pulled_on_the_canvas(person, qtbot, verb, number, kind):
    window, canvas = person.window, person.window.canvas
    window.bench.open(verb)
    work = canvas.work
    assert isinstance(work, PullBend)
    before = window.bench.by_hand.numbers()[number]
    start = work.grips()[0][1].place(canvas.view).toPoint()
    end = start + QPoint(0, 12 if verb == "bend-along-arc" else -20)
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(canvas, end)
    there = work.grips()[0][1].place(canvas.view)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=end)
    assert window.bench.by_hand.numbers()[number] > before
    assert there.y() == pytest.approx(end.y(), abs=2.5)
    window.bench.apply()
    person.waits()
    assert word(window).setting.bending.kind is kind
    assert canvas.work is None


def test_a_corner_follows_the_hand(person, qtbot):
    window, canvas = person.window, person.window.canvas
    window.bench.open("four-corners")
    work = canvas.work
    start = work.corners()[1].toPoint()
    end = start + QPoint(30, -20)
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(canvas, end)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=end)
    assert (work.corners()[1] - end).manhattanLength() < 2.0
    qtbot.keyClick(canvas, Key.Key_Return)
    person.waits()
    assert word(window).setting.bending.kind is BendKind.CORNERS


def test_grips_of_turned_lettering_point_along_with_it(person):
    window = person.window
    window.desk.do_plain("rotate", on=["lettering"], angle_deg=90)
    person.waits()
    window.bench.open("upright-arch")
    ((_, grip),) = window.canvas.work.grips()
    assert (grip.across, grip.down) == pytest.approx((1.0, 0.0), abs=1e-9)


def test_lettering_slides_along_its_path(person, qtbot):
    window, canvas = person.window, person.window.canvas
    window.desk.do_plain("draw-line", x1_mm=20, y1_mm=20, x2_mm=280, y2_mm=20)
    person.waits()
    window.desk.select_all()
    window.bench.open("bend-along-path")
    work = canvas.work
    start = work.grip().place(canvas.view).toPoint()
    end = person.at(60, 12)
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(canvas, end)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=end)
    assert window.bench.by_hand.numbers()["start_mm"] == pytest.approx(40.0, abs=1.0)
    window.bench.apply()
    person.waits()
    assert word(window).setting.bending.kind is BendKind.PATH


def test_escape_leaves_a_bend_and_takes_its_grips_away(person, qtbot):
    window = person.window
    window.bench.open("swell")
    qtbot.keyClick(window.canvas, Key.Key_Escape)
    assert window.bench.operation is None
    assert window.canvas.work is None


# --- names by the dozen -----------------------------------------------------------------------------------------------

LIST = "name;number\nAnna;7\n;9\n漢字;11\nZoë;12\n"


@pytest.fixture
def dozen(make_window, qtbot, monkeypatch):
    window = make_window(lettered("{name}", "{number}", family="Josefin Sans"))
    settle(window, qtbot)
    somebody = Person(window, qtbot, monkeypatch)
    window.desk.select_all()
    window.bench.open("fill-roster")
    yield somebody
    window.bench.leave()
    qtbot.waitUntil(lambda: at_rest(window), timeout=20_000)


def verdicts(page) -> list[str]:
    """Return what stands in the last column."""
    last = page.table.columnCount() - 1
    return [page.table.item(row, last).text() for row in range(page.table.rowCount())]


def test_cells_are_pasted_and_every_row_says_what_comes_of_it(dozen, qtbot):
    window = dozen.window
    page = window.side.page
    QGuiApplication.clipboard().setText(LIST.replace(";", "\t"))
    assert QApplication.focusWidget() is page.table
    qtbot.keyClick(page.table, Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: page.verdict.text().startswith("2 pieces"), timeout=20_000)
    assert verdicts(page) == ["is made", "“name” is empty.", "The font has no “漢”, “字”.", "is made"]
    assert page.table.item(1, 0).text() == "3"
    assert "{name} ✓" in page.matched.text()
    window.bench.apply()
    settle(window, qtbot)
    layer = window.desk.job.layers[-1]
    assert [group.name for group in layer.children] == ["Anna · 7", "Zoë · 12"]


def test_cells_are_taken_wherever_the_focus_is(dozen, qtbot):
    window = dozen.window
    QGuiApplication.clipboard().setText(LIST)
    window.canvas.setFocus()
    window.actions_["paste"].trigger()
    qtbot.waitUntil(lambda: window.side.page.verdict.text().startswith("2 pieces"), timeout=20_000)


def test_a_list_is_opened_and_a_wrong_row_is_mended_in_place(dozen, qtbot, tmp_path, monkeypatch):
    page = dozen.window.side.page
    file = tmp_path / "crew.csv"
    file.write_text(LIST, encoding="utf-16")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", staticmethod(lambda *_args: (str(file), "")))
    dozen.clicks(page.open)
    qtbot.waitUntil(lambda: page.verdict.text().startswith("2 pieces"), timeout=20_000)
    page.table.item(1, 1).setText("Bo")
    qtbot.waitUntil(lambda: page.verdict.text().startswith("3 pieces"), timeout=20_000)
    assert verdicts(page)[1] == "is made"


def test_a_place_without_a_column_is_said_before_anything_is_made(dozen, qtbot):
    page = dozen.window.side.page
    page.take("name\nAnna\n")
    qtbot.waitUntil(lambda: "no column" in page.verdict.text(), timeout=20_000)
    assert "{number} – no such column" in page.matched.text()


def test_what_is_no_list_is_told(dozen):
    page = dozen.window.side.page
    page.take("name\n")
    assert "no rows" in page.verdict.text()
    QGuiApplication.clipboard().setText("")
    page.paste_cells()
    assert "no cells" in page.verdict.text()


def test_a_long_list_is_kept_whole_in_its_field(dozen, qtbot):
    rows = "\n".join(f"Name{number};{number}" for number in range(4000))
    dozen.window.desk.select(["lettering"])
    field = dozen.window.bench.form.fields["rows"]
    field.set_value(f"name;number\n{rows}\n")
    assert field.value().count("\n") == 4001
    assert field.button.text() == "4000 rows"
    field.set_value("")
