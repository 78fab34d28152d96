"""What brings the page of materials: the chips, the verb, the menu; and what takes it away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

from bladewise.window.materials.page import MaterialsPage
from bladewise.window.materials.stock import FILE, Stock

if TYPE_CHECKING:
    from bladewise.document import Material
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.lettering.side import Side


class MaterialsRoom(QObject):
    """Holds the stock and opens its page in the right column."""

    def __init__(self, side: Side, bench: Bench, desk: Desk, canvas: Canvas, parent: QObject) -> None:
        """Serve a window; the stock lies beside the operator's preferences."""
        super().__init__(parent)
        self._side, self._bench, self._desk, self._canvas = side, bench, desk, canvas
        self.stock = Stock(desk.preferences.folder_of_settings / FILE, self)
        desk.stock = self.stock
        for verb in ("material-profile", "list-materials", "drop-material"):
            bench.instead[verb] = self.show

    @property
    def page(self) -> MaterialsPage | None:
        """The page, while it is shown."""
        page = self._side.page
        return page if isinstance(page, MaterialsPage) else None

    def show(self, material: Material | None = None) -> None:
        """Show the page, at a material of the job if one is given."""
        page = self.page
        if page is None:
            page = MaterialsPage(self._bench, self._desk, self._canvas, self.stock)
            page.left.connect(self.leave)
            self._side.show_page(page)
        if material is not None:
            page.show_at(material)
        page.first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def toggle(self) -> None:
        """Show the page, or leave it."""
        if self.page is None:
            self.show()
        else:
            self.leave()

    def leave(self) -> None:
        """Take the page away."""
        if self.page is not None:
            self._side.drop_page()
            self._canvas.setFocus(Qt.FocusReason.OtherFocusReason)
