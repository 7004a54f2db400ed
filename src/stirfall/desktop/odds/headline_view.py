"""The answer in words and one large number; it keeps its places when the numbers change."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QComboBox,
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

from stirfall.desktop.bench_form.look import guard_from_wheel
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.elided import ElidedLabel
from stirfall.desktop.odds.state import Headline, OddsState
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.shares import basis, percent, span

_CAUTION_SIGN = "⚠"
_DETAIL_LINES = 8
_LOT_LETTERS = 6
_WIDEST = 0.88
"""A probability as wide as most: what stands beside the number then keeps its place."""
_BETWEEN = " · "


class HeadlineView(QWidget):
    """Shows a Headline.

    Signals:
        taken(): the conditions in hand shall go into the form.
        details_toggled(bool): the details shall be shown or hidden.
        lot_chosen(str): the answer shall be for another lot; the key of a LotChoice.
    """

    taken = Signal()
    details_toggled = Signal(bool)
    lot_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_compact = False
        self._lot_is_beside_number: bool | None = None
        self._headline = Headline()
        self.title = self._label("odds_title", "heading")
        self.number = self._label("odds_number", "large")
        self.certainty = self._label("odds_certainty")
        self.gates = self._label("odds_gates", "muted")
        self.direction = self._label("odds_direction", wrap=True)
        self.stage = ElidedLabel()
        self.stage.setObjectName("odds_stage")
        set_text_role(self.stage, "muted")
        self.lot = QComboBox()
        self.lot.setObjectName("odds_lot")
        guard_from_wheel(self.lot)
        self.lot.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.lot.setMinimumContentsLength(_LOT_LETTERS)
        self.lot.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        name_control(self.lot, "Lot", "Which lot of metal the odds are for")
        self.lot.hide()
        self.lot.activated.connect(lambda index: self.lot_chosen.emit(self.lot.itemData(index)))
        self.note = self._label("odds_note", "muted", wrap=True)
        self.details = self._label("odds_details", "muted", wrap=True)
        self.details_area = QScrollArea()
        self.details_area.setObjectName("odds_details_area")
        self.details_area.setWidgetResizable(True)
        self.details_area.setFrameShape(QFrame.Shape.NoFrame)
        self.details_area.setWidget(self.details)
        self.details_area.setVisible(False)
        name_control(self.details_area, "Details", "How sure this is and what it rests on")
        self.take = QPushButton("Put into the form")
        self.take.setObjectName("odds_take")
        name_control(self.take, "Put into the form", "Put the conditions in hand into the bench form")
        self.take.clicked.connect(self.taken)
        self.more = QPushButton("Details")
        self.more.setObjectName("odds_more")
        self.more.setCheckable(True)
        name_control(self.more, "Details", "Show how sure this is and what it rests on")
        self.more.clicked.connect(self.details_toggled)
        self._arrange()

    def _label(self, name: str, role: str = "", *, wrap: bool = False) -> QLabel:
        label = QLabel()
        label.setObjectName(name)
        label.setWordWrap(wrap)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        if role:
            set_text_role(label, role)
        if wrap:
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        return label

    def _arrange(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(SPACING)
        top.addWidget(self.title, 1)
        top.addWidget(self.take)
        top.addWidget(self.more)
        self._grid = grid = QGridLayout()
        grid.setHorizontalSpacing(2 * SPACING)
        grid.setVerticalSpacing(0)
        grid.addWidget(self.number, 0, 0, 4, 1, Qt.AlignmentFlag.AlignVCenter)
        grid.addWidget(self.direction, 2, 1, 1, 2)
        self._place_lot(beside_number=True)
        grid.setColumnStretch(1, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING // 2)
        column.addLayout(top)
        column.addLayout(grid)
        column.addWidget(self.note)
        column.addWidget(self.details_area)
        self.setTabOrder(self.take, self.more)

    def _place_lot(self, *, beside_number: bool) -> None:
        """Put the selector of the lot beside the numbers, or where that is too narrow beside the stage."""
        if beside_number == self._lot_is_beside_number:
            return
        self._lot_is_beside_number = beside_number
        for widget in (self.certainty, self.gates, self.lot, self.stage):
            self._grid.removeWidget(widget)
        at_right = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
        self._grid.addWidget(self.lot, *((0, 2, 2, 1) if beside_number else (3, 2, 1, 1)), at_right)
        for row, label in enumerate((self.certainty, self.gates)):
            self._grid.addWidget(label, row, 1, 1, 1 if beside_number else 2)
        self._grid.addWidget(self.stage, 3, 1, 1, 2 if beside_number else 1)

    def _fit_lot(self) -> None:
        longest = f"clean separation: {span(0.0, 1.0)}, 888 attempts"
        widths = (
            self.number.minimumWidth(),
            self.certainty.fontMetrics().horizontalAdvance(longest),
            self.lot.minimumSizeHint().width(),
        )
        self._place_lot(beside_number=sum(widths) + 4 * SPACING <= self.width())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Find the selector of the lot a place where it leaves the numbers whole."""
        super().resizeEvent(event)
        self._fit_lot()

    def set_compact(self, is_compact: bool) -> None:
        """Reserve one line for the note instead of two."""
        if is_compact != self._is_compact:
            self._is_compact = is_compact
            self._render_note(self._headline)

    def _reserve(self) -> None:
        """Keep the room of the note also while it is short, so that nothing jumps."""
        lines = 1 if self._is_compact else 2
        self.note.setMinimumHeight(lines * self.note.fontMetrics().lineSpacing())

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show the answer of a state; a stale one is greyed, not removed."""
        self._headline = headline = state.headline
        is_stale = state.is_stale
        estimate = headline.estimate
        self.title.setText(headline.title)
        self.number.setText(percent(estimate.mean) if estimate else "–")
        self.number.ensurePolished()
        self.number.setMinimumWidth(self.number.fontMetrics().horizontalAdvance(percent(_WIDEST)))
        certainty = gates = ""
        if estimate:
            certainty = f"clean separation: {span(estimate.lower, estimate.upper)}, {basis(estimate)}"
            gates = _BETWEEN.join(f"{word}: {percent(gate.mean)}" for word, gate in headline.gates)
        self.certainty.setText(certainty)
        self.gates.setText(gates)
        self.gates.setVisible(bool(gates))
        self.direction.setText(headline.direction)
        self._fit_lot()
        self._render_note(headline)
        self._render_details(state)
        self._render_lots(state)
        self.take.setEnabled(headline.can_take)
        for label in (self.number, self.certainty, self.direction):
            self._grey(label, is_stale)
        self.stage.setText(state.stage)
        said = (
            f"{headline.title}: {self.number.text()}, {certainty}. {headline.direction} {state.stage} "
            f"{headline.caution}"
        )
        self.setAccessibleDescription(" ".join(said.split()))

    def _render_lots(self, state: OddsState) -> None:
        """Offer the lots that the answer knows; a first answer that is to be refined keeps the place."""
        shown = [(self.lot.itemData(place), self.lot.itemText(place)) for place in range(self.lot.count())]
        wanted = [(choice.key, choice.text) for choice in state.lot_choices]
        with QSignalBlocker(self.lot):
            if shown != wanted:
                self.lot.clear()
                for key, text in wanted:
                    self.lot.addItem(text, key)
            self.lot.setCurrentIndex(self.lot.findData(state.lot_choice))
        self.lot.setVisible(bool(wanted))

    def _render_note(self, headline: Headline) -> None:
        """Show the caution where there is one, else what was filled in and left out."""
        if headline.caution:
            text = f"{_CAUTION_SIGN} {headline.caution}"
        else:
            left_out = headline.left_out_short if self._is_compact else headline.left_out
            text = " ".join(part for part in (headline.filled, left_out) if part)
        self.note.setText(text)
        set_text_role(self.note, "caution" if headline.caution else "muted")
        self._reserve()
        self.note.setAlignment(Qt.AlignmentFlag.AlignTop)

    def _render_details(self, state: OddsState) -> None:
        headline, show_details = state.headline, state.show_details
        about, further = headline.details[:1], headline.details[1:]
        lines = [*about, *state.separation, *further, headline.filled_in_full, headline.left_out]
        self.details.setText("\n".join(line for line in lines if line))
        self.details_area.setVisible(show_details)
        self.details_area.setFixedHeight(_DETAIL_LINES * self.details.fontMetrics().lineSpacing())
        self.more.setChecked(show_details)

    def _grey(self, label: QLabel, is_stale: bool) -> None:
        usual = "large" if label is self.number else ""
        label.setProperty("greyed", is_stale)
        if label is self.number:
            label.setEnabled(not is_stale)
        else:
            set_text_role(label, "muted" if is_stale else usual)
