"""The page of materials: changes to the job are steps, changes to the stock are kept in its file."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from bladewise.document import Colour, Material, Profile
from bladewise.formats.stock import read_stock, write_stock

SEA = Material("Sea", "Sea", Colour(0, 0x77, 0x77), profile=Profile(roll_width_mm=630.0, price_a_m2=8.5))


@pytest.fixture
def page(squares):
    squares.actions_["materials"].trigger()
    return squares.materials.page


def _row(window):
    history = window.desk.session.history
    return history.rows[history.position - 1].entry.step


def _type(qtbot, page, name, text):
    line = page.card.rows[name].line
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, text)
    qtbot.keyClick(line, Qt.Key.Key_Return)


def test_the_page_comes_by_the_menu_of_a_chip_at_that_material(squares):
    material = next(iter(squares.desk.job.materials_in_use()))
    menu = squares.strip.menu(material)
    next(each for each in menu.actions() if "materials" in each.text()).trigger()
    assert squares.materials.page.current() == material
    menu.deleteLater()


def test_what_is_common_practice_says_so_and_what_is_changed_is_marked(squares, page, qtbot):
    assert page.card.notes["least_gap_mm"].text() == "common practice"
    assert page.card.rows["least_gap_mm"].line.placeholderText() == "0.5 mm"
    _type(qtbot, page, "least_gap_mm", "1.2 mm")
    assert _row(squares).do == "material-profile"
    assert squares.desk.job.materials[0].profile.least_gap_mm == 1.2
    assert page.card.notes["least_gap_mm"].text() == "● yours; usual 0.5 mm"
    _type(qtbot, page, "roll_width_mm", "24 in")
    assert squares.desk.job.materials[0].profile == Profile(least_gap_mm=1.2, roll_width_mm=609.6)
    line = page.card.rows["least_gap_mm"].line
    line.clear()
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert squares.desk.job.materials[0].profile == Profile(roll_width_mm=609.6)
    squares.desk.undo()
    assert squares.desk.job.materials[0].profile.least_gap_mm == 1.2
    assert page.card.rows["least_gap_mm"].line.text() == "1.2 mm"


def test_a_wrong_number_stays_and_says_why(squares, page, qtbot):
    before = squares.desk.session.history.position
    _type(qtbot, page, "least_gap_mm", "wide")
    assert "not a number" in page.card.refusals["least_gap_mm"].text()
    assert page.card.rows["least_gap_mm"].line.text() == "wide"
    page.refresh()
    assert page.card.refusals["least_gap_mm"].isVisible()
    assert squares.desk.session.history.position == before


def test_why_a_number_is_wrong_has_the_row_below_it_as_wide_as_there_is(squares, page, qtbot):
    _type(qtbot, page, "price_a_m2", "12,5x")
    refusal, field = page.card.refusals["price_a_m2"], page.card.rows["price_a_m2"]
    qtbot.waitUntil(lambda: refusal.isVisible() and refusal.width() > field.width())
    assert refusal.geometry().top() >= field.geometry().bottom()
    assert refusal.height() >= refusal.heightForWidth(refusal.width())
    _type(qtbot, page, "price_a_m2", "12.5")
    assert not refusal.isVisible()


def test_kind_cut_and_like_are_steps_too(squares, page):
    card = page.card
    card.cut.setCurrentIndex(card.cut.findData("perforation"))
    card.cut.activated.emit(card.cut.currentIndex())
    assert str(squares.desk.job.materials[0].cut) == "perforation"
    assert not card.rows["perforation_cut_mm"].isHidden()
    card.like.setCurrentIndex(card.like.findData("heat-transfer"))
    card.like.activated.emit(card.like.currentIndex())
    profile = squares.desk.job.materials[0].profile
    assert profile == Profile(like="heat-transfer", heat_transfer=True)
    assert card.pressed.isChecked()
    assert card.rows["least_gap_mm"].line.placeholderText() == "0.8 mm"
    card.pressed.click()
    assert not squares.desk.job.materials[0].profile.heat_transfer


def test_a_new_name_keeps_the_profile_and_a_taken_one_is_refused_in_place(squares, page, qtbot):
    _type(qtbot, page, "least_gap_mm", "1.2 mm")
    page.card.name.setText("Signal red")
    page.card.name.editingFinished.emit()
    (material,) = squares.desk.job.materials
    assert (material.name, material.profile.least_gap_mm) == ("Signal red", 1.2)
    page.take_from_stock(SEA)
    page.card.name.setText("Sea")
    page.card.name.editingFinished.emit()
    assert "already" in page.card.refusals["name"].text()
    assert not page.card.refusals["name"].isHidden()


def test_the_stock_is_kept_between_jobs(squares, page, tmp_path):
    page.put_into_stock()
    name = page.current().name
    page.where.set_value("stock")
    assert page.current().name == name
    page.card.name.setText("House red")
    page.card.name.editingFinished.emit()
    page.new_in_stock()
    assert [each.name for each in read_stock(tmp_path / "stock.toml")] == ["House red", "New vinyl"]
    page.remove()
    assert [each.name for each in read_stock(tmp_path / "stock.toml")] == ["House red"]


def test_vinyl_is_taken_from_stock_and_art_made_of_it(squares, page):
    squares.materials.stock.put(SEA)
    page.make_of(SEA)
    used = list(squares.desk.job.materials_in_use())
    assert [(each.name, each.profile) for each in used] == [("Sea", SEA.profile)]
    assert page.current().name == "Sea"
    assert not page.drop.isEnabled()
    page.take_from_stock(Material("x", "Sky", Colour(0, 0, 255)))
    page.list.setCurrentRow(page.list.count() - 1)
    assert page.current().name == "Sky"
    page.remove()
    assert "Sky" not in [each.name for each in squares.desk.job.materials]


def test_a_stock_that_cannot_be_read_is_told_and_never_written_over(squares, page, tmp_path):
    path = tmp_path / "stock.toml"
    path.write_text("[[material]]\nname = 3\n", encoding="utf-8")
    squares.materials.stock.read()
    page.where.set_value("stock")
    assert "stock.toml, line 1" in page.trouble.text()
    page.where.set_value("job")
    page.put_into_stock()
    assert path.read_text(encoding="utf-8") == "[[material]]\nname = 3\n"


def test_a_stock_goes_out_and_comes_in_as_a_file(squares, page, tmp_path):
    write_stock(tmp_path / "other.toml", [SEA])
    page.take_in(tmp_path / "other.toml")
    page.save_as(tmp_path / "out.toml")
    assert [each.name for each in read_stock(tmp_path / "out.toml")] == ["Sea"]


def test_the_page_stays_through_other_verbs_and_goes_with_escape(squares, page, qtbot):
    squares.bench.open("draw-rectangle")
    squares.bench.leave()
    assert squares.materials.page is page
    qtbot.keyClick(page.list, Qt.Key.Key_Escape)
    assert squares.materials.page is None


def test_every_row_has_a_name_for_those_who_do_not_see_it(page):
    card = page.card
    for control in (
        card.name,
        card.colour,
        card.kind,
        card.cut,
        card.like,
        *(each.line for each in card.rows.values()),
    ):
        assert control.accessibleName()
    assert page.list.accessibleName()
