"""The section "Compare": two groups of attempts, and whether they differ by more than chance."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.desktop.odds.scrolled import ScrolledView
from stirfall.desktop.workspace import Workspace


class CompareSection(ScrolledView):
    """One column."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_compare", "Compare", parent)
        self.workspace = workspace
