"""`bladewise ticket` and `bladewise proof`: papers on the command line, with what the command says of the order."""

import json

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from bladewise.cli import main
from bladewise.session import Session


@pytest.fixture
def sign(tmp_path):
    session = Session.new("Sign", 200.0, 150.0)
    session.do("draw-rectangle", x_mm=20, y_mm=20, width_mm=120, height_mm=60)
    session.do("job-details", customer="Heron", order_number="7", revision="1")
    return session.save(tmp_path / "sign.svg")


def text_of(path):
    with pypdfium2.PdfDocument(path) as document:
        return document[0].get_textpage().get_text_range()


def test_a_ticket_says_what_the_job_says_and_the_command_says_it_better(sign, tmp_path, capsys):
    out = tmp_path / "ticket.pdf"
    words = ["ticket", str(sign), "--out", str(out), "--revision", "2", "--date", "2026-05-31", "--remark", "Matt"]
    assert main(words) == 0
    text = text_of(out)
    for each in ("Heron", "2026-05-31", "“Matt”", "120 × 60 mm", "0.36 m down"):
        assert each in text
    assert "Revision 2" in text.replace("\r\n", "\n").replace("\n", " ")
    assert "In all: 1 piece" in capsys.readouterr().out


def test_the_same_ticket_as_html(sign, tmp_path):
    out = tmp_path / "ticket.html"
    assert main(["ticket", str(sign), "--out", str(out), "--unit", "in"]) == 0
    text = out.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "4.72 × 2.36 in" in text


def test_the_summary_of_a_ticket_is_numbers(sign, tmp_path, capsys):
    words = ["ticket", str(sign), "--out", str(tmp_path / "t.pdf"), "--json", "--cutting-speed", "36", "--lift", "0,5"]
    assert main([*words, "--moving-speed", "1000"]) == 0
    told = json.loads(capsys.readouterr().out)
    (material,) = told["materials"]
    assert (told["customer"], told["order_number"], told["pages"]) == ("Heron", "7", 1)
    assert (material["down_mm"], material["lifts"], material["pieces"]) == (360.0, 1, 1)
    assert material["seconds"] == pytest.approx(10.5, abs=0.05)
    assert material["taken_mm"] == [140.0, 80.0]


def test_the_bar_of_a_proof_as_png_is_as_many_pixels_as_it_says(sign, tmp_path, capsys):
    out = tmp_path / "proof.png"
    assert main(["proof", str(sign), "--out", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["true_size"] is True
    with Image.open(out) as picture:
        assert picture.info["dpi"] == pytest.approx((254.0, 254.0))
        assert picture.size in ((2100, 2970), (2970, 2100))
        grey = np.asarray(picture.convert("L"))
    runs = longest_runs(grey < 10)
    # the bar's lower edge is one black row of 1000 pixels; longer rows are rules of the page, from margin to margin
    assert 1000 in runs


def longest_runs(black):
    found = set()
    for row in black:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
        if len(edges):
            found.add(int((edges[1::2] - edges[::2]).max()))
    return found


@pytest.mark.parametrize(("dpi", "pixels"), [(254, 1000), (127, 500), (300, 1181)])
def test_the_bar_under_art_alone_is_as_many_pixels_as_it_says(sign, tmp_path, dpi, pixels):
    out = tmp_path / "art.png"
    assert main(["proof", str(sign), "--out", str(out), "--art-only", "--dpi", str(dpi)]) == 0
    with Image.open(out) as picture:
        grey = np.asarray(picture.convert("L"), dtype=float)
        assert picture.size[0] == pytest.approx(200 / 25.4 * dpi, abs=1)
    strip = grey[round(151 / 25.4 * dpi) :]
    # how much of each pixel is black, summed: edges between pixels count for their part
    assert ((255.0 - strip) / 255.0).sum(axis=1).max() == pytest.approx(100 / 25.4 * dpi, abs=0.1)
    assert max(longest_runs(strip < 128)) == pytest.approx(pixels, abs=1)


def test_a_proof_as_pdf_says_its_scale(sign, tmp_path, capsys):
    out = tmp_path / "proof.pdf"
    assert main(["proof", str(sign), "--out", str(out), "--paper", "letter"]) == 0
    assert "True size." in capsys.readouterr().out
    assert "Shown at true size (1:1)." in text_of(out)
    with pypdfium2.PdfDocument(out) as document:
        assert sorted(document[0].get_size()) == pytest.approx([612.0, 792.0])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["ticket", "FILE", "--out", "t.png"], "not a kind of file"),
        (["ticket", "FILE", "--out", "t"], "Known: .pdf, .html."),
        (["proof", "FILE", "--out", "p.svg"], "Known: .pdf, .png."),
        (["proof", "FILE", "--out", "p.pdf", "--dpi", "300"], "A PDF has no pixels"),
        (["ticket", "missing.svg", "--out", "t.pdf"], "missing.svg"),
        (["ticket", "FILE", "--out", "nowhere/t.pdf"], "folder is not there"),
        (["proof", "EMPTY", "--out", "p.pdf"], "Nothing in the job shows"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_written(sign, tmp_path, monkeypatch, capsys, words, told):
    monkeypatch.chdir(tmp_path)
    Session.new("Empty").save(tmp_path / "empty.svg")
    before = sorted(tmp_path.iterdir())
    names = {"FILE": str(sign), "EMPTY": "empty.svg"}
    assert main([names.get(word, word) for word in words]) == 2
    assert told in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(("option", "value"), [("--date", "31.5.2026"), ("--cutting-speed", "0"), ("--lift", "nan")])
def test_a_number_or_date_that_is_none_is_refused(sign, tmp_path, option, value, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["ticket", str(sign), "--out", str(tmp_path / "t.pdf"), option, value])
    assert "is needed" in capsys.readouterr().err
    assert not (tmp_path / "t.pdf").exists()


def test_the_old_ticket_stands_where_a_new_one_cannot_be_written(sign, tmp_path):
    out = tmp_path / "folder.pdf"
    out.mkdir()
    assert main(["ticket", str(sign), "--out", str(out)]) == 2
    assert out.is_dir()
