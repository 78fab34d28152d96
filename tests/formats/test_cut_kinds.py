"""How each material is cut reaches every kind of file: kiss, through, perforation, crease; white and varnish too."""

from __future__ import annotations

import io
import itertools
import re
from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from ezdxf.filemanagement import read, readfile

from bladewise.document import PRINT, Colour, CutKind, Job, Layer, Material, MaterialKind, Stroke, Style, cut_line_id
from bladewise.errors import CannotRead, CannotWrite
from bladewise.formats import Destination, prepared, read_destination, read_svg, write_cut_files, write_to
from bladewise.formats.cut_lines import cut_lines
from bladewise.formats.dxf import DxfSettings, dxf_bytes
from bladewise.formats.pdf import ProcessingStep, Spot, pdf_bytes
from bladewise.formats.plotter import PlotterSettings, plotter_text
from bladewise.formats.plotter_reader import read_plotter
from bladewise.formats.reading_back import SAMPLED_MM
from bladewise.geometry.measures import length
from bladewise.geometry.path import circle, rectangle
from bladewise.operations.painted import HAIRLINE_MM
from bladewise.session import Session
from pdf_reading import read_pdf
from pieces import BLUE, shape

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

SVG = "{http://www.w3.org/2000/svg}"
NAMES = {
    CutKind.KISS: "Cut line",
    CutKind.THROUGH: "Box",
    CutKind.PERFORATION: "Tear",
    CutKind.CREASE: "Fold",
}
BOXES = {
    CutKind.THROUGH: rectangle(10.0, 10.0, 80.0, 80.0),
    CutKind.PERFORATION: rectangle(15.0, 15.0, 64.0, 32.0),
    CutKind.CREASE: rectangle(20.0, 60.0, 60.0, 20.0),
    CutKind.KISS: circle((50.0, 32.0), 10.0),
}
"""Through cuts lie lowest in the job, so that an order by layers would cut them first."""


def line_material(cut: CutKind, **more: object) -> Material:
    made = Material(cut_line_id(cut), NAMES[cut], Colour(255, 0, 40 * list(CutKind).index(cut)), cut=cut)
    return replace(made, perforation_cut_mm=6.0, perforation_gap_mm=2.0, **more)


def sticker(kinds: Iterable[CutKind] = tuple(CutKind), *extra: Material) -> Job:
    """A printed disc, and about it a line of each kind; a square of each further material."""
    kinds = [cut for cut in BOXES if cut in kinds]
    style = Style(stroke=Stroke(Colour(255, 0, 255), HAIRLINE_MM))
    art = [replace(shape("disc", circle((50.0, 32.0), 9.0)), material=PRINT.id)]
    art += [replace(shape(one.id, rectangle(40.0, 22.0, 20.0, 20.0), BLUE), material=one.id) for one in extra]
    lines = [replace(shape(str(cut), BOXES[cut]), style=style, material=cut_line_id(cut)) for cut in kinds]
    layers = (Layer("art", "Art", tuple(art)), Layer("lines", "Lines", tuple(lines)))
    return Job("Sticker", 100.0, 100.0, layers, (PRINT, *(line_material(cut) for cut in kinds), *extra))


# ----------------------------------------------------------------------------------------------- PDF


def said_by_layers(data: bytes) -> dict[str, tuple[str, str | None]]:
    pdf, _ = read_pdf(data)
    return {
        str(group.Name): (
            str(group.GTS_Metadata.GTS_ProcStepsGroup)[1:],
            str(group.GTS_Metadata.GTS_ProcStepsType)[1:] if "/GTS_ProcStepsType" in group.GTS_Metadata else None,
        )
        for group in pdf.Root.OCProperties.OCGs
        if "/GTS_Metadata" in group
    }


