"""Pages beside two verbs of words: whether letters can be read from afar, and which letters just miss each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QWidget

from bladewise.document import Lettering, Shape
from bladewise.lettering.readability import SOURCE, Readability, readability
from bladewise.lettering.setting import word_letters
from bladewise.operations.script import Miss, near_misses
from bladewise.units import format_length, format_number
from bladewise.window.controls import label, push_button, restyle
from bladewise.window.language import say
from bladewise.window.lettering.beginnings import first_lettering
from bladewise.window.lettering.side import SidePage
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk

MOST_SHOWN = 500
_LOOK_AFTER_MS = 120
_SHOWN_MM = 12.0
"""How much is seen around a place that is gone to."""


def _tr(text: str) -> str:
    return QCoreApplication.translate("WordPages", text)


class ReadabilityPage(SidePage):
    """How tall the capitals come out, how tall they ought to be, and who says so."""

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Look at the lettering, and again at each ghost."""
        super().__init__(bench, desk, canvas, _tr("Can it be read?"), "letter-height")
        self.worker = Worker(self)
        self.tall, self.asked, self.stroke = (label("") for _ in range(3))
        self.asked.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.asked.setAccessibleName(_tr("Height asked for"))
        law = label(
            _tr(
                "Heights are asked for by {source}; how thin a stroke may be is common practice. Neither binds anybody "
                "here: local codes, and whoever answers for the sign, decide."
            ).format(source=SOURCE),
            "muted",
            scale=0.9,
        )
        for each in (self.tall, self.asked, self.stroke, law):
            each.setWordWrap(True)
            self.column.addWidget(each)
        self.column.addStretch(1)
        desk.ghost_changed.connect(self._ghost)
        self.selection_changed()

    def selection_changed(self) -> None:
        """Look at what is selected."""
        live = first_lettering(self.desk)
        if live is not None:
            self._look(live)

    def leave(self) -> None:
        """Stop."""
        self.worker.close()

    def _ghost(self, job: Job | None, _changed: object) -> None:
        live = first_lettering(self.desk)
        made = job.element(live.id) if job is not None and live is not None else None
        if isinstance(made, Lettering):
            self._look(made)

    def _look(self, live: Lettering) -> None:
        seen_from = self.value("seen_from_mm")
        self.worker.start(
            lambda _progress: readability(live, seen_from_mm=seen_from),
            lambda found: self._show(found, seen_from),
            instead=True,
            after_ms=_LOOK_AFTER_MS,
        )

    def _show(self, found: Readability, seen_from: float | None) -> None:
        unit, places = self.desk.unit, 3 if self.desk.unit == "in" else 1
        tall = format_length(found.caps_mm, unit=unit, decimals=places)
        self.tall.setText(_tr("Capitals are {tall} tall.").format(tall=tall))
        if found.needed_mm is None:
            self.asked.setText(_tr("Give the distance it is read from, and the height asked for stands here."))
            restyle(self.asked, "role", "muted")
        else:
            needed = format_length(found.needed_mm, unit=unit, decimals=places)
            size, far = (304.8, "ft") if unit == "in" else (1000.0, "m")
            away = f"{format_number((seen_from or 0.0) / size, 1)} {far}"
            enough = found.caps_mm >= found.needed_mm
            text = _tr("Read from {away}, at least {needed} are asked for ({source}).")
            verdict = _tr("That is enough.") if enough else _tr("These are too small.")
            self.asked.setText(f"{text.format(away=away, needed=needed, source=SOURCE)} {verdict}")
            restyle(self.asked, "role", "good" if enough else "trouble")
        thin = [say(each) for each in found.warnings if found.stroke_mm is not None][-1:]
        self.stroke.setText(thin[0] if thin else _tr("No stroke is too thin to weed."))
        restyle(self.stroke, "role", "trouble" if thin else "muted")


class MissesPage(SidePage):
    """Letters that come near each other and do not touch; one click bridges them all."""

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Look for them."""
        super().__init__(bench, desk, canvas, _tr("Letters that just miss"), "merge-script")
        self.worker = Worker(self)
        self.found: list[Miss] = []
        self.count = label("")
        self.count.setWordWrap(True)
        self.column.addWidget(self.count)
        self.list = QListWidget()
        self.list.setAccessibleName(_tr("Letters that just miss"))
        self.list.currentRowChanged.connect(self._go)
        self.list.itemClicked.connect(lambda item: self._go(self.list.row(item)))
        self.column.addWidget(self.list, 1)
        self.bridge = push_button(_tr("Bridge them"), lambda: self.put(bridge=True), kind="verb", icon="merge-script")
        self.column.addWidget(self.bridge, 0, Qt.AlignmentFlag.AlignLeft)
        self._looked: object = None
        self._seen = canvas.view
        self.selection_changed()

    def first_stop(self) -> QWidget:
        """Return the button that bridges."""
        return self.bridge if self.bridge.isEnabled() else self.list

    def selection_changed(self) -> None:
        """Look at what is selected now."""
        near = self.value("near_mm")
        leaves = [placed.leaf for placed in self.desk.selected_leaves()]
        key = (near, tuple(leaves))
        if near is None or key == self._looked:
            return
        self._looked = key
        self.count.setText(_tr("Looking…"))
        self.worker.start(lambda _progress: misses(leaves, near), self._show, instead=True, after_ms=_LOOK_AFTER_MS)

    def numbers_changed(self) -> None:
        """Look by another distance; grey the button once it is done."""
        self.selection_changed()
        self.bridge.setEnabled(bool(self.found) and not self.value("bridge"))

    def leave(self) -> None:
        """Stop."""
        self.worker.close()

    def _show(self, found: list[Miss]) -> None:
        self.found = found
        self.list.blockSignals(True)  # noqa: FBT003 - Qt's signature
        self.list.clear()
        unit = self.desk.unit
        for miss in found[:MOST_SHOWN]:
            gap = format_length(miss.gap_mm, unit=unit, decimals=4 if unit == "in" else 2)
            text = _tr("“{first}” and “{second}”: {gap} apart").format(first=miss.first, second=miss.second, gap=gap)
            self.list.addItem(QListWidgetItem(text))
        self.list.blockSignals(False)  # noqa: FBT003
        self.list.setVisible(bool(found))
        self.bridge.setVisible(bool(found))
        if not found:
            self.count.setText(_tr("None: letters either touch or stand well apart."))
        else:
            text = (
                _tr("1 place would leave a hair of waste.")
                if len(found) == 1
                else _tr("{n} places would leave a hair of waste.")
            )
            self.count.setText(text.format(n=len(found)))
        self.bridge.setEnabled(bool(found) and not self.value("bridge"))
        if not found:
            self.column.addStretch(1)

    def _go(self, row: int) -> None:
        if 0 <= row < len(self.found):
            (x0, y0), (x1, y1) = self.found[row].start, self.found[row].end
            x, y, reach = 0.5 * (x0 + x1), 0.5 * (y0 + y1), _SHOWN_MM
            self.canvas.zoom_to_box((x - reach, y - reach, x + reach, y + reach))


def misses(leaves: list[Any], near_mm: float) -> list[Miss]:
    """Return the near misses in words that are live and among letters that are shapes already."""
    found: list[Miss] = []
    for leaf in leaves:
        if isinstance(leaf, Lettering):
            for _, letters in word_letters(leaf):
                found += near_misses(letters, near_mm)
    loose = [(leaf.name or leaf.id, leaf.path) for leaf in leaves if isinstance(leaf, Shape) and leaf.style.fill]
    return found + near_misses(loose, near_mm)
