"""The section "Proof" of the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.odds.scrolled import ScrolledView

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from stirfall.desktop.workspace import Workspace

_EMPTY = "A proof fixes a recipe and a claim beforehand, and its attempts show whether the recipe keeps it."


class ProofSection(ScrolledView):
    """Says what will appear here."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("plan_proof", "Proof", parent)
        self.workspace = workspace
        self.show_message(_EMPTY)
