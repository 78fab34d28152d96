"""What comes of separating colours, before it is done: which vinyl goes on when, its pieces, area and knife travel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QWidget

from bladewise.document.exploding import by_material
from bladewise.operations.application import applications_of
from bladewise.window import theme
from bladewise.window.controls import label, push_button
from bladewise.window.job_strip.chip import paint_material
from bladewise.window.job_strip.figures import Figurer, area_text, travel_text
from bladewise.window.lettering.side import SidePage
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from bladewise.document import Job, Material
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.job_strip.figures import Figures
    from bladewise.window.worker import Progress

_ICON = QSize(58, 28)


class SeparationPage(SidePage):
    """The vinyls in the order in which they are stuck."""

    wide_px = 340

    def __init__(self, bench: Bench, desk: Desk, canvas: Canvas) -> None:
        """Wait for the first ghost."""
        super().__init__(bench, desk, canvas, _tr("Order of application"), "separate-colours")
        self._worker = Worker(self)
        self._figurer = Figurer()
        self.told = label(_tr("Being worked out…"), "muted")
        self.told.setWordWrap(True)
        self.column.addWidget(self.told)
        self.list = QListWidget()
        self.list.setIconSize(_ICON)
        self.list.setAccessibleName(_tr("Order of application"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        self.column.addWidget(self.list, 1)
        self.apart = push_button(_tr("Show the layers apart"), lambda: desk.apart_wanted.emit(), icon="layers-apart")
        self.column.addWidget(self.apart)
        desk.ghost_changed.connect(self._ghost_changed)

    def first_stop(self) -> QWidget:
        """Return the list."""
        return self.list

    def leave(self) -> None:
        """Stop."""
        self.desk.ghost_changed.disconnect(self._ghost_changed)
        self._worker.close()

    def _ghost_changed(self, job: Job | None, _changed: object) -> None:
        if job is None:
            return

        def work(progress: Progress) -> tuple[dict[Material, int], dict[str, Figures]]:
            shown = by_material(job)
            turns = applications_of(shown)
            self._figurer.measure(shown, progress)
            order = {each: turns[each.id] for each in shown.materials_in_use() if each.id in turns}
            return order, dict(self._figurer.by_material)

        self._worker.start(work, lambda found: self._show(*found), instead=True)

    def _show(self, order: dict[Material, int], figures: dict[str, Figures]) -> None:
        rows = sorted(order, key=lambda each: order[each])
        goes = len(set(order.values()))
        self.told.setText(
            _tr("1 layer.")
            if len(rows) == 1
            else _tr("{count} layers, stuck all at once.").format(count=len(rows))
            if goes == 1
            else _tr("{count} layers, stuck in {goes} goes; the lowest first.").format(count=len(rows), goes=goes)
        )
        self.list.clear()
        for material in rows:
            number, found = order[material] + 1, figures.get(material.id)
            told = ""
            if found is not None:
                pieces = _tr("1 piece") if found.pieces == 1 else _tr("{n} pieces").format(n=found.pieces)
                area, travel = area_text(found.area_mm2, self.desk.unit), travel_text(found.travel_mm, self.desk.unit)
                told = f"{pieces} · {area} · {travel}"
            item = QListWidgetItem(_numbered(number, material), f"{material.name}\n{told}")
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{number}. {material.name}, {told}")
            self.list.addItem(item)


def _numbered(number: int, material: Material) -> QIcon:
    """Return a number in a disc beside a swatch."""
    picture = QPixmap(_ICON * 2)
    picture.fill(Qt.GlobalColor.transparent)
    picture.setDevicePixelRatio(2.0)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    disc = QRectF(1.0, 3.0, 22.0, 22.0)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("accent"))
    painter.drawEllipse(disc)
    font = QFont()
    font.setWeight(QFont.Weight.DemiBold)
    painter.setFont(font)
    painter.setPen(theme.colour("on_accent"))
    painter.drawText(disc, Qt.AlignmentFlag.AlignCenter, str(number))
    paint_material(painter, QRectF(31.0, 1.0, 26.0, 26.0), material)
    painter.end()
    icon = QIcon()
    icon.addPixmap(picture)
    return icon


def _tr(text: str) -> str:
    return QCoreApplication.translate("Separation", text)
