"""What was seen beside the conditions, who stirred and with what; for a base metal the look stands here too."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.bench.campaign import CampaignState
from stirfall.desktop.bench_form.look import HALF_GAP
from stirfall.desktop.bench_form.look_edit import LookRow
from stirfall.desktop.bench_form.seen import SEEN, SEEN_NAMES
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.bench_form.typed_edit import TypedGrid
from stirfall.desktop.bench_form.who_edit import WhoEdit


class SeenEdit(QWidget):
    """Humidity, oil volume and temperatures, who and tool; nothing here is needed to record.

    Signals:
        typed(str, str): name of the field and its raw text.
        left(): a line was left.
    """

    typed = Signal(str, str)
    left = Signal()

    def __init__(self, look: LookRow) -> None:
        super().__init__()
        self.grid = TypedGrid(SEEN, empty="not noted")
        self.grid.typed.connect(self.typed)
        self.grid.left.connect(self.left)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        self.words = WhoEdit()
        column.addWidget(look)
        column.addWidget(self.words)
        column.addWidget(self.grid)

    def show_state(self, state: FormState, campaign: CampaignState) -> None:
        """Show what was typed and understood."""
        self.words.show_state(state.form, campaign)
        self.grid.show_state(state.seen, SEEN_NAMES, state.decimal)
