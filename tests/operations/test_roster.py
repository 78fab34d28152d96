"""A list of names fills a design; what cannot be cut as it stands is left out with its line and the reason.

Reference for tables: RFC 4180; Python's csv writer for what spreadsheets write.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.document import (
    BLACK,
    Bending,
    BendKind,
    Colour,
    Fit,
    Group,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Shape,
    Style,
    Typesetting,
)
from bladewise.errors import CannotApply, CannotRead
from bladewise.geometry.measures import area
from bladewise.geometry.path import rectangle
from bladewise.lettering import search_also, set_outline
from bladewise.operations.declaration import quiet
from bladewise.operations.lists import read_table
from bladewise.operations.roster import OPERATIONS, filled

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")
(ROSTER,) = OPERATIONS
RED = Colour(0xCC, 0x22, 0x11)


def design(*texts: str) -> Job:
    """Return a label with lettering."""
    lines = tuple(
        set_outline(Lettering(f"line{k}", text, "Pacifico", 12.0, Style(fill=BLACK))) for k, text in enumerate(texts)
    )
    plate = Shape("plate", rectangle(0.0, -15.0, 60.0, 25.0), Style(fill=RED))
    red = Material("red", "Poppy red", RED, MaterialKind.CUT)
    return Job("Crew", 200.0, 100.0, (Layer("art", "Art", (plate, Group("words", lines))),), (red,))


def run(job: Job, rows: str, **values: object):
    """Return what a list makes of a design."""
    return filled(job, ROSTER.make({"rows": rows, **values}), quiet)


def test_each_row_becomes_a_piece_of_its_own_with_its_name_in_the_tree() -> None:
    done = run(design("{name}", "No. {number}"), "name,number\nAnna,7\nBodo,12\nCleo,3\n", across=2)
    assert done.names == ("Anna · 7", "Bodo · 12", "Cleo · 3")
    layer = done.job.layers[-1]
    assert layer.name == "3 × Crew"
    assert [group.name for group in layer.children] == ["Anna · 7", "Bodo · 12", "Cleo · 3"]
    boxes = [group.children[0].bounds for group in layer.children]
    assert boxes[1][0] == pytest.approx(boxes[0][0] + 70.0, abs=0.1)
    assert boxes[2][1] == pytest.approx(boxes[0][1] + 35.0, abs=0.1)
    ids = [element.id for element in done.job.elements()]
    assert len(set(ids)) == len(ids)


def test_script_letters_of_a_name_are_one_piece() -> None:
    done = run(design("{name}"), "name\nbakery\n")
    shape = next(shape for shape in done.job.shapes() if shape.name == "bakery")
    assert sum(area(ring) > 0.0 for ring in shape.path.subpaths()) == 1
    live = run(design("{name}"), "name\nbakery\n", merge=False)
    assert any(isinstance(placed.leaf, Lettering) for placed in live.job.walk())


def test_a_long_name_shrinks_to_its_room_and_a_longer_one_is_left_out() -> None:
    rows = "name\nAnn\nPuddlewick\nPuddlewickPuddlewickPuddlewick\n"
    done = run(design("{name}"), rows, width_mm=45)
    assert done.names == ("Ann", "Puddlewick")
    assert [(each.line, "too long" in each.reason) for each in done.wrong] == [(4, True)]
    wide = {shape.name: shape.bounds[2] - shape.bounds[0] for shape in done.job.shapes() if shape.name}
    assert wide["Puddlewick"] <= 46.0


def test_wrong_rows_are_told_with_their_line_and_never_made() -> None:
    rows = (
        'name,colour,quantity\nAnna,red?,1\n,#112233,1\n梟,#112233,1\nBodo,poppy red,two\nCleo,poppy red,2\n"D\nE",,\n'
    )
    done = run(design("{name}"), rows)
    assert done.names == ("Cleo", "Cleo", "D E")
    assert [each.line for each in done.wrong] == [2, 3, 4, 5]
    assert ["colour" in done.wrong[0].reason, "empty" in done.wrong[1].reason, "梟" in done.wrong[2].reason] == [
        True
    ] * 3
    painted = [shape for shape in done.job.shapes() if shape.name == "Cleo"]
    assert {(shape.material, shape.style.fill) for shape in painted} == {("red", RED)}


def test_a_size_in_the_list_is_the_height_of_the_lettering() -> None:
    done = run(design("{name}"), "name;size\nHugo;6\nHugo;12mm\nHugo;XL\n", merge=False)
    heights = [placed.leaf.size_mm for placed in done.job.walk() if isinstance(placed.leaf, Lettering)]
    assert heights == [6.0, 12.0, 12.0]


def test_a_design_with_one_lettering_takes_the_first_column() -> None:
    assert run(design("Your name"), "first\tsecond\nAnna\tx\n").names == ("Anna",)


def test_columns_are_found_however_they_are_typed() -> None:
    assert run(design("{ First  NAME }"), "  first name \nAnna\n").names == ("Anna",)


def test_a_size_colour_or_count_that_stands_in_the_design_is_text_and_orders_nothing() -> None:
    done = run(design("{name}", "{size}"), "name,size\nAnna,42\nBodo,XL\n", merge=False)
    assert done.names == ("Anna · 42", "Bodo · XL")
    assert {placed.leaf.size_mm for placed in done.job.walk() if isinstance(placed.leaf, Lettering)} == {12.0}
    assert run(design("{name}", "{colour}"), "name,colour\nAnna,like new\n").names == ("Anna · like new",)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("Smith, John,6,1", "last column"),  # a comma that nobody put in quotation marks
        ("Anna,-3,1", "-3"),
        ("Anna,1e9,1", "1e9"),
        ("Anna,12mmm,1", "12mmm"),
        ("Anna,6,²", "²"),
        ("Anna,6,-1", "-1"),
        ("Anna,6,99999999999", "99999999999"),
    ],
)
def test_what_would_be_cut_wrong_is_left_out_with_what_is_wrong(row: str, told: str) -> None:
    done = run(design("{name}"), f"name,size,quantity\n{row}\nHugo,3XL,1\n")
    assert done.names == ("Hugo",)
    assert [(each.line, told in each.reason) for each in done.wrong] == [(2, True)]


def test_too_long_is_too_long_whichever_way_the_lettering_is_fitted() -> None:
    for fit in Fit:
        wide = Lettering("line", "{name}", "Pacifico", 12.0, Style(fill=BLACK))
        fitted = set_outline(replace(wide, setting=Typesetting(width_mm=45.0, fit=fit)))
        job = Job("Crew", 200.0, 100.0, (Layer("art", "Art", (fitted,)),))
        done = run(job, "name\nAnna\nPuddlewickPuddlewickPuddlewick\n")
        assert (done.names, [each.line for each in done.wrong]) == (("Anna",), [3])


def test_a_long_name_on_an_arc_is_measured_straight() -> None:
    arched = Typesetting(bending=Bending(kind=BendKind.ARC, radius_mm=12.0))
    plain = Lettering("line", "{name}", "Pacifico", 12.0, Style(fill=BLACK), setting=arched)
    job = Job("Crew", 200.0, 100.0, (Layer("art", "Art", (replace(plain, outline=rectangle(0, 0, 9, 9)),)),))
    done = run(job, "name\nPuddlewick Coffee\n", width_mm=60, least_percent=50)
    assert done.names == ("Puddlewick Coffee",)


def test_a_locked_plate_under_the_design_is_told_for_it_is_not_repeated() -> None:
    start = design("{name}")
    plate = replace(start.layers[0].children[0], locked=True, name="Plate")
    under = replace(start, layers=(replace(start.layers[0], children=(plate, *start.layers[0].children[1:])),))
    step = ROSTER.make({"rows": "name\nAnna\n"})
    assert ROSTER.function(under, step, quiet).reports == (
        "1 piece was made.",
        "Locked parts stay where they are and are not repeated: “Plate”.",
    )
    assert ROSTER.function(start, step, quiet).reports == ("1 piece was made.",)


def test_pieces_are_of_the_material_that_the_layer_of_the_design_had() -> None:
    start = design("{name}")
    start = replace(start, layers=(replace(start.layers[0], material="red"),))
    done = run(start, "name,colour\nAnna,\nBodo,#112233\n")
    names = [(placed.leaf.name, done.job.material_of(placed).id) for placed in done.job.walk()]
    assert [material for name, material in names if name != "Bodo"] == ["red"] * 3
    assert ("Bodo", "colour-112233") in names


def test_line_ends_within_a_cell_start_a_new_line_and_nothing_else() -> None:
    done = run(design("{name}"), 'name\r\n"two\r\nlines"\r\n', merge=False)
    assert [placed.leaf.text for placed in done.job.walk() if isinstance(placed.leaf, Lettering)] == ["two\nlines"]
    assert done.names == ("two lines",)


def test_more_pieces_than_anybody_wants_are_refused() -> None:
    with pytest.raises(CannotApply) as refused:
        run(design("{name}"), "name,quantity\nAnna,20000\nBodo,1\n")
    assert "20000" in refused.value.what
    with pytest.raises(CannotApply) as refused:
        run(design("{name}"), "name,quantity\nAnna,0\n")
    assert "0" in refused.value.hint


@pytest.mark.parametrize(
    ("texts", "rows"),
    [
        (("{name}",), 'name,number\n"Anna,7\nBodo,8\n'),
        (("{name}",), 'name,number\n"Ace" Smith,7\n'),
        (("{name}",), ""),
        (("{name}",), "name\n"),
        (("{name}",), "first,first\nA,B\n"),
        (("{surname}",), "name\nAnna\n"),
        (("one", "two"), "name\nAnna\n"),
        (("{name}",), "name\n梟\n"),
    ],
)
def test_a_list_that_does_not_fit_the_design_is_refused_with_what_to_do(texts: tuple[str, ...], rows: str) -> None:
    with pytest.raises(CannotApply) as refused:
        run(design(*texts), rows)
    assert refused.value.hint


cells = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=12).map(str.strip)


@given(
    st.lists(st.tuples(cells, cells, cells).filter(any), min_size=1, max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n"]),
)
@settings(max_examples=80, deadline=None)
def test_what_a_spreadsheet_writes_is_read_back(rows: list[tuple[str, str, str]], sign: str, end: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=sign, lineterminator=end, quoting=csv.QUOTE_ALL)
    writer.writerows([("name", "number", "colour"), *rows])
    table = read_table(out.getvalue())
    assert [tuple(row.values.values()) for row in table.rows] == rows


def test_quotes_line_ends_and_blank_lines_within_a_list_are_understood() -> None:
    table = read_table('\ufeffName;Note\r\n"Müller; Ö.";"said ""hi"""\r\n\r\n;\r\n"two\r\nlines";x\r\n')
    assert table.columns == ("name", "note")
    assert [(row.line, row.values["name"]) for row in table.rows] == [(2, "Müller; Ö."), (5, "two\r\nlines")]
    assert table.rows[0].values["note"] == 'said "hi"'


@pytest.mark.parametrize("first", ["sep=;", '"sep=;"', "SEP=;\r"])
def test_what_stands_between_cells_may_be_said_in_the_first_line(first: str) -> None:
    table = read_table(f"{first}\nname;number, size\nAnna;7, XL\n")
    assert table.columns == ("name", "number, size")
    assert [(row.line, row.values["number, size"]) for row in table.rows] == [(3, "7, XL")]


def test_a_quotation_mark_out_of_place_is_told_with_its_line() -> None:
    for text in ('name\nAnna\n"Bodo\nCleo\n', 'name\nAnna\n"Bo"do\n'):
        with pytest.raises(CannotRead) as refused:
            read_table(text)
        assert "line 3" in refused.value.what
    assert read_table('name\nAnna 1/2"\n').rows[0].values["name"] == 'Anna 1/2"'


def test_ten_thousand_rows_are_read() -> None:
    rows = "name,number\n" + "".join(f"Name {k},{k}\n" for k in range(10_000))
    assert len(read_table(rows).rows) == 10_000
    with pytest.raises(CannotRead):
        read_table("name\n" + "x\n" * 100_001)
