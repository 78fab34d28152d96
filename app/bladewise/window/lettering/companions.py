"""What stands by while a verb for lettering is open: its page at the side, and the hand's part on the canvas."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

from bladewise.window.lettering.alternates_page import AlternatesPage
from bladewise.window.lettering.font_page import FontPage
from bladewise.window.lettering.missing import MissingFonts
from bladewise.window.lettering.pull_along import VERB, PullAlong
from bladewise.window.lettering.pull_bend import VERBS, PullBend
from bladewise.window.lettering.roster_page import RosterPage
from bladewise.window.lettering.word_pages import MissesPage, ReadabilityPage
from bladewise.window.materials.pull_bridges import BRIDGED, PullBridges
from bladewise.window.materials.separation_page import SeparationPage

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.lettering.side import Side, SidePage

PAGES: dict[str, Callable[[Bench, Desk, Canvas], SidePage]] = {
    "set-font": FontPage,
    "set-lettering": FontPage,
    "letter-height": ReadabilityPage,
    "alternates": AlternatesPage,
    "merge-script": MissesPage,
    "fill-roster": RosterPage,
    "separate-colours": SeparationPage,
}
"""The page that belongs to a verb."""


class Companions(QObject):
    """Brings the page of a verb when that is opened, and takes it away with it."""

    def __init__(self, side: Side, bench: Bench, desk: Desk, canvas: Canvas, parent: QObject) -> None:
        """Listen to the bench."""
        super().__init__(parent)
        self._side, self._bench, self._desk, self._canvas = side, bench, desk, canvas
        self.missing = MissingFonts(desk, self)
        bench.opened.connect(self._opened)
        bench.left.connect(self._left)
        desk.selection_changed.connect(lambda _ids: self._selection_changed())
        desk.job_changed.connect(lambda _changes: self._selection_changed())

    def paste(self) -> bool:
        """Take cells from the clipboard if a list of names is wanted; False if pasting means something else."""
        if isinstance(self._side.page, RosterPage):
            self._side.page.paste_cells()
            return True
        return False

    def _opened(self, name: str) -> None:
        if name in VERBS:
            self._canvas.take_up(PullBend(self._canvas, self._bench, self._desk))
        elif name == BRIDGED:
            self._canvas.take_up(PullBridges(self._canvas, self._bench, self._desk))
        elif name == VERB:
            self._canvas.take_up(PullAlong(self._canvas, self._bench, self._desk))
        kind = PAGES.get(name)
        form = self._bench.form
        if kind is None or form is None:
            return
        page = kind(self._bench, self._desk, self._canvas)
        self._side.show_page(page)
        form.changed.connect(page.numbers_changed)
        first = page.first_stop()
        if page.takes_focus and first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _left(self) -> None:
        if self._side.page is not None and self._side.page.of_verb:
            self._side.drop_page()
        if isinstance(self._canvas.work, (PullBend, PullAlong, PullBridges)):
            self._canvas.put_down()

    def _selection_changed(self) -> None:
        if self._side.page is not None:
            self._side.page.selection_changed()
