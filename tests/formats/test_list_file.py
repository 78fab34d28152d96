"""A list saved by whatever program is read with its letters right."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise.errors import CannotRead
from bladewise.formats.list_file import read_list

if TYPE_CHECKING:
    from pathlib import Path

TEXT = "name;number\nMüller – Ö;7\nČápek;8\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_every_unicode_encoding_is_recognised(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(TEXT.encode(encoding))
    assert read_list(path).lstrip("\ufeff") == TEXT


def test_the_old_encoding_of_windows_is_recognised(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes("name\nMüller – €\n".encode("cp1252"))
    assert read_list(path) == "name\nMüller – €\n"


@pytest.mark.parametrize("head", [b"PK\x03\x04xxxx", b"\xd0\xcf\x11\xe0xxxx"])
def test_a_spreadsheet_is_refused_with_what_to_do(tmp_path: Path, head: bytes) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(head)
    with pytest.raises(CannotRead) as refused:
        read_list(path)
    assert "CSV" in refused.value.hint


def test_a_missing_list_is_told_by_name(tmp_path: Path) -> None:
    with pytest.raises(CannotRead) as refused:
        read_list(tmp_path / "nowhere.csv")
    assert refused.value.where == "nowhere.csv"
