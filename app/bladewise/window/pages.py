"""The pages and dialogs of the window: what opens over it when it is asked for, or at the start."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMainWindow

from bladewise.window.desk import Message

if TYPE_CHECKING:
    from PySide6.QtWidgets import QDialog, QStackedWidget, QWidget

    from bladewise.window.actions import Actions
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.files import Files
    from bladewise.window.layer_tree.panel import LayerPanel
    from bladewise.window.main_window import MainWindow
    from bladewise.window.preferences import Preferences
    from bladewise.window.recovery import Recovery
    from bladewise.window.theme import Scheme


class Pages(QMainWindow):
    """The part of the main window that opens pages; each is imported when it is first wanted."""

    actions_: Actions
    bench: Bench
    canvas: Canvas
    desk: Desk
    files: Files
    layers: LayerPanel
    preferences: Preferences
    recovery: Recovery
    stage: QStackedWidget
    """What is in the middle of the window: layers, canvas and stack, or a page in their place."""

    def open_verb(self, name: str) -> None:
        """Open a verb on the bench; the window itself does."""
        raise NotImplementedError

    def choose_theme(self, scheme: Scheme) -> None:
        """Switch the theme and remember it; the window itself does."""
        raise NotImplementedError

    def greet(self) -> None:
        """Say what is to be said at the start: first of all, what was lost; else, once, the tour."""
        if not self.offer_lost_work() and not self.preferences.tour_seen and self.isVisible():
            self.show_tour()

    def offer_lost_work(self) -> bool:
        """Offer what was not saved when the program last ended; return whether there is any."""
        from bladewise.window.dialogs.lost_work import LostWorkDialog

        if lost := self.recovery.lost():
            dialog = LostWorkDialog(lost, self)
            dialog.wanted.connect(lambda each: self.files.bring_back(each, lambda: self.recovery.take_over(each)))
            dialog.unwanted.connect(self.recovery.drop)
            self._show(dialog)
        return bool(lost)

    def show_tour(self) -> None:
        """Show the window in five cards."""
        from bladewise.window.tour import Tour

        Tour(cast("MainWindow", self)).begin()

    def show_palette(self) -> None:
        """Find any action by its words."""
        from bladewise.window.palette import Palette, items

        palette = Palette(items(self.actions_, self.desk, self.open_verb), self)
        palette.open_over(self)

    def show_preferences(self) -> None:
        """Show everything that can be set."""
        from bladewise.window.dialogs.preferences import PreferencesDialog

        self._show(PreferencesDialog(self.preferences, self.choose_theme, self))

    def show_export(self) -> None:
        """Show which file goes to which machine, and write the files."""
        from bladewise.window.hand_off.screen import HandOff

        self._show(HandOff(self.desk, self.files.source, self))

    def show_ticket(self) -> None:
        """Show the job ticket, and write it."""
        from bladewise.window.hand_off.paper_making import Sort
        from bladewise.window.hand_off.papers import PapersDialog

        self._show(PapersDialog(self.desk, Sort.TICKET, self.files.source, self))

    def show_proof(self) -> None:
        """Show the proof for the customer, and write it."""
        from bladewise.window.hand_off.paper_making import Sort
        from bladewise.window.hand_off.papers import PapersDialog

        self._show(PapersDialog(self.desk, Sort.PROOF, self.files.source, self))

    def show_results(self) -> None:
        """Show what leaves the printer and what the customer holds, and let the cut be off."""
        from bladewise.window.results.page import ResultsDialog

        self._show(ResultsDialog(self.desk, self))

    def show_readying(self, *, whole: bool = False) -> None:
        """Show every step that would make the job, or what is selected, ready to cut, before anything is done."""
        from bladewise.window.readying.page import ReadyingPage

        if self.stage.count() > 1:
            return
        if not any(True for _ in self.desk.job.walk()):
            self.desk.tell(Message(self.tr("There is no art yet to make ready: bring some in, or draw it.")))
            return
        self.bench.leave()
        page = ReadyingPage(self.desk, whole=whole)
        page.left.connect(self.leave_readying)
        self.stage.addWidget(page)
        self.stage.setCurrentWidget(page)
        self.bench.hide()
        page.first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def readying_stop(self) -> QWidget | None:
        """Return where the focus goes when it comes to that page; None while it is not open."""
        from bladewise.window.readying.page import ReadyingPage

        page = self.stage.currentWidget()
        return page.first_stop() if isinstance(page, ReadyingPage) else None

    def leave_readying(self) -> None:
        """Show layers, canvas and stack again."""
        from bladewise.window.readying.page import ReadyingPage

        page = self.stage.currentWidget()
        if isinstance(page, ReadyingPage):
            page.close_down()
            self.stage.setCurrentIndex(0)
            self.stage.removeWidget(page)
            page.hide()
            page.deleteLater()
            self.bench.show()
            self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_notes(self) -> None:
        """Show what the reader left out of the artwork, or assumed of it."""
        from bladewise.window.dialogs.notes import NotesDialog

        self._show(NotesDialog(self.desk.job.notes, self.desk.job.name, self))

    def notes_arrived(self) -> None:
        """Show what the reader noted about a file just opened; while the tour is on, when that is over."""
        from bladewise.window.tour import Tour

        tour = next((each for each in self.findChildren(Tour) if each.isVisible()), None)
        if tour is None:
            self.show_notes()
        else:
            tour.afterwards = self.show_notes

    def show_shortcuts(self) -> None:
        """Show all keys."""
        from bladewise.window.dialogs.shortcuts import ShortcutsDialog

        self._show(ShortcutsDialog(self.actions_, self.preferences, self))

    def show_about(self) -> None:
        """Say who we are."""
        from bladewise.window.dialogs.questions import show_about

        self._show(show_about(self))

    def layers_search(self) -> None:
        """Put the cursor where one types what to find in the layers."""
        self.layers.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.layers.search.selectAll()

    def _show(self, dialog: QDialog) -> None:
        """Open a dialog over the window; it goes away for good when it is closed."""
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
