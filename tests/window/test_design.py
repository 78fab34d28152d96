"""Spaces and sizes of type come from the few there are, wherever in the window they are asked for."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from bladewise import window
from bladewise.window import design, icons

ROOT = Path(window.__file__).parent
SPACED = {"setSpacing", "setContentsMargins", "addSpacing", "setHorizontalSpacing", "setVerticalSpacing"}
FILES = sorted(ROOT.rglob("*.py"))


def calls(file):
    return [node for node in ast.walk(ast.parse(file.read_text())) if isinstance(node, ast.Call)]


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_spaces_and_sizes_of_type_are_those_of_the_design(file):
    for call in calls(file):
        name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
        if name in SPACED:
            numbers = [each.value for each in call.args if isinstance(each, ast.Constant)]
            assert set(numbers) <= design.SPACES, f"{file.name}:{call.lineno} {name}{tuple(numbers)}"
        if name == "label":
            given = [each.value for each in call.keywords if each.arg == "scale"]
            sizes = [each.value for each in given if isinstance(each, ast.Constant)]
            assert set(sizes) <= design.TYPE_SIZES, f"{file.name}:{call.lineno}"


def test_icons_are_drawn_on_one_grid_in_the_colour_of_the_text():
    for file in sorted(icons.FOLDER.glob("*.svg")):
        text = file.read_text()
        assert 'viewBox="0 0 16 16"' in text or file.stem.endswith(("-light", "-dark")), file.name
        assert "currentColor" in text or file.stem.endswith(("-light", "-dark")), file.name
