"""The settings of the open campaign, changed at any time without touching a recorded attempt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.campaign.fields import CampaignFields
from stirfall.desktop.campaign.form_model import FormModel
from stirfall.desktop.campaign.form_state import form_of
from stirfall.desktop.theme import SPACING
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from stirfall.bench.records import CampaignSettings
    from stirfall.desktop.workspace import Workspace


class CampaignSettingsDialog(FramedDialog):
    """Edits a copy of the settings; one command when the person saves."""

    def __init__(self, workspace: Workspace, settings: CampaignSettings, parent: QWidget | None = None) -> None:
        super().__init__("Campaign settings", parent)
        self._workspace = workspace
        self._before = settings
        decimal = workspace.decimal
        self.model = FormModel(form_of(settings, decimal=decimal), settings, decimal=decimal, parent=self)
        self.fields = CampaignFields(self.model, with_details=True)
        self.build(self.fields, "&Save settings").clicked.connect(self._save)
        self.fit(108 * SPACING)

    def _save(self) -> None:
        settings = self.model.submit()
        if settings is None:
            self.fields.focus_first_problem()
            return
        if settings != self._before and self._workspace.execute(ChangeSettings(settings), origin=self) is None:
            return
        if settings != self._before:
            self._workspace.notifier.info(sentence("desktop.settings_changed"), "Undo", self._workspace.undo)
        self.accept()
