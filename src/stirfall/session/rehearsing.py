"""A rehearsal of the open campaign: its truths from the analysis, its jars and its calendar from the session."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, tzinfo
from pathlib import Path

from stirfall.bench.ages import hours_between
from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Role
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import LOT_EFFECT_LOT, Jar
from stirfall.inference.forms import Form
from stirfall.planning.box import make_box
from stirfall.planning.limits import jar_findings
from stirfall.planning.orders import Order
from stirfall.planning.rehearsal import ORDERS, Guess, Kept, Progress, RehearsalTask, Rehearsed, Rules, rehearse
from stirfall.planning.rehearsal_calendar import BenchCalendar, ShelfJar
from stirfall.planning.rehearsal_task import age_factors
from stirfall.planning.rehearsal_truth import Truth, drawn_truths, guessed_truths
from stirfall.session.analysis import Analysis
from stirfall.session.film_factor import film_factor_of, has_age, prepare
from stirfall.session.forecast_evenings import at_hour, local_day
from stirfall.storage.rehearsal_file import begun_at

CAMPAIGNS, MOST = 50, 30
_MOST_CAMPAIGNS, _MOST_ATTEMPTS = 4096, 200
# Evenings are told for three years; then those of the last week repeat.
_WEEKS = 156


def rehearse_session(
    analysis: Analysis,
    *,
    now: datetime,
    orders: Sequence[Order | str] = ORDERS,
    campaigns: int = CAMPAIGNS,
    target: float | None = None,
    most: int = MOST,
    guess: Guess | None = None,
    seed: int = 0,
    jobs: int = -1,
    cluster: str | None = None,
    record: Path | Kept | None = None,
    progress: Progress | None = None,
    token: CancelToken | None = None,
    tz: tzinfo | None = None,
) -> Rehearsed:
    """Rehearse the campaign of a refined analysis from ``now`` on, and return what to expect.

    Arguments as in ``rehearsal_task`` and ``planning.rehearsal.rehearse``. A record that was begun earlier is gone
    on with from its own beginning, so that its weeks stay comparable.
    """
    earlier = begun_at(record) if isinstance(record, Path) else None
    task = rehearsal_task(
        analysis,
        now=earlier or now.replace(microsecond=0),
        campaigns=campaigns,
        target=target,
        most=most,
        guess=guess,
        seed=seed,
        tz=tz,
    )
    return rehearse(task, orders=orders, jobs=jobs, cluster=cluster, record=record, progress=progress, token=token)


def rehearsal_task(
    analysis: Analysis,
    *,
    now: datetime,
    campaigns: int = CAMPAIGNS,
    target: float | None = None,
    most: int = MOST,
    guess: Guess | None = None,
    seed: int = 0,
    tz: tzinfo | None = None,
) -> RehearsalTask:
    """Return what is to be rehearsed: truths from the analysis' draws, or from ``guess`` where one is stated.

    ``target`` None is that of the campaign's plan. New jars are of the lot that the analysis answers for, None: a
    new lot. Raises InputError ``limits.*`` where nothing may be tried, ``plan.no_factors``, ``rehearsal.*``.
    """
    state, plan = analysis.state, analysis.state.settings.plan
    target = plan.target if target is None else target
    _check(campaigns, target, most)
    analysis.limits.raise_if_blocked()
    if not analysis.limits.factors:
        raise InputError("plan.no_factors")
    rules = Rules(
        state=_bare(state),
        calendar=bench_calendar(plan, now, tz),
        shelf=_shelf(analysis, now),
        jars_at_once=plan.jars_at_once if analysis.limits.may_wait else 1,
        target=target,
        most=most,
        seed=seed,
        gates=analysis.table.gates,
        lot=analysis.lot,
        filler=analysis.model.design.filler,
        without=prepare(state).without,
        form=_form(analysis),
        may_wait=analysis.limits.may_wait,
    )
    return RehearsalTask(
        rules,
        _truths(analysis, guess, campaigns, seed),
        "guess" if guess is not None else "posterior" if analysis.limits.tried.any_graded else "prior",
        now,
        state.settings.level,
        tuple(_assumed(analysis, rules, guess, plan)),
        f"{analysis.stage} {analysis.seed} {guess!r}",
    )


def bench_calendar(plan: PlanSettings, now: datetime, tz: tzinfo | None = None) -> BenchCalendar:
    """Return the bench evenings to come, in hours from ``now``, by the local clock; one that runs already counts.

    An attempt that takes longer than an evening is made all the same, one an evening.
    """
    first = local_day(now, tz) - timedelta(days=1)
    days = (first + timedelta(days=each) for each in range(7 * _WEEKS + 1))
    starts = [
        hours_between(now, at_hour(day, plan.evening_hour, tz))
        for day in days
        if day.isoweekday() in plan.bench_days
    ]
    per_evening = max(1, int(plan.evening_h / plan.attempt_h + 1e-9))
    return BenchCalendar(tuple(at for at in starts if at + plan.evening_h > 0), per_evening, plan.attempt_h)


def _check(campaigns: int, target: float, most: int) -> None:
    if not 1 <= campaigns <= _MOST_CAMPAIGNS:
        raise InputError("rehearsal.campaigns", value=campaigns, most=_MOST_CAMPAIGNS)
    if not 0 < target < 1:
        raise InputError("rehearsal.target", value=target)
    if not 1 <= most <= _MOST_ATTEMPTS:
        raise InputError("rehearsal.most", value=most, most=_MOST_ATTEMPTS)


def _bare(state: CampaignState) -> CampaignState:
    """Return the campaign without what rehearsals do not read."""
    return CampaignState(state.settings, state.factors, state.lots, state.jars, state.attempts)


def _shelf(analysis: Analysis, now: datetime) -> tuple[ShelfJar, ...]:
    """Return the jars that may be opened; none for a metal whose jars must never wait."""
    state = analysis.state
    if not analysis.limits.may_wait:
        return ()
    usable = (jar for jar in state.shelf if not any(f.level == "block" for f in jar_findings(state, jar, now)))
    return tuple(_on_shelf(analysis, jar, now) for jar in usable)


def _on_shelf(analysis: Analysis, jar: Jar, now: datetime) -> ShelfJar:
    state = analysis.state
    lot = state.lot(jar.lot_id)
    begun = {Role.SAMPLE_AGE: None if lot is None else lot.made_at, Role.OIL_EXPOSURE: jar.started_at}
    starts = (begun.get(factor.role) if factor.role else None for factor in age_factors(state))
    by_lot = analysis.table.grouping == LOT_EFFECT_LOT
    return ShelfJar(
        tuple(None if at is None else hours_between(now, at) for at in starts), jar.lot_id if by_lot else None
    )


def _form(analysis: Analysis) -> Form | None:
    """Return the heaviest form that grades attempts as the campaign does, None in the first answer."""
    scores = [score for score in analysis.forms if score.form.gates == analysis.table.gates]
    return max(scores, key=lambda score: score.weight).form if scores else None


def _truths(analysis: Analysis, guess: Guess | None, count: int, seed: int) -> Sequence[Truth]:
    if guess is None:
        return drawn_truths(analysis.model, analysis.base, count=count, seed=seed)
    guess.check(analysis.limits.factors)
    box = make_box(analysis.limits, [factor.name for factor in analysis.limits.factors])
    return guessed_truths(guess, box, count=count, seed=seed)


def _assumed(analysis: Analysis, rules: Rules, guess: Guess | None, plan: PlanSettings) -> Iterator[Reason]:
    graded = analysis.limits.tried.graded
    if guess is not None:
        yield Reason("rehearsal.from_guess", {"best": round(100 * guess.best)})
    elif graded:
        yield Reason("rehearsal.from_posterior", {"count": graded})
    else:
        yield Reason("rehearsal.from_prior")
    yield Reason("rehearsal.calendar", {"days": len(plan.bench_days), "each": rules.calendar.per_evening})
    if not analysis.limits.may_wait:
        yield Reason("rehearsal.never_waits")
    elif rules.age_factors:
        yield Reason("rehearsal.jars", {"at_once": rules.jars_at_once, "shelf": len(rules.shelf)})
    elif film_factor_of(analysis.state) is not None and not has_age(analysis.state):
        yield Reason("rehearsal.film_waits_untold")
    grouping = analysis.table.grouping
    if rules.lot is not None:
        yield Reason("rehearsal.one_lot", {"lot": rules.lot})
    elif analysis.lots and grouping == LOT_EFFECT_LOT:
        yield Reason("rehearsal.new_lot")
    elif analysis.lots:
        yield Reason("rehearsal.new_group", {"what": grouping})
    yield Reason("rehearsal.plainly", {"target": round(100 * rules.target, 1)})
