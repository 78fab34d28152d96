"""Fields on the bench: only what means something beside the other values is shown, and only that goes into the step."""

from __future__ import annotations

import pytest

from bladewise import operations
from bladewise.window.bench.form import StepForm


def _shown(form):
    return {name for name, field in form.fields.items() if not field.isHidden()}


@pytest.fixture
def form(squares, qtbot):
    made = StepForm(operations.operation("separate-colours"), squares.desk)
    qtbot.addWidget(made)
    return made


def test_only_the_numbers_of_the_chosen_way_show(form):
    assert _shown(form) == {"how", "trap_mm", "spread"}
    form.fields["how"].segments.button("layered").click()
    assert _shown(form) == {"how", "under", "overlap_mm"}
    form.fields["under"].segments.button("whole").click()
    assert _shown(form) == {"how", "under"}
    form.fields["how"].segments.button("seen").click()
    assert _shown(form) == {"how"}


def test_what_is_hidden_neither_stops_the_step_nor_gets_into_it(form):
    form.fields["trap_mm"].line.setText("nonsense")
    with pytest.raises(ValueError, match="not a number"):
        form.step("all")
    form.fields["how"].segments.button("seen").click()
    assert operations.plain(form.step("all")) == {"do": "separate-colours", "how": "seen"}
    form.fields["how"].segments.button("butted").click()
    assert form.fields["trap_mm"].line.text() == "nonsense"  # what was typed is kept for when it counts again
