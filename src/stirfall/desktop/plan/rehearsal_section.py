"""The section "Rehearsal" of the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.odds.scrolled import ScrolledView

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from stirfall.desktop.workspace import Workspace

_EMPTY = "A rehearsal plays whole campaigns on the computer and tells how many attempts and weeks to expect."


class RehearsalSection(ScrolledView):
    """Says what will appear here."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("plan_rehearsal", "Rehearsal", parent)
        self.workspace = workspace
        self.show_message(_EMPTY)
