"""What the check knows of outlines without asking the kernel is what the kernel would say."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.checks.facts import resolved
from bladewise.checks.memory import Memory
from bladewise.geometry import booleans
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, rectangle
from bladewise.geometry.regions import FillRule, Region

RINGS = st.lists(st.tuples(st.integers(0, 3), st.integers(1, 9), st.booleans(), st.booleans()), min_size=1, max_size=7)


@settings(max_examples=60, deadline=None)
@given(RINGS, st.sampled_from(list(FillRule)))
def test_rings_within_rings_paint_what_the_kernel_says(rings, rule):
    """Rings stand in four places, one within the other, running either way; some coincide and go to the kernel."""
    path = joined(
        [
            made.reversed() if turned else made
            for column, size, is_round, turned in rings
            for made in [
                circle((30 * column, 0), size)
                if is_round
                else rectangle(30 * column - size, -size, 2 * size, 2 * size, 0.3, 0.3)
            ]
        ]
    )
    (found,) = resolved(Memory(), [Region(path, rule)])
    kernel = booleans.resolve(Region(path, rule))
    assert area(found) == pytest.approx(area(kernel), abs=1e-6)
    assert len(found.starts) == len(kernel.starts)
    assert {control.tobytes() for control in found.points} <= {
        control.tobytes() for whole in (path, path.reversed(), kernel) for control in whole.points
    }
