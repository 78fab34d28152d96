"""The readiness check while the work goes on: after every edit, only what changed, in a worker.

What was found before and is not about anything that changed stays in view while the check is under way; all else goes
at once, so that nothing stale is shown as if it held. The next edit stops the check that runs; what it found out about
outlines is kept. While the hand moves art or the sheet no check runs at all: a thread that works in Python takes turns
with the canvas.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication

from bladewise.checks import Checker
from bladewise.checks.reach import NOTHING, Reaches
from bladewise.errors import Cancelled
from bladewise.window.job_strip.figures import Figurer
from bladewise.window.language import say
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from bladewise.checks.reach import Reach
    from bladewise.document import Changes, Job
    from bladewise.errors import BladewiseError
    from bladewise.findings import Finding
    from bladewise.window.worker import Progress

AFTER_MS = 20
"""How long the hand rests before the check starts when one edit follows another, as those of a held key do …"""

BURST_S = 0.3
"""… within this time; after a longer rest it starts at once."""

AFTER_LOOK_MS = 120
"""How long after a turn of the wheel or the end of a drag it goes on."""


class LiveCheck(QObject):
    """Keeps the findings in step with the job.

    Signals
    -------
    checking()
        The job is another; `findings` holds only what is not about anything that changed.
    checked()
        `findings` is what a check of this very job found, or `failure` says why there is none.
    reached()
        `reaches` is known for the findings: what there is to draw of them.
    """

    checking = Signal()
    checked = Signal()
    reached = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        """Begin with no job."""
        super().__init__(parent)
        self.worker = Worker(self)
        self.figures = Figurer()
        self.findings: list[Finding] = []
        self.reaches: list[Reach] = []
        self.is_current = False
        self.failure = ""
        self._job: Job | None = None
        self._checker = Checker()
        self._finder = Reaches()
        self._held = False
        self._is_reached = True
        self._last = 0.0
        self._resume = QTimer(self)
        self._resume.setSingleShot(True)
        self._resume.timeout.connect(self._go_on)
        self._watch = QTimer(self)
        self._watch.setInterval(AFTER_LOOK_MS)
        self._watch.timeout.connect(self._look_at_the_hand)

    def take(self, job: Job, changes: Changes | None) -> None:
        """Check a job; `changes` is what differs from the one before, None for a job that is new altogether."""
        before, self._job = self._job, job
        if changes is None or before is None:
            self._checker, self._finder = Checker(), Reaches()
            self.findings, self.reaches = [], []
        else:
            self._keep_what_holds(before, job, changes)
        self.is_current, self.failure = False, ""
        self.checking.emit()
        self._resume.stop()
        is_burst = time.monotonic() - self._last < BURST_S
        self._last = time.monotonic()
        if not self._held:
            self._start(AFTER_MS if is_burst else 0)

    def hold(self) -> None:
        """Work on nothing while the hand is busy on the canvas."""
        self._held = True
        self._resume.stop()
        self.worker.cancel()
        self._watch.start()

    def let_go(self) -> None:
        """Go on when the hand has rested for a moment."""
        self._watch.stop()
        if self._held:
            self._held = False
            self._resume.start(AFTER_LOOK_MS)

    def wait_a_moment(self) -> None:
        """Stand aside for as long as the view goes on moving."""
        if not self._held and (self.worker.is_busy or self._resume.isActive()):
            self.worker.cancel()
            self._resume.start(AFTER_LOOK_MS)

    def close(self) -> None:
        """Stop for good."""
        self._watch.stop()
        self._resume.stop()
        self.worker.close()

    # --- within ---------------------------------------------------------------------------------------------------

    def _look_at_the_hand(self) -> None:
        """Go on where the button was let go elsewhere: over a menu, or a line to type in that had opened meanwhile."""
        if QGuiApplication.mouseButtons() == Qt.MouseButton.NoButton:
            self.let_go()

    def _keep_what_holds(self, before: Job, job: Job, changes: Changes) -> None:
        """Drop the findings about what changed; when materials changed, any of them may be another."""
        touched = changes.altered | changes.removed
        hold = before.materials == job.materials
        kept = [
            number
            for number, finding in enumerate(self.findings)
            if hold and finding.shapes and touched.isdisjoint(finding.shapes)
        ]
        self.findings = [self.findings[number] for number in kept]
        self.reaches = [self.reaches[number] for number in kept] if self.reaches else []

    def _go_on(self) -> None:
        if self._job is None or self.failure:
            return
        if not self.is_current:
            self._start(0)
        elif not self._is_reached:
            self._find_reaches()

    def _start(self, after_ms: int) -> None:
        job, checker = self._job, self._checker
        if job is None:
            return

        def work(progress: Progress) -> list[Finding]:
            findings = checker.check(job, progress)
            self.figures.measure(job, progress)
            return findings

        def finish(findings: list[Finding]) -> None:
            if job is self._job:
                self._take_findings(findings)

        def failed(error: BladewiseError) -> None:
            if job is self._job and not isinstance(error, Cancelled):
                self.findings, self.reaches, self.is_current, self.failure = [], [], False, say(str(error))
                self.checked.emit()

        self.worker.start(work, finish, failed, instead=True, after_ms=after_ms)

    def _take_findings(self, findings: list[Finding]) -> None:
        """Take in what was found; a reach known for a finding that is the same as before is kept meanwhile."""
        known = {_key(each): reach for each, reach in zip(self.findings, self.reaches, strict=False)}
        self.reaches = [known.get(_key(each), NOTHING) for each in findings]
        self.findings, self.is_current, self.failure = findings, True, ""
        self._is_reached = not findings
        self.checked.emit()
        if findings:
            self._find_reaches()

    def _find_reaches(self) -> None:
        job, findings, finder = self._job, self.findings, self._finder
        if job is None:
            return

        def finish(found: list[Reach]) -> None:
            if findings is self.findings:
                self.reaches, self._is_reached = found, True
                self.reached.emit()

        self.worker.start(lambda progress: finder.of(job, findings, progress), finish)


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.shapes, finding.x_mm, finding.y_mm, finding.measure, finding.places
