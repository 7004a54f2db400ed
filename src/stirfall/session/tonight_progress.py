"""How far an evening's plan was carried out: which of its lines have an attempt, and which is next."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.records import Attempt


@dataclass(frozen=True)
class PlanLine:
    """One line of a plan, at ``place`` (0 is the first), with the attempt that was recorded for it.

    ``is_gone`` says that its jar left the shelf without one.
    """

    place: int
    planned: PlannedAttempt
    attempt: Attempt | None = None
    is_gone: bool = False

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do."""
        return self.attempt is not None or self.is_gone


def plan_lines(state: CampaignState, plan: EveningPlan) -> tuple[PlanLine, ...]:
    """Return every line of a plan with what became of it.

    An attempt belongs to a line when it was made with the line's jar, or like it without one, after the plan was
    made; each attempt to one line only. Struck-out attempts do not count, aborted ones do.
    """
    made = [
        each
        for each in state.attempts
        if not each.is_struck and (at := each.started_at or each.recorded_at) is not None and at >= plan.made_at
    ]
    found = []
    for place, planned in enumerate(plan.attempts):
        attempt = next((each for each in made if each.jar_id == planned.jar_id), None)
        if attempt is not None:
            made.remove(attempt)
        jar = state.jar(planned.jar_id)
        gone = attempt is None and planned.jar_id is not None and (jar is None or jar.emptied_at is not None)
        found.append(PlanLine(place, planned, attempt, gone))
    return tuple(found)


def next_line(state: CampaignState, plan: EveningPlan) -> PlanLine | None:
    """Return the line whose turn it is; None when all are done or the plan was dropped."""
    if plan.dropped_at is not None:
        return None
    return next((line for line in plan_lines(state, plan) if not line.is_done), None)
