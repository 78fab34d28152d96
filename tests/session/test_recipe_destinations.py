"""A recipe may name a destination: kept under a name, or a file beside the recipe."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise.errors import CannotRead
from bladewise.formats import Destination, keep_destination
from bladewise.recipe import read_recipe, recipe_text
from bladewise.session import Session, run_recipe
from pieces import ring_and_bar

if TYPE_CHECKING:
    from pathlib import Path


def recipe(tmp_path: Path, output: str) -> Path:
    path = tmp_path / "cup.toml"
    path.write_text(f'name = "Cup"\n[[step]]\ndo = "visible-parts"\non = "all"\n[output]\n{output}\n')
    return path


def session() -> Session:
    opened = Session.new()
    opened.adopt(opened.history.rebased(ring_and_bar()))
    return opened


def test_a_recipe_writes_for_a_kept_destination(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLADEWISE_DESTINATIONS", str(tmp_path / "kept"))
    keep_destination(Destination("dxf", "Front table", per_colour=True), tmp_path / "kept")
    found = read_recipe(recipe(tmp_path, 'destination = "Front table"'))
    assert 'destination = "Front table"' in recipe_text(found)
    done = run_recipe(session(), found, tmp_path / "out")
    assert [path.suffix for path in done.files] == [".svg", ".dxf", ".dxf"]
    assert done.exit_code == 0


def test_a_file_of_a_destination_lies_beside_the_recipe(tmp_path: Path) -> None:
    (tmp_path / "press.toml").write_text('format = "hpgl"\npen = 4\n')
    done = run_recipe(session(), read_recipe(recipe(tmp_path, 'destination = "press.toml"')), tmp_path / "out")
    assert "SP4;" in done.files[-1].read_text()


def test_a_destination_that_is_not_kept_here_is_told_before_anything_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BLADEWISE_DESTINATIONS", str(tmp_path / "kept"))
    opened = session()
    with pytest.raises(CannotRead, match="no destination “Front table”"):
        run_recipe(opened, read_recipe(recipe(tmp_path, 'destination = "Front table"')), tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert not opened.history.rows


def test_what_the_destination_says_itself_is_not_said_again(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="“marks” and “destination” cannot both be said") as caught:
        read_recipe(recipe(tmp_path, 'destination = "Front table"\nmarks = "cross"'))
    assert "line 7" in caught.value.where
