"""The cut line is a spot colour of its own on a layer of its own; so are perforation, crease, white and varnish."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from bladewise.document import (
    PRINT,
    Colour,
    Gradient,
    GradientKind,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Spread,
    Stop,
    Stroke,
    Style,
)
from bladewise.errors import CannotRead, CannotWrite
from bladewise.formats import Destination, keep_destination, read_destination, write_to
from bladewise.formats.pdf import CUT_NAME, ProcessingStep, Spot, pdf_bytes, write_pdf
from bladewise.formats.pdf.painter import Painter
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.session import Session
from pdf_reading import read_pdf
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape

POINTS = 72.0 / 25.4
MAGENTA = Colour(255, 0, 255)
SQUARE = rectangle(20.0, 30.0, 40.0, 50.0)


def sticker(**extra: Material) -> Job:
    """Return a printed disc with a cut line, and a shape of each further material, on a sheet of 100 × 120 mm."""
    cut = Material("cut-line", "Cut line", MAGENTA)
    art = replace(shape("art", circle((40.0, 55.0), 30.0)), material=PRINT.id)
    line = replace(shape("line", SQUARE, None, Stroke(MAGENTA, 0.1)), material=cut.id)
    more = [replace(shape(name, SQUARE, BLUE), material=material.id) for name, material in extra.items()]
    layers = (Layer("art", "Art", (art, *more)), Layer("lines", "Lines", (line,)))
    return Job("Sticker", 100.0, 120.0, layers, (PRINT, cut, *extra.values()))


def groups(pdf: pikepdf.Pdf) -> dict[str, pikepdf.Object]:
    return {str(group.Name): group for group in pdf.Root.OCProperties.OCGs}


def test_the_cut_line_is_stroked_in_its_separation_on_its_layer_and_nowhere_else() -> None:
    pdf, found = read_pdf(pdf_bytes(sticker(), cut_name="Kontur Ä1"))
    art, line = found
    assert art.look.fill[0] == "DeviceRGB"
    assert (line.operator, line.layers) == ("S", ("Kontur Ä1",))
    assert line.look.stroke == ("Separation Kontur Ä1", (1.0,))
    assert line.look.overprint == (True, True, 1)
    assert line.look.width == pytest.approx(0.1 * POINTS, abs=1e-6)
    corners = [(20, 30), (60, 30), (60, 80), (20, 80)]
    for (_, found_at), (x, y) in zip(line.path, corners, strict=False):
        assert np.abs(found_at - (x * POINTS, (120 - y) * POINTS)).max() < 1e-4
    assert pikepdf.Name("/Kontur Ä1") in [space[1] for space in pdf.pages[0].Resources.ColorSpace.values()]


def test_the_layer_says_what_the_line_is_for_and_is_listed() -> None:
    pdf, _ = read_pdf(pdf_bytes(sticker()))
    said = groups(pdf)[CUT_NAME].GTS_Metadata
    assert (said.GTS_ProcStepsGroup, said.GTS_ProcStepsType) == ("/Structural", "/PartialCutting")
    shown = pdf.Root.OCProperties.D
    assert [str(group.Name) for group in shown.Order] == ["Art", CUT_NAME]
    assert len(shown.ON) == 2
    assert len(shown.OFF) == 0
    assert "/GTS_Metadata" not in groups(pdf)["Art"]


def test_a_kiss_cut_perforations_and_creases_are_told_apart() -> None:
    perforated, crease = Material("perf", "Tear", BLUE), Material("crease", "Fold", ORANGE, MaterialKind.GUIDE)
    job = sticker(perf=perforated, crease=crease)
    spots = {"perf": Spot("Tear off", ProcessingStep.PERFORATING), "crease": Spot("Fold", ProcessingStep.CREASING)}
    pdf, found = read_pdf(pdf_bytes(job, cut_step=ProcessingStep.PARTIAL_CUTTING, spots=spots))
    told = {name: str(group.GTS_Metadata.GTS_ProcStepsType) for name, group in groups(pdf).items() if name != "Art"}
    assert told == {"Tear off": "/Perforating", "Fold": "/Creasing", CUT_NAME: "/PartialCutting"}
    assert [one.look.stroke[0] for one in found[1:]] == [
        "Separation Tear off",
        "Separation Fold",
        f"Separation {CUT_NAME}",
    ]
    assert {one.operator for one in found[1:]} == {"S"}


def test_white_lies_under_the_art_and_varnish_over_it_and_neither_takes_from_the_other() -> None:
    job = sticker(varnish=Material("v", "Gloss", BLUE), white=Material("w", "White", Colour(255, 255, 255)))
    spots = {"w": Spot("White", ProcessingStep.WHITE), "v": Spot("Gloss", ProcessingStep.VARNISH)}
    pdf, found = read_pdf(pdf_bytes(job, spots=spots))
    white, art, varnish, line = found
    assert (white.operator, white.look.fill, white.layers) == ("f", ("Separation White", (1.0,)), ("White",))
    assert (varnish.look.fill[0], line.look.stroke[0]) == ("Separation Gloss", f"Separation {CUT_NAME}")
    assert art.look.overprint == (True, True, 0), "without it the art would be cut out of the white plate"
    assert white.look.overprint == varnish.look.overprint == (True, True, 1)
    said = groups(pdf)["White"].GTS_Metadata
    assert said.GTS_ProcStepsGroup == "/White"


def test_flat_colours_that_nobody_called_vinyl_are_print_and_guides_and_hidden_art_stay_out() -> None:
    job = ring_and_bar()
    assert {one.look.fill[0] for one in read_pdf(pdf_bytes(job))[1]} == {"DeviceRGB"}
    held = replace(sticker(guide=Material("g", "Guide", BLUE, MaterialKind.GUIDE)))
    held = held.replaced({"line": (replace(held.element("line"), visible=False),)})
    assert [one.operator for one in read_pdf(pdf_bytes(held))[1]] == ["f"]


def test_a_vinyl_chosen_for_a_layer_is_a_cut_line_where_the_job_also_has_print() -> None:
    job = sticker()
    vinyl = Material("red", "Red vinyl", Colour(200, 0, 0))
    layer = Layer("second", "Second", (shape("piece", circle((50, 50), 5.0)),), material="red")
    job = replace(job.with_material(vinyl), layers=(*job.layers, layer))
    found = read_pdf(pdf_bytes(job))[1]
    assert [one.look.stroke[0] for one in found if one.operator == "S"] == [f"Separation {CUT_NAME}"] * 2
    (alone,) = read_pdf(pdf_bytes(replace(job, layers=(layer,))))[1]
    assert alone.operator == "f", "no print, no print and cut"


def test_the_boxes_are_the_sheets_and_bleed_makes_the_page_larger() -> None:
    pdf, _ = read_pdf(pdf_bytes(sticker()))
    page = pdf.pages[0]
    for box in (page.mediabox, page.trimbox, page.obj.BleedBox):
        assert [float(one) for one in box] == pytest.approx([0, 0, 100 * POINTS, 120 * POINTS], abs=1e-6)
    pdf, found = read_pdf(pdf_bytes(sticker(), bleed_mm=3.0))
    page = pdf.pages[0]
    wide, high = 106 * POINTS, 126 * POINTS
    assert [float(one) for one in page.mediabox] == pytest.approx([0, 0, wide, high], abs=1e-6)
    assert [float(one) for one in page.obj.BleedBox] == pytest.approx([0, 0, wide, high], abs=1e-6)
    edge = 3 * POINTS
    assert [float(one) for one in page.trimbox] == pytest.approx([edge, edge, wide - edge, high - edge], abs=1e-6)
    assert np.abs(found[-1].path[0][1] - (23 * POINTS, 93 * POINTS)).max() < 1e-4
    pdf, _ = read_pdf(pdf_bytes(sticker(), trim_mm=(20.0, 30.0, 60.0, 80.0), bleed_mm=2.0))
    box = [20 * POINTS, 40 * POINTS, 60 * POINTS, 90 * POINTS]
    assert [float(one) for one in pdf.pages[0].trimbox] == pytest.approx(box, abs=1e-6)
    assert float(pdf.pages[0].obj.BleedBox[0]) == pytest.approx(18 * POINTS, abs=1e-6)


def test_the_document_says_what_it_is_and_the_same_job_gives_the_same_bytes() -> None:
    job = replace(sticker(), name="Möwe “Puddlewick”")
    data = pdf_bytes(job)
    assert data == pdf_bytes(job)
    assert data.startswith(b"%PDF-1.7")
    pdf, _ = read_pdf(data)
    assert str(pdf.docinfo.Title) == "Möwe “Puddlewick”"
    assert str(pdf.docinfo.Creator) == "Bladewise"
    assert "/CreationDate" not in pdf.docinfo
    assert not pdf.is_encrypted
    assert "/Group" not in pdf.pages[0].obj, "no transparency where there is none"
    dated, _ = read_pdf(pdf_bytes(job, made=datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)))
    assert str(dated.docinfo.CreationDate).startswith("D:20260102030405")


def test_a_sticker_done_by_steps_comes_out_with_its_cut_line(tmp_path: Path) -> None:
    session = Session.open(Path(__file__).resolve().parents[3] / "demo_art" / "sticker.svg")
    session.do("cut-line", on="all", distance_mm=0.0, holes="with-holes", least_hole_mm2=20.0)
    write_pdf(session.job, tmp_path / "sticker.pdf", cut_name="Thru")
    _, found = read_pdf((tmp_path / "sticker.pdf").read_bytes())
    lines = [one for one in found if one.look.stroke[0] == "Separation Thru"]
    assert len(lines) == 1
    assert lines[0] is found[-1]
    assert not [one for one in found[:-1] if "Thru" in one.layers]


def test_pictures_keep_their_pixels_and_what_shows_through_them() -> None:
    made = Image.new("RGBA", (3, 2), (10, 20, 30, 255))
    made.putpixel((1, 0), (200, 100, 50, 128))
    held = io.BytesIO()
    made.save(held, "PNG")
    grey = io.BytesIO()
    Image.new("L", (8, 8), 77).save(grey, "JPEG")
    place = Affine(30.0, 0.0, 0.0, 20.0, 10.0, 15.0)
    clear = Picture("p", held.getvalue(), "image/png", place, opacity=0.5)
    plain = Picture("q", grey.getvalue(), "image/jpeg", place)
    job = Job("Test", 100.0, 100.0, (Layer("a", "A", (clear, plain, replace(plain, id="r"))),))
    pdf, found = read_pdf(pdf_bytes(job))
    first = found[0]
    assert first.operator == "Image"
    assert first.look.fill_opacity == 0.5
    corners = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0]]) @ first.look.place
    assert np.abs(corners[0, :2] - (10 * POINTS, 85 * POINTS)).max() < 1e-4, "the top left corner"
    assert np.abs(corners[1, :2] - (40 * POINTS, 65 * POINTS)).max() < 1e-4, "the bottom right corner"
    objects = pdf.pages[0].Resources.XObject
    assert len(objects) == 2, "the same picture twice is one"
    one, other = (pikepdf.PdfImage(each) for each in objects.values())
    assert one.as_pil_image().getpixel((1, 0)) == (200, 100, 50, 128)
    assert pikepdf.PdfImage(one.obj.SMask).as_pil_image().getpixel((1, 0)) == 128
    assert other.obj.read_raw_bytes() == grey.getvalue(), "a JPEG stays what it was"


@pytest.mark.parametrize("name", ["", "  ", "All", "Cyan", "x" * 200])
def test_a_name_that_cannot_be_a_spot_colour_is_refused(name: str) -> None:
    with pytest.raises(CannotWrite, match=r"spot colour"):
        pdf_bytes(sticker(), cut_name=name)


def test_what_no_knife_can_follow_is_refused_by_name() -> None:
    job = sticker()
    wide = replace(job.element("line"), style=Style(stroke=Stroke(MAGENTA, 2.0)), name="Rim")
    with pytest.raises(CannotWrite, match="only a stroke"):
        pdf_bytes(job.replaced({"line": (wide,)}))
    picture = Picture("line", b"", "image/png", Affine.scaled(10.0), material="cut-line")
    with pytest.raises(CannotWrite, match="no knife follows one"):
        pdf_bytes(job.replaced({"line": (picture,)}))
    with pytest.raises(CannotWrite, match="no material"):
        pdf_bytes(job, spots={"nothing": Spot()})
    with pytest.raises(CannotWrite, match="for two things"):
        pdf_bytes(sticker(p=Material("p", "P", BLUE)), spots={"p": Spot(CUT_NAME, ProcessingStep.CREASING)})


def test_what_cannot_be_shown_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    lettering = Lettering("t", "Puddlewick", "Nowhere Sans", 20.0, Style(fill=ORANGE))
    broken = Picture("p", b"no picture", "image/png", Affine.scaled(10.0))
    target = tmp_path / "out.pdf"
    target.write_bytes(b"old")
    for leaf, words in ((lettering, "has no outlines"), (broken, "could not be read")):
        with pytest.raises(CannotWrite, match=words):
            write_pdf(Job("Test", 50.0, 50.0, (Layer("a", "A", (leaf,)),)), target)
    with pytest.raises(CannotWrite, match="cannot be"):
        write_pdf(Job("Test", 0.0, 50.0), target)
    with pytest.raises(CannotWrite, match="outside the sheet"):
        write_pdf(sticker(), target, trim_mm=(0.0, 0.0, 500.0, 10.0))
    assert target.read_bytes() == b"old"
    with pytest.raises(CannotWrite, match="could not be written"):
        write_pdf(sticker(), tmp_path / "missing" / "out.pdf")


def test_a_file_that_does_not_read_back_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Painter, "lines", lambda self, job: ["0 0 m 5 5 l", "S"])
    with pytest.raises(CannotWrite, match="did not read back"):
        write_pdf(sticker(), tmp_path / "out.pdf")
    assert list(tmp_path.iterdir()) == []


def test_lettering_is_outlines_and_no_font_is_needed() -> None:
    text = Lettering("t", "Hi", "Any", 20.0, Style(fill=ORANGE), outline=polygon([(10, 10), (30, 10), (20, 30)]))
    pdf, (one,) = read_pdf(pdf_bytes(Job("Test", 50.0, 50.0, (Layer("a", "A", (text,)),))))
    assert one.operator == "f"
    assert "/Font" not in pdf.pages[0].Resources


def test_repeating_gradients_cover_what_they_paint() -> None:
    stops = (Stop(0.0, ORANGE), Stop(1.0, BLUE))
    along = Gradient(GradientKind.LINEAR, (10.0, 0.0), (20.0, 0.0), stops, spread=Spread.REFLECT)
    around = Gradient(GradientKind.RADIAL, (50.0, 50.0), (50.0, 50.0), stops, 10.0, Spread.REPEAT)
    job = job_of(shape("a", rectangle(0, 0, 100, 100)), shape("b", rectangle(0, 0, 100, 100)))
    a, b = job.shapes()
    job = job.replaced({"a": (replace(a, style=Style(fill=along)),), "b": (replace(b, style=Style(fill=around)),)})
    pdf, _ = read_pdf(pdf_bytes(job))
    first, second = (pattern.Shading for pattern in pdf.pages[0].Resources.Pattern.values())
    assert [float(one) for one in first.Coords] == [0.0, 0.0, 100.0, 0.0]
    assert len(first.Function.Functions) == 10
    assert float(second.Coords[5]) == 80.0, "the corner lies 70.7 mm away"


def test_a_destination_names_the_cut_line_and_the_spot_colours_of_materials(tmp_path: Path) -> None:
    profile = tmp_path / "press.toml"
    profile.write_text(
        'format = "pdf"\ncut_name = "Thru"\ncut_kind = "kiss"\n[spots]\n"White ink" = "white"\n"Not here" = "crease"\n'
    )
    press = read_destination(profile)
    assert read_destination(keep_destination(press, tmp_path / "kept")) == press
    job = sticker(white=Material("w", "White ink", Colour(255, 255, 255)))
    (path,) = write_to(job, tmp_path / "out", press)
    pdf, _ = read_pdf(path.read_bytes())
    assert list(groups(pdf)) == ["White ink", "Art", "Thru"]
    assert groups(pdf)["Thru"].GTS_Metadata.GTS_ProcStepsType == "/PartialCutting"
    profile.write_text('format = "pdf"\n[spots]\n"White ink" = "whiteout"\n')
    with pytest.raises(CannotRead, match="white") as refused:
        read_destination(profile)
    assert "line 3" in refused.value.where


def test_a_pdf_of_one_vinyl_is_all_cut_line(tmp_path: Path) -> None:
    paths = write_to(ring_and_bar(), tmp_path, Destination("pdf", per_colour=True, marks="cross", cut_name="Knife"))
    assert [path.name for path in paths] == ["Test - Orange e69f00.pdf", "Test - Blue 0072b2.pdf"]
    for path in paths:
        _, found = read_pdf(path.read_bytes())
        assert {(one.operator, one.look.stroke, one.layers) for one in found} == {
            ("S", ("Separation Knife", (1.0,)), ("Knife",))
        }
        assert len(found) == 5
