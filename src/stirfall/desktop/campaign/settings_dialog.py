"""The settings of the open campaign, changed at any time without touching a recorded attempt."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.campaign.fields import CampaignFields
from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel
from stirfall.desktop.campaign.form_state import form_of
from stirfall.desktop.campaign.model_facts import ModelFacts, facts_of
from stirfall.desktop.campaign.model_fields import ModelFields
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_button_role
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from stirfall.bench.records import CampaignSettings
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.analysis import Analysis

PARTS = ("metal", "model")
_WORDS = {"metal": "Metal and o&il", "model": "&What the model assumes"}


class CampaignSettingsDialog(FramedDialog):
    """Edits a copy of the settings in two parts; one command when the person saves."""

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
        self.assumptions = ModelFields(self.model, facts)
        self._pages: dict[str, FormGrid] = {"metal": self.fields, "model": self.assumptions}
        self._buttons = {name: self._part_button(name) for name in PARTS}
        self._stack = QStackedWidget()
        for page in self._pages.values():
            self._stack.addWidget(_at_the_top(page))
        self.build(self._make_content(), "&Save settings").clicked.connect(self._save)
        self.fit(108 * SPACING)
        self.show_part(part)

    @property
    def part(self) -> str:
        """The part that is shown."""
        return PARTS[self._stack.currentIndex()]

    def part_button(self, part: str) -> QPushButton:
        """Return the button that shows a part."""
        return self._buttons[part]

    def show_part(self, part: str) -> None:
        """Show one of the parts."""
        self._buttons[part].setChecked(True)
        self._stack.setCurrentIndex(PARTS.index(part))

    def _part_button(self, part: str) -> QPushButton:
        button = QPushButton(_WORDS[part])
        button.setObjectName(f"campaign_part_{part}")
        button.setCheckable(True)
        button.setAutoDefault(False)
        set_button_role(button, "step")
        name_control(button, _WORDS[part].replace("&", ""))
        button.toggled.connect(lambda on: self.show_part(part) if on else None)
        return button

    def _make_content(self) -> QWidget:
        content = QWidget()
        row = QHBoxLayout()
        row.setSpacing(0)
        group = QButtonGroup(self)
        for button in self._buttons.values():
            group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * SPACING)
        column.addLayout(row)
        column.addWidget(self._stack, 1)
        return content

    def _show_problem(self) -> None:
        for part, page in self._pages.items():
            if page.focus_first_problem():
                self.show_part(part)
                page.focus_first_problem()
                return

    def _save(self) -> None:
        settings = self.model.submit()
        if settings is None:
            self._show_problem()
            return
        if settings != self._before and self._workspace.execute(ChangeSettings(settings), origin=self) is None:
            return
        if settings != self._before:
            self._workspace.notifier.info(sentence("desktop.settings_changed"), "Undo", self._workspace.undo)
        self.accept()


def _at_the_top(page: QWidget) -> QWidget:
    holder = QWidget()
    column = QVBoxLayout(holder)
    column.setContentsMargins(0, 0, 0, 0)
    column.addWidget(page)
    column.addStretch(1)
    return holder


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
