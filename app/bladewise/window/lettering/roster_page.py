"""Names by the dozen: a list is opened or pasted, and each row shows what comes of it before anything is done.

Cells can be mended in place. Rows that cannot be made say why; they are left out and the others are made.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QHBoxLayout, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from bladewise.document import Lettering
from bladewise.errors import BladewiseError, Cancelled, CannotRead
from bladewise.operations.lists import Table, read_table
from bladewise.operations.roster import Filled, filled
from bladewise.units import format_number
from bladewise.window import icons, theme
from bladewise.window.controls import label, push_button, restyle
from bladewise.window.language import say
from bladewise.window.lettering.roster_field import ask_list, list_in
from bladewise.window.lettering.side import SidePage
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QDragEnterEvent, QDropEvent

    from bladewise.operations import Step
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

MOST_ROWS_SHOWN = 1000
_TRY_AFTER_MS = 200
_WIDEST_PX = 150
_PLACE = re.compile(r"\{([^{}]*)\}")
_SPECIAL = frozenset({"colour", "color", "size", "height", "quantity", "qty", "count"})


def _tr(text: str) -> str:
    return QCoreApplication.translate("RosterPage", text)


class RosterPage(SidePage):
    """The list, and what each of its rows will be."""

    wide_px = 600
    takes_focus = True

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Show the list that stands in the field, if any."""
        super().__init__(bench, desk, canvas, _tr("Names by the dozen"), "fill-roster")
        self.setAcceptDrops(True)
        self.worker = Worker(self)
        self._text = ""
        self._table: Table | None = None
        self._filling = False
        row = QHBoxLayout()
        row.setSpacing(8)
        self.open = push_button(_tr("Open a list…"), self._ask, kind="verb", icon="open")
        self.paste = push_button(_tr("Paste cells"), self.paste_cells, kind="verb", icon="paste")
        self.paste.setToolTip(QKeySequence(QKeySequence.StandardKey.Paste).toString())
        row.addWidget(self.open)
        row.addWidget(self.paste)
        row.addStretch(1)
        self.column.addLayout(row)
        self.matched = label("", "muted")
        self.verdict = label("")
        for each in (self.matched, self.verdict):
            each.setWordWrap(True)
            self.column.addWidget(each)
        self.table = _Cells(self.paste_cells)
        self.table.itemChanged.connect(self._edited)
        self.column.addWidget(self.table, 1)
        self.numbers_changed()
        self._say_places()

    def first_stop(self) -> QWidget:
        """Return the cells: what is pasted there is taken, also while there are none."""
        return self.table

    # --- the list -------------------------------------------------------------------------------------------------

    def take(self, text: str) -> None:
        """Take a list as text."""
        self.put(rows=text)

    def paste_cells(self) -> None:
        """Take the cells that were copied in a spreadsheet."""
        text = QGuiApplication.clipboard().text()
        if not text.strip():
            self._say(_tr("There are no cells on the clipboard."), "trouble")
            return
        self.take(text)
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def numbers_changed(self) -> None:
        """Show the list if it is another one, and try what comes of it."""
        text = str(self.value("rows") or "")
        if text != self._text:
            self._text = text
            self._read()
        self._try()

    def selection_changed(self) -> None:
        """Try it on the design that is selected now."""
        self._say_places()
        self._try()

    def leave(self) -> None:
        """Stop."""
        self.worker.close()

    def _ask(self) -> None:
        text = ask_list(self.window(), self.desk)
        if text is not None:
            self.take(text)

    def _read(self) -> None:
        self._table = None
        if self._text.strip():
            try:
                self._table = read_table(self._text)
            except CannotRead as error:
                self._say(f"{say(error.what)} {say(error.hint)}", "trouble")
        self._show()
        self._say_places()

    def _show(self) -> None:
        table = self.table
        self._filling = True
        table.clear()
        columns = self._table.columns if self._table is not None else ()
        rows = self._table.rows[:MOST_ROWS_SHOWN] if self._table is not None else []
        table.setColumnCount(len(columns) + 2 if columns else 0)
        table.setRowCount(len(rows))
        table.setHorizontalHeaderLabels([_tr("Line"), *columns, _tr("What comes of it")] if columns else [])
        for number, row in enumerate(rows):
            table.setItem(number, 0, _fixed(str(row.line)))
            for place, column in enumerate(columns):
                table.setItem(number, place + 1, QTableWidgetItem(row.values.get(column, "")))
            table.setItem(number, len(columns) + 1, _fixed("…"))
        if columns:
            table.resizeColumnsToContents()
            for place in range(len(columns) + 1):
                table.setColumnWidth(place, min(table.columnWidth(place), _WIDEST_PX))
            table.horizontalHeader().setSectionResizeMode(len(columns) + 1, QHeaderView.ResizeMode.Stretch)
            table.setCurrentCell(0, 1)
        self._filling = False

    def _edited(self, item: QTableWidgetItem) -> None:
        """Take a cell that was mended: the list is written anew."""
        table = self._table
        if self._filling or table is None or not 1 <= item.column() <= len(table.columns):
            return
        changed = [dict(row.values) for row in table.rows]
        changed[item.row()][table.columns[item.column() - 1]] = item.text()
        out = io.StringIO(newline="")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(table.columns)
        writer.writerows([row.get(column, "") for column in table.columns] for row in changed)
        place = item.row(), item.column()
        self.put(rows=out.getvalue())
        self.table.setCurrentCell(*place)

    # --- what comes of it -----------------------------------------------------------------------------------------

    def _say_places(self) -> None:
        """Say which columns the design asks for, and whether the list has them."""
        live = [placed.leaf for placed in self.desk.selected_leaves() if isinstance(placed.leaf, Lettering)]
        wanted = list(dict.fromkeys(name.strip() for each in live for name in _PLACE.findall(each.text)))
        columns = self._table.columns if self._table is not None else None
        if not live:
            self.matched.setText(_tr("Select the design: it holds live lettering such as “{name}”."))
            return
        if not wanted:
            text = _tr("The design has no places such as “{name}”; its lettering takes the first column.")
            self.matched.setText(text)
            return
        parts = []
        for name in wanted:
            known = columns is not None and name.casefold() in columns
            mark = "" if columns is None else " ✓" if known else _tr(" – no such column")
            parts.append("{" + name + "}" + mark)
        text = _tr("Places of the design: {places}").format(places=", ".join(parts))
        used = [each for each in columns or () if each in _SPECIAL]
        if used:
            text += " · " + _tr("also used: {columns}").format(columns=", ".join(used))
        self.matched.setText(text)

    def _try(self) -> None:
        if self._table is None:
            if not self._text.strip():
                self._say(_tr("Open a list, drop one here, or copy cells in a spreadsheet and paste them."), "muted")
            self.worker.cancel()
            return
        step = self._step()
        if step is None:
            return
        job = self.desk.job

        def work(progress: Progress) -> Filled:
            return filled(job, step.record, progress)

        def failed(error: BladewiseError) -> None:
            if not isinstance(error, Cancelled):
                self._say(" ".join(say(each) for each in (error.what, error.hint) if each), "trouble")
                self._mark({}, "")

        self._say(_tr("Trying every row…"), "muted")
        self.worker.start(work, self._tried, failed, instead=True, after_ms=_TRY_AFTER_MS)

    def _step(self) -> Step | None:
        form = self.form
        try:
            return form.step(self.desk.on_selection()) if form is not None else None
        except ValueError:
            return None

    def _tried(self, done: Filled) -> None:
        wrong = {each.line: say(each.reason) for each in done.wrong}
        made = _tr("1 piece will be made") if len(done.names) == 1 else _tr("{n} pieces will be made")
        text = made.format(n=format_number(len(done.names)))
        if wrong:
            left = _tr("1 row is left out") if len(wrong) == 1 else _tr("{n} rows are left out")
            text += "; " + left.format(n=len(wrong))
            if self._table is not None and len(self._table.rows) > MOST_ROWS_SHOWN:
                first = ", ".join(str(line) for line in list(wrong)[:10])
                text += _tr(" (lines {lines})").format(lines=first)
        self._say(f"{text}.", "trouble" if wrong else "good")
        self._mark(wrong, _tr("is made"))

    def _mark(self, wrong: dict[int, str], otherwise: str) -> None:
        table = self._table
        if table is None:
            return
        self._filling = True
        last = len(table.columns) + 1
        for number, row in enumerate(table.rows[: self.table.rowCount()]):
            item = self.table.item(number, last)
            if item is None:
                continue
            reason = wrong.get(row.line)
            item.setText(reason or otherwise)
            item.setToolTip(reason or "")
            item.setForeground(theme.colour("spoils" if reason else "muted"))
            item.setIcon(icons.icon("mark-spoils" if reason else "mark-good", "spoils" if reason else "good"))
        self._filling = False

    def _say(self, text: str, role: str) -> None:
        self.verdict.setText(text)
        restyle(self.verdict, "role", role)

    # --- drops ----------------------------------------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take a list from the disk."""
        if any(url.isLocalFile() for url in event.mimeData().urls()) or event.mimeData().hasText():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Read it."""
        data = event.mimeData()
        files = [url.toLocalFile() for url in data.urls() if url.isLocalFile()]
        text = list_in(Path(files[0]), self.desk) if files else data.text()
        if text:
            event.acceptProposedAction()
            self.take(text)


class _Cells(QTableWidget):
    """The cells; pasting here pastes a list, whatever pasting means elsewhere."""

    def __init__(self, paste: Callable[[], None]) -> None:
        super().__init__()
        self._paste = paste
        self.setAccessibleName(_tr("Rows of the list"))
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.setShowGrid(False)
        self.setAlternatingRowColors(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
        )

    def event(self, event: QEvent) -> bool:
        """Keep the key for pasting."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.matches(QKeySequence.StandardKey.Paste)
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Paste; Enter and Escape are the page's, unless a cell is being typed."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self._paste()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Escape):
            event.ignore()
        else:
            super().keyPressEvent(event)


def _fixed(text: str) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
    return item
