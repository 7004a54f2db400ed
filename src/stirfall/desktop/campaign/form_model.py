"""The view-model of a campaign form: holds what is typed and says which problems to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from PySide6.QtCore import QObject, Signal

from stirfall.bench.records import CampaignSettings
from stirfall.desktop.campaign.edits import with_edit
from stirfall.desktop.campaign.form_state import CampaignForm, read_form
from stirfall.desktop.campaign.model_facts import ModelFacts


@dataclass(frozen=True)
class FormState:
    """Everything the view shows: the typed form, and per field the problem or the note under it."""

    form: CampaignForm
    problems: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    touched: frozenset[str] = frozenset()
    asked: bool = False
    has_window: bool = False


class FormModel(QObject):
    """Reads the form on every change; a problem shows once its field was touched or the whole was asked for.

    ``facts`` adds the sentences that say what each choice about the model changes.

    Signals:
        changed(FormState).
    """

    changed = Signal(object)

    def __init__(
        self,
        form: CampaignForm,
        base: CampaignSettings,
        facts: ModelFacts | None = None,
        *,
        decimal: str = ".",
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._facts = facts
        self._base = base
        self._decimal = decimal
        self.state = self._judged(FormState(form))

    def set_field(self, name: str, value: object) -> None:
        """Change one field, with all that follows from it."""
        form = with_edit(self.state.form, name, value, decimal=self._decimal)
        self._show(replace(self.state, form=form, touched=self.state.touched | {name}))

    def submit(self) -> CampaignSettings | None:
        """Return the settings that the form means; None when something is wrong, and then say what."""
        self._show(replace(self.state, asked=True))
        return read_form(self.state.form, self._base, decimal=self._decimal).settings

    def _show(self, state: FormState) -> None:
        judged = self._judged(state)
        if judged != self.state:
            self.state = judged
            self.changed.emit(judged)

    def _judged(self, state: FormState) -> FormState:
        reading = read_form(state.form, self._base, decimal=self._decimal)
        shown = {
            name: text for name, text in reading.problems.items() if state.asked or _field_of(name) in state.touched
        }
        about = {} if self._facts is None else self._facts.notes(state.form)
        return replace(
            state,
            problems=MappingProxyType(shown),
            notes=MappingProxyType({**reading.notes, **about}),
            has_window=reading.has_window,
        )


def _field_of(name: str) -> str:
    """Return the field that a problem belongs to: those of single additives belong to all of them."""
    return "additives" if name.startswith("additive_") else name
