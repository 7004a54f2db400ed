"""What the section "Tonight" asks for in the background: the plan of an evening, and the chances of a kept plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Estimate
from stirfall.desktop.plan.kept import plan_in_force
from stirfall.desktop.plan.tonight_state import BENCH_DAY
from stirfall.planning.goals import Goal

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.plans import EveningPlan
    from stirfall.session.analysis import Analysis
    from stirfall.session.tonight import Tonight


@dataclass(frozen=True)
class Asked:
    """What the person wants: ``hours`` None are the usual ones, ``seed`` None is the first order of the day."""

    evening: str = BENCH_DAY
    hours: float | None = None
    goal: Goal = Goal.LEARN
    seed: int | None = None


@dataclass(frozen=True)
class Answer:
    """The plan that was worked out, and by place the chances of the attempts of a plan that was kept."""

    tonight: Tonight
    kept: Mapping[int, Estimate] = field(default_factory=dict)


def work_out(analysis: Analysis, state: CampaignState, now: datetime, asked: Asked, token: CancelToken) -> Answer:
    """Return the answer; runs on a worker, which loads the libraries that it needs. Raises as ``plan_tonight``."""
    from stirfall.session.tonight import plan_tonight

    hours, begins_at = _evening(state, now, asked)
    tonight = plan_tonight(
        analysis,
        state,
        now,
        hours_free=hours,
        goal=asked.goal,
        seed=asked.seed,
        token=token,
        begins_at=begins_at,
    )
    return with_kept(tonight, analysis, state, now, token)


def with_kept(
    tonight: Tonight, analysis: Analysis, state: CampaignState, now: datetime, token: CancelToken
) -> Answer:
    """Return a plan together with the chances of the plan that is kept now; runs on a worker."""
    plan = plan_in_force(state, now)
    return Answer(tonight, {} if plan is None else _kept_chances(analysis, state, plan, token))


def _evening(state: CampaignState, now: datetime, asked: Asked) -> tuple[float | None, datetime | None]:
    """Return hours and beginning as ``plan_tonight`` takes them."""
    from stirfall.session.tonight_calendar import choose_evening

    usual = state.settings.plan
    if asked.evening != BENCH_DAY:
        return asked.hours if asked.hours is not None else usual.evening_h, None
    if asked.hours is None:
        return None, None
    return asked.hours, choose_evening(usual, now, hours_free=None, begins_at=None, tz=None).begins_at


def _kept_chances(
    analysis: Analysis, state: CampaignState, plan: EveningPlan, token: CancelToken
) -> dict[int, Estimate]:
    found = {}
    for place, planned in enumerate(plan.attempts):
        token.raise_if_cancelled()
        jar = state.jar(planned.jar_id)
        try:
            answer = analysis.for_lot(jar.lot_id if jar is not None else planned.lot_id)
            found[place] = answer.estimate(answer.complete(planned.conditions))
        except StirfallError:
            continue  # a factor that went since: the line then stands without a chance
    return found
