"""The Effects view: what each factor does to the odds of each gate, and by how much lots differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import heading, rule
from stirfall.desktop.odds.effects_state import (
    EffectsContent,
    EffectsState,
    RowsBlock,
    effects_content,
    effects_state,
)
from stirfall.desktop.odds.factor_rows import FactorRows
from stirfall.desktop.odds.on_demand import OnDemandViewModel
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.theme import SPACING

if TYPE_CHECKING:
    from PySide6.QtCore import QObject

    from stirfall.desktop.theme import Theme
    from stirfall.desktop.workspace import Workspace

_SLOT = "odds effects"


class EffectsViewModel(OnDemandViewModel[EffectsContent, EffectsState]):
    """Holds one EffectsState, made anew from each analysis while somebody looks."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(workspace, effects_content, slot=_SLOT, parent=parent)
        self.state = self._present()

    def _present(self) -> EffectsState:
        source = self._source
        is_open = self._workspace.document is not None
        return effects_state(source.answer, is_open=is_open, is_stale=source.is_stale, problem=source.problem)


class BlockWidget(QWidget):
    """A heading, a note and rows of effects under one axis."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self.line = rule()
        self.heading = heading("")
        self.heading.setWordWrap(True)
        self.note = wrapped_label(f"{name}_note", "muted")
        self.rows = FactorRows(f"{name}_rows")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, SPACING, 0, SPACING)
        column.setSpacing(SPACING // 2)
        column.addWidget(self.line)
        for widget in (self.heading, self.note, self.rows):
            column.addWidget(widget)

    def render(self, block: RowsBlock, *, reach: float, is_stale: bool, theme: Theme) -> None:  # type: ignore[override]
        """Show a block."""
        self.heading.setText(block.heading)
        self.heading.setVisible(bool(block.heading))
        self.note.setText(block.note)
        self.note.setVisible(bool(block.note))
        self.rows.setVisible(bool(block.rows))
        self.rows.setAccessibleName(block.heading)
        self.rows.render(block.rows, reach=reach, is_stale=is_stale, theme=theme)


class EffectsView(ScrolledView):
    """Shows an EffectsState; it decides nothing."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("odds_effects", "Effects", parent)
        self._workspace = workspace
        self.view_model = EffectsViewModel(workspace, self)
        self.intro = wrapped_label("odds_effects_intro", "muted")
        self.column.addWidget(self.intro)
        self.blocks: list[BlockWidget] = []
        self._gates = QVBoxLayout()
        self._gates.setSpacing(0)
        self.column.addLayout(self._gates)
        self.column.addStretch(1)
        self.follow(self.view_model, workspace)

    def render(self, state: EffectsState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.show_message(state.message if state.phase != "ready" else "")
        self.intro.setText(state.intro)
        while len(self.blocks) < len(state.blocks):
            block = BlockWidget(f"odds_effects_block_{len(self.blocks) + 1}")
            block.rows.walked.connect(self.area.ensureWidgetVisible)
            self.blocks.append(block)
            self._gates.addWidget(block)
        for index, widget in enumerate(self.blocks):
            there = index < len(state.blocks)
            if there:
                widget.render(
                    state.blocks[index], reach=state.reach, is_stale=state.is_stale, theme=self._workspace.theme
                )
            widget.setVisible(there)
        self.describe(state.summary)
