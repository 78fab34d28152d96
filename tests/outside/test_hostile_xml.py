"""Files built to harm whoever opens them: one clear refusal each, nothing fetched, no memory eaten.

Sources: `xmltestdata` of the defusedxml source distribution (PyPI, PSF-2.0), as it is and with an SVG
root in place of its own; the crash and error files of librsvg (Debian `librsvg2-tests`).
"""

from __future__ import annotations

import re
import socket
from typing import TYPE_CHECKING

import pytest

from bladewise.errors import CannotRead
from bladewise.formats import read, read_svg, svg_text
from outside_cases import cases

if TYPE_CHECKING:
    from pathlib import Path

    from bladewise.document import Job

HOSTILE = {
    "xmlbomb.xml": "entity bomb",
    "quadratic.xml": "entity bomb",
    "cyclic.xml": "entity bomb",
    "external.xml": "from outside itself",
    "external_file.xml": "from outside itself",
}


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something tried to reach the network")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)


def read_or_refused(path: Path) -> tuple[Job | None, str]:
    """The drawing, or what the operator is told."""
    try:
        return read_svg(path), ""
    except CannotRead as error:
        return None, str(error)


@pytest.mark.parametrize("path", cases("hostile-xml", "*.xml"))
def test_no_file_of_the_hostile_set_is_taken_for_a_drawing(path: Path) -> None:
    with pytest.raises(CannotRead) as caught:
        read(path)
    assert caught.value.where == path.name
    assert "Traceback" not in str(caught.value)


@pytest.mark.parametrize("path", cases("hostile-xml", "*.xml", only=HOSTILE))
def test_the_same_attacks_inside_a_drawing_are_named_and_refused(path: Path, tmp_path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"<(bomb|root)>", '<svg xmlns="http://www.w3.org/2000/svg"><text>', text)
    text = re.sub(r"</(bomb|root)>", "</text></svg>", text)
    drawing = tmp_path / "art.svg"
    drawing.write_text(text, encoding="utf-8")
    resource = pytest.importorskip("resource", reason="memory is measured on POSIX systems")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(CannotRead, match=HOSTILE[path.name]):
        read(drawing)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000, "more than 100 MB were taken"


FELLED = [*cases("librsvg-fixtures", "*crash/*.svg"), *cases("librsvg-fixtures", "loading/*.svg")]


@pytest.mark.parametrize("path", FELLED)
def test_files_that_once_felled_another_reader_are_read_or_refused(path: Path, tmp_path: Path) -> None:
    job, refusal = read_or_refused(path)
    if job is None:
        assert refusal
        return
    copy = tmp_path / "copy.svg"
    copy.write_text(svg_text(job), encoding="utf-8")
    assert read_svg(copy) == job


@pytest.mark.parametrize(
    "path", cases("librsvg-fixtures", "errors/*.svg", only={"323-nested-use.svg", "515-pattern-billion-laughs.svg"})
)
def test_drawings_that_repeat_themselves_without_end_are_refused_or_cut_short(path: Path) -> None:
    job, refusal = read_or_refused(path)
    if job is None:
        assert "repeats its parts" in refusal
    else:
        assert len(job.shapes()) < 1000
        assert any("pattern" in note for note in job.notes)
