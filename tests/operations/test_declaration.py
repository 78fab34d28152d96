"""Operations are declared once; what they say of themselves must hold on every face."""

import json

import pytest

from bladewise import operations
from bladewise.document import Group, Job, Layer
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.path import circle, rectangle
from bladewise.operations import ALL, OPERATIONS, Selection
from pieces import job_of, ring_and_bar, shape, two_circles


def test_names_are_kebab_case_and_stand_once():
    names = [each.name for each in OPERATIONS]
    assert len(names) == len(set(names))
    assert all(name == name.lower() and " " not in name and "_" not in name for name in names)


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda each: each.name)
def test_every_operation_describes_itself_fully(operation):
    entry = json.loads(json.dumps(operation.describe()))
    assert entry["help"].endswith(".")
    assert entry["title"]
    for parameter in entry["parameters"]:
        assert set(parameter) - {"choices", "only_with"} == {"name", "type", "unit", "default", "min", "max", "help"}
        assert parameter["help"]
        assert (parameter["unit"] == "mm") == parameter["name"].endswith("_mm")
        assert (parameter["unit"] == "deg") == parameter["name"].endswith("_deg")


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda each: each.name)
def test_every_default_survives_the_way_to_a_recipe_and_back(operation):
    record = operation.make({})
    values = {each.name: each.plain(getattr(record, each.name)) for each in operation.parameters}
    assert operation.make(json.loads(json.dumps(values))) == record
    assert operation.plain(record) == {}
    assert operation.summary(record)


def test_a_wrong_word_gets_the_nearest_right_one():
    with pytest.raises(ValueError, match="Did you mean “cut-out”"):
        operations.step("cutout")
    with pytest.raises(ValueError, match="Did you mean “distance_mm”"):
        operations.step("stepped-outline", {"distance": 3})
    with pytest.raises(ValueError, match="Did you mean “miter”"):
        operations.step("stepped-outline", {"corner": "mitre"})
    with pytest.raises(ValueError, match="Did you mean “fill”"):
        operations.step("merge", {"on": {"fil": "#fff"}})


@pytest.mark.parametrize(
    ("name", "values", "message"),
    [
        ("stepped-outline", {"distance_mm": -1}, "between 0.01 and 500 mm, not -1 mm"),
        ("stepped-outline", {"distance_mm": "soon"}, "not a number"),
        ("stepped-outline", {"distance_mm": float("nan")}, "must be between"),
        ("stepped-outline", {"steps": 2.5}, "whole number"),
        ("stepped-outline", {"colours": ["red"]}, "#rrggbb"),
        ("cut-out", {"keep_cutter": "yes"}, "true or false"),
        ("merge", {"on": 7}, "A selection is"),
        ("merge", {"on": {"fill": []}}, "a text or a list of texts"),
        ("rename", {"name": 3}, "takes a text"),
        ("scale", {"width_mm": 0}, "between 0.001"),
        ("move", {"dx_mm": None}, "needs a value"),
        ("move", {"dx_mm": True}, "takes a number"),
    ],
)
def test_a_wrong_value_is_refused_in_words(name, values, message):
    with pytest.raises(ValueError, match=message):
        operations.step(name, values)


def test_lengths_take_units_and_numbers_alike():
    step = operations.step("stepped-outline", {"distance_mm": "1/8in"})
    assert step.record.distance_mm == pytest.approx(3.175)


def test_selections_go_to_plain_form_and_back():
    for plain in ("all", {"id": "a"}, {"id": ["a", "b"]}, {"fill": "#e69f00", "layer": "Art"}):
        assert Selection.from_plain(plain).plain() == plain
    assert Selection.from_plain("a") == Selection.of("a")
    assert Selection.from_plain({"fill": "#FFF"}).fill == ("#ffffff",)


def test_rules_select_what_they_say():
    job = job_of(*ring_and_bar().shapes(), shape("line", rectangle(0, 0, 1, 1), None))

    def ids(plain):
        return [each.id for each in Selection.from_plain(plain).shapes(job)]

    assert ids("all") == ["disc", "bar", "line"]
    assert ids({"name": "Disc"}) == ["disc"]
    assert ids({"fill": ["#e69f00", "none"]}) == ["disc", "line"]
    assert ids({"layer": "Art", "fill": "#0072b2"}) == ["bar"]
    assert ids({"material": "Blue #0072b2"}) == ["bar"]
    assert ids({"above": "disc"}) == ["bar", "line"]
    assert ids({"stroke": "#000000"}) == []


def test_a_group_named_stands_for_all_in_it_and_counts_as_one():
    group = Group("g", (shape("a", circle((5, 5), 2)), shape("b", circle((9, 5), 2))), name="Pair")
    job = Job("j", 20, 20, (Layer("l", "L", (group, shape("c", circle((15, 5), 2)))),))
    assert [each.id for each in Selection.of("g").shapes(job)] == ["a", "b"]
    assert [each.id for each in Selection.of("g").elements(job)] == ["g"]
    assert [each.id for each in ALL.elements(job)] == ["g", "c"]
    assert [each.id for each in Selection.of("a").elements(job)] == ["a"]
    assert [each.id for each in Selection.from_plain({"name": "Pair"}).shapes(job)] == ["a", "b"]


def test_a_step_that_changes_nothing_says_nothing_changed():
    outcome = operations.apply(ring_and_bar(), operations.step("move"))
    assert not outcome.changes


def test_a_fault_inside_a_step_is_told_in_the_operators_words(monkeypatch):
    def broken(*_):
        msg = "zip() argument 2 is shorter than argument 1"
        raise ValueError(msg)

    monkeypatch.setattr(booleans, "merge", broken)
    with pytest.raises(CannotApply) as caught:
        operations.apply(two_circles(), operations.step("merge"))
    assert "zip" not in str(caught.value)
    assert caught.value.where == "Merge"
    assert "keep the file" in caught.value.hint


def test_what_means_nothing_beside_other_values_says_so():
    overlap = next(each for each in operations.operation("separate-colours").parameters if each.name == "overlap_mm")
    assert overlap.matters({"how": "layered", "under": "overlap"})
    assert not overlap.matters({"how": "layered", "under": "whole"})
    assert not overlap.matters({"how": "butted", "under": "overlap"})
    assert overlap.describe()["only_with"] == {"how": ["layered"], "under": ["overlap"]}


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda each: each.name)
def test_what_a_parameter_depends_on_is_a_choice_or_switch_of_the_same_step(operation):
    by_name = {each.name: each for each in operation.parameters}
    for parameter in operation.parameters:
        for name, allowed in parameter.only_with:
            assert not by_name[name].choices or set(allowed) <= set(by_name[name].choices)
            assert by_name[name].choices or str(by_name[name].type) == "switch"
