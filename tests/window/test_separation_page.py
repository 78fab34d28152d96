"""Separating colours: what comes of it is counted before it is done, and can be seen apart."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from bladewise import operations
from bladewise.document import Colour, Material
from bladewise.session import Session


@pytest.fixture
def three(make_window, qtbot):
    session = Session.new("Three", 200, 100)
    session.do("draw-rectangle", x_mm=0, y_mm=0, width_mm=100, height_mm=60, fill="#ffcc00")
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=20, height_mm=20, fill="#cc3311")
    session.do("draw-rectangle", x_mm=60, y_mm=10, width_mm=20, height_mm=20, fill="#0072b2")
    window = make_window(session)
    window.desk.select_all()
    window.bench.open("separate-colours")
    qtbot.waitUntil(lambda: window.side.page.list.count() == 3, timeout=20_000)
    return window


def _rows(window):
    rows = window.side.page.list
    return [rows.item(row).data(Qt.ItemDataRole.AccessibleTextRole) for row in range(rows.count())]


def test_the_vinyls_are_listed_in_the_order_they_are_stuck_with_their_areas(three, qtbot):
    three.bench.form.fields["how"].segments.button("seen").click()
    page = three.side.page
    qtbot.waitUntil(lambda: "52 cm²" in _rows(three)[0], timeout=20_000)
    rows = _rows(three)
    assert rows[0].startswith("1. Orange") or rows[0].startswith("1. Yellow")
    assert sum("4 cm²" in each for each in rows) == 2
    assert [each.split(".")[0] for each in rows] == ["1", "2", "2"]
    assert page.told.text() == "3 layers, stuck in 2 goes; the lowest first."


def test_what_would_come_is_seen_apart_while_the_verb_is_open(three, qtbot):
    three.side.page.apart.click()
    apart = three.pane.apart
    assert len(apart.sheets) == 3
    assert apart._whole is three.desk.ghost_job
    three.bench.leave()
    assert apart._whole is three.desk.job
    three.pane.layers_apart()


def test_the_stock_is_what_colours_are_reduced_to_and_the_step_holds_it(three, qtbot):
    three.bench.leave()
    stock = three.materials.stock
    stock.put(Material("a", "Shop red", Colour(0xC0, 0x30, 0x10)))
    stock.put(Material("b", "Shop blue", Colour(0x00, 0x70, 0xB0)))
    three.desk.select_all()
    three.bench.open("reduce-colours", {"until": "vinyls"})
    field = three.bench.form.fields["vinyls"]
    assert not field.isHidden()
    assert field.button.text() == "2 vinyls in stock"  # what is in stock is ticked at first
    field.set_value("")
    assert field.button.text() == "Those the job lists"
    field.menu.aboutToShow.emit()
    next(each for each in field.menu.actions() if each.text() == "All in stock").trigger()
    step = three.bench.form.step("all")
    assert step.record.vinyls == "Shop red #c03010\nShop blue #0070b0"
    stock.drop("Shop red")
    job = operations.apply(three.desk.job, step).job
    assert {each.name for each in job.materials_in_use()} == {"Shop red", "Shop blue"}
    field.tick(stock.materials[0], on=False)
    assert field.button.text() == "1 vinyl in stock"
    three.bench.leave()
    three.bench.open("reduce-colours")
    assert three.bench.form.fields["vinyls"].isHidden()
    assert three.bench.form.fields["vinyls"].value() == "Shop blue #0070b0"
    three.bench.leave()
