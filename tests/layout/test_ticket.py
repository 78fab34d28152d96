"""What the job ticket says: figures as counted, warnings as found, work in the order in which it is done."""

from dataclasses import replace
from datetime import date

import pytest

from bladewise import checks, operations
from bladewise.document import CutKind, Job, JobDetails, Layer, Material, MaterialKind, Profile, Stroke, cut_line_id
from bladewise.geometry.path import rectangle
from bladewise.layout.figures import Pace
from bladewise.layout.ticket import MOST_WARNINGS, ticket_of, time_text
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape

DAY = date(2026, 5, 31)


def ticket(job, **values):
    return ticket_of(job, checks.check(job), DAY, **values)


def facts(found):
    return dict(found.facts)


def print_and_cut():
    art = replace(shape("art", rectangle(20, 20, 60, 40)), material="print")
    through = shape("through", rectangle(10, 10, 80, 60), fill=None, stroke=Stroke(BLUE, 0.05))
    kiss = shape("kiss", rectangle(18, 18, 64, 44), fill=None, stroke=Stroke(BLUE, 0.05))
    white = replace(shape("white", rectangle(21, 21, 58, 38)), material="white")
    materials = (
        Material("print", "Print", ORANGE, MaterialKind.PRINT),
        Material("white", "White ink", BLUE, MaterialKind.WHITE),
        Material(cut_line_id(CutKind.THROUGH), "Box", BLUE, cut=CutKind.THROUGH),
        Material(cut_line_id(CutKind.KISS), "Edge", BLUE),
    )
    layers = (
        Layer("w", "White", (white,)),
        Layer("p", "Art", (art,)),
        Layer("t", "Box", (through,), cut_line_id(CutKind.THROUGH)),
        Layer("k", "Edge", (kiss,), cut_line_id(CutKind.KISS)),
    )
    return Job("Badge", 100.0, 80.0, layers, materials)


def test_customer_order_and_revision_are_those_of_the_job():
    job = replace(ring_and_bar(), details=JobDetails("Heron Café", "77", "Friday", "3", "Matt film"))
    found = ticket(job)
    assert facts(found) | {"Customer": "Heron Café", "Order number": "77", "Due": "Friday", "Revision": "3"} == facts(
        found
    )
    assert found.remark == "Matt film"
    assert facts(found)["Date"] == "2026-05-31"


def test_what_was_not_said_is_a_dash_not_a_guess():
    assert facts(ticket(ring_and_bar()))["Customer"] == "–"


def test_the_finished_size_is_that_of_the_cut_lines_where_there_are_some():
    assert facts(ticket(print_and_cut()))["Finished size"] == "80 × 60 mm"
    assert facts(ticket(ring_and_bar()))["Finished size"] == "40 × 60 mm"
    assert facts(ticket(ring_and_bar(), unit="in"))["Finished size"] == "1.57 × 2.36 in"


def test_white_is_printed_first_and_what_is_cut_through_is_cut_last():
    assert ticket(print_and_cut()).order == (
        "Print “White ink”: white ink, under the print.",
        "Print “Print”.",
        "Cut along “Edge”: kiss cut.",
        "Cut along “Box”: cut through.",
    )


def test_vinyls_are_put_on_from_the_back_to_the_front():
    first, second = ticket(ring_and_bar()).order
    assert first.startswith("Cut “Orange #e69f00”")
    assert first.endswith("as layer 1, at the back.")
    assert second == "Cut “Blue #0072b2”, weed it, put it on as layer 2."


def test_pieces_travel_and_time_are_those_of_the_figures():
    found = ticket(ring_and_bar(), pace=Pace(1.0, 1e9, 1e-9))
    orange, blue = found.rows
    assert blue.cells[5:] == ("1", "0.14 m down\n0.05 m up", "2 min")
    assert orange.cells[4] == "12.6 cm²"
    assert "2 pieces" in found.totals
    assert "1 mm/s cutting" in found.assumptions


