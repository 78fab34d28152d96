"""Places that cannot be written to: one clear message, the old file intact, nothing left behind, exit code 2."""

from __future__ import annotations

import errno
import os
import sys
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from bladewise.cli import main
from bladewise.document import Material
from bladewise.errors import CannotWrite
from bladewise.formats import Destination, prepared, write, write_svg, write_to
from bladewise.formats.atomic import write_atomically, write_together
from pieces import BLUE, ring_and_bar

if TYPE_CHECKING:
    from collections.abc import Iterator

KINDS = ("svg", "pdf", "dxf", "hpgl")
NOBODY = 65534
posix = pytest.mark.skipif(sys.platform == "win32", reason="rights and limits of POSIX systems")


def failing(number: int, **more: object) -> OSError:
    error = OSError(number, os.strerror(number))
    for name, value in more.items():
        setattr(error, name, value)
    return error


@contextmanager
def without_rights() -> Iterator[None]:
    """Whoever runs the tests may be root, who may write anywhere; nobody may not."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@contextmanager
def file_size_limit(most: int) -> Iterator[None]:
    """A real limit of the system, which a write meets half-way as it does a full disk."""
    import resource

    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("where", ["os.fsync", "pathlib.Path.replace"])
def test_a_full_disk_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, where: str
) -> None:
    target = tmp_path / f"Test.{kind}"
    target.write_text("old")

    def full(*_: object, **__: object) -> None:
        raise failing(errno.ENOSPC)

    monkeypatch.setattr(where, full)
    with pytest.raises(CannotWrite, match="No space left") as caught:
        write_to(ring_and_bar(), tmp_path, Destination(kind))
    assert caught.value.where == target.name
    assert "Make room on the disk" in caught.value.hint
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


@posix
@pytest.mark.parametrize("kind", KINDS)
def test_a_disk_that_fills_half_way_leaves_the_old_file_and_nothing_else(tmp_path: Path, kind: str) -> None:
    target = tmp_path / f"Test.{kind}"
    target.write_text("old")
    files = prepared(ring_and_bar(), Destination(kind))
    with file_size_limit(64), pytest.raises(CannotWrite, match="too large") as caught:
        files[0].write(tmp_path)
    assert "Make room on the disk" in caught.value.hint
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


@posix
def test_of_several_files_none_is_changed_when_the_last_finds_no_room(tmp_path: Path) -> None:
    old = tmp_path / "a.txt"
    old.write_text("old")
    with file_size_limit(64), pytest.raises(CannotWrite, match="too large") as caught:
        write_together([(old, b"new"), (tmp_path / "b.txt", b"x" * 1000)])
    assert caught.value.where == "b.txt"
    assert old.read_text() == "old"
    assert list(tmp_path.iterdir()) == [old]


def test_of_several_files_none_is_changed_when_one_has_the_name_of_a_folder(tmp_path: Path) -> None:
    old = tmp_path / "Test - Orange e69f00.dxf"
    old.write_text("old")
    (tmp_path / "Test - Blue 0072b2.dxf").mkdir()
    with pytest.raises(CannotWrite, match="could not be written") as caught:
        write_to(ring_and_bar(), tmp_path, Destination("dxf", per_colour=True))
    assert caught.value.where == "Test - Blue 0072b2.dxf"
    assert "a folder of that name" in caught.value.hint
    assert old.read_text() == "old"
    assert len(list(tmp_path.iterdir())) == 2


@posix
def test_a_folder_that_may_not_be_written_to_is_told() -> None:
    with tempfile.TemporaryDirectory() as name:  # tests' own folders cannot even be entered by nobody
        Path(name).chmod(0o755)
        folder = Path(name) / "shut"
        folder.mkdir()
        target = folder / "Test.dxf"
        target.write_text("old")
        folder.chmod(0o555)
        files = prepared(ring_and_bar(), Destination("dxf"))
        with without_rights(), pytest.raises(CannotWrite, match="Permission denied") as caught:
            files[0].write(folder)
        assert "may not write there" in caught.value.hint
        with without_rights(), pytest.raises(CannotWrite, match="folder could not be made"):
            files[0].write(folder / "deeper")
        assert target.read_text() == "old"
        assert list(folder.iterdir()) == [target]
        folder.chmod(0o755)


@pytest.mark.parametrize(
    ("number", "more", "hint"),
    [
        (errno.EACCES, {"winerror": 32}, "Another program holds the file open"),
        (errno.EBUSY, {}, "Another program holds the file open"),
        (errno.EACCES, {}, "may not write there, or another program holds the file open"),
        (errno.EROFS, {}, "can only be read"),
    ],
)
def test_a_file_that_another_program_holds_open_is_told_and_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, more: dict[str, object], hint: str
) -> None:
    target = tmp_path / "cut.dxf"
    target.write_text("old")

    def held(*_: object, **__: object) -> None:
        raise failing(number, **more)

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(CannotWrite) as caught:
        write(ring_and_bar(), target)
    assert hint in caught.value.hint
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


@posix
def test_whoever_still_reads_the_old_file_reads_all_of_it(tmp_path: Path) -> None:
    target = tmp_path / "cut.hpgl"
    target.write_text("old" * 1000)
    with target.open() as reader:
        assert reader.read(3) == "old"
        write(ring_and_bar(), target)
        assert len(reader.read()) == 2997
    assert target.read_text().startswith("IN;")


@posix
def test_a_name_that_is_too_long_is_told(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="too long") as caught:
        write_atomically(tmp_path / f"{'x' * 300}.svg", b"data")
    assert "shorter name" in caught.value.hint
    assert not list(tmp_path.iterdir())


def test_the_longest_names_of_job_and_material_still_make_a_file(tmp_path: Path) -> None:
    job = ring_and_bar()
    foil = Material("foil", "Ü" * 300, BLUE)
    art = replace(job, name="金" * 300, layers=(replace(job.layers[0], material="foil"),), materials=(foil,))
    (path,) = write_to(art, tmp_path, Destination("svg", per_colour=True))
    assert path.stat().st_size > 100
    assert 200 < len(path.name.encode("utf-8")) < 255 - len(".job.svg 999")


def test_the_command_line_answers_with_one_message_and_exit_code_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    art, out = tmp_path / "art.svg", tmp_path / "out"
    write_svg(ring_and_bar(), art)
    out.mkdir()
    (out / "Test.pdf").write_text("old")

    def full(*_: object, **__: object) -> None:
        raise failing(errno.ENOSPC)

    monkeypatch.setattr(os, "fsync", full)
    code = main(["export", str(art), "--as", "pdf", "--out", str(out), "--despite-findings"])
    printed = capsys.readouterr()
    assert (code, printed.out) == (2, "")
    assert printed.err == (
        "bladewise: Test.pdf: The file could not be written: No space left on device. "
        "Make room on the disk, or choose another; the old file is as it was.\n"
    )
    assert (out / "Test.pdf").read_text() == "old"
    assert len(list(out.iterdir())) == 1
