"""What the dialogs of a new and of an open campaign share: a live line about the operating window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLabel, QWidget

from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.theme import set_text_role

if TYPE_CHECKING:
    from stirfall.desktop.campaign.form_model import FormModel, FormState
    from stirfall.desktop.campaign.parts import Parts


class CampaignDialog(FramedDialog):
    """A dialog over the parts of a campaign; above its verbs stands what the entries mean together."""

    def __init__(self, title: str, parent: QWidget | None) -> None:
        super().__init__(title, parent)
        self.window_line = QLabel()
        self.window_line.setObjectName("campaign_window")
        self.window_line.setWordWrap(True)

    def follow_window(self, model: FormModel, parts: Parts) -> None:
        """Show the operating window of a form below every part but the one about the model."""
        self.insert_above_problem(self.window_line)
        parts.shown.connect(lambda part: self.window_line.setVisible(part != "model"))
        model.changed.connect(self._show_window)
        self._show_window(model.state)

    def _show_window(self, state: FormState) -> None:
        set_text_role(self.window_line, "" if state.has_window else "caution")
        mark = "" if state.has_window else "\u26a0 "
        self.window_line.setText(mark + state.notes["window"])
