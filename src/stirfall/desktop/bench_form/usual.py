"""The campaign's usual values: kept from the form, and filled into it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.desktop.bench_form.form import is_age
from stirfall.desktop.notifier import Notice
from stirfall.desktop.workspace import FormRequest
from stirfall.session.commands import ChangeFactors

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace


def usual_factors(conditions: Conditions, campaign: CampaignState) -> tuple[Factor, ...]:
    """Return the factors with the values of the form as their usual ones.

    Ages are the clock's, and a value that is unknown or outside the campaign's range is nobody's usual one: those
    keep what they had.
    """
    return tuple(_with_usual(factor, conditions) for factor in campaign.factors)


def _with_usual(factor: Factor, conditions: Conditions) -> Factor:
    value = conditions.get(factor.name)
    if value is None or factor.hidden or is_age(factor) or not factor.holds(value):
        return factor
    return replace(factor, default=value)


def keep_usual(workspace: Workspace, conditions: Conditions, origin: object) -> bool:
    """Keep the values of the form as this campaign's usual ones; return whether any is another than before."""
    document = workspace.document
    if document is None:
        return False
    factors = usual_factors(conditions, document.state)
    if factors == document.state.factors:
        workspace.notify(Notice("info", "These are the usual values already."))
        return False
    if workspace.execute(ChangeFactors(factors), origin=origin) is None:
        return False
    text = "The values of the form are now this campaign's usual ones; a cleared form begins with them."
    workspace.notify(Notice("info", text, "Undo", workspace.undo))
    return True


def fill_usual(workspace: Workspace, jar_id: str | None) -> None:
    """Fill the form with the usual values; the jar that was picked stays picked, ages stay with the clock."""
    document = workspace.document
    if document is None:
        return
    pairs = [
        (factor.name, factor.default)
        for factor in document.state.visible_factors
        if factor.default is not None and not is_age(factor)
    ]
    workspace.request_form(FormRequest(Conditions(pairs), jar_id, "the usual values"))
