"""The plan of an evening that was kept: whether it still holds, and which of its attempts is next."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.plans import EveningPlan
    from stirfall.session.tonight_progress import PlanLine

_AFTER_H = 6.0  # an evening may run late; after that its plan is over


def plan_in_force(state: CampaignState, now: datetime) -> EveningPlan | None:
    """Return the plan that is kept for an evening to come or under way, None where there is none."""
    plan = state.evening
    if plan is None or now > plan.begins_at + timedelta(hours=plan.hours + _AFTER_H):
        return None
    return plan


def line_in_turn(workspace: Workspace) -> tuple[EveningPlan, PlanLine] | None:
    """Return the kept plan with the line whose turn it is, None where nothing is to be done."""
    from stirfall.session.tonight_progress import next_line

    document = workspace.document
    plan = plan_in_force(document.state, document.now()) if document is not None else None
    if document is None or plan is None:
        return None
    line = next_line(document.state, plan)
    return (plan, line) if line is not None else None


def form_request(plan: EveningPlan, line: PlanLine) -> FormRequest:
    """Return what puts a line of the plan into the bench form."""
    planned = line.planned
    origin = sentence("plan_page.from_plan", {"place": line.place + 1, "count": len(plan.attempts)})
    return FormRequest(planned.conditions, planned.jar_id, origin, planned=True)


def fill_in_next(workspace: Workspace) -> bool:
    """Put the attempt whose turn it is into the bench form, and show that."""
    found = line_in_turn(workspace)
    if found is None:
        return False
    workspace.request_form(form_request(*found))
    return True


def begin_next(workspace: Workspace) -> bool:
    """Begin the guided run of the attempt whose turn it is; a run that is open is shown instead."""
    found = line_in_turn(workspace)
    if found is None:
        return False
    plan, line = found
    if workspace.open_run is None:
        workspace.form_requested.emit(form_request(plan, line))
    workspace.request_run(line.planned.jar_id or "")
    return True
