"""The melt panel: a picture over temperature, and what it means for the attempt in hand as short lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from stirfall.desktop.bench_form.look import button
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.physics.fact_lines import FactColumn
from stirfall.desktop.physics.melt_plot import MeltPlot
from stirfall.desktop.physics.melt_state import QUANTITIES, MeltState, MeltViewModel, Quantity
from stirfall.desktop.theme import SPACING, set_button_role, set_text_role
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.physics.melt_state import ReportMaker
    from stirfall.desktop.workspace import Workspace

_WORDS: dict[Quantity, str] = {"density": "Density", "viscosity": "Viscosity"}
_PLOT_PX, _PLOT_LINES = 240, 14  # at least, in pixels and in lines of text


class MeltPanel(ScrolledView):
    """Shows a MeltState and passes wishes on; it decides nothing."""

    def __init__(
        self, workspace: Workspace, make: ReportMaker | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__("melt_panel", "Melt", parent)
        self._workspace = workspace
        self.view_model = MeltViewModel(workspace, make, self)
        self.title = wrapped_label("melt_title")
        set_text_role(self.title, "heading")
        self.switches: dict[Quantity, QPushButton] = {}
        self.plot = MeltPlot(workspace.theme)
        self.no_plot = wrapped_label("melt_no_plot", "muted")
        self.facts = FactColumn("melt_facts")
        self.settings = button(sentence("melt_panel.settings"), "melt_settings")
        self.footnote = wrapped_label("melt_footnote", "muted")
        self.footnote.setText(sentence("melt_panel.footnote"))
        self._arrange()
        self.settings.clicked.connect(self.view_model.open_settings)
        workspace.theme_changed.connect(self.plot.apply_theme)
        self.follow(self.view_model, workspace)

    def _arrange(self) -> None:
        self.column.setContentsMargins(2 * SPACING, SPACING, 2 * SPACING, SPACING)
        self.column.addWidget(self.title)
        row = QHBoxLayout()
        row.setSpacing(0)
        group = QButtonGroup(self)
        for quantity in QUANTITIES:
            switch = self._switch(quantity)
            group.addButton(switch)
            row.addWidget(switch)
        row.addStretch(1)
        self.column.addLayout(row)
        self.plot.setMinimumHeight(_PLOT_PX)
        self.column.addWidget(self.plot, 1)
        self.column.addWidget(self.no_plot)
        self.column.addWidget(self.facts)
        foot = QHBoxLayout()
        foot.addWidget(self.settings)
        foot.addStretch(1)
        self.column.addLayout(foot)
        self.column.addWidget(self.footnote)

    def _switch(self, quantity: Quantity) -> QPushButton:
        switch = QPushButton(_WORDS[quantity])
        switch.setObjectName(f"melt_{quantity}")
        switch.setCheckable(True)
        switch.setAutoDefault(False)
        set_button_role(switch, "segment")
        name_control(switch, f"Show {_WORDS[quantity].lower()}", f"{_WORDS[quantity]} over temperature")
        switch.clicked.connect(lambda _checked=False: self.view_model.choose_quantity(quantity))
        self.switches[quantity] = switch
        return switch

    def render(self, state: MeltState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.show_message(state.message)
        if state.message:
            return
        self.title.setText(state.title)
        for quantity, switch in self.switches.items():
            with QSignalBlocker(switch):
                switch.setChecked(quantity == state.quantity)
        self.plot.setMinimumHeight(max(_PLOT_PX, _PLOT_LINES * self.fontMetrics().height()))
        self.plot.setVisible(state.picture is not None)
        self.no_plot.setVisible(state.picture is None)
        self.no_plot.setText(sentence("melt_panel.no_curve", {"quantity": state.quantity}))
        self.plot.show_picture(state.picture, late=state.is_stale, decimal=state.decimal)
        self.facts.show_lines(state.lines, theme=self._workspace.theme, is_stale=state.is_stale)
        self.settings.setVisible(state.wants_settings)
        self.describe(" ".join([self.plot.accessibleDescription(), *(line.text for line in state.lines)]))
