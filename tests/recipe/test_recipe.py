"""Recipes: what is right is read, what is wrong is named with file, line and the nearest right word."""

import pytest

from bladewise import operations
from bladewise.errors import CannotRead
from bladewise.operations import OPERATIONS
from bladewise.recipe import Output, Recipe, read_recipe, recipe_text, write_recipe

GOOD = """
name = "Cup decal"
art = "cup.svg"

[[step]]
do = "merge"
on = { fill = "#E69F00" }
survivor = "backmost"

[[step]]
do = "stepped-outline"
steps = 2
distance_mm = "1/8in"
colours = ["#fff", "#000000"]

[output]
marks = "cross"
marks_size_mm = 8
"""


def read(tmp_path, text):
    path = tmp_path / "cup.toml"
    path.write_text(text, encoding="utf-8")
    return read_recipe(path)


def test_a_recipe_reads_into_steps(tmp_path):
    recipe = read(tmp_path, GOOD)
    assert [step.do for step in recipe.steps] == ["merge", "stepped-outline"]
    assert recipe.steps[0].record.on.fill == ("#e69f00",)
    assert recipe.steps[1].record.distance_mm == pytest.approx(3.175)
    assert recipe.art == tmp_path / "cup.svg"
    assert recipe.output == Output(marks="cross", marks_size_mm=8)


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ('[[step]]\ndo = "merge"\n\n[[step]]\ndo = "stept-outline"\n', "line 5", "Did you mean “stepped-outline”"),
        ('[[step]]\ndo = "stepped-outline"\nsteps = 2\ndistanse_mm = 3\n', "line 4", "Did you mean “distance_mm”"),
        ('[[step]]\ndo = "stepped-outline"\ncorner = "mitre"\n', "line 3", "Did you mean “miter”"),
        ('[[step]]\ndo = "stepped-outline"\ndistance_mm = "3 furlongs"\n', "line 3", "not a number"),
        ('[[step]]\ndo = "stepped-outline"\ndistance_mm = 9000\n', "line 3", "between 0.01 and 500 mm"),
        ('[[step]]\ndo = "merge"\non = { fil = "#fff" }\n', "line 3", "Did you mean “fill”"),
        ('[[step]]\ndo = "merge"\n[[step]]\non = "all"\n', "line 3", "does not say what to do"),
        ('nane = "x"\n', "line 1", "Did you mean “name”"),
        ("[[step]]\ndo = merge\n", "line 2", "not TOML"),
        ('[output]\nmarks = "crosss"\n', "line 2", "Did you mean “cross”"),
        ("[output]\nper_color = true\n", "line 2", "Did you mean “per_colour”"),
        ("[output]\nper_colour = 1\n", "line 2", "true or false"),
        ("art = 3\n", "line 1", "name of a file"),
        ('step = "merge"\n', "line 1", "[[step]]"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_the_nearest_right_word(tmp_path, text, where, what):
    with pytest.raises(CannotRead) as caught:
        read(tmp_path, text)
    assert what in str(caught.value)
    assert caught.value.where == f"cup.toml, {where}"


def test_a_file_that_is_not_there_or_no_text_is_said(tmp_path):
    with pytest.raises(CannotRead, match="no such file"):
        read_recipe(tmp_path / "none.toml")
    (tmp_path / "x.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CannotRead, match="no text file"):
        read_recipe(tmp_path / "x.toml")


def test_every_operation_with_every_parameter_set_goes_through_a_recipe(tmp_path):
    steps = []
    for operation in OPERATIONS:
        values = {}
        for parameter in operation.parameters:
            plain = parameter.plain(parameter.default)
            if plain is not None:
                values[parameter.name] = plain
        steps.append(operations.step(operation.name, values))
    extra = operations.step("rename", {"on": {"id": ["a", "b"], "layer": "Art"}, "name": 'A "quoted"\nname \\ here'})
    nodes = operations.step("move-nodes", {"nodes": {"bird": [0, 3], 'path.1 "ü"': [2]}, "dx_mm": 3})
    recipe = Recipe("All", (*steps, extra, nodes), output=Output(marks="round", despite_findings=True))
    write_recipe(recipe, tmp_path / "all.toml")
    assert read_recipe(tmp_path / "all.toml") == recipe


def test_defaults_are_left_out_of_a_written_recipe():
    assert recipe_text(Recipe("R", (operations.step("merge"),))) == 'name = "R"\n\n[[step]]\ndo = "merge"\n'


def test_a_wrong_value_is_named_with_its_own_line_whatever_stands_before_it(tmp_path):
    path = tmp_path / "r.toml"
    path.write_text('[[step]]\ndo = "stepped-outline"\nsteps = 2\non = "all"\ndistance_mm = "abc"\n', encoding="utf-8")
    with pytest.raises(CannotRead) as caught:
        read_recipe(path)
    assert str(caught.value) == "r.toml, line 5: “distance_mm”: “abc” is not a number."
    path.write_text('[[step]]\ndo = "stepped-outline"\nsteps = 2\non = { fil = "#cc0000" }\n', encoding="utf-8")
    with pytest.raises(CannotRead) as caught:
        read_recipe(path)
    assert caught.value.where == "r.toml, line 4"