def test_of_a_roll_the_length_is_told_and_what_it_costs():
    vinyl = Material("v", "Red", ORANGE, profile=Profile(roll_width_mm=500, price_a_m2=10.0))
    job = Job("J", 500.0, 300.0, (Layer("l", "L", (shape("a", rectangle(10, 10, 380, 80)),), "v"),), (vinyl,))
    found = ticket(job)
    assert found.rows[0].cells[3] == "100 mm off the roll\n500 cm²\ncosts 0.50"
    assert found.totals.endswith("material 0.50.")


def test_mirrored_materials_are_named_and_the_press_is_cautioned_against():
    flock = Material("v", "Flock", ORANGE, profile=Profile(heat_transfer=True))
    job = Job("J", 99.0, 99.0, (Layer("l", "L", (shape("a", rectangle(9, 9, 50, 50)),), "v"),), (flock,))
    found = ticket(job)
    assert facts(found)["Mirrored"] == "yes, all"
    assert [label for label, _ in found.cautions] == ["Blade", "Heat press", "First of all"]
    assert found.order == ("Cut “Flock” mirrored, weed it, press it on as layer 1.",)
    assert [label for label, _ in ticket(ring_and_bar()).cautions] == ["Blade", "First of all"]


def test_what_a_gang_sheet_is_warned_of_in_each_copy_is_told_once():
    job = job_of(shape("a", rectangle(0, 0, 50, 50)))
    one = checks.check(job_of(shape("speck", rectangle(3, 3, 0.5, 0.5))))[0]
    short, small = replace(one, message="Short."), replace(one, message="Small.")
    found = ticket_of(job, [short, *[small] * 28, short], DAY)
    assert [each.message for each in found.warnings] == ["2 × Short.", "28 × Small."]
    assert found.more_warnings == 0


def test_warnings_still_open_are_told_worst_first_and_the_rest_counted():
    specks = job_of(*(shape(f"s{n}", rectangle(3 * n, 3, 0.5, 0.5)) for n in range(MOST_WARNINGS + 5)))
    findings = checks.check(specks)
    many = [replace(findings[0], message=f"Speck {number}.") for number in range(MOST_WARNINGS + 3)]
    found = ticket_of(specks, many, DAY)
    assert [each.message for each in found.warnings] == [each.message for each in many[:MOST_WARNINGS]]
    assert found.more_warnings == 3
    assert ticket(job_of(shape("a", rectangle(0, 0, 50, 50)))).warnings == ()


def test_marks_are_told_and_not_counted_as_pieces():
    vinyl = operations.apply(ring_and_bar(), operations.step("registration-marks")).job
    assert facts(ticket(vinyl))["Marks"] == "3 in each of 2 vinyls"
    assert ticket(vinyl).rows[0].cells[5] == "1"
    printed = operations.apply(print_and_cut(), operations.step("print-marks")).job
    assert facts(ticket(printed))["Marks"] == "5 printed"
    assert any("line it up by the printed marks" in text for text in ticket(printed).order)
    assert facts(ticket(ring_and_bar()))["Marks"] == "none in the art"


def test_every_material_has_a_picture_and_the_finished_piece_shows_no_line_and_no_mark():
    job = operations.apply(print_and_cut(), operations.step("print-marks")).job
    found = ticket(job)
    assert [each.caption for each in found.layers] == ["White ink", "Print", "Box", "Edge"]
    shown = found.whole.job
    assert [leaf.id for leaf in shown.shapes()] == ["art", "cut-edge"]
    assert (shown.width_mm, shown.height_mm) == pytest.approx((80 * 1.03, 60 + 80 * 0.03))


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "–"), (20, "< 1 min"), (60, "1 min"), (610, "10 min"), (3900, "1 h 05 min")]
)
def test_times_read_well(seconds, text):
    assert time_text(seconds) == text


def test_an_empty_job_has_a_ticket_that_says_so():
    found = ticket(Job("Nothing", 100.0, 100.0))
    assert found.whole is None
    assert found.rows == ()
    assert found.totals == "Nothing in this job is cut."
