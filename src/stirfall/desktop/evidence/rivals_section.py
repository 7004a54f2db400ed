"""The section "Rival explanations": what the data say of each explanation, and the pair that would tell."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.desktop.odds.scrolled import ScrolledView
from stirfall.desktop.workspace import Workspace


class RivalsSection(ScrolledView):
    """One column."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_rivals", "Rival explanations", parent)
        self.workspace = workspace
