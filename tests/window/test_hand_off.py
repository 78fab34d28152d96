"""The hand-off: which file goes to which machine, seen before it is written, written whole, refused in place."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QApplication

from bladewise.document import Profile
from bladewise.errors import Cancelled, CannotWrite
from bladewise.formats import Destination, Prepared, prepared
from bladewise.formats.destinations import FORMATS, choices_of, says_something
from bladewise.session import Session
from bladewise.window.hand_off.answers import Answers, Shelf, answers_for, keep_answers
from bladewise.window.hand_off.looks import look_of
from bladewise.window.hand_off.said import cautions, summary
from bladewise.window.hand_off.screen import HandOff
from bladewise.window.hand_off.settings import Kind, settings
from bladewise.window.hand_off.writing import Order, not_written, write_orders
from window.conftest import settle

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

Key = Qt.Key


@pytest.fixture
def apart() -> Session:
    """Return a job of a red and a blue square that do not touch."""
    session = Session.new("Squares", 200, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill="#cc3311", name="Left")
    session.do("draw-rectangle", x_mm=90, y_mm=30, width_mm=60, height_mm=60, fill="#1133cc", name="Right")
    session._saved = session.history
    return session


@pytest.fixture
def shop(make_window, apart, qtbot, tmp_path) -> MainWindow:
    window = make_window(apart)
    settle(window, qtbot)
    return window


def opened(window: MainWindow, qtbot: QtBot, folder: Path | None = None) -> HandOff:
    window.show_export()
    screen = window.findChildren(HandOff)[-1]
    if folder is not None:
        screen.folder.setText(str(folder))
    worked_out(screen, qtbot)
    return screen


def worked_out(screen: HandOff, qtbot: QtBot) -> None:
    qtbot.waitUntil(
        lambda: all(screen.files.of(each) is not None for each in screen.destinations.chosen), timeout=20_000
    )


def written(screen: HandOff, qtbot: QtBot) -> None:
    screen.write()
    qtbot.waitUntil(screen.results.close_button.isVisible, timeout=20_000)


# --- what goes where ----------------------------------------------------------------------------------------------


def test_every_setting_of_a_destination_is_asked_for_with_a_sentence() -> None:
    from dataclasses import fields

    asked = [each.key for each in settings()]
    assert sorted(asked) == sorted({each.name for each in fields(Destination)} - {"name", "format"})
    for each in settings():
        assert each.called
        assert each.says.endswith(".")
        if each.words:
            assert list(each.words) == list(choices_of(each.key)), each.key


def test_before_anything_is_kept_there_are_cut_files_and_a_drawing(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path / "cut")
    assert list(screen.destinations.bands) == ["Cut files", "Layered drawing"]
    assert [tile.look.file.name for tile in screen.destinations.bands["Cut files"].tiles] == [
        "Squares - Red cc3311.svg",
        "Squares - Blue 1133cc.svg",
    ]
    assert screen.write_button.text() == "Write 3 files"
    assert not (tmp_path / "cut").exists()
    assert not (tmp_path / "destinations").exists()
    screen.reject()


def test_several_destinations_get_a_folder_each_and_what_was_shown_is_what_is_written(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path / "cut")
    shown = {
        tile.look.file.name: tile.look.file.data for band in screen.destinations.bands.values() for tile in band.tiles
    }
    written(screen, qtbot)
    files = {path.name: path for path in (tmp_path / "cut").rglob("*.svg")}
    assert {name: path.read_bytes() for name, path in files.items()} == shown
    assert files["Squares.svg"].parent.name == "Layered drawing"
    assert screen.results.title.text() == "3 files are written"
    assert "3 files written" in shop.bench.strip.text.text()
    screen.accept()


def test_a_material_that_is_left_out_gets_into_no_file(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    (red, blue) = screen.materials.values()
    blue.click()
    worked_out(screen, qtbot)
    assert [tile.look.file.name for tile in screen.destinations.bands["Cut files"].tiles] == [
        "Squares - Red cc3311.svg"
    ]
    red.click()
    worked_out(screen, qtbot)
    assert "Nothing in the job is to be cut" in screen.destinations.bands["Cut files"].problem_text.text()
    screen.reject()


def test_files_that_are_there_already_are_told(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Layered drawing"].tick.click()
    worked_out(screen, qtbot)
    (tmp_path / "Squares - Red cc3311.svg").write_text("old")
    screen.destinations.show_all()
    names = [tile.accessibleName() for tile in screen.destinations.bands["Cut files"].tiles]
    assert [("replaces" in name) for name in names] == [True, False]
    screen.reject()


def test_art_that_is_not_ready_is_told_in_its_band_and_shown(shop, qtbot, tmp_path):
    shop.desk.do_plain("set-lettering", text="OPEN", x_mm=20, y_mm=95, size_mm=10)
    settle(shop, qtbot)
    screen = opened(shop, qtbot, tmp_path)
    band = screen.destinations.bands["Cut files"]
    assert band.problem.isVisible()
    assert "still live" in band.problem_text.text()
    assert not band.tiles
    band.problem_show.click()
    assert not screen.isVisible()
    assert len(shop.desk.selection) == 1


# --- destinations -------------------------------------------------------------------------------------------------


def test_a_new_destination_is_filled_in_tried_out_and_kept(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path / "cut")
    screen.destinations.new_button.click()
    (band,) = [each for each in screen.destinations.bands.values() if each.is_open]
    assert not screen.write_button.isEnabled()
    band.form.name.setText("Front table")
    band.form.format.button("hpgl").click()
    assert set(band.form.fields) == {each.key for each in settings() if says_something(each.key, "hpgl")}
    band.form.fields["origin"].segments.button("2").click()
    qtbot.waitUntil(lambda: [tile.look.file.name for tile in band.tiles] == ["Squares.hpgl"])
    band.keep_button.click()
    assert Shelf(tmp_path / "destinations").names() == ["Cut files", "Front table", "Layered drawing"]
    kept = next(each for each in Shelf(tmp_path / "destinations").destinations if each.name == "Front table")
    assert kept == Destination("hpgl", "Front table", origin="art")
    assert screen.destinations.bands["Front table"].is_on
    screen.reject()


def test_a_wrong_setting_is_told_beside_its_field_in_the_operators_words(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Cut files"].change.click()
    band = screen.destinations.bands["Cut files"]
    form = band.form
    form.format.button("hpgl").click()
    pen = form.fields["pen"]
    pen.lines["pen"].setText("900")
    assert pen.says.text() == "“Pen” takes a whole number from 1 to 255."
    assert not band.keep_button.isEnabled()
    pen.lines["pen"].setText("three")
    assert pen.says.text() == "“three” is not a number."
    pen.lines["pen"].setText("3")
    assert band.keep_button.isEnabled()
    form.fields["tolerance_mm"].lines["tolerance_mm"].setText("1/4in")
    assert "from 0.001 to 1" in form.fields["tolerance_mm"].says.text()
    form.fields["tolerance_mm"].lines["tolerance_mm"].setText("")
    form.name.setText("layered drawing")
    assert form.name_says.text() == "There is a destination of that name."
    assert not band.keep_button.isEnabled()
    form.name.setText(" ")
    assert not band.keep_button.isEnabled()
    form.name.setText("Table")
    form.fields["pens"].lines["Red #cc3311"].setText("2")
    form.fields["pens"].lines["perforation"].setText("4")
    assert form.destination() == Destination(
        "hpgl", "Table", per_colour=True, pen=3, pens=(("Red #cc3311", 2), ("perforation", 4))
    )
    screen.reject()


def test_what_means_nothing_to_a_format_is_not_carried_along(shop, qtbot, tmp_path):
    shelf = Shelf(tmp_path / "destinations")
    shelf.put(Destination("hpgl", "Table", pen=4, marks="cross", marks_size_mm=8.0))
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Table"].change.click()
    form = screen.destinations.bands["Table"].form
    form.format.button("pdf").click()
    assert form.destination() == Destination("pdf", "Table", marks="cross", marks_size_mm=8.0)
    form.fields["marks"].combos["marks"].setCurrentIndex(0)
    assert not form.fields["marks_size_mm"].isEnabled()
    form.fields["marks_size_mm"].lines["marks_size_mm"].setText("wide")
    assert form.problems == {}
    screen.reject()


def test_a_destination_is_copied_renamed_removed_and_brought_back(shop, qtbot, tmp_path):
    Shelf(tmp_path / "destinations").put(Destination("dxf", "Saw", units="in"))
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Saw"].copy.click()
    (band,) = [each for each in screen.destinations.bands.values() if each.is_open]
    assert band.form.name.text() == "Saw, copy"
    band.form.name.setText("Router")
    qtbot.keyClick(band.form.name, Key.Key_Return)
    assert "Router" in screen.destinations.shelf.names()
    assert screen.isVisible()
    screen.destinations.bands["Saw"].change.click()
    screen.destinations.bands["Saw"].form.name.setText("Band saw")
    screen.destinations.bands["Saw"].keep_button.click()
    assert "Saw" not in screen.destinations.shelf.names()
    screen.destinations.bands["Band saw"].remove.click()
    assert "Band saw" not in screen.destinations.shelf.names()
    assert "“Band saw” is removed." in screen.destinations.shelf_says.text()
    screen.destinations.bring_back.click()
    back = next(each for each in screen.destinations.shelf.destinations if each.name == "Band saw")
    assert back == Destination("dxf", "Band saw", units="in")
    screen.reject()


def test_escape_leaves_the_settings_and_not_the_screen(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Cut files"].change.click()
    form = screen.destinations.bands["Cut files"].form
    form.name.setText("Other")
    qtbot.keyClick(form.name, Key.Key_Escape)
    assert screen.isVisible()
    assert screen.destinations.shelf.names() == ["Cut files", "Layered drawing"]
    assert not any(band.is_open for band in screen.destinations.bands.values())
    screen.reject()


def test_a_destination_that_cannot_be_read_is_told_and_stops_nothing(shop, qtbot, tmp_path):
    folder = tmp_path / "destinations"
    Shelf(folder).put(Destination("dxf", "Saw"))
    (folder / "old.toml").write_text('format = "dxff"')
    screen = opened(shop, qtbot, tmp_path)
    assert "Saw" in screen.destinations.bands
    assert "old.toml" in screen.destinations.shelf_says.text()
    screen.reject()


def test_a_folder_of_destinations_that_cannot_be_written_to_is_told(shop, qtbot, tmp_path, monkeypatch):
    screen = opened(shop, qtbot, tmp_path)

    def refuse(*_: object) -> None:
        raise CannotWrite("The file could not be written: no space left.", where="table.toml")

    monkeypatch.setattr("bladewise.window.hand_off.answers.keep_destination", refuse)
    screen.destinations.bands["Cut files"].change.click()
    band = screen.destinations.bands["Cut files"]
    band.form.name.setText("Table")
    band.keep_button.click()
    assert "no space left" in screen.destinations.shelf_says.text()
    assert band.is_open
    assert band.form.name.text() == "Table"
    screen.reject()


def test_all_that_a_destination_asks_for_is_said_in_a_few_words() -> None:
    said = summary(Destination("hpgl", "T", per_colour=True, mirrored="yes", marks="round", rotation_deg=90))
    assert (
        said == "HP-GL/2 · a file for each material · mirrored · marks: Round · origin: Sheet, lower left · turned 90°"
    )
    for kind in FORMATS:
        assert summary(Destination(kind, "x"))


# --- what stands against it ---------------------------------------------------------------------------------------


def test_double_cuts_are_written_only_despite_the_findings(squares, qtbot, tmp_path):
    screen = opened(squares, qtbot, tmp_path / "cut")
    assert screen.warnings.frame.isVisible()
    assert "overlap by 800 mm²" in screen.warnings.shown[0]
    assert not screen.write_button.isEnabled()
    screen.warnings.despite.click()
    assert screen.write_button.isEnabled()
    written(screen, qtbot)
    assert len(list((tmp_path / "cut").rglob("*.svg"))) == 2
    screen.accept()


def test_a_double_cut_in_a_material_that_is_left_out_holds_nothing_up(squares, qtbot, tmp_path):
    squares.desk.do_plain("draw-rectangle", x_mm=130, y_mm=10, width_mm=40, height_mm=40, fill="#1133cc", name="Alone")
    settle(squares, qtbot)
    screen = opened(squares, qtbot, tmp_path / "cut")
    assert not screen.write_button.isEnabled()
    screen.materials["colour-cc3311"].click()
    worked_out(screen, qtbot)
    assert not screen.warnings.double_cuts
    assert not screen.warnings.despite.isVisible()
    assert screen.write_button.isEnabled()
    screen.materials["colour-cc3311"].click()
    worked_out(screen, qtbot)
    assert not screen.write_button.isEnabled()


def test_a_destination_without_its_tick_is_broken_off_and_the_others_are_not(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    first, second = screen.destinations.chosen
    screen.files.begin_anew(frozenset())
    screen.destinations.show_all()
    assert screen.files.of(first) is None
    screen.destinations.bands[first.name].tick.click()
    qtbot.waitUntil(lambda: not screen.files.is_busy, timeout=20_000)
    assert screen.files.of(first) is None
    assert screen.files.looks(second)


def test_a_band_says_how_far_its_files_are(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    screen.files.begin_anew(frozenset())
    told = []
    screen.files.progressed.connect(lambda name, part: told.append((name, part, band.state.text())))
    band = next(iter(screen.destinations.bands.values()))
    screen.destinations.show_all()
    worked_out(screen, qtbot)
    own = [(part, text) for name, part, text in told if name == band.destination.name]
    assert any(0.0 < part < 1.0 and text.endswith(f"{round(100 * part)} %") for part, text in own)
    assert "%" not in band.state.text()


def test_show_me_goes_to_the_trouble(squares, qtbot, tmp_path):
    screen = opened(squares, qtbot, tmp_path)
    went = []
    squares.desk.place_wanted.connect(lambda *place: went.append(place))
    show = next(each for each in screen.warnings.frame.findChildren(type(screen.cancel)) if each.text() == "Show me")
    show.click()
    assert not screen.isVisible()
    assert went
    assert squares.desk.selection


def test_blade_and_heat_press_are_thought_of(apart) -> None:
    job = apart.job
    red, blue = job.materials_in_use()
    from dataclasses import replace

    pressed = job.with_material(replace(red, name="Shirt film", profile=Profile(heat_transfer=True)))
    assert "does not mirror it" in " ".join(cautions(pressed, (), [Destination("svg", "Table")]))
    assert "face down" in " ".join(cautions(pressed, (), [Destination("svg", "T", mirrored="heat-transfer")]))
    assert "mirrors everything" in " ".join(cautions(job, (), [Destination("svg", "Table", mirrored="yes")]))
    assert cautions(job, (red.id, blue.id), [Destination("svg", "Table")]) == []


# --- writing ------------------------------------------------------------------------------------------------------


def test_a_file_that_is_refused_stops_no_other_and_can_be_tried_again(shop, qtbot, tmp_path, monkeypatch):
    screen = opened(shop, qtbot, tmp_path)
    screen.destinations.bands["Layered drawing"].tick.click()
    worked_out(screen, qtbot)
    (tmp_path / "Squares - Blue 1133cc.svg").write_text("old")
    is_full = [True]
    write = Prepared.write

    def refuse(file: Prepared, folder: Path) -> Path:
        if is_full[0] and "Blue" in file.name:
            raise CannotWrite("The file could not be written: no space left.", where=file.name, hint="Make room.")
        return write(file, folder)

    monkeypatch.setattr(Prepared, "write", refuse)
    written(screen, qtbot)
    assert screen.results.title.text() == "1 of 2 files could not be written"
    assert (
        screen.results.rows[0] == "Squares - Blue 1133cc.svg: The file could not be written: no space left. Make room."
    )
    assert (tmp_path / "Squares - Blue 1133cc.svg").read_text() == "old"
    assert (tmp_path / "Squares - Red cc3311.svg").exists()
    is_full[0] = False
    assert screen.results.again.isVisible()
    screen.results.again.click()
    qtbot.waitUntil(screen.results.close_button.isVisible)
    assert screen.results.title.text() == "2 files are written"
    assert (tmp_path / "Squares - Blue 1133cc.svg").read_text() != "old"
    screen.accept()


def test_a_destination_that_gets_no_file_is_not_passed_over_in_silence(shop, qtbot, tmp_path):
    shop.desk.do_plain("set-lettering", text="OPEN", x_mm=20, y_mm=95, size_mm=10)
    settle(shop, qtbot)
    screen = opened(shop, qtbot, tmp_path)
    assert screen.write_button.text() == "Write 1 file"
    screen.warnings.despite.setChecked(True)
    written(screen, qtbot)
    assert screen.results.title.text() == "1 file is written"
    assert screen.results.rows[-1].startswith("Cut files: Gets no file. ")
    assert "still live" in screen.results.rows[-1]
    screen.accept()


def test_a_folder_that_is_a_file_is_told_in_place(shop, qtbot, tmp_path):
    (tmp_path / "cut").write_text("not a folder")
    screen = opened(shop, qtbot, tmp_path / "cut")
    written(screen, qtbot)
    assert screen.results.title.text() == "3 of 3 files could not be written"
    assert all("There is a file named “cut”" in row for row in screen.results.rows)
    assert answers_for(None, shop.preferences).folder != str(tmp_path / "cut"), "it is not proposed again"
    assert not screen.results.folder.isVisible()
    screen.results.back.click()
    screen.folder.setText("")
    assert screen.problem.text() == "Say into which folder."
    assert not screen.write_button.isEnabled()
    screen.reject()


def test_writing_that_is_stopped_leaves_whole_files_and_says_which_are_missing(apart, tmp_path) -> None:
    files = tuple(prepared(apart.job, Destination("svg", per_colour=True)))
    orders = [Order("Table", tmp_path, files)]
    results: list = []

    def stop(_part: float) -> None:
        if results:
            raise Cancelled

    with pytest.raises(Cancelled):
        write_orders(orders, results, stop)
    assert [each.path.name for each in results] == [files[0].name]
    assert not_written(orders, results) == [Order("Table", tmp_path, files[1:])]


def test_the_folder_is_opened(shop, qtbot, tmp_path, monkeypatch):
    screen = opened(shop, qtbot, tmp_path)
    shown = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: shown.append(url.toLocalFile()))
    written(screen, qtbot)
    screen.results.folder.click()
    assert shown == [str(tmp_path)]
    screen.accept()


# --- what was answered last ---------------------------------------------------------------------------------------


def test_the_answers_are_kept_for_the_folder_the_job_comes_from(shop, qtbot, tmp_path):
    shop.desk.session.path = tmp_path / "jobs" / "one.svg"
    screen = opened(shop, qtbot, tmp_path / "out")
    screen.destinations.bands["Layered drawing"].tick.click()
    next(iter(screen.materials.values())).click()
    worked_out(screen, qtbot)
    written(screen, qtbot)
    screen.accept()
    again = HandOff(shop.desk, None, shop)
    assert again.folder.text() == str(tmp_path / "out")
    assert [band.is_on for band in again.destinations.bands.values()] == [True, False]
    assert [tick.isChecked() for tick in again.materials.values()] == [False, True]
    again.reject()
    shop.desk.session.path = tmp_path / "other" / "two.svg"
    other = HandOff(shop.desk, None, shop)
    assert other.folder.text() == str(tmp_path / "other" / "cut")
    assert [tick.isChecked() for tick in other.materials.values()] == [True, True]
    other.reject()
    shop.desk.session.path = None


@pytest.mark.parametrize("kept", ["", "[]", "[[", '{"x": 3}', json.dumps({"x": {"folder": 3, "to": [1]}})])
def test_damaged_answers_count_as_none(window, kept):
    window.preferences.set_text("hand-off", kept)
    assert answers_for(None, window.preferences) == Answers()
    keep_answers(None, Answers("there", ("Table",), ("red",)), window.preferences)
    assert answers_for(None, window.preferences) == Answers("there", ("Table",), ("red",))


# --- the look of a file -------------------------------------------------------------------------------------------


def test_a_plotter_file_is_shown_as_it_reads_back(apart) -> None:
    destination = Destination(
        "hpgl", "T", origin="centre", rotation_deg=90, takes_negative=True, marks="cross", marks_inset_mm=1.0
    )
    (file,) = prepared(apart.job, destination)
    look = look_of(file, destination)
    assert look.sheet == pytest.approx((-50.0, -100.0, 50.0, 100.0))
    assert look.origin == (0.0, 0.0)
    assert look.y_up
    assert look.cut_count == 2
    assert look.travel_mm == pytest.approx(480.0)
    left = min(float(outline.places[:, 0].min()) for outline in look.outlines)
    assert left >= -50.0


def test_the_art_lies_at_the_origin_where_the_destination_says_so(apart) -> None:
    destination = Destination("hpgl", "T", origin="art")
    (file,) = prepared(apart.job, destination)
    look = look_of(file, destination)
    assert look.sheet == pytest.approx((-10.0, -90.0, 190.0, 10.0))
    places = [outline.places for outline in look.outlines]
    assert min(float(each[:, 0].min()) for each in places) == pytest.approx(0.0, abs=1e-9)
    assert max(float(each[:, 1].max()) for each in places) == pytest.approx(0.0, abs=1e-9)


def test_a_file_is_followed_outline_after_outline_by_keys(shop, qtbot, tmp_path):
    screen = opened(shop, qtbot, tmp_path)
    tile = screen.destinations.bands["Cut files"].tiles[0]
    tile.setFocus()
    qtbot.keyClick(tile, Key.Key_Space)
    assert screen.stack.currentWidget() is screen.large
    assert QApplication.focusWidget() is screen.large.slider
    assert screen.large.reached.text() == "1 of 1 outlines"
    qtbot.keyClick(screen.large.slider, Key.Key_Left)
    assert screen.large.reached.text() == "0 of 1 outlines"
    assert screen.large.picture.reached == 0
    qtbot.keyClick(screen.large.slider, Key.Key_Escape)
    assert screen.stack.currentIndex() == 0
    assert screen.isVisible()
    screen.reject()


def test_what_is_in_a_file_is_told_beside_it(shop, qtbot, tmp_path):
    Shelf(tmp_path / "destinations").put(Destination("hpgl", "Table", pens=(("Red #cc3311", 2), ("kiss", 4))))
    screen = opened(shop, qtbot, tmp_path)
    facts = screen.destinations.bands["Table"].facts.text() if screen.destinations.bands["Table"].is_on else ""
    if not facts:
        screen.destinations.bands["Table"].tick.click()
        worked_out(screen, qtbot)
        facts = screen.destinations.bands["Table"].facts.text()
    assert facts.splitlines()[:3] == [
        "Red #cc3311, kiss cut, pen 2",
        "Blue #1133cc, kiss cut, pen 4",
        "sheet 200 mm × 100 mm",
    ]
    assert facts.splitlines()[3].startswith("read back, true within ")
    assert screen.destinations.bands["Table"].tiles[0].accessibleName().startswith("Squares.hpgl, 2 pieces · 0.48 m · ")
    screen.reject()


def test_an_empty_job_is_told_that_nothing_is_to_be_cut(window, qtbot, tmp_path):
    settle(window, qtbot)
    screen = opened(window, qtbot, tmp_path)
    assert "Nothing in the job is to be cut" in screen.destinations.bands["Cut files"].problem_text.text()
    screen.reject()


def test_every_kind_of_question_has_a_field() -> None:
    assert {each.kind for each in settings()} == set(Kind)
