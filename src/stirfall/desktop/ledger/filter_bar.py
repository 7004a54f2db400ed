"""The search line and the filters as word-chips, each of which takes itself away."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button
from stirfall.desktop.labelled import name_control
from stirfall.desktop.ledger.filters import Chip

_SEARCH_DELAY_MS = 150
_CROSS = "✕"


class SearchLine(QLineEdit):
    """A line that Escape empties."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Empty the line with Escape; an empty line lets the key pass."""
        if event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        else:
            super().keyPressEvent(event)


class FilterBar(QWidget):
    """Search line and button in one row, the chips below while there are any.

    Signals:
        searched(str): other words are looked for.
        dropped(Condition): take this filter away.
        all_dropped(): take all away.
        add_wanted(): a filter shall be built.
    """

    searched = Signal(str)
    dropped = Signal(object)
    all_dropped = Signal()
    add_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.chips: tuple[QPushButton, ...] = ()
        self._shown: tuple[Chip, ...] = ()
        self.search = SearchLine()
        self.search.setObjectName("ledger_search")
        self.search.setMinimumHeight(TARGET)
        self.search.setMinimumWidth(140)
        self.search.setPlaceholderText("Search all that is shown (Ctrl+F)")
        self.search.setClearButtonEnabled(True)
        name_control(
            self.search, "Search all that is shown", "Every word must be found in a row; Escape empties it"
        )
        self.add = button("Add a filter", "ledger_add_filter")
        self.row = QHBoxLayout()
        self.row.setSpacing(GAP)
        self.row.addWidget(self.search, 1)
        self.row.addWidget(self.add)
        self.strip = QWidget()
        self._flow = FlowLayout(self.strip, gap=HALF_GAP)
        self.drop_all = button("Take all away", "ledger_drop_filters")
        self.strip.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addLayout(self.row)
        column.addWidget(self.strip)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_SEARCH_DELAY_MS)
        self._timer.timeout.connect(self.search_now)
        self.search.textChanged.connect(lambda _text: self._timer.start())
        self.search.returnPressed.connect(self.search_now)
        self.add.clicked.connect(self.add_wanted)
        self.drop_all.clicked.connect(self.all_dropped)

    def search_now(self) -> None:
        """Look for the words at once."""
        self._timer.stop()
        self.searched.emit(self.search.text())

    def show_filters(self, chips: tuple[Chip, ...], needle: str) -> None:
        """Show the filters; showing them twice changes nothing."""
        if not self._timer.isActive() and self.search.text() != needle:
            with QSignalBlocker(self.search):
                self.search.setText(needle)
        if chips != self._shown:
            self._build(chips)
        self.strip.setVisible(bool(chips))

    def _build(self, chips: tuple[Chip, ...]) -> None:
        had_focus = any(chip.hasFocus() for chip in self.chips)
        while self._flow.count():
            self._flow.takeAt(0)
        for old in self.chips:
            old.hide()
            old.deleteLater()
        self._shown = chips
        self.chips = tuple(self._chip(at, chip) for at, chip in enumerate(chips))
        self.drop_all.setVisible(len(chips) > 1)
        for widget in (*self.chips, *((self.drop_all,) if len(chips) > 1 else ())):
            self._flow.addWidget(widget)
        if had_focus:
            (self.chips[0] if self.chips else self.search).setFocus(Qt.FocusReason.OtherFocusReason)

    def _chip(self, at: int, chip: Chip) -> QPushButton:
        made = button(f"{chip.text.replace('&', '&&')}  {_CROSS}", f"ledger_chip_{at + 1}")
        name_control(made, f"Filter: {chip.text}", "Press to take this filter away")
        made.setToolTip("Take this filter away")
        made.clicked.connect(lambda: self.dropped.emit(chip.condition))
        made.setParent(self.strip)
        made.show()
        return made
