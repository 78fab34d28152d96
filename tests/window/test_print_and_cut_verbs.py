"""Verbs for print-and-cut: offered where they fit, with live ghosts, distances pulled; kinds of cut told apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from bladewise.document import BLACK, Colour, CutKind, Material, MaterialKind, cut_line_id
from bladewise.session import Session
from bladewise.window import kinds
from bladewise.window.bench import fitting
from window.conftest import settle

if TYPE_CHECKING:
    from bladewise.window.main_window import MainWindow

Key = Qt.Key
VERBS = ("cut-line", "sticker-cuts", "bleed", "white-underprint", "varnish", "print-marks", "gang-sheet")


@pytest.fixture
def printed(make_window, qtbot) -> MainWindow:
    """Return a window on a printed piece that is selected, on a sheet with room."""
    session = Session.new("Stickers", 400, 300)
    session.do("draw-rectangle", x_mm=100, y_mm=100, width_mm=60, height_mm=40, fill="#cc3311", name="Sticker")
    session.do("set-material", on="all", material="Print", kind="print")
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    window.desk.select([session.job.shapes()[0].id])
    yield window
    window.bench.leave()
    qtbot.waitUntil(lambda: not window.desk.ghosts.is_busy, timeout=20_000)


def offered(window: MainWindow) -> set[str]:
    return {operation.name for verbs in fitting.verbs(window.desk) for operation in verbs}


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_of_print_and_cut_is_offered_shows_a_ghost_and_is_applied_by_keys(printed, qtbot, verb):
    if verb == "bleed":
        printed.desk.do_plain("cut-line", on="all", distance_mm=0)
        settle(printed, qtbot)
        printed.desk.select([printed.desk.job.shapes()[0].id])
    assert verb in offered(printed)
    before = len(printed.desk.session.history.rows)
    printed.open_verb(verb)
    qtbot.waitUntil(lambda: printed.canvas.has_ghost, timeout=20_000)
    qtbot.keyClick(printed.focusWidget(), Key.Key_Return)
    settle(printed, qtbot)
    assert len(printed.desk.session.history.rows) == before + 1, printed.bench.strip.text.text()
    assert printed.desk.session.history.rows[-1].entry.step.do == verb


def test_tabs_are_offered_for_what_is_cut_through_alone(printed, qtbot):
    assert "cut-tabs" not in offered(printed)
    printed.desk.do_plain("cut-line", on="all", kind="through", distance_mm=3)
    settle(printed, qtbot)
    lines = [shape.id for shape in printed.desk.job.shapes() if shape.material == cut_line_id(CutKind.THROUGH)]
    printed.desk.select(lines)
    assert "cut-tabs" in offered(printed)


@pytest.mark.parametrize(
    ("verb", "number", "inward"),
    [
        ("sticker-cuts", "kiss_distance_mm", False),
        ("white-underprint", "choke_mm", True),
        ("varnish", "inset_mm", True),
    ],
)
def test_the_distance_is_pulled_on_the_canvas(printed, qtbot, verb, number, inward):
    printed.open_verb(verb)
    qtbot.waitUntil(lambda: printed.canvas.grip is not None, timeout=20_000)
    canvas, grip, button = printed.canvas, printed.canvas.grip, Qt.MouseButton.LeftButton
    first = grip.place(canvas.view)
    middle = canvas.view.to_px(130.0, 120.0)
    outwards = (first - middle).x() * grip.across + (first - middle).y() * grip.down
    assert (outwards < 0.0) is inward
    before = float(getattr(printed.bench.form.step(printed.desk.on_selection()).record, number))
    by = 2.0 * canvas.view.scale
    last = first.toPoint() + (first - first).toPoint()
    last.setX(round(first.x() + grip.across * by))
    last.setY(round(first.y() + grip.down * by))
    qtbot.mousePress(canvas, button, pos=first.toPoint())
    qtbot.mouseMove(canvas, last)
    qtbot.mouseRelease(canvas, button, pos=last)
    after = float(getattr(printed.bench.form.step(printed.desk.on_selection()).record, number))
    assert after - before == pytest.approx(2.0, abs=0.6)


@pytest.mark.parametrize("cut", list(CutKind))
def test_a_chip_and_a_row_say_how_deep_it_is_cut(printed, qtbot, cut):
    printed.desk.do_plain("cut-line", on="all", kind=str(cut), distance_mm=3)
    settle(printed, qtbot)
    chip = printed.strip.chips[cut_line_id(cut)]
    word = kinds.cut_words()[cut]
    assert chip.figures_text().startswith(f"{word} · 1 piece · ")
    assert word in chip.spoken()


def test_plain_vinyl_needs_no_word(squares):
    chip = next(iter(squares.strip.chips.values()))
    assert chip.figures_text().startswith("2 pieces")
    assert "to cut" in chip.spoken()


def test_every_kind_has_a_swatch_of_its_own(printed):
    from PySide6.QtCore import QRectF
    from PySide6.QtGui import QImage, QPainter

    from bladewise.window.job_strip.chip import paint_material

    def swatch(material: Material) -> bytes:
        image = QImage(28, 28, QImage.Format.Format_ARGB32_Premultiplied)
        image.fill(0)
        painter = QPainter(image)
        paint_material(painter, QRectF(0, 0, 28, 28), material)
        painter.end()
        return bytes(image.constBits())

    for colour in (BLACK, Colour(255, 255, 255), Colour(204, 51, 17)):
        seen = {swatch(Material("m", "M", colour, kind)) for kind in MaterialKind}
        seen |= {swatch(Material("m", "M", colour, cut=cut)) for cut in CutKind}
        assert len(seen) == len(MaterialKind) + len(CutKind) - 1, colour  # a kiss cut is what is plainly cut


def test_the_dashes_are_explained_where_outlines_are_seen(printed, qtbot):
    legend = printed.pane.legend
    printed.desk.do_plain("cut-line", on="all", distance_mm=3)
    settle(printed, qtbot)
    assert not legend.isVisible()
    printed.actions_["outline-view"].trigger()
    assert sorted(legend.words) == ["kiss cut", "printed"]
    assert legend.isVisible()
    assert "kiss cut" in legend.accessibleName()
    printed.actions_["fill-view"].trigger()
    assert not legend.isVisible()


def test_one_kind_of_line_needs_no_legend(squares, qtbot):
    squares.actions_["outline-view"].trigger()
    assert not squares.pane.legend.isVisible()
