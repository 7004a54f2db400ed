"""The strip of alarms above the pages: the most urgent one in words, and the rest in a list that opens below it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.alarms.state import AlarmLine, AlarmState
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role

_SURFACES = {"info": "note", "due": "caution", "danger": "danger"}
_ROLES = {"info": "", "due": "caution", "danger": "error"}
_LIST_LINES = 5.0
_MOST_LISTED = 40
_LEAST_LETTERS = 44
_WIDEST = "■ Danger "


class AlarmRow(QWidget):
    """One alarm: sign and word of its rank, its sentence, how long ago it fell due, and what can be done.

    Signals:
        seen(str), show_wanted(str): the key of the alarm.
    """

    seen = Signal(str)
    show_wanted = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self._key = ""
        self._said = ""
        self.rank = QLabel()
        self.rank.setObjectName(f"{name}_rank")
        self.text = QLabel()
        self.text.setObjectName(f"{name}_text")
        self.text.setWordWrap(True)
        self.text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.since = QLabel()
        self.since.setObjectName(f"{name}_since")
        self.seen_button = _button("Seen", f"{name}_seen", self._see)
        self.show_button = _button("Show", f"{name}_show", lambda: self.show_wanted.emit(self._key))
        kept = self.show_button.sizePolicy()
        kept.setRetainSizeWhenHidden(True)
        self.show_button.setSizePolicy(kept)
        self._acts = QWidget()
        self.acts = QHBoxLayout(self._acts)
        self.acts.setContentsMargins(0, 0, 0, 0)
        self.acts.setSpacing(SPACING)
        for button in (self.seen_button, self.show_button):
            self.acts.addWidget(button)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(SPACING)
        self._grid.setVerticalSpacing(SPACING // 2)
        self._grid.setColumnStretch(1, 1)
        self._is_narrow: bool | None = None
        self._arrange()

    def _see(self) -> None:
        self.seen.emit(self._key)

    def _arrange(self) -> None:
        """Put the buttons below the sentence where they would leave it too narrow to read."""
        taken = self.rank.sizeHint().width() + self.since.sizeHint().width() + self._acts.sizeHint().width()
        left = self.width() - taken - 3 * SPACING
        is_narrow = left < _LEAST_LETTERS * self.fontMetrics().averageCharWidth()
        if is_narrow == self._is_narrow:
            return
        self._is_narrow = is_narrow
        right = Qt.AlignmentFlag.AlignRight
        self._grid.addWidget(self.rank, 0, 0, Qt.AlignmentFlag.AlignTop if is_narrow else Qt.AlignmentFlag(0))
        if is_narrow:
            self._grid.addWidget(self.text, 0, 1, 1, 3)
            self._grid.addWidget(self.since, 1, 1)
            self._grid.addWidget(self._acts, 1, 2, 1, 2, right)
        else:
            self._grid.addWidget(self.text, 0, 1)
            self._grid.addWidget(self.since, 0, 2)
            self._grid.addWidget(self._acts, 0, 3)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Arrange for the new width."""
        super().resizeEvent(event)
        self._arrange()

    def show_line(self, line: AlarmLine) -> bool:
        """Show a line; returns whether it says something new."""
        is_new = (line.key, line.said) != (self._key, self._said)
        self._key, self._said = line.key, line.said
        self.rank.setText(f"{line.sign} {line.word}")
        self.text.setText(line.said)
        self.since.setText(line.since)
        self.text.setAccessibleName(line.spoken)
        for label in (self.rank, self.text, self.since):
            set_text_role(label, _ROLES[line.rank])
        self.rank.setMinimumWidth(self.fontMetrics().horizontalAdvance(_WIDEST))
        self.show_button.setVisible(line.can_show)
        self._arrange()
        name_control(self.seen_button, f"Seen: {line.said}", "Quiet this alarm for good")
        name_control(self.show_button, f"Show: {line.said}", "Go to what it is about")
        return is_new


