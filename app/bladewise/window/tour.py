"""The window in five cards: each stands beside a part of the window and says what that part answers.

Shown once by itself, at the first start; from then on only when asked for. Keys alone go through it: Enter or Right
to the next card, Left back, Escape leaves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from bladewise.window import design, theme
from bladewise.window.controls import IconLabel, label, push_button

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.window.main_window import MainWindow

CARD_WIDTH = 360
SHADE = 110
"""How dark everything but the part in question becomes, of 255."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A card: what it says, and which part of the window it stands beside."""

    title: str
    text: str
    icon: str
    beside: QWidget


class Tour(QWidget):
    """Lies over the window until it was seen or left."""

    def __init__(self, window: MainWindow) -> None:
        """Prepare the cards for a window."""
        super().__init__(window)
        self.setObjectName("tour")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._window = window
        self._before = window.focusWidget()
        self.stops = self._stops(window)
        self.place = 0
        self.afterwards: Callable[[], object] = lambda: None
        """What was to be shown meanwhile: it is when the tour is over."""
        self.card = _Card(self)
        window.installEventFilter(self)
        self.hide()

    def begin(self) -> None:
        """Show the first card; from now on the tour does not come by itself."""
        for other in self._window.findChildren(Tour):
            if other is not self:
                other.close()
        self._window.preferences.set_tour_seen()
        self.setGeometry(self._window.rect())
        self.show()
        self.raise_()
        self._show_card()

    def step(self, cards: int) -> None:
        """Go on or back; on from the last card leaves."""
        if self.place + cards >= len(self.stops):
            self.leave()
        else:
            self.place = max(0, self.place + cards)
            self._show_card()

    def leave(self) -> None:
        """End the tour and put the focus back where it was."""
        if self._before is not None:
            self._before.setFocus(Qt.FocusReason.OtherFocusReason)
        self.close()
        self.afterwards()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay over the whole window."""
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self.setGeometry(self._window.rect())
            self._place_card()
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        """Shade everything but the part in question, and ring that."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        part = self._part()
        shade = QPainterPath()
        shade.addRect(self.rect().toRectF())
        hole = QPainterPath()
        hole.addRoundedRect(part.toRectF(), design.RADIUS, design.RADIUS)
        painter.fillPath(shade.subtracted(hole), QColor(0, 0, 0, SHADE))
        painter.setPen(QPen(theme.colour("focus"), design.FOCUS_PX))
        painter.drawPath(hole)
        painter.end()

    def _part(self) -> QRect:
        beside = self.stops[self.place].beside
        corner = beside.mapTo(self._window, QPoint(0, 0))
        return QRect(corner, beside.size()).adjusted(1, 1, -1, -1)

    def _show_card(self) -> None:
        self.card.show_stop(self.stops[self.place], self.place + 1, len(self.stops))
        self._place_card()
        self.update()
        self.card.next_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _place_card(self) -> None:
        card, part, gap = self.card, self._part(), design.APART
        card.setFixedSize(CARD_WIDTH, card.height_needed())
        room = self.rect().adjusted(gap, gap, -gap, -gap)
        wide, high = card.width(), card.height()
        middle = part.center()
        corners = (
            QPoint(part.right() + gap, middle.y() - high // 2),
            QPoint(part.left() - gap - wide, middle.y() - high // 2),
            QPoint(middle.x() - wide // 2, part.bottom() + gap),
            QPoint(middle.x() - wide // 2, part.top() - gap - high),
        )
        for corner in corners:
            x = min(max(corner.x(), room.left()), room.right() - wide)
            y = min(max(corner.y(), room.top()), room.bottom() - high)
            if not QRect(x, y, wide, high).intersects(part):
                card.move(x, y)
                return
        card.move(middle.x() - wide // 2, middle.y() - high // 2)  # the part fills the window: the card lies on it

    def _stops(self, window: MainWindow) -> list[Stop]:
        return [
            Stop(
                self.tr("What to load, and how much"),
                self.tr(
                    "Each material of the job is a chip with its pieces, area and knife travel. "
                    "Click one to see only that material."
                ),
                "set-material",
                window.strip,
            ),
            Stop(
                self.tr("The job, true to size"),
                self.tr(
                    "Drop artwork here. The wheel zooms at the pointer, Space and drag pans. "
                    "Hold E to peek: outlines only, as the knife sees them."
                ),
                "outline-view",
                window.pane,
            ),
            Stop(
                self.tr("What you can do"),
                self.tr(
                    "The bench shows what fits what is selected. A verb opens its numbers; the result shows on "
                    "the canvas while you type. Enter applies, Escape leaves."
                ),
                "merge",
                window.bench,
            ),
            Stop(
                self.tr("What was done"),
                self.tr(
                    "Every step stands in the command stack with its numbers. Open one, change a number, and what "
                    "follows is worked out anew. A stack saved as a recipe serves other art."
                ),
                "recipe",
                window.stack,
            ),
            Stop(
                self.tr("Is it ready to cut?"),
                self.tr(
                    "What would spoil the cut is listed here, the worst first, each with the step that mends it. "
                    "When the list is empty, hand off the files. Ctrl+K finds any action by its words."
                ),
                "mark-good",
                window.readiness,
            ),
        ]


class _Card(QFrame):
    def __init__(self, tour: Tour) -> None:
        super().__init__(tour)
        self._tour = tour
        self.setObjectName("card")
        self.setAutoFillBackground(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(design.WIDE, design.WIDE, design.WIDE, design.APART)
        column.setSpacing(design.NEAR)
        head = QHBoxLayout()
        head.setSpacing(design.NEAR)
        self.icon = IconLabel("dot", "accent", 20)
        self.title = label("", "title", scale=design.LEAD_TYPE)
        self.title.setWordWrap(True)
        head.addWidget(self.icon, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self.title, 1)
        column.addLayout(head)
        self.text = label("")
        self.text.setWordWrap(True)
        column.addWidget(self.text)
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.setSpacing(design.NEAR)
        self.where = label("", "muted")
        self.leave_button = push_button(self.tr("Leave"), tour.leave, kind="link")
        self.leave_button.setToolTip(self.tr("Escape"))
        self.back_button = push_button(self.tr("Back"), lambda: tour.step(-1))
        self.next_button = push_button(self.tr("Next"), lambda: tour.step(1), kind="primary")
        foot.addWidget(self.where)
        foot.addStretch(1)
        for button in (self.leave_button, self.back_button, self.next_button):
            foot.addWidget(button)
            button.installEventFilter(self)
        column.addLayout(foot)

    def show_stop(self, stop: Stop, number: int, count: int) -> None:
        self.icon.show_icon(stop.icon, "accent")
        self.title.setText(stop.title)
        self.text.setText(stop.text)
        self.where.setText(self.tr("{n} of {count}").format(n=number, count=count))
        self.back_button.setEnabled(number > 1)
        last = number == count
        self.next_button.setText(self.tr("Begin") if last else self.tr("Next"))
        self.leave_button.setVisible(not last)
        self.setAccessibleName(stop.title)
        self.setAccessibleDescription(stop.text)
        self.next_button.setAccessibleDescription(f"{stop.title}. {stop.text}")

    def height_needed(self) -> int:
        layout = self.layout()
        assert layout is not None
        return max(layout.heightForWidth(CARD_WIDTH), layout.minimumSize().height())

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: A002, FBT001 - Qt's signature
        """Keep Tab within the card: what lies under the shade is not to be had now."""
        stops = [each for each in self._buttons() if each.isEnabled() and each.isVisible()]
        here = self.focusWidget()
        place = stops.index(here) if isinstance(here, QPushButton) and here in stops else 0
        stops[(place + (1 if next else -1)) % len(stops)].setFocus(Qt.FocusReason.TabFocusReason)
        return True

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the arrows before a button does: it would hand the focus to its neighbour."""
        arrows = (Qt.Key.Key_Left, Qt.Key.Key_Right)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in arrows:
            self.keyPressEvent(event)
            return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys go through the cards."""
        match Qt.Key(event.key()):
            case Qt.Key.Key_Escape:
                self._tour.leave()
            case Qt.Key.Key_Right:
                self._tour.step(1)
            case Qt.Key.Key_Left:
                self._tour.step(-1)
            case Qt.Key.Key_Return | Qt.Key.Key_Enter:
                focus = self.focusWidget()
                (focus if isinstance(focus, QPushButton) else self.next_button).click()
            case _:
                super().keyPressEvent(event)
                return
        event.accept()

    def _buttons(self) -> tuple[QPushButton, ...]:
        return self.leave_button, self.back_button, self.next_button
