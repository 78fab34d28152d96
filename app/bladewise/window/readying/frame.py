"""How the page is laid out: the steps on the left, both pictures beside them, what can be done below."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QScrollArea, QVBoxLayout, QWidget

from bladewise.window.canvas.canvas import WHEEL_FACTOR
from bladewise.window.controls import ElidedLabel, IconLabel, Segments, flat_button, label, push_button, rule
from bladewise.window.readying.views import Pair

LIST_WIDTH = 400


class PageFrame(QFrame):
    """The controls of the page; what they do is the page's."""

    def __init__(self) -> None:
        """Make the pictures; `build` lays out the rest."""
        super().__init__()
        self.setObjectName("panel")
        self.setAccessibleName(self.tr("Make cut-ready"))
        self.pair = Pair()

    def plan(self) -> None:
        """Work out the steps anew."""
        raise NotImplementedError

    def zoom_to_changes(self) -> None:
        """Show the places that change."""
        raise NotImplementedError

    def stop_work(self) -> None:
        """Stop what is being worked out."""
        raise NotImplementedError

    def leave(self) -> None:
        """Leave the job as it is."""
        raise NotImplementedError

    def do(self) -> None:
        """Do the ticked steps."""
        raise NotImplementedError

    def build(self, selected: int, *, whole: bool) -> None:
        """Lay out the page for so many selected elements; `whole`: begin with the whole job all the same."""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        body = QHBoxLayout()
        body.setContentsMargins(0, 0, 0, 0)
        body.setSpacing(0)
        body.addWidget(self._build_list(selected, whole=whole))
        body.addWidget(rule(upright=True))
        body.addLayout(self._build_pictures(), 1)
        column.addLayout(body, 1)
        column.addWidget(rule())
        column.addLayout(self._build_foot())

    def _build_list(self, count: int, *, whole: bool) -> QWidget:
        side = QWidget()
        side.setFixedWidth(LIST_WIDTH)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 12, 0, 0)
        column.setSpacing(6)
        head = QHBoxLayout()
        head.setContentsMargins(16, 0, 16, 0)
        head.setSpacing(8)
        head.addWidget(IconLabel("make-cut-ready", "accent", 18))
        head.addWidget(label(self.tr("Make cut-ready"), "title", scale=1.15))
        head.addStretch(1)
        self.about = Segments(
            [("selection", self.tr("What is selected")), ("all", self.tr("Whole job"))],
            "selection" if count and not whole else "all",
            self.tr("For"),
        )
        self.about.setVisible(count > 0)
        self.about.chosen.connect(lambda _what: self.plan())
        head.addWidget(self.about)
        column.addLayout(head)
        self.summary = label("", "muted")
        self.summary.setWordWrap(True)
        self.summary.setContentsMargins(16, 0, 16, 2)
        column.addWidget(self.summary)
        self.stale = self._build_stale()
        column.addWidget(self.stale)
        self.list_page = QWidget()
        self.list_page.setObjectName("scrolled")
        self.list = QVBoxLayout(self.list_page)
        self.list.setContentsMargins(0, 0, 0, 12)
        self.list.setSpacing(0)
        self.area = QScrollArea()
        self.area.setWidget(self.list_page)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setAccessibleName(self.tr("Proposed steps"))
        column.addWidget(self.area, 1)
        return side

    def _build_stale(self) -> QFrame:
        caution = QFrame()
        caution.setObjectName("caution")
        row = QHBoxLayout(caution)
        row.setContentsMargins(12, 6, 8, 6)
        row.setSpacing(8)
        row.addWidget(IconLabel("mark-may-spoil", "may_spoil", 16))
        words = label(self.tr("The job has changed since these steps were worked out."))
        words.setWordWrap(True)
        row.addWidget(words, 1)
        self.again = push_button(self.tr("Work them out again"), self.plan)
        row.addWidget(self.again)
        caution.hide()
        return caution

    def _build_pictures(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setContentsMargins(8, 8, 8, 8)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.setSpacing(4)
        self.modes = Segments(
            [("beside", self.tr("Side by side")), ("wipe", self.tr("Wipe"))], "beside", self.tr("Before and after")
        )
        self.modes.chosen.connect(lambda mode: self.pair.set_wiped(on=mode == "wipe"))
        head.addWidget(self.modes)
        head.addSpacing(8)
        self.told = ElidedLabel("", "muted")
        head.addWidget(self.told)
        head.addStretch(1)
        self.to_changes = push_button(self.tr("Changed places"), self.zoom_to_changes, kind="flat", icon="goto")
        head.addWidget(self.to_changes)
        head.addWidget(flat_button("minus", self.tr("Smaller"), lambda: self.pair.zoom_by(1.0 / WHEEL_FACTOR)))
        head.addWidget(flat_button("plus", self.tr("Larger"), lambda: self.pair.zoom_by(WHEEL_FACTOR)))
        head.addWidget(flat_button("fit", self.tr("Whole job"), self.pair.zoom_to_job))
        column.addLayout(head)
        column.addWidget(self.pair, 1)
        return column

    def _build_foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setContentsMargins(16, 8, 16, 8)
        foot.setSpacing(8)
        self.work = label("", "muted")
        self.bar = QProgressBar()
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(220)
        self.bar.setAccessibleName(self.tr("Progress"))
        self.stop = push_button(self.tr("Stop"), self.stop_work)
        foot.addWidget(self.work)
        foot.addWidget(self.bar)
        foot.addWidget(self.stop)
        foot.addStretch(1)
        self.leave_button = push_button(self.tr("Leave the job as it is"), self.leave)
        foot.addWidget(self.leave_button)
        self.do_button = push_button("", self.do, kind="primary", icon="make-cut-ready")
        self.do_button.setToolTip(
            self.tr("Add the ticked steps to the stack (Ctrl+Enter); each can be undone by itself")
        )
        foot.addWidget(self.do_button)
        return foot
