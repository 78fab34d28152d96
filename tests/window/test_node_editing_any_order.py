"""Whatever is done to nodes in whatever order, what is shown is what the job holds. A law, no source."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, Qt

from bladewise import operations
from bladewise.errors import CannotApply
from bladewise.geometry.path import circle, joined, polygon
from bladewise.window.canvas.node_actions import NODE_ACTIONS
from bladewise.window.canvas.node_editing import NodeEditing
from bladewise.window.canvas.snapping import SnapRules
from window.canvas_hand import SQUARE, shape, sheet

NONE = Qt.KeyboardModifier.NoModifier
LINE = shape("line", polygon([(70, 80), (90, 60), (120, 85)], closed=False))
RING = shape("ring", joined([circle((150, 40), 20), circle((150, 40), 8)]))

_DOINGS = st.tuples(st.sampled_from([*NODE_ACTIONS, "drag", "bend"]), st.integers(0, 10_000), st.integers(1, 4))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(doings=st.lists(_DOINGS, min_size=1, max_size=8))
def test_what_is_shown_is_what_the_job_holds(canvas, doings):
    canvas.put_down()
    canvas.snap_rules = SnapRules(frozenset())
    canvas.set_job(sheet(SQUARE, LINE, RING))

    def do(step):
        try:
            outcome = operations.apply(canvas.job, step)
        except CannotApply:
            canvas.settle()
            return
        canvas.set_job(outcome.job, outcome.changes)

    canvas.step_wanted.connect(do)
    try:
        canvas.set_selection(frozenset({"square", "line", "ring"}))
        work = NodeEditing(canvas, ("square", "line", "ring"))
        canvas.take_up(work)
        for name, seed, count in doings:
            if canvas.work is not work:
                break
            rng = np.random.default_rng(seed)
            nodes = [(key, node) for key, one in work.shapes.items() for node in range(len(one.table.points))]
            picked: dict[str, list[int]] = {}
            for index in rng.permutation(len(nodes))[:count]:
                picked.setdefault(nodes[index][0], []).append(nodes[index][1])
            work.choose(picked)
            if name in NODE_ACTIONS:
                work.do(name)
            else:
                _drag(canvas, work, rng, bend=name == "bend")
            _agree(canvas, work)
    finally:
        canvas.step_wanted.disconnect(do)
        canvas.put_down()


def _drag(canvas, work, rng, *, bend):
    key = sorted(work.shapes)[int(rng.integers(len(work.shapes)))]
    one = work.shapes[key]
    row = int(rng.integers(len(one.path)))
    place = one.path.points[row].mean(axis=0) if bend else one.table.points[int(rng.integers(len(one.table.points)))]
    pixel = canvas.view.to_px(*place.tolist())
    work.press(pixel, NONE)
    for _ in range(2):
        work.move(pixel + QPointF(float(rng.uniform(-60, 60)), float(rng.uniform(-60, 60))), NONE)
    work.release(pixel, NONE)


def _agree(canvas, work):
    assert not work.preview
    for key, one in work.shapes.items():
        leaf = canvas.job.element(key)
        assert leaf.path == one.path
        assert np.isfinite(one.path.points).all()
        assert all(0 <= node < len(one.table.points) for node in one.chosen)
