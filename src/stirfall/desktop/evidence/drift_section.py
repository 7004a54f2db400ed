"""The section "Drift": the attempts in time, and whether something has changed."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.desktop.odds.scrolled import ScrolledView
from stirfall.desktop.workspace import Workspace


class DriftSection(ScrolledView):
    """One column."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_drift", "Drift", parent)
        self.workspace = workspace
