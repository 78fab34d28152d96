"""The first start on a strange machine says what is missing in one line, and never loses what someone made."""

import io
import sys
import tarfile

import pytest

import demo
import fresh
import outside_data


@pytest.fixture
def debian(monkeypatch):
    """A Debian system with its own idea of package names, and an operator who is not root."""
    monkeypatch.setattr(fresh, "apt_there", lambda: True)
    monkeypatch.setattr(fresh, "is_root", lambda: False)
    monkeypatch.setattr(fresh, "apt_knows", {"libegl1", "libglib2.0-0t64", "python3-venv"}.__contains__)


def test_an_old_python_is_named_with_what_to_do(monkeypatch):
    monkeypatch.setattr(fresh.sys, "version_info", (3, 9, 2))
    with pytest.raises(fresh.Stop, match=r"needs Python 3\.11 or newer; this is Python 3\.9\.2"):
        fresh.check_python()


def test_an_operator_without_rights_gets_the_exact_line_in_this_releases_names(debian):
    with pytest.raises(fresh.Stop) as stop:
        fresh.apt_install([("libegl1",), ("libglib2.0-0t64", "libglib2.0-0")], why="Two are missing.")
    assert "\n    sudo apt-get install -y libegl1 libglib2.0-0t64\n" in str(stop.value)
    assert str(stop.value).startswith("Two are missing.")


def test_a_name_that_apt_does_not_know_falls_back_to_the_oldest_one(debian):
    assert fresh.apt_names([("libnew", "libold"), ("python3.99-venv", "python3-venv")]) == ["libold", "python3-venv"]


@pytest.mark.skipif(sys.platform != "linux", reason="shared libraries are looked for on Linux alone")
def test_libraries_and_python_parts_are_asked_for_together(debian, monkeypatch):
    monkeypatch.setattr(fresh, "missing_libraries", lambda _wanted: {"libEGL.so.1": ("libegl1",)})
    monkeypatch.setattr(fresh.importlib.util, "find_spec", lambda _name: None)
    monkeypatch.setattr(fresh, "same_python", lambda: False)
    with pytest.raises(fresh.Stop, match="install -y libegl1 python3-venv"):
        fresh.provide_system(window=False)


def test_a_library_that_is_not_there_is_missed():
    wanted = {"libnobodyhasthis.so.7": ("libnobody7",)}
    assert fresh.missing_libraries(wanted) == wanted


def test_programs_that_read_our_files_are_missed_without_stopping(debian, monkeypatch, capsys):
    monkeypatch.setattr(fresh.shutil, "which", lambda program: "/usr/bin/apt-get" if program == "apt-get" else None)
    fresh.provide_readers()
    said = capsys.readouterr().out
    assert "gs, mutool, pdftoppm, qpdf" in said
    assert "skipped" in said


def test_a_changed_lock_is_installed_again(tmp_path):
    lock = tmp_path / "lock.txt"
    lock.write_text("numpy==1\n", encoding="utf-8")
    first = fresh.key_of(lock)
    assert fresh.key_of(lock) == first
    lock.write_text("numpy==2\n", encoding="utf-8")
    assert fresh.key_of(lock) != first


def test_a_wrong_word_on_the_command_line_is_refused():
    with pytest.raises(SystemExit) as stop:
        fresh.main(["run", "--no-windows-please"])
    assert stop.value.code == 2


def test_a_demo_job_someone_worked_on_is_kept_when_the_demo_is_made_again(tmp_path):
    job, picture = tmp_path / "cup.svg", tmp_path / "fill.png"
    job.write_text("as made", encoding="utf-8")
    picture.write_text("as made", encoding="utf-8")
    files = {"cup.svg": demo.hash_of(job), "fill.png": demo.hash_of(picture), "gone.svg": "0" * 64}
    job.write_text("with an hour of work in it", encoding="utf-8")
    demo.clear(tmp_path, files)
    assert [path.name for path in tmp_path.iterdir()] == ["cup (kept 1).svg"]
    assert (tmp_path / "cup (kept 1).svg").read_text(encoding="utf-8") == "with an hour of work in it"


def test_outside_archives_cannot_write_outside_their_folder(tmp_path):
    archive = tmp_path / "set.tgz"
    with tarfile.open(archive, "w:gz") as roll:
        for name in ("package/cup.svg", "../evil.svg", "/evil.svg", "package/../../evil.svg", "package/run.js"):
            member = tarfile.TarInfo(name)
            member.size = 3
            roll.addfile(member, io.BytesIO(b"svg"))
        link = tarfile.TarInfo("package/link.svg")
        link.type, link.linkname = tarfile.SYMTYPE, "../../evil.svg"
        roll.addfile(link)
    outside_data._unpack(archive, tmp_path / "unpacked")
    found = [path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file()]
    assert sorted(found) == ["set.tgz", "unpacked/package/cup.svg"]


def test_an_outside_set_that_cannot_be_had_says_why(tmp_path, monkeypatch):
    monkeypatch.setenv("BLADEWISE_OUTSIDE", str(tmp_path))

    def no_answer(*_arguments, **_options):
        raise OSError("no route")

    monkeypatch.setattr(outside_data.subprocess, "run", no_answer)
    monkeypatch.setattr(outside_data.shutil, "which", lambda name: name)
    reasons = outside_data.fetch()
    assert reasons.keys() == outside_data.SETS.keys()
    with pytest.raises(outside_data.Missing, match=r"'picosvg' \(picosvg 0\.23\.0\): pip did not deliver"):
        outside_data.where("picosvg")
    assert outside_data.files_of("picosvg") == []


def test_an_archive_with_another_hash_is_not_unpacked(tmp_path, monkeypatch):
    monkeypatch.setenv("BLADEWISE_OUTSIDE", str(tmp_path / "store"))

    def wrong_archive(folder, *_arguments):
        path = folder / "picosvg.tar.gz"
        path.write_bytes(b"not what was pinned")
        return path

    monkeypatch.setattr(outside_data, "_from_pip", wrong_archive)
    reasons = outside_data.fetch(["picosvg"])
    assert "not the one it is pinned to" in reasons["picosvg"]
    assert outside_data.files_of("picosvg") == []