class AlarmStrip(QFrame):
    """Shows the alarms; it takes no room while there are none, and never takes the keyboard.

    Signals:
        seen(str), show_wanted(str): the key of an alarm. all_seen(): every one that is no danger.
    """

    seen = Signal(str)
    show_wanted = Signal(str)
    all_seen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("alarm_strip")
        self.state = AlarmState()
        self.first = self._row("alarm")
        self.first.seen_button.setToolTip("Quiet this alarm for good (Alt+N)")
        self.more = _button("", "alarm_more", self._toggle)
        self.more.setCheckable(True)
        self._all = _button("All seen", "alarm_all_seen", self.all_seen.emit)
        name_control(self._all, "All seen", "Quiet every alarm that is no danger")
        self.first.acts.addWidget(self._all)
        self.first.acts.addWidget(self.more)
        self._rows: list[AlarmRow] = []
        self._list = QWidget()
        self._column = QVBoxLayout(self._list)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(SPACING // 2)
        self._scroll = QScrollArea()
        self._scroll.setObjectName("alarm_list")
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.setWidgetResizable(True)
        self._scroll.setWidget(self._list)
        for surface in (self._list, self._scroll.viewport()):
            surface.setAutoFillBackground(False)
        body = QVBoxLayout(self)
        body.setContentsMargins(2 * SPACING, SPACING // 2, 2 * SPACING, SPACING // 2)
        body.setSpacing(SPACING // 2)
        body.addWidget(self.first)
        body.addWidget(self._scroll)
        self.render_state(AlarmState())

    def _row(self, name: str) -> AlarmRow:
        row = AlarmRow(name)
        row.seen.connect(self.seen)
        row.show_wanted.connect(self.show_wanted)
        return row

    def render_state(self, state: AlarmState) -> None:
        """Show what calls for the person; the same state twice changes nothing."""
        self.state = state
        first = state.first
        if first is None:
            self.more.setChecked(False)
            self.setVisible(False)
            return
        is_new = self.first.show_line(first)
        set_surface_role(self, _SURFACES[first.rank])
        self.more.setVisible(state.more > 0)
        self._render_list(state)
        self.setVisible(True)
        if is_new:
            QAccessible.updateAccessibility(QAccessibleEvent(self.first.text, QAccessible.Event.Alert))

    def _render_list(self, state: AlarmState) -> None:
        self.more.setChecked(self.more.isChecked() and state.more > 0)
        is_open = self.more.isChecked()
        self.more.setText("Fewer" if is_open else f"+{state.more} more")
        name_control(self.more, f"{state.more} more alarms", "Open or close the list of the other alarms")
        self._scroll.setVisible(is_open)
        self._all.setVisible(is_open)
        if not is_open:
            return
        listed = min(state.more, _MOST_LISTED)  # the rest move up as these are seen
        while len(self._rows) < listed:
            row = self._row(f"alarm_{len(self._rows) + 2}")
            self._column.insertWidget(len(self._rows), row)
            self._rows.append(row)
        for place, row in enumerate(self._rows):
            row.setVisible(place < listed)
            if place < listed:
                row.show_line(state.lines[place + 1])
        self._fit()

    def _fit(self) -> None:
        """Give the list the height of its lines, up to a few; beyond them it scrolls."""
        wanted = self._list.sizeHint().height() + SPACING // 2
        self._scroll.setFixedHeight(min(wanted, round(_LIST_LINES * (TARGET + SPACING))))

    def changeEvent(self, event: QEvent) -> None:
        """Give the list the room that the size of the text asks for."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self._scroll.isVisible():
            self._fit()

    def see_first(self) -> None:
        """Quiet the most urgent alarm, also one that the guided run shows in place of the strip."""
        self.seen.emit("")

    def _toggle(self) -> None:
        self._render_list(self.state)


def _button(text: str, name: str, act: Callable[[], object]) -> QPushButton:
    button = QPushButton(text)
    button.setObjectName(name)
    button.setMinimumHeight(TARGET)
    button.setAutoDefault(False)
    button.clicked.connect(partial(_call, act))
    return button


def _call(act: Callable[[], object], _checked: bool = False) -> None:
    act()
