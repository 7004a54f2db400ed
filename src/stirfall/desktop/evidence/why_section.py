"""The section "Why": the attempts that are most like a surprising one, and what differed."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.desktop.odds.scrolled import ScrolledView
from stirfall.desktop.workspace import Workspace


class WhySection(ScrolledView):
    """One column."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_why", "Why", parent)
        self.workspace = workspace
