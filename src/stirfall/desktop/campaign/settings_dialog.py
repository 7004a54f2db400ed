"""The settings of the open campaign, changed at any time without touching a recorded attempt."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QPushButton, QWidget

from stirfall.desktop.campaign.campaign_dialog import CampaignDialog
from stirfall.desktop.campaign.fields import CampaignFields
from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel
from stirfall.desktop.campaign.form_state import form_of
from stirfall.desktop.campaign.limits_fields import LimitsFields
from stirfall.desktop.campaign.materials_fields import MaterialsFields
from stirfall.desktop.campaign.model_facts import ModelFacts, facts_of
from stirfall.desktop.campaign.model_fields import ModelFields
from stirfall.desktop.campaign.own_limits import additive_levels
from stirfall.desktop.campaign.parts import Parts
from stirfall.desktop.theme import SPACING
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from stirfall.bench.records import CampaignSettings
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.analysis import Analysis


class CampaignSettingsDialog(CampaignDialog):
    """Edits a copy of the settings in four parts; one command when the person saves."""

    def __init__(
        self,
        workspace: Workspace,
        settings: CampaignSettings,
        parent: QWidget | None = None,
        *,
        part: str = "metal",
    ) -> None:
        super().__init__("Campaign settings", parent)
        self._workspace = workspace
        self._before = settings
        facts = _facts(workspace)
        decimal = workspace.decimal
        form = facts.usable(form_of(settings, decimal=decimal))
        self.model = FormModel(form, settings, facts, decimal=decimal, parent=self)
        self.fields = CampaignFields(self.model)
        self.materials = MaterialsFields(self.model)
        self.limits = LimitsFields(self.model, _additive_levels(workspace))
        self.assumptions = ModelFields(self.model, facts)
        pages: dict[str, FormGrid] = {
            "metal": self.fields,
            "materials": self.materials,
            "limits": self.limits,
            "model": self.assumptions,
        }
        self.parts = Parts(pages)
        self.build(self.parts, "&Save settings").clicked.connect(self._save)
        self.follow_window(self.model, self.parts)
        self.fit(108 * SPACING)
        self.show_part(part)

    @property
    def part(self) -> str:
        """The part that is shown."""
        return self.parts.part

    def part_button(self, part: str) -> QPushButton:
        """Return the button that shows a part."""
        return self.parts.button(part)

    def show_part(self, part: str) -> None:
        """Show one of the parts."""
        self.parts.show_part(part)

    def _save(self) -> None:
        settings = self.model.submit()
        if settings is None:
            self.parts.show_problem()
            return
        if settings != self._before and self._workspace.execute(ChangeSettings(settings), origin=self) is None:
            return
        if settings != self._before:
            self._workspace.notifier.info(sentence("desktop.settings_changed"), "Undo", self._workspace.undo)
        self.accept()


def _additive_levels(workspace: Workspace) -> tuple[str, ...]:
    """Return the levels of the factors that choose an additive, those for none left out."""
    if workspace.document is None:
        return ()
    return additive_levels(workspace.document.state.factors)


def _facts(workspace: Workspace) -> ModelFacts:
    if workspace.document is None:
        return ModelFacts()
    return replace(facts_of(workspace.document.state), forms=_forms(workspace.analysis))


def _forms(analysis: Analysis | None) -> tuple[tuple[str, str], ...]:
    """Return the forms that the attempts could speak for when they were last read, key and words."""
    if analysis is None:
        return ()
    from stirfall.inference.forms import candidate_forms

    forms = candidate_forms(analysis.base.design, analysis.table)
    return tuple((form.key, sentence(form.code, form.params)) for form in forms)