def test_each_kind_of_cut_is_a_spot_colour_and_a_processing_step_of_its_own() -> None:
    # The names are those ISO 19593-1 is publicly cited with; its text was not seen.
    data = pdf_bytes(sticker(), cut_name="Knife")
    assert said_by_layers(data) == {
        "Knife": ("Structural", "PartialCutting"),
        "Box": ("Structural", "Cutting"),
        "Tear": ("Structural", "Perforating"),
        "Fold": ("Structural", "Creasing"),
    }
    _, found = read_pdf(data)
    lines = {one.look.stroke[0]: one for one in found if one.operator == "S"}
    assert lines.keys() == {f"Separation {name}" for name in ("Knife", "Box", "Tear", "Fold")}
    assert {one.look.overprint for one in lines.values()} == {(True, True, 1)}
    points = 72.0 / 25.4
    lengths, start = lines["Separation Tear"].look.dash
    assert (lengths, start) == (pytest.approx((6.0 * points, 2.0 * points), abs=1e-6), 0.0)
    assert lines["Separation Tear"].look.cap == 0, "round ends would make the cuts longer"
    assert all(one.look.dash == ((), 0.0) for name, one in lines.items() if name != "Separation Tear")


@pytest.mark.parametrize(
    ("kinds", "named"),
    [
        ([CutKind.THROUGH], CutKind.THROUGH),
        ([CutKind.CREASE, CutKind.THROUGH], CutKind.THROUGH),
        ([CutKind.CREASE, CutKind.KISS, CutKind.THROUGH], CutKind.KISS),
        ([CutKind.CREASE], CutKind.CREASE),
    ],
)
def test_the_main_line_bears_the_operators_name(kinds: list[CutKind], named: CutKind) -> None:
    said = said_by_layers(pdf_bytes(sticker(kinds), cut_name="Knife"))
    assert said.keys() == {"Knife" if cut is named else NAMES[cut] for cut in kinds}


def test_a_destination_overrides_how_the_main_line_is_cut_only_where_it_says_so(tmp_path: Path) -> None:
    job = sticker([CutKind.KISS, CutKind.CREASE])
    for destination, step in (
        (Destination("pdf"), "PartialCutting"),
        (Destination("pdf", cut_kind="through"), "Cutting"),
    ):
        (file,) = prepared(job, destination)
        assert said_by_layers(file.data) == {"Cut line": ("Structural", step), "Fold": ("Structural", "Creasing")}
    (tmp_path / "d.toml").write_text('format = "pdf"\ncut_kind = "crease"\n')
    assert read_destination(tmp_path / "d.toml").cut_kind == "crease"


def test_white_and_varnish_are_plates_under_their_materials_names() -> None:
    white = Material("w", "White ink", Colour(250, 250, 250), MaterialKind.WHITE)
    gloss = Material("v", "Gloss", Colour(200, 200, 200), MaterialKind.VARNISH)
    data = pdf_bytes(sticker([CutKind.KISS], white, gloss))
    assert said_by_layers(data) == {
        "White ink": ("White", None),
        "Gloss": ("Varnish", None),
        "Cut line": ("Structural", "PartialCutting"),
    }
    order = [one.look.fill[0] for one in read_pdf(data)[1] if one.operator == "f"]
    assert order == ["Separation White ink", "DeviceRGB", "Separation Gloss"]


def test_a_perforation_left_to_the_machine_has_no_dashes() -> None:
    _, found = read_pdf(pdf_bytes(sticker([CutKind.PERFORATION]), dashed=False))
    assert found[-1].look.dash == ((), 0.0)


def test_perforations_of_two_lengths_are_two_plates() -> None:
    other = replace(line_material(CutKind.PERFORATION), id="p2", name="Tab", perforation_cut_mm=1.0)
    job = sticker([CutKind.PERFORATION], other)
    said = said_by_layers(pdf_bytes(job, cut_name="Knife"))
    assert said.keys() == {"Knife", "Tab"}
    with pytest.raises(CannotWrite, match="for two things"):
        pdf_bytes(job, cut_name="Knife", spots={"p2": Spot("Knife", ProcessingStep.PERFORATING)})


def test_a_pdf_of_one_material_says_how_that_one_is_cut() -> None:
    files = prepared(sticker(), Destination("pdf", per_colour=True, cut_name="Knife"))
    told = [said_by_layers(file.data)["Knife"][1] for file in files]
    assert told == ["Cutting", "Perforating", "Creasing", "PartialCutting"]


