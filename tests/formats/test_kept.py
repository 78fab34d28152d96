"""Destinations are kept in one folder, where each system keeps the settings of programs."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from bladewise.errors import CannotRead
from bladewise.formats import Destination, destinations_folder, find_destination, keep_destination


@pytest.mark.parametrize(
    ("system", "environment", "folder"),
    [
        ("linux", {"XDG_CONFIG_HOME": "/settings"}, "/settings/Bladewise/destinations"),
        ("linux", {}, "/people/ada/.config/Bladewise/destinations"),
        ("darwin", {"XDG_CONFIG_HOME": "/settings"}, "/people/ada/Library/Application Support/Bladewise/destinations"),
        ("win32", {"APPDATA": "/Roaming"}, "/Roaming/Bladewise/destinations"),
        ("win32", {}, "/people/ada/AppData/Roaming/Bladewise/destinations"),
        ("darwin", {"BLADEWISE_DESTINATIONS": "/shop"}, "/shop"),
    ],
)
def test_the_folder_is_where_the_system_keeps_settings(
    monkeypatch: pytest.MonkeyPatch, system: str, environment: dict[str, str], folder: str
) -> None:
    # XDG Base Directory Specification; the others' conventions from memory.
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setattr(Path, "home", lambda: Path("/people/ada"))
    for name in ("XDG_CONFIG_HOME", "APPDATA", "BLADEWISE_DESTINATIONS"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert destinations_folder() == Path(folder)


def test_a_destination_is_found_by_name_or_by_its_file(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    front = Destination("dxf", "Front table")
    path = keep_destination(front, folder)
    for word in ("Front table", "FRONT TABLE", str(path)):
        assert find_destination(word, folder) == front
    bare = tmp_path / "bare"
    bare.write_text('format = "svg"\n')
    assert find_destination(str(bare), folder).format == "svg"


@pytest.mark.parametrize(
    ("word", "what"),
    [
        ("Front tabel", "Did you mean “Front table”?"),
        ("", "It takes: Front table."),
        ("nowhere.toml", "There is no such file"),
        ("bad", "Did you mean “dxf”?"),
    ],
)
def test_a_wrong_name_is_told_with_the_nearest_right_one(tmp_path: Path, word: str, what: str) -> None:
    keep_destination(Destination("dxf", "Front table"), tmp_path)
    (tmp_path / "bad.toml").write_text('format = "dfx"\n')
    with pytest.raises(CannotRead) as caught:
        find_destination(word, tmp_path)
    assert what in str(caught.value)


def test_while_none_are_kept_that_is_said(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="no destination “Front”") as caught:
        find_destination("Front", tmp_path / "none")
    assert "None are kept yet" in caught.value.hint
