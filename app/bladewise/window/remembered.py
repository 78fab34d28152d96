"""The view of each job as it was left: place, zoom, view mode, and the material shown alone.

Kept in the settings beside the layout of the window, for the files opened last; what is damaged is passed over.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.preferences import Preferences

MOST_VIEWS = 60


class Remembered:
    """Puts views into the preferences, and takes them out again."""

    def __init__(self, preferences: Preferences) -> None:
        """Keep views in the operator's preferences."""
        self._preferences = preferences

    def keep(self, source: Path | None, canvas: Canvas, desk: Desk) -> None:
        """Note how a job is seen now; a job without a file leaves nothing."""
        if source is None or not any(True for _ in desk.job.walk()):
            return
        views = self._views()
        views.pop(_key(source), None)
        views[_key(source)] = {**canvas.view_state(), "material": desk.material_filter}
        self._preferences.set_text("views", json.dumps(dict(list(views.items())[-MOST_VIEWS:])))

    def bring_back(self, source: Path | None, canvas: Canvas, desk: Desk) -> None:
        """Show a job as it was left; one never seen stays as it is."""
        view = self._views().get(_key(source)) if source is not None else None
        if not isinstance(view, dict):
            return
        canvas.restore_view_state(view)
        material = view.get("material")
        if isinstance(material, str) and any(each.id == material for each in desk.job.materials_in_use()):
            desk.filter_material(material)

    def _views(self) -> dict[str, Any]:
        try:
            views = json.loads(self._preferences.text("views", "{}"))
        except (ValueError, RecursionError):
            return {}
        return views if isinstance(views, dict) else {}


def _key(source: Path) -> str:
    """Return what a file is known by: its place, unreadable to whoever reads the settings."""
    return hashlib.sha256(str(source.absolute()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