def test_a_sticker_done_by_steps_has_a_plate_for_each_of_them() -> None:
    session = Session.open(FilePath(__file__).resolve().parents[2] / "demo_art" / "sticker.svg")
    session.do("cut-line", on="all", distance_mm=2.0, kind="kiss")
    session.do("cut-line", on="all", distance_mm=6.0, kind="perforation")
    session.do("white-underprint", on="all")
    session.do("varnish", on="all")
    (file,) = prepared(session.job, Destination("pdf", cut_name="Knife"))
    assert said_by_layers(file.data) == {
        "White": ("White", None),
        "Varnish": ("Varnish", None),
        "Knife": ("Structural", "PartialCutting"),
        "Perforation": ("Structural", "Perforating"),
    }
    assert file.apart_mm <= 0.001 + 2.0 * SAMPLED_MM
    assert [(line.cut, line.pieces) for line in file.cuts] == [(CutKind.KISS, 1), (CutKind.PERFORATION, 1)]


# ----------------------------------------------------------------------------------------------- SVG


def test_a_drawing_says_the_turn_of_each_material_and_how_it_is_cut(tmp_path: Path) -> None:
    (path,) = write_to(sticker(), tmp_path, Destination("svg"))
    root = ET.parse(path).getroot()
    groups = root.findall(f"{SVG}g")
    assert [group.find(f"{SVG}title").text for group in groups] == ["Art", "Lines"]
    told = {one.get("id"): one.attrib for one in root.iter(f"{SVG}path")}
    assert [told[str(cut)]["data-cut"] for cut in BOXES] == [str(cut) for cut in BOXES]
    assert [told[str(cut)]["data-order"] for cut in BOXES] == ["2", "3", "4", "5"], "the print comes first"
    tear = told["perforation"]
    assert (tear["data-perforation-cut-mm"], tear["data-perforation-gap-mm"]) == ("6", "2")
    assert "data-perforation-cut-mm" not in told["through"]
    assert (told["disc"]["data-kind"], "data-cut" in told["disc"]) == ("print", False)
    assert groups[0].get("data-material") == "Print"
    assert "data-material" not in groups[1].attrib, "it holds several"


def test_the_file_of_one_vinyl_says_its_turn_among_all(tmp_path: Path) -> None:
    paths = write_cut_files(sticker(), tmp_path)
    told = [ET.parse(path).getroot().find(f"{SVG}g").attrib for path in paths[1:]]
    assert [(one["data-material"], one["data-order"]) for one in told] == [
        (NAMES[cut], str(turn)) for turn, cut in enumerate(BOXES, start=2)
    ]


@pytest.mark.parametrize(("perforation", "cuts"), [("dashes", 24), ("line", 1)])
@pytest.mark.parametrize("per_colour", [False, True])
def test_a_perforation_is_drawn_as_its_cuts_or_as_one_line(
    tmp_path: Path, perforation: str, cuts: int, *, per_colour: bool
) -> None:
    # Sides of 64 and 32 mm in cuts and gaps of 6 and 2: 8 and 4 cuts a side.
    paths = write_to(sticker(), tmp_path, Destination("svg", perforation=perforation, per_colour=per_colour))
    held = [one for path in paths for one in read_svg(path).shapes()]
    (tear,) = (one for one in held if one.id == "perforation")
    assert len(tear.path.starts) == cuts
    assert length(tear.path) == pytest.approx(192.0 * (0.75 if cuts > 1 else 1.0))
    assert tear.path.bounds() == pytest.approx((15.0, 15.0, 79.0, 47.0)), "corners are cut"


# ----------------------------------------------------------------------------------------------- DXF


def test_a_dxf_has_a_layer_a_material_that_says_how_it_is_cut(tmp_path: Path) -> None:
    (path,) = write_to(sticker(), tmp_path, Destination("dxf"))
    drawing = readfile(path)
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    told = {
        layer.dxf.name: [value for code, value in layer.get_xdata("BLADEWISE") if code == 1000]
        for layer in drawing.layers
        if layer.has_xdata("BLADEWISE")
    }
    assert told == {
        "Cut line": ["cut=kiss"],
        "Fold - crease": ["cut=crease"],
        "Tear - perforation": ["cut=perforation", "cut_mm=6", "gap_mm=2"],
        "Box - through": ["cut=through"],
    }
    on = [entity.dxf.layer for entity in drawing.modelspace()]
    assert on.count("Tear - perforation") == 24
    assert len(on) == 24 + 3


