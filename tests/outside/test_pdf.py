"""PDF as others see it: pdfium's picture beside resvg's, Ghostscript's plates, and whatever else is at hand.

Sources: pdfium (PyPI `pypdfium2`) draws our PDF, resvg (PyPI `resvg_py`) our SVG of the same job. Ghostscript's
`tiffsep` device makes one plate a colorant; Ghostscript, qpdf, mupdf and poppler are used where the machine has
them. Both pictures are made four times as large and brought down: pdfium draws no line thinner than a pixel.

Bounds: mean difference of a channel of 255, and share of pixels in which a channel is off by more than 48. Seen:
0.9 and 0.6 % at most among the demo and customers' art but for bo.svg (1.8 and 2.4 %), a coat of arms of strokes
far thinner than a pixel; 1.3 and 0.6 % in the W3C suite, where pdfium does not soften the edges of a gradient, but
for one that repeats (2.2 and 0.5 %): pdfium takes 256 colours of it from end to end.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from bladewise.document import PRINT, Colour, CutKind, Job, Layer, Material, MaterialKind, Stroke, cut_line_id
from bladewise.formats import read_svg, svg_text
from bladewise.formats.pdf import ProcessingStep, Spot, pdf_bytes
from bladewise.geometry.path import circle, rectangle
from bladewise.operations.painted import HAIRLINE_MM
from outside.pictures import (
    CUSTOMERS,
    DEMO,
    SKIPPED,
    W3C,
    W3C_SKIPPED,
    Difference,
    difference,
    picture,
    without_lettering,
)
from pieces import shape

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

BOUND = Difference(mean=1.5, off=0.01)
COARSE = Difference(mean=2.5, off=0.03)
"""For what pdfium draws coarsely: strokes far thinner than a pixel, and a gradient of many turns."""
COARSE_ONES = frozenset({"bo.svg", "pservers-grad-10-b.svg"})
LARGER = 4
DPI = 2540
"""A pixel of a plate is 0.01 mm."""
CUT = "Cut line"


def pdfium_picture(data: bytes, width_px: int) -> NDArray[np.float64]:
    document = pypdfium2.PdfDocument(data)
    page = document[0]
    scale = (width_px - 0.01) / page.get_width()  # a size is rounded up: a hair over would stretch the page by a pixel
    bitmap = page.render(scale=scale, fill_color=(255, 255, 255, 255))
    found = np.asarray(bitmap.to_pil().convert("RGB"), dtype=np.float64)
    bitmap.close()
    page.close()
    document.close()
    return found


def brought_down(image: NDArray[np.float64]) -> NDArray[np.float64]:
    rows, columns = image.shape[0] // LARGER, image.shape[1] // LARGER
    whole = image[: rows * LARGER, : columns * LARGER]
    return whole.reshape(rows, LARGER, columns, LARGER, 3).mean(axis=(1, 3))


def apart(job: Job) -> Difference:
    ratio = job.height_mm / job.width_mm
    width = min(range(200, 321), key=lambda wide: abs(wide * ratio - round(wide * ratio))) * LARGER
    height = round(width / LARGER * ratio) * LARGER
    text = re.sub(r'width="[^"]*" height="[^"]*"', f'width="{width}" height="{height}"', svg_text(job), count=1)
    mine = brought_down(pdfium_picture(pdf_bytes(job), width))
    return difference(mine, brought_down(picture(text, width, height)))


def sticker() -> Job:
    """Return a printed disc over white, with a cut line about it, and a printed bar across all."""
    cut, white = Material("cut-line", CUT, Colour(255, 0, 255)), Material("white", "White", Colour(230, 230, 255))
    disc = circle((15.0, 10.0), 6.0)
    art = (
        replace(shape("white", circle((15.0, 10.0), 5.5)), material="white"),
        replace(shape("disc", disc, Colour(0, 114, 178)), material=PRINT.id),
        replace(shape("bar", rectangle(2.0, 9.0, 26.0, 2.0), Colour(230, 159, 0)), material=PRINT.id),
    )
    line = replace(
        shape("line", rectangle(5.0, 3.0, 20.0, 14.0, 2.0), None, Stroke(cut.colour, HAIRLINE_MM)), material=cut.id
    )
    layers = (Layer("art", "Art", art), Layer("lines", "Lines", (line,)))
    return Job("Sticker", 30.0, 20.0, layers, (PRINT, cut, white))


SPOTS = {"white": Spot("White", ProcessingStep.WHITE)}


@pytest.mark.parametrize("path", [*DEMO, *CUSTOMERS[::4], *W3C[::3]])
def test_pdfium_paints_our_pdf_as_resvg_paints_our_svg(path: Path) -> None:
    if reason := (SKIPPED | W3C_SKIPPED).get(path.name):
        pytest.skip(reason)
    seen = apart(without_lettering(read_svg(path)))
    assert seen.within(COARSE if path.name in COARSE_ONES else BOUND), seen


@pytest.mark.parametrize("path", DEMO)
def test_poppler_paints_our_pdf_as_pdfium_does(path: Path, tmp_path: Path) -> None:
    program = shutil.which("pdftoppm")
    if program is None:
        pytest.skip("there is no pdftoppm here")
    data = pdf_bytes(without_lettering(read_svg(path)))
    (tmp_path / "in.pdf").write_bytes(data)
    width = 320 * LARGER
    mine = pdfium_picture(data, width)
    size = ["-scale-to-x", str(mine.shape[1]), "-scale-to-y", str(mine.shape[0])]
    subprocess.run([program, "-png", "-singlefile", *size, "in.pdf", "out"], cwd=tmp_path, check=True)
    theirs = np.asarray(Image.open(tmp_path / "out.png").convert("RGB"), dtype=np.float64)
    seen = difference(brought_down(mine), brought_down(theirs))
    assert seen.within(BOUND), seen


def test_the_measure_sees_a_drawing_that_lies_half_a_millimetre_off() -> None:
    job = without_lettering(read_svg(DEMO[2].values[0]))
    whole = pdfium_picture(pdf_bytes(job), 360)
    assert not difference(whole, np.roll(whole, 1, axis=1)).within(BOUND)


def test_pdfium_shows_the_cut_line_where_it_is() -> None:
    whole = pdfium_picture(pdf_bytes(sticker(), spots=SPOTS), 600)
    rows, columns = np.nonzero(whole[:, :, 1] < whole[:, :, 0] - 100)  # magenta
    scale = 600 / 30.0
    assert (
        np.abs(np.array([columns.min(), rows.min(), columns.max() + 1, rows.max() + 1]) / scale - (5, 3, 25, 17)).max()
        < 0.15
    )


def plates(data: bytes, folder: Path) -> dict[str, NDArray[np.uint8]]:
    """Return Ghostscript's plate of each colorant: 0 is full ink.

    The height of its bands is set: it follows the number of plates otherwise, and edges differ by a pixel
    where a band begins.
    """
    program = shutil.which("gs")
    if program is None:
        pytest.skip("there is no Ghostscript here")
    (folder / "in.pdf").write_bytes(data)
    command = [
        program,
        "-q",
        "-dSAFER",
        "-dBATCH",
        "-dNOPAUSE",
        "-sDEVICE=tiffsep",
        "-dBandHeight=500",
        f"-r{DPI}",
        "-o",
        "plate.tif",
        "in.pdf",
    ]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr + done.stdout
    assert "Error" not in done.stdout + done.stderr
    found = {}
    for path in sorted(folder.glob("plate(*).tif")):
        with Image.open(path) as image:
            found[path.stem[6:-1]] = np.asarray(image.convert("L"))
    return found


def extent_mm(plate: NDArray[np.uint8]) -> tuple[float, float, float, float]:
    rows, columns = np.nonzero(plate < 128)
    pixel = 25.4 / DPI
    return columns.min() * pixel, rows.min() * pixel, (columns.max() + 1) * pixel, (rows.max() + 1) * pixel


def test_ghostscript_puts_the_cut_line_on_a_plate_of_its_own_to_a_hundredth_of_a_millimetre(tmp_path: Path) -> None:
    found = plates(pdf_bytes(sticker(), spots=SPOTS), tmp_path)
    assert {CUT, "White"} <= found.keys()
    half = HAIRLINE_MM / 2.0
    wanted = (5.0 - half, 3.0 - half, 25.0 + half, 17.0 + half)
    assert np.abs(np.array(extent_mm(found[CUT])) - wanted).max() <= 0.0101
    line = found[CUT] < 128
    inside = np.zeros_like(line)
    inside[400:600, 1200:1800] = True  # amid the disc: no cut line there, nor under the bar
    assert not (line & inside).any()


def test_the_cut_line_leaves_no_trace_on_the_plates_of_the_print(tmp_path: Path) -> None:
    with_line = tmp_path / "with"
    without = tmp_path / "without"
    with_line.mkdir()
    without.mkdir()
    job = sticker()
    both = plates(pdf_bytes(job, spots=SPOTS), with_line)
    print_only = plates(pdf_bytes(replace(job, layers=job.layers[:1]), spots=SPOTS), without)
    for name in print_only:
        assert np.array_equal(both[name], print_only[name]), name


def test_white_is_whole_under_the_art_that_lies_over_it(tmp_path: Path) -> None:
    white = plates(pdf_bytes(sticker(), spots=SPOTS), tmp_path)["White"] < 128
    pixel = 25.4 / DPI
    assert white.sum() * pixel * pixel == pytest.approx(np.pi * 5.5**2, rel=2e-3)


KINDS = {
    CutKind.KISS: ("Knife", rectangle(4.0, 3.0, 22.0, 14.0)),
    CutKind.THROUGH: ("Box", rectangle(1.0, 1.0, 28.0, 18.0)),
    CutKind.PERFORATION: ("Tear", rectangle(2.0, 2.0, 25.0, 16.0)),
    CutKind.CREASE: ("Fold", rectangle(7.0, 5.0, 10.0, 9.0)),
}
"""The spot colour that each kind of line shall have, and where it runs."""


def kinds() -> Job:
    """Return a printed disc over white and under varnish, with a line of each kind about it."""
    lines, materials = [], [PRINT]
    for cut, (name, path) in KINDS.items():
        made = Material(cut_line_id(cut), name, Colour(255, 0, 255), cut=cut)
        materials.append(replace(made, perforation_cut_mm=3.0, perforation_gap_mm=1.0))
        lines.append(replace(shape(name, path, None, Stroke(made.colour, HAIRLINE_MM)), material=made.id))
    for kind, name in ((MaterialKind.WHITE, "White ink"), (MaterialKind.VARNISH, "Gloss")):
        materials.append(Material(name, name, Colour(200, 200, 220), kind))
    disc = circle((15.0, 10.0), 6.0)
    art = (
        replace(shape("under", disc), material="White ink"),
        replace(shape("disc", disc, Colour(0, 114, 178)), material=PRINT.id),
        replace(shape("over", circle((15.0, 10.0), 3.0)), material="Gloss"),
    )
    layers = (Layer("art", "Art", art), Layer("lines", "Lines", tuple(lines)))
    return Job("Kinds", 30.0, 20.0, layers, tuple(materials))


def test_ghostscript_has_a_plate_for_each_kind_of_line_and_each_ink_where_it_belongs(tmp_path: Path) -> None:
    found = plates(pdf_bytes(kinds(), cut_name="Knife"), tmp_path)
    assert found.keys() >= {"Knife", "Box", "Tear", "Fold", "White ink", "Gloss"}
    half = HAIRLINE_MM / 2.0
    for name, path in KINDS.values():
        x0, y0, x1, y1 = path.bounds()
        wanted = (x0 - half, y0 - half, x1 + half, y1 + half)
        assert np.abs(np.array(extent_mm(found[name])) - wanted).max() <= 0.0101, name
    pixel = 25.4 / DPI
    for name, radius in (("White ink", 6.0), ("Gloss", 3.0)):
        assert (found[name] < 128).sum() * pixel**2 == pytest.approx(np.pi * radius**2, rel=3e-3), name


def test_the_plate_of_a_perforation_has_cuts_and_gaps_of_the_lengths_that_were_set(tmp_path: Path) -> None:
    tear = plates(pdf_bytes(kinds(), cut_name="Knife"), tmp_path)["Tear"] < 128
    row = tear[round(2.0 / 25.4 * DPI)]  # along the upper side, from 2 to 27 mm
    edges = np.flatnonzero(np.diff(row.astype(np.int8)))
    runs = np.diff(edges)[1:-1] * 25.4 / DPI  # the first and last turn the corners
    assert len(runs) >= 9
    assert np.abs(runs[0::2] - 1.0).max() <= 0.021, "gaps, to two pixels of 0.01 mm"
    assert np.abs(runs[1::2] - 3.0).max() <= 0.021, "cuts"


def test_libqpdf_finds_no_fault_in_the_syntax() -> None:
    # What `qpdf --check` would say: pikepdf carries the same library.
    with pikepdf.open(io.BytesIO(pdf_bytes(kinds(), cut_name="Knife"))) as pdf:
        assert pdf.check_pdf_syntax() == []
    broken = pdf_bytes(kinds(), cut_name="Knife").replace(b"/Length ", b"/Lengt ", 1)
    with pikepdf.open(io.BytesIO(broken)) as pdf:
        assert pdf.check_pdf_syntax() != [], "else the check would see nothing"


@pytest.mark.parametrize(
    "command",
    [
        ["qpdf", "--check", "in.pdf"],
        ["mutool", "info", "in.pdf"],
        ["pdfinfo", "-box", "in.pdf"],
        ["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dPDFSTOPONERROR", "-sDEVICE=nullpage", "in.pdf"],
    ],
    ids=lambda command: command[0],
)
def test_another_program_finds_nothing_wrong(command: list[str], tmp_path: Path) -> None:
    program = shutil.which(command[0])
    if program is None:
        pytest.skip(f"there is no {command[0]} here")
    (tmp_path / "in.pdf").write_bytes(pdf_bytes(sticker(), spots=SPOTS))
    done = subprocess.run([program, *command[1:]], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert not re.search(r"\b(error|warning):", done.stdout + done.stderr, re.IGNORECASE)


def test_mupdf_names_the_layer_and_the_separation(tmp_path: Path) -> None:
    program = shutil.which("mutool")
    if program is None:
        pytest.skip("there is no mutool here")
    (tmp_path / "in.pdf").write_bytes(pdf_bytes(sticker(), spots=SPOTS))
    done = subprocess.run([program, "trace", "in.pdf"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert f'name="{CUT}"' in done.stdout
    assert "Separation" in done.stdout
