"""What is selected, in words: its name or how many shapes, and how large."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from bladewise.document import bounds_of
from bladewise.units import MM_PER_UNIT, format_number
from bladewise.window.language import quoted

if TYPE_CHECKING:
    from bladewise.window.desk import Desk


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Bench", text)


def described(desk: Desk) -> tuple[str, str]:
    """Return what is selected, and its size; the size is empty where nothing has one."""
    leaves = desk.selected_leaves()
    if not leaves:
        empty = not any(True for _ in desk.job.walk())
        return tr("Nothing on the sheet yet") if empty else tr("Nothing selected"), ""
    only = None
    if len(desk.selection) == 1:
        (any_id,) = desk.selection
        only = desk.job.element(any_id) or desk.job.layer(any_id)
    if only is not None:
        text = quoted(only.name or only.id)
        if len(leaves) > 1:
            text += tr(" · {count} shapes").format(count=len(leaves))
    else:
        text = tr("{count} shapes selected").format(count=len(leaves))
    box = bounds_of([placed.leaf for placed in leaves])
    return text, "" if box is None else size_text(box[2] - box[0], box[3] - box[1], desk.unit)


def size_text(width_mm: float, height_mm: float, unit: str) -> str:
    """Return a size for reading: "120 × 80 mm"."""
    scale, places = MM_PER_UNIT[unit], 3 if unit == "in" else 1
    return f"{format_number(width_mm / scale, places)} × {format_number(height_mm / scale, places)} {unit}"