@pytest.mark.parametrize(("units", "size"), [("mm", 1.0), ("in", 25.4)])
def test_a_dxf_leaves_a_perforation_to_the_machine_with_its_lengths_as_a_line_type(units: str, size: float) -> None:
    lines = cut_lines(sticker([CutKind.PERFORATION]))
    data = dxf_bytes(lines, 100.0, DxfSettings(units=units, perforation="line"))
    drawing = read(io.StringIO(data.decode("utf-8")))
    (entity,) = drawing.modelspace()
    assert entity.closed
    kind = drawing.linetypes.get(drawing.layers.get("Tear - perforation").dxf.linetype)
    dashes = [tag.value for tag in kind.pattern_tags.tags if tag.code == 49]
    assert dashes == pytest.approx([6.0 / size, -2.0 / size])


# ------------------------------------------------------------------------------------------- HP-GL/2


def test_what_is_cut_through_is_cut_last_and_each_kind_may_have_its_pen() -> None:
    lines = cut_lines(sticker())
    assert lines[0].cut is CutKind.THROUGH, "else the order of the job would do"
    pens = (("kiss", 1), ("through", 2), ("perforation", 3), ("Fold", 4), ("crease", 9))
    drawn = read_plotter(plotter_text(lines, (100.0, 100.0), PlotterSettings(pens=pens))).drawn
    assert [pen for pen, _ in itertools.groupby(each.pen for each in drawn)] == [1, 4, 3, 2], "a name before a kind"


def test_a_plotter_file_lifts_the_knife_over_the_gaps_of_a_perforation() -> None:
    lines = cut_lines(sticker([CutKind.PERFORATION]))
    for perforation, count, run in (("dashes", 24, 144.0), ("line", 1, 192.0)):
        text = plotter_text(lines, (100.0, 100.0), PlotterSettings(perforation=perforation))
        drawn = read_plotter(text).drawn
        assert len(drawn) == count
        assert sum(length(each.path) for each in drawn) == pytest.approx(run, abs=0.05)
        assert len(re.findall("PU[0-9]", text)) == count
    with pytest.raises(CannotWrite, match="perforation"):
        plotter_text(lines, (100.0, 100.0), PlotterSettings(perforation="dots"))


@pytest.mark.parametrize("kind", ["svg", "dxf", "hpgl"])
def test_a_perforation_too_fine_for_its_line_is_refused(tmp_path: Path, kind: str) -> None:
    fine = replace(line_material(CutKind.PERFORATION), perforation_cut_mm=0.1, perforation_gap_mm=0.1)
    style = Style(stroke=Stroke(BLUE, HAIRLINE_MM))
    long = replace(shape("far", rectangle(0.0, 0.0, 15_000.0, 10_000.0)), style=style, material=fine.id)
    job = Job("Long", 15_000.0, 10_000.0, (Layer("l", "L", (long,)),), (fine,))
    with pytest.raises(CannotWrite, match="too fine"):
        write_to(job, tmp_path / "out", Destination(kind))
    assert not (tmp_path / "out").exists()


# --------------------------------------------------------------------------------------- destinations


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('format = "png"\nperforation = "line"\n', "says nothing to png"),
        ('format = "dxf"\nperforation = "dots"\n', "is one of dashes, line"),
        ('format = "pdf"\ncut_kind = "kis"\n', "Did you mean “kiss”?"),
        ('format = "dxf"\ndpi = 300\n', "it belongs to png"),
        ('format = "png"\ndpi = 0\n', "a number from 1 to 2400"),
        ('format = "png"\ntransparent = 1\n', "takes true or false"),
    ],
)
def test_wrong_words_about_cuts_and_pictures_are_told(tmp_path: Path, text: str, what: str) -> None:
    (tmp_path / "d.toml").write_text(text)
    with pytest.raises(CannotRead, match=re.escape(what)) as caught:
        read_destination(tmp_path / "d.toml")
    assert "line 2" in caught.value.where
