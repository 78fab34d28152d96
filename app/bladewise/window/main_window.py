"""The window, laid out around the job: strip on top, layers, canvas, stack and readiness, the bench below."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPoint, QSettings, QSize, Qt, QTimer
from PySide6.QtWidgets import QApplication, QMenu, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from bladewise.operations import selecting
from bladewise.window import menus, theme
from bladewise.window.actions import Actions
from bladewise.window.bench.bench import Bench
from bladewise.window.canvas import Canvas
from bladewise.window.canvas_pane import CanvasPane
from bladewise.window.clipboard import Clipboard
from bladewise.window.command_stack.panel import StackPanel
from bladewise.window.desk import Desk, Message
from bladewise.window.files import Files
from bladewise.window.handling import Handling
from bladewise.window.job_strip.strip import JobStrip
from bladewise.window.layer_tree.panel import LayerPanel
from bladewise.window.lettering.companions import Companions
from bladewise.window.lettering.side import Side
from bladewise.window.materials.opening import MaterialsRoom
from bladewise.window.pages import Pages
from bladewise.window.preferences import Preferences
from bladewise.window.pulling import Pulling
from bladewise.window.readiness.panel import ReadinessPanel
from bladewise.window.recovery import Recovery
from bladewise.window.remembered import Remembered
from bladewise.window.theme import Scheme

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from pathlib import Path

    from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeyEvent

    from bladewise.document import Job
    from bladewise.session import Session

_FIRST_SIZE = QSize(1440, 900)
_TITLE_BAR = 40
"""About how high what the desktop puts around a window is, in pixels; it is known only when the window is shown."""


class MainWindow(Pages):
    """One job in one window."""

    def __init__(
        self,
        session: Session | None = None,
        settings: QSettings | None = None,
        recovery_folder: Path | None = None,
    ) -> None:
        """Lay out the window around a job, or an empty sheet; settings and recovery are the operator's unless given."""
        super().__init__()
        self.preferences = Preferences(settings, self)
        keeper = theme.keeper()
        if keeper.scheme is not self.preferences.scheme:
            keeper.choose(self.preferences.scheme)
        self.desk = Desk(self.preferences, session, self)
        self.files = Files(self.desk, self)
        self.recovery = Recovery(self.desk, recovery_folder)
        self.remembered = Remembered(self.preferences)
        self.canvas = Canvas()
        self.actions_ = Actions(self, self._handlers())
        self.pane = CanvasPane(self.desk, self.canvas, self.actions_)
        self.strip = JobStrip(self.desk)
        self.layers = LayerPanel(self.desk)
        self.stack = StackPanel(self.desk)
        self.readiness = ReadinessPanel(self.desk)
        self.bench = Bench(
            self.desk, [self.actions_[name] for name in ("open", "bring-in", "materials")], self.actions_["find"]
        )
        self.handling = Handling(self.canvas, self.bench, self.desk, self)
        self.clipboard = Clipboard(self.desk, self.handling, self)
        self.pulling = Pulling(self.canvas, self.bench, self.desk, self)
        self._lay_out()
        self.companions = Companions(self.side, self.bench, self.desk, self.canvas, self)
        self.clipboard.elsewhere = self.companions.paste
        self.materials = MaterialsRoom(self.side, self.bench, self.desk, self.canvas, self)
        self.strip.profile_wanted.connect(self.materials.show)
        self._make_menus()
        self._connect()
        self._restore()
        self._state_changed()
        self.canvas.setFocus()

    # --- laying out -----------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.setObjectName("window")
        self.setAcceptDrops(True)
        self.setMinimumSize(900, 600)
        self.resize(first_size(self.screen().availableSize()))
        desk = QWidget()
        desk.setObjectName("desk")
        column = QVBoxLayout(desk)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.strip)
        self.right = _split(Qt.Orientation.Vertical, (self.stack, 1), (self.readiness, 1))
        self.side = Side(self.right)
        self.middle = _split(Qt.Orientation.Horizontal, (self.layers, 0), (self.pane, 1), (self.side, 0))
        self.layers.setMinimumWidth(180)
        self.right.setMinimumWidth(240)
        self.middle.setSizes([250, 850, 340])
        self.right.setSizes([360, 340])
        self.stage = QStackedWidget()
        self.stage.addWidget(self.middle)
        column.addWidget(self.stage, 1)
        column.addWidget(self.bench)
        self.setCentralWidget(desk)
        strip, layers, pane, stack = self.strip, self.layers, self.pane, self.stack
        self.setTabOrder(strip, layers)
        self.setTabOrder(layers, pane)
        self.setTabOrder(pane, stack)

    def _make_menus(self) -> None:
        self.recent = menus.fill(self.menuBar(), self.actions_)
        self.recent.setToolTipsVisible(True)
        for name in ("fill-view", f"unit-{self.preferences.unit}", f"theme-{self.preferences.scheme}"):
            self.actions_[name].setChecked(True)
        self._fill_recent()

    def _connect(self) -> None:
        desk = self.desk
        desk.state_changed.connect(self._state_changed)
        desk.selection_changed.connect(lambda _ids: self._state_changed())
        desk.checked.connect(self._state_changed)
        desk.opened.connect(self.bench.leave)
        self.bench.left.connect(self.canvas.setFocus)
        self.bench.opened.connect(lambda _verb: self.stack.leave())
        self.stack.opened.connect(self.bench.leave)
        self.preferences.recent_changed.connect(self._fill_recent)
        self.preferences.unit_changed.connect(lambda unit: self.actions_[f"unit-{unit}"].setChecked(True))
        self.canvas.files_dropped.connect(self.files.dropped)
        self.canvas.view_mode_changed.connect(lambda mode: self.actions_[f"{mode}-view"].setChecked(True))
        self.pane.menu_wanted.connect(self._canvas_menu)
        self.files.notes_arrived.connect(self.notes_arrived)
        self.files.leaving.connect(self._leave_job)
        self.files.arrived.connect(lambda: self.remembered.bring_back(self.files.source, self.canvas, self.desk))
        self.stack.recipe_wanted.connect(self.files.ask_save_recipe)
        self.readiness.export_wanted.connect(self.show_export)
        self.readiness.readying_wanted.connect(lambda: self.show_readying(whole=True))
        self.bench.instead["make-cut-ready"] = self.show_readying
        desk.opened.connect(self.leave_readying)
        self.strip.ordered.clicked.connect(lambda _checked=False: self.open_verb("ordered-size"))
        self.strip.sheet.clicked.connect(lambda _checked=False: self.open_verb("sheet"))
        theme.keeper().changed.connect(self._theme_changed)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._focus_changed)

    def _handlers(self) -> dict[str, Callable[[], object]]:
        f, d = self.files, self.desk
        return {
            "new": f.new,
            "open": f.ask_open,
            "bring-in": f.ask_bring_in,
            "save": f.save,
            "save-as": f.ask_save_as,
            "save-recipe": f.ask_save_recipe,
            "save-picture": lambda: f.ask_save_picture(str(self.canvas.view_mode)),
            "make-cut-ready": self.show_readying,
            "export": self.show_export,
            "job-ticket": self.show_ticket,
            "customer-proof": self.show_proof,
            "quit": self.close,
            "undo": d.undo,
            "redo": d.redo,
            "delete": lambda: self.open_verb("delete"),
            "select-all": d.select_all,
            "select-none": lambda: d.select(()),
            "preferences": self.show_preferences,
            "find-layer": self.layers_search,
            "find": self.show_palette,
            "cut": lambda: self.clipboard.cut(),
            "copy": lambda: self.clipboard.copy(),
            "paste": lambda: self.clipboard.paste(),
            "paste-in-place": lambda: self.clipboard.paste(in_place=True),
            "duplicate-beside": lambda: self.clipboard.duplicate(),
            "same-fill": lambda: self._select_alike(selecting.same_fill),
            "same-stroke": lambda: self._select_alike(selecting.same_stroke),
            "same-layer": lambda: self._select_alike(selecting.same_layer),
            "same-material": lambda: self._select_alike(selecting.same_material),
            "select-smaller": lambda: self.handling.select_smaller(),
            "select-inverted": lambda: d.select(selecting.inverted(d.job, d.selection)),
            "edit-nodes": lambda: self.handling.edit_nodes(),
            "measure": lambda: self.handling.measure(),
            "guide-upright": lambda: self.handling.set_guide(upright=True),
            "guide-level": lambda: self.handling.set_guide(upright=False),
            "fill-view": lambda: self.canvas.set_view_mode("fill"),
            "outline-view": lambda: self.canvas.set_view_mode("outline"),
            "as-printed": self.show_results,
            "layers-apart": lambda: self.pane.layers_apart(),
            "materials": lambda: self.materials.toggle(),
            "zoom-in": lambda: self.canvas.zoom_by(1.25),
            "zoom-out": lambda: self.canvas.zoom_by(0.8),
            "zoom-fit": lambda: self.canvas.zoom_to_fit(),
            "zoom-selection": self._zoom_selection,
            "next-trouble": lambda: self.readiness.next_trouble(),
            "previous-trouble": lambda: self.readiness.previous_trouble(),
            "show-direction": self._signs_chosen,
            "show-hidden": self._signs_chosen,
            "next-panel": lambda: self._go_to_panel(1),
            "previous-panel": lambda: self._go_to_panel(-1),
            "unit-mm": lambda: self.preferences.set_unit("mm"),
            "unit-in": lambda: self.preferences.set_unit("in"),
            "theme-system": lambda: self.choose_theme(Scheme.SYSTEM),
            "theme-light": lambda: self.choose_theme(Scheme.LIGHT),
            "theme-dark": lambda: self.choose_theme(Scheme.DARK),
            "full-screen": self._full_screen,
            "tour": self.show_tour,
            "shortcuts": self.show_shortcuts,
            "notes": self.show_notes,
            "about": self.show_about,
        }

    # --- what actions do ------------------------------------------------------------------------------------------

    def open_verb(self, name: str) -> None:
        """Open a verb on the bench, wherever it was asked for."""
        if name in ("sheet", "ordered-size"):
            self.desk.select(())
        if name == "make-cut-ready":
            self.show_readying()  # whether or not something is selected
        else:
            self.bench.open(name)

    def _select_alike(self, alike: Callable[[Job, Collection[str]], tuple[str, ...]]) -> None:
        """Select what is like something selected."""
        if self.desk.selection:
            self.desk.select(alike(self.desk.job, self.desk.selection))
        else:
            self.desk.tell(Message(self.tr("Select something first, then what is like it.")))

    def choose_theme(self, scheme: Scheme) -> None:
        """Switch the theme and remember it."""
        self.preferences.set_scheme(scheme)
        self.actions_[f"theme-{scheme}"].setChecked(True)
        theme.keeper().choose(scheme)

    def _signs_chosen(self) -> None:
        """Show or hide signs on the outlines, in the view that has them."""
        direction, hidden = (self.actions_[name].isChecked() for name in ("show-direction", "show-hidden"))
        if direction > self.canvas.signs.direction or hidden > self.canvas.signs.hidden:
            self.canvas.set_view_mode("outline")
        self.canvas.set_signs(direction=direction, hidden=hidden)

    def _zoom_selection(self) -> None:
        from bladewise.document import bounds_of

        box = bounds_of([placed.leaf for placed in self.desk.selected_leaves()])
        if box is not None:
            self.canvas.zoom_to_box(box)

    def _go_to_panel(self, steps: int) -> None:
        """Put the focus into the next panel: where one would begin there."""
        panels: list[tuple[QWidget, Callable[[], QWidget | None]]] = [
            (self.strip, lambda: next(iter(self.strip.chips.values()), self.strip.name)),
            (self.layers, lambda: self.layers.tree),
            (self.pane, lambda: self.canvas),
            (self.stack, lambda: self.stack.list),
            (self.readiness, self.readiness.first_stop),
            (self.side, lambda: self.side.page.first_stop() if self.side.page is not None else None),
            (self.bench, self.bench.first_stop),
            (self.stage, self.readying_stop),
        ]
        focus = self.focusWidget()
        here = next((index for index, (panel, _) in enumerate(panels) if focus and panel.isAncestorOf(focus)), 0)
        for distance in range(1, len(panels) + 1):
            target = panels[(here + steps * distance) % len(panels)][1]()
            if target is not None and target.isVisible():
                target.setFocus(Qt.FocusReason.TabFocusReason)
                return

    def _focus_changed(self, old: QWidget | None, new: QWidget | None) -> None:
        """Whoever works by keys is never left nowhere: when what had the focus goes, the canvas gets it."""
        if old is not None and new is None and self.isActiveWindow():
            QTimer.singleShot(0, self, self._find_focus)

    def changeEvent(self, event: QEvent) -> None:
        """Have the focus somewhere when the window comes to the front again."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            QTimer.singleShot(0, self, self._find_focus)

    def _find_focus(self) -> None:
        nowhere = QApplication.focusWidget() is None and QApplication.activePopupWidget() is None
        if nowhere and self.isActiveWindow() and self.isVisible():
            self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def _full_screen(self) -> None:
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)

    def _canvas_menu(self, place: QPoint) -> None:
        menu = self.canvas_menu()
        menu.exec(place)

    def canvas_menu(self) -> QMenu:
        """Return the verbs that fit what is selected."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if self.handling.fill_menu(menu):
            return menu
        for name in ("cut", "copy", "paste", "edit-nodes"):
            menu.addAction(self.actions_[name])
        menus.select_more(menu, self.actions_)
        menus.add_verbs(menu, self.desk, self.open_verb)
        return menu

    # --- in step with the desk ------------------------------------------------------------------------------------

    def _state_changed(self) -> None:
        desk, a = self.desk, self.actions_
        session = desk.session
        self.setWindowTitle(f"{desk.file_name}[*] – Bladewise")
        self.setWindowModified(session.is_modified)
        a["undo"].setEnabled(session.can_undo)
        a["redo"].setEnabled(session.can_redo)
        a["delete"].setEnabled(bool(desk.selection))
        a["zoom-selection"].setEnabled(bool(desk.selection))
        a["select-none"].setEnabled(bool(desk.selection))
        a["save-recipe"].setEnabled(bool(session.history.rows))
        a["next-trouble"].setEnabled(bool(desk.findings))
        a["previous-trouble"].setEnabled(bool(desk.findings))
        a["notes"].setEnabled(bool(desk.job.notes))

    def _theme_changed(self) -> None:
        for widget in self.findChildren(QWidget):
            widget.update()
        self.readiness.dress()

    def _fill_recent(self) -> None:
        self.recent.clear()
        for path in self.preferences.recent:
            self.recent.addAction(path.name, partial(self.files.open, path)).setToolTip(str(path))
        self.recent.setEnabled(bool(self.preferences.recent))

    # --- the window itself ----------------------------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files from the disk, wherever on the window."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open or bring in what was dropped."""
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.files.dropped(paths)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves the open verb, wherever the focus is."""
        if event.key() == Qt.Key.Key_Escape and self.bench.operation is not None:
            self.bench.leave()
            event.accept()
        else:
            super().keyPressEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about changes not saved, remember the layout, stop all work."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.side.drop_page()
        self.leave_readying()
        self.preferences.set_layout("window", self.saveGeometry())
        self.preferences.set_layout("middle", self.middle.saveState())
        self.preferences.set_layout("right", self.right.saveState())
        self._leave_job()
        self.recovery.close()
        self.canvas.stop()
        self.desk.close()
        event.accept()

    def _leave_job(self) -> None:
        self.remembered.keep(self.files.source, self.canvas, self.desk)

    def _restore(self) -> None:
        if not (state := self.preferences.layout("window")).isEmpty():
            self.restoreGeometry(state)
        for name, splitter in (("middle", self.middle), ("right", self.right)):
            if not (state := self.preferences.layout(name)).isEmpty():
                splitter.restoreState(state)


def first_size(room: QSize) -> QSize:
    """Return how large the window opens for the first time, where a screen has that much room in pixels."""
    return _FIRST_SIZE.boundedTo(room - QSize(0, _TITLE_BAR))


def _split(orientation: Qt.Orientation, *parts: tuple[QWidget, int]) -> QSplitter:
    splitter = QSplitter(orientation)
    splitter.setHandleWidth(1)
    splitter.setChildrenCollapsible(False)
    for index, (widget, stretch) in enumerate(parts):
        splitter.addWidget(widget)
        splitter.setStretchFactor(index, stretch)
    return splitter
