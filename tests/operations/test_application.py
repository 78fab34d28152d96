"""The order in which colours are stuck, and the fewest applications."""

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.operations.application import application_levels, stacking_order


def test_what_covers_lies_above_whatever_the_order_of_appearance():
    assert stacking_order(3, {(2, 0): 1.0, (0, 1): 1.0, (2, 1): 1.0}) == [2, 0, 1]
    assert stacking_order(3, {}) == [0, 1, 2]
    assert stacking_order(0, {}) == []


def test_where_two_cover_each_other_the_larger_covering_wins():
    assert stacking_order(2, {(0, 1): 1.0, (1, 0): 9.0}) == [1, 0]
    assert stacking_order(2, {(0, 1): 9.0, (1, 0): 1.0}) == [0, 1]


def test_colours_that_never_meet_are_stuck_together():
    assert application_levels([0, 1, 2], {(0, 1), (0, 2)}, set()) == {0: 0, 1: 1, 2: 1}
    assert application_levels([], set(), set()) == {}


def test_a_ring_of_four_that_touch_needs_two_applications_though_in_order_it_would_need_three():
    ring = {(0, 2), (2, 1), (1, 3), (3, 0)}
    levels = application_levels([0, 1, 2, 3], set(), ring)
    assert len(set(levels.values())) == 2
    path = {(0, 3), (3, 2), (2, 1)}  # 0 and 1 first into one level: in order that costs a third
    assert len(set(application_levels([0, 1, 2, 3], set(), path).values())) == 2


pairs = st.sets(st.sampled_from(list(itertools.combinations(range(5), 2))))


@settings(max_examples=60)
@given(pairs, pairs)
def test_levels_are_as_few_as_trying_all_of_them_finds(over, touching):
    levels = application_levels(range(5), over, touching)

    def good(level):
        return all(level[a] < level[b] for a, b in over) and all(level[a] != level[b] for a, b in touching)

    assert good(levels)
    count = max(levels.values()) + 1
    fewer = itertools.product(range(count - 1), repeat=5)
    assert not any(good(level) for level in fewer)


@settings(max_examples=60)
@given(st.dictionaries(st.sampled_from(list(itertools.permutations(range(5), 2))), st.floats(0.1, 9.0)))
def test_an_order_holds_each_colour_once_and_obeys_all_covering_without_a_circle(over):
    acyclic = {(a, b): size for (a, b), size in over.items() if a > b}
    order = stacking_order(5, acyclic)
    assert all(order.index(a) < order.index(b) for a, b in acyclic)
    assert sorted(stacking_order(5, over)) == list(range(5))


def test_more_colours_than_can_be_tried_still_get_levels():
    touching = set(itertools.combinations(range(30), 2))
    levels = application_levels(range(30), set(), touching)
    assert sorted(levels.values()) == list(range(30))
