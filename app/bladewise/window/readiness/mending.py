"""Remedies taken together: those of one step, and all that are safe, each as a step that can be undone by itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject

from bladewise import operations
from bladewise.checks import readying
from bladewise.document import Job
from bladewise.operations import ALL, Outcome, Selection, Step
from bladewise.window.desk import Message, Tone

if TYPE_CHECKING:
    from bladewise.findings import Finding
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

_JOINS_WHAT_IT_GETS = frozenset({"merge"})
"""Remedies that must not be given more shapes than one finding names: they would become one piece."""


@dataclass(frozen=True)
class Done:
    """Steps with what came of each, from a job on; and how many findings are left."""

    job: Job
    steps: tuple[tuple[Step, Outcome], ...]
    left: int


class Mending(QObject):
    """Does what the check proposes."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        """Work for a desk."""
        super().__init__(parent)
        self._desk = desk

    def mend_safe(self) -> None:
        """Do every safe step there is for what is listed, each as a step of its own; say what was done and left."""
        desk = self._desk

        def work(progress: Progress) -> Done:
            return _done(job, on, progress)

        def finish(done: Done) -> None:
            if done.job is not desk.job:
                desk.tell(Message(self.tr("The job changed meanwhile, so nothing was mended. Ask again.")))
                return
            for step, outcome in done.steps:
                desk.session.adopt_step(step, outcome)
            desk.tell(self._account(done))

        job, on = desk.job, self._concerned()
        desk.steps.start(work, finish, desk.tell_error, title=self.tr("Mending"))

    def _concerned(self) -> Selection:
        """Return what is mended: all, or the art of the material that is chosen."""
        material = self._desk.material_filter
        return ALL if material is None else Selection(material=(material,))

    def _account(self, done: Done) -> Message:
        count = len(done.steps)
        if not count:
            return Message(self.tr("Nothing here can be mended without somebody to decide."))
        text = self.tr("1 step done.") if count == 1 else self.tr("{n} steps done; each can be undone by itself.")
        left = (
            self.tr("Nothing is left.")
            if not done.left
            else self.tr("1 finding is left for you to decide.")
            if done.left == 1
            else self.tr("{n} findings are left for you to decide.").format(n=done.left)
        )
        return Message(text.format(n=count), Tone.GOOD, left)


def _done(job: Job, on: Selection, progress: Progress) -> Done:
    plan = readying.plan(job, on=on, progress=lambda fraction: progress(0.9 * fraction))
    done: list[tuple[Step, Outcome]] = []
    state = job
    for number, step in enumerate(plan.steps):
        progress(0.9 + 0.1 * number / len(plan.steps))
        outcome = operations.apply(state, step)
        done.append((step, outcome))
        state = outcome.job
    return Done(job, tuple(done), len(plan.left))


def alike(findings: list[Finding]) -> list[list[Finding]]:
    """Return findings whose remedies are the same step with the same numbers, set by set."""
    sets: dict[str, list[Finding]] = {}
    for finding in findings:
        remedy = finding.remedy
        if remedy.do is not None and remedy.do not in _JOINS_WHAT_IT_GETS:
            sets.setdefault(f"{remedy.do} {remedy.text} {_rest(remedy.values)}", []).append(finding)
    return list(sets.values())


def together(findings: list[Finding]) -> dict[str, Any] | None:
    """Return the values of the one step that mends several findings that are alike."""
    ids: list[str] = []
    for finding in findings:
        on = finding.remedy.values.get("on")
        one = on.get("id") if isinstance(on, dict) else None
        if one is None:
            return None
        ids += [one] if isinstance(one, str) else list(one)
    unique = list(dict.fromkeys(ids))
    return {**_rest(findings[0].remedy.values), "on": unique} if len(findings) > 1 else None


def _rest(values: Any) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != "on"}
