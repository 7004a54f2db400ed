"""Rehearsals: the calendar, the truths, one campaign, what many add up to, and going on with a record."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from scipy.stats import binomtest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import fit_odds
from stirfall.inference.refined import fit_refined
from stirfall.inference.table import build_table
from stirfall.planning.box import make_box
from stirfall.planning.limits import operating_limits
from stirfall.planning.orders import Order
from stirfall.planning.rehearsal import (
    Guess,
    Hump,
    Kept,
    Played,
    RehearsalTask,
    Rules,
    play,
    read_orders,
    rehearse,
    summarise,
)
from stirfall.planning.rehearsal_calendar import SAME_AGE, BenchCalendar, ShelfJar, schedule
from stirfall.planning.rehearsal_fit import quick_fit
from stirfall.planning.rehearsal_summary import distribution, quantile
from stirfall.planning.rehearsal_truth import clean_at, drawn_truths, guessed_truths
from stirfall.reporting.sentences import error_sentence, sentence

AGE = Factor("age", "h", 2.0, 96.0, Scale.LOG, role=Role.OIL_EXPOSURE)
TIME = Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0)
CHOICE = Factor("additive", levels=("none", "rosin"))
BEGUN = datetime(2026, 11, 30, 12, tzinfo=UTC)
# Monday noon; Tuesday, Thursday and Saturday at 18:00, two attempts of 1.5 h in an evening.
WEEK = BenchCalendar((30.0, 78.0, 126.0), 2, 1.5)


def graded(number: int, age: float, time: float, parted: bool, pooled: bool, lot: str | None = None) -> Attempt:
    conditions = Conditions({"age": age, "stirring time": time})
    if not parted:
        return Attempt(f"a{number}", number, conditions, lot_id=lot, parted=Parted.NO)
    pool = Pooled.ONE_POOL if pooled else Pooled.BEADS
    return Attempt(f"a{number}", number, conditions, lot_id=lot, parted=Parted.YES, pooled=pool)


ATTEMPTS = (
    graded(1, 24.0, 120.0, True, True, "L1"),
    graded(2, 4.0, 60.0, False, False, "L1"),
    graded(3, 72.0, 120.0, True, False, "L2"),
    graded(4, 24.0, 60.0, True, False, "L2"),
    graded(5, 12.0, 200.0, True, True, "L1"),
    graded(6, 6.0, 120.0, False, False, "L2"),
)


def campaign(*attempts: Attempt, factors=(AGE, TIME)) -> CampaignState:
    settings = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0)
    return CampaignState(settings, factors, attempts=attempts)


def fitted(state: CampaignState):
    design, table = build_table(state)
    return fit_odds(table, design, state.settings)


def task_of(
    state: CampaignState, *, count: int, target: float = 0.8, most: int = 4, seed: int = 3
) -> RehearsalTask:
    rules = Rules(state, WEEK, (), 3, target, most, seed, gates=2)
    model = fitted(state)
    return RehearsalTask(rules, drawn_truths(model, model, count=count, seed=seed), "posterior", BEGUN)


# ---------------------------------------- the calendar


def hours(ages, shelf=(), jars=1, **others) -> list[float]:
    wanted = [(age,) if not isinstance(age, tuple) else age for age in ages]
    return [booking.at_h for booking in schedule(wanted, shelf, WEEK, jars_at_once=jars, **others)]


def test_a_jar_is_started_so_that_it_is_due_at_the_first_bench_time_possible() -> None:
    # By hand: noon on Monday plus 24 h is before Tuesday 18:00, so the jar is started on Monday at 18:00.
    (only,) = schedule([(24.0,)], (), WEEK)
    assert (only.at_h, only.started_h, only.ends_h, only.shelf_place) == (30.0, 6.0, 31.5, None)
    # The next one is started when the first is over (31.5), due at 55.5: Thursday. The third on Saturday.
    assert hours([24.0, 24.0, 24.0]) == [30.0, 78.0, 126.0]


def test_jars_that_were_started_together_serve_the_same_evening_and_later_ages() -> None:
    # Three at once: the second is opened at 19:30 of the same evening, 25.5 h old, within a tenth of 24 h.
    assert hours([24.0, 24.0, 24.0], jars=3) == [30.0, 31.5, 78.0]
    # One that stays until Thursday 18:00 is then 72 h old; a new one would be due on Saturday.
    assert hours([24.0, 72.0], jars=3) == [30.0, 78.0]
    assert hours([24.0, 72.0], jars=1) == [30.0, 126.0]


def test_a_jar_of_the_shelf_is_used_where_its_age_fits_and_left_where_it_is_too_old() -> None:
    fits, too_old = ShelfJar((-44.0,), "L1"), ShelfJar((-60.0,), "L2")
    (booking,) = schedule([(72.0,)], (too_old, fits), WEEK)  # 74 h and 90 h at 30 h; a new one could be had at 78
    assert (booking.at_h, booking.shelf_place, booking.lot, booking.started_h) == (30.0, 1, "L1", None)
    (booking,) = schedule([(72.0,)], (too_old,), WEEK, lot="L9")
    assert (booking.at_h, booking.shelf_place, booking.lot) == (78.0, None, "L9")
    # The limits allow no more than 73 h: then 74 h are too old as well, though within a tenth.
    assert hours([72.0], (fits,), longest_h=(73.0,)) == [78.0]


def test_every_age_of_an_attempt_must_fit_and_an_unknown_one_fits_none() -> None:
    both = ShelfJar((-200.0, -44.0))
    assert hours([(230.0, 74.0)], (both,)) == [30.0]
    assert hours([(None, 74.0)], (both,)) == [30.0]
    assert hours([(72.0, 72.0)], (both,)) == [78.0]


def test_the_evenings_of_the_last_week_repeat_and_what_is_over_is_over() -> None:
    assert WEEK.first_from(127.5) == 127.5
    assert WEEK.first_from(127.6) == 30.0 + 168.0
    for week in range(1, 400):
        assert WEEK.first_from(127.5 + 168.0 * week) == 127.5 + 168.0 * week
        assert WEEK.first_from(127.6 + 168.0 * week) == 30.0 + 168.0 * (week + 1)
        assert WEEK.first_from(78.0 + 168.0 * week) == 78.0 + 168.0 * week
    assert WEEK.first_from(30.0 + 168.0 * 50 + 2.0) == 78.0 + 168.0 * 50
    # Now lies an hour into an evening: its second attempt can still be made.
    assert BenchCalendar((-1.0, 47.0), 2, 1.5).first_from(0.0) == 0.5
    assert hours([(None,), (None,), (None,)]) == [30.0, 31.5, 78.0]


@given(
    ages=st.lists(st.floats(0.5, 400.0), min_size=1, max_size=12),
    shelf=st.lists(st.floats(-500.0, 0.0), max_size=5),
    jars=st.integers(1, 4),
)
@hypothesis_settings(max_examples=40)
def test_no_booking_breaks_the_rules_of_the_bench(ages: list[float], shelf: list[float], jars: int) -> None:
    booked = schedule([(age,) for age in ages], [ShelfJar((start,)) for start in shelf], WEEK, jars_at_once=jars)
    free = 0.0
    started = dict(enumerate(shelf))
    for age, booking in zip(ages, booked, strict=True):
        assert booking.at_h >= free - 1e-9  # after the outcome of the one before
        assert min((booking.at_h - slot) % 168.0 for slot in (30, 31.5, 78, 79.5, 126, 127.5)) == pytest.approx(0)
        if booking.shelf_place is None:
            assert booking.started_h is not None
            assert booking.started_h >= free - 1e-9
            assert booking.at_h - booking.started_h == pytest.approx(age)
            started |= {len(started) + extra: booking.started_h for extra in range(jars - 1)}
        else:
            real = booking.at_h - started[booking.shelf_place]
            assert age / SAME_AGE - 1e-3 <= real <= age * SAME_AGE + 1e-3
        free = booking.ends_h
    places = [booking.shelf_place for booking in booked if booking.shelf_place is not None]
    assert len(set(places)) == len(places)  # no jar is opened twice


# ---------------------------------------- the truths


def test_truths_are_the_draws_of_the_odds_and_number_i_does_not_depend_on_how_many_there_are() -> None:
    model = fitted(campaign(*ATTEMPTS))
    columns = model.design.columns([Conditions({"age": 20.0, "stirring time": 150.0})])
    truths = drawn_truths(model, model, count=2048, seed=1)
    clean = np.array([clean_at(truth, columns, None)[0] for truth in truths])
    # Half of the pool of 4096 draws: the mean of these and of all differ by chance only (4 standard errors).
    assert clean.mean() == pytest.approx(model.means(columns)[0], abs=4 * clean.std() / math.sqrt(len(clean)))
    assert np.quantile(clean, 0.5) == pytest.approx(np.quantile(model.probability_draws(columns), 0.5), abs=0.05)
    few = drawn_truths(model, model, count=3, seed=1)
    assert [clean_at(truth, columns, None)[0] for truth in few] == clean[:3].tolist()


def test_truths_of_weighed_forms_know_their_lots() -> None:
    state = campaign(*ATTEMPTS)
    design, table = build_table(state)
    base = fit_odds(table, design, state.settings)
    model = fit_refined(table, design, state.settings).model
    columns = model.design.columns([Conditions({"age": 20.0, "stirring time": 150.0})])
    truths = drawn_truths(model, base, count=1024, seed=1)
    for lot in (None, "L1", "L2"):
        clean = np.array([clean_at(truth, columns, lot)[0] for truth in truths])
        error = 4 * clean.std() / math.sqrt(len(clean))
        assert clean.mean() == pytest.approx(model.for_lot(lot).means(columns)[0], abs=error)
    gates = [truth.gates(columns, None) for truth in truths]
    assert all(0 < parted[0] <= 1 and 0 < pooled[0] <= 1 for parted, pooled in gates)


def test_a_guess_is_best_at_its_place_and_falls_to_61_per_cent_at_its_width() -> None:
    state = campaign(factors=(AGE, TIME, CHOICE))
    box = make_box(operating_limits(state), [factor.name for factor in state.factors])
    guess = Guess(0.9, (Hump("age", 20.0, 2.0), Hump("additive", "rosin", 0.25)))
    guess.check(state.factors)
    (truth,) = guessed_truths(guess, box, count=1, seed=0)

    def at(age: float, additive: float) -> float:
        columns = {"age": np.array([age]), "stirring time": np.array([60.0]), "additive": np.array([additive])}
        return float(clean_at(truth, columns, None)[0])

    assert at(20.0, 1.0) == pytest.approx(0.9)
    assert at(40.0, 1.0) == pytest.approx(0.9 * math.exp(-0.5))
    assert at(10.0, 1.0) == pytest.approx(0.9 * math.exp(-0.5))
    assert at(20.0, 0.0) == pytest.approx(0.9 * 0.25)


def test_a_hump_without_a_place_is_somewhere_else_in_every_campaign() -> None:
    state = campaign(factors=(AGE, CHOICE))
    box = make_box(operating_limits(state), [factor.name for factor in state.factors])
    truths = guessed_truths(Guess(0.9, (Hump("age"), Hump("additive"))), box, count=200, seed=0)
    shares = np.array([truth.humps[0][1] for truth in truths])
    assert 0 <= shares.min() < 0.05 < 0.95 < shares.max() <= 1
    assert {truth.humps[1][1] for truth in truths} == {0.0, 1.0}


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Guess(1.0), "rehearsal.guess_best"),
        (lambda: Guess(0.9, (Hump("colour"),)).check((AGE,)), "rehearsal.guess_factor"),
        (lambda: Guess(0.9, (Hump("age", 500.0),)).check((AGE,)), "rehearsal.guess_place"),
        (lambda: Guess(0.9, (Hump("age", 20.0, 1.0),)).check((AGE,)), "rehearsal.guess_width"),
        (lambda: read_orders(["backwards"]), "rehearsal.order_unknown"),
        (lambda: read_orders([]), "rehearsal.no_orders"),
    ],
)
def test_what_cannot_be_rehearsed_is_refused_in_words(make, code: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert refused.value.code == code
    assert "{" not in error_sentence(refused.value)


# ---------------------------------------- one campaign


def test_a_campaign_is_the_same_every_time_and_stops_when_it_is_told_to() -> None:
    task = task_of(campaign(*ATTEMPTS), count=1, target=0.999)
    first, again = (play(task.rules, task.truths[0], Order.SPACE_FILLING, 0) for _ in range(2))
    assert first == again
    assert first is not None
    assert len(first.path) == task.rules.most + 1 == len(first.weeks)
    assert list(first.weeks) == sorted(first.weeks)
    assert first.weeks[0] == 0.0
    assert first.ceiling >= max(first.path)
    assert play(task.rules, task.truths[0], Order.SPACE_FILLING, 0, lambda: True) is None


def test_done_is_when_the_recipe_is_good_enough_and_settled_when_it_stays_so() -> None:
    low = play(*_one(target=0.01), Order.RANDOM, 0)
    assert low is not None
    assert (low.first, low.settled) == (0, 0)
    assert len(low.path) == 3  # then it has stayed so three times, and nothing more is played
    never = play(*_one(target=0.999), Order.RANDOM, 0)
    assert never is not None
    assert (never.first, never.settled) == (None, None)


def _one(*, target: float):
    task = task_of(campaign(*ATTEMPTS), count=1, target=target)
    return task.rules, task.truths[0]


def test_chance_is_the_same_for_every_order(monkeypatch: pytest.MonkeyPatch) -> None:
    # A flat truth: whatever is tried, attempt k comes out in one order as it does in the other.
    state = campaign()
    box = make_box(operating_limits(state), [factor.name for factor in state.factors])
    (flat,) = guessed_truths(Guess(0.4), box, count=1, seed=0)
    rules = task_of(state, count=1, target=0.999, most=36).rules
    seen: list[CampaignState] = []

    def watched(rules: Rules, state: CampaignState):
        seen.append(state)
        return quick_fit(rules, state)

    monkeypatch.setattr("stirfall.planning.rehearsal_play.quick_fit", watched)
    made = {}
    for order in (Order.RANDOM, Order.SPACE_FILLING):
        seen.clear()
        play(rules, flat, order, 5)
        made[order] = seen[-1].attempts
    assert [each.outcome for each in made[Order.RANDOM]] == [each.outcome for each in made[Order.SPACE_FILLING]]
    # Two of five are clean, and the solids leave with the root of that: within four standard deviations of a count.
    clean = sum(each.pooled is Pooled.ONE_POOL for each in made[Order.RANDOM])
    parted = sum(each.parted is Parted.YES for each in made[Order.RANDOM])
    assert clean == pytest.approx(36 * 0.4, abs=4 * math.sqrt(36 * 0.4 * 0.6))
    assert parted == pytest.approx(36 * math.sqrt(0.4), abs=4 * math.sqrt(36 * 0.63 * 0.37))
    assert clean < parted < 36
    assert [each.conditions for each in made[Order.RANDOM]] != [
        each.conditions for each in made[Order.SPACE_FILLING]
    ]


@pytest.mark.parametrize("order", list(Order))
def test_every_order_can_be_rehearsed_and_a_count_of_clean_is_enough(order: Order) -> None:
    task = task_of(campaign(*ATTEMPTS[:3]), count=1, target=0.999, most=1)
    rules = replace(task.rules, gates=1)
    played = play(rules, task.truths[0], order, 0)
    assert played is not None
    assert len(played.path) == 2


# ---------------------------------------- what they add up to


def test_quantiles_are_those_of_the_values_and_their_ranks_those_of_the_binomial_law() -> None:
    values = np.arange(1.0, 101.0)
    # Ranks 40 and 61 for the median of 100 values at 95 %: any textbook's table (from memory); it covers 96.5 %.
    found = quantile(values, 0.5, 0.95)
    assert (found.value, found.lower, found.upper) == (50.0, 40.0, 61.0)
    assert quantile(values, 0.1, 0.95).value == 10.0
    found = quantile(np.r_[values[:30], np.full(70, np.inf)], 0.5, 0.95)
    assert (found.value, found.lower, found.upper) == (None, None, None)
    found = quantile(np.r_[values[:55], np.full(45, np.inf)], 0.5, 0.95)
    assert (found.value, found.lower, found.upper) == (50.0, 40.0, None)


def test_the_interval_of_a_quantile_holds_it_as_often_as_it_says() -> None:
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(400):
        found = quantile(rng.exponential(size=40), 0.5, 0.95)
        held += found.lower is not None and found.upper is not None and found.lower <= math.log(2.0) <= found.upper
    # At least 95 %; fewer than 368 of 400 would be seen once in 500 runs at exactly 95 %.
    assert held >= 368


def test_shares_have_exact_intervals_and_the_curve_falls_where_campaigns_are_done() -> None:
    values = np.array([0.0, 2.0, 2.0, 5.0, np.inf])
    found = distribution(values, np.full(5, 6.0), 6.0, 0.95)
    exact = binomtest(4, 5).proportion_ci(0.95, method="exact")  # the exact interval of another program: SciPy
    assert found.reached.lower == pytest.approx(exact.low)
    assert found.reached.upper == pytest.approx(exact.high)
    assert found.x.tolist() == [0.0, 2.0, 5.0, 6.0]
    assert found.not_yet.tolist() == pytest.approx([0.8, 0.4, 0.2, 0.2])
    assert found.mean == pytest.approx((0 + 2 + 2 + 5 + 6) / 5)
    assert found.standard_error == pytest.approx(np.std([0, 2, 2, 5, 6], ddof=1) / math.sqrt(5))


def made(order: str, number: int, first: int | None, weeks: float = 1.0) -> Played:
    steps = 11 if first is None else first + 1
    return Played(order, number, first, first, (0.1,) * steps, tuple(weeks * at for at in range(steps)), 0.95)


def test_orders_are_compared_truth_by_truth() -> None:
    task = replace(task_of(campaign(*ATTEMPTS), count=3), rules=task_of(campaign(), count=1, most=10).rules)
    mine, base = [2, 4, 3], [5, 4, None]
    played = [made("random", number, first) for number, first in enumerate(mine)]
    played += [made("space filling", number, first) for number, first in enumerate(base)]
    found = summarise(task, ["random", "space filling"], reversed(played))
    assert found is not None
    against = found.order("random").against
    assert against is not None
    saved = np.array([3.0, 0.0, 7.0])
    assert against.saved == pytest.approx(saved.mean())
    assert against.saved_se == pytest.approx(saved.std(ddof=1) / math.sqrt(3))
    assert (against.quicker, against.same, against.slower) == (2, 1, 0)
    assert against.ratio == pytest.approx(9 / 19)
    assert found.order("space filling").against is None
    assert found.order("space filling").attempts.values.tolist() == [5.0, 4.0, math.inf]
    assert summarise(task, ["random", "learn"], played) is None
    part = summarise(task, ["random"], played[:2])
    assert part is not None
    assert not part.is_whole


# ---------------------------------------- stopping, going on


def test_a_stopped_rehearsal_keeps_what_is_done_and_goes_on_to_the_same_answer(tmp_path: Path) -> None:
    task = task_of(campaign(*ATTEMPTS), count=4, most=2)
    orders = [Order.RANDOM, Order.SPACE_FILLING]
    whole = rehearse(task, orders=orders, jobs=1)
    record, token, told = tmp_path / "record.jsonl", CancelToken(), []

    def stop_at_three(done: int, of: int) -> None:
        if (done, of) == (3, 8):
            token.cancel()

    with pytest.raises(Cancelled):
        rehearse(task, orders=orders, jobs=1, record=record, token=token, progress=stop_at_three)
    assert len(record.read_text().splitlines()) == 1 + 3
    with record.open("a") as file:
        file.write('{"order":"random","num')  # the power went in the middle of a line
    on = rehearse(task, orders=orders, jobs=1, record=record, progress=lambda done, of: told.append(done))
    assert told == [3, 4, 5, 6, 7, 8]
    for order in orders:
        assert on.order(order).attempts.values.tolist() == whole.order(order).attempts.values.tolist()
        assert on.order(order).weeks.values.tolist() == whole.order(order).weeks.values.tolist()
    # More campaigns go on from the same record; those that it has are not played again.
    more = replace(task, truths=task_of(campaign(*ATTEMPTS), count=5, most=2).truths)
    told.clear()
    rehearse(more, orders=orders, jobs=1, record=record, progress=lambda done, of: told.append(done))
    assert told == [8, 9, 10]


def test_what_is_kept_in_memory_is_for_one_task(tmp_path: Path) -> None:
    task = task_of(campaign(*ATTEMPTS), count=2, most=1)
    kept, told = Kept(), []
    for _ in range(2):
        rehearse(task, orders=["random"], jobs=1, record=kept, progress=lambda done, of: told.append(done))
    assert told == [0, 1, 2, 2]
    other = replace(task, rules=replace(task.rules, target=0.7))
    rehearse(other, orders=["random"], jobs=1, record=kept)
    assert len(kept.played) == 2
    assert kept.task == other.fingerprint != task.fingerprint


def test_a_record_of_something_else_is_refused_and_left_alone(tmp_path: Path) -> None:
    task = task_of(campaign(*ATTEMPTS), count=1, most=1)
    other = replace(task, rules=replace(task.rules, seed=99))
    record = tmp_path / "record.jsonl"
    rehearse(other, orders=["random"], jobs=1, record=record)
    foreign, nested = tmp_path / "notes.txt", tmp_path / "none" / "record.jsonl"
    foreign.write_text("my notes\n")
    broken = tmp_path / "broken.jsonl"
    broken.write_text(record.read_text() + json.dumps({"order": "random", "number": "x"}) + "\n")
    for path, code in (
        (record, "rehearsal.record_other"),
        (foreign, "rehearsal.record_not"),
        (nested, "rehearsal.record_trouble"),
    ):
        before = path.read_bytes() if path.exists() else None
        with pytest.raises(FileTroubleError) as refused:
            rehearse(task, orders=["random"], jobs=1, record=path)
        assert refused.value.code == code
        assert "{" not in error_sentence(refused.value)
        assert (path.read_bytes() if path.exists() else None) == before
    with pytest.raises(FileTroubleError, match="record_not"):
        rehearse(other, orders=["random"], jobs=1, record=broken)


def test_odd_requests_are_refused() -> None:
    task = task_of(campaign(*ATTEMPTS), count=1)
    for wrong in ({"jobs": 0}, {"jobs": -3}, {"orders": []}):
        with pytest.raises(InputError):
            rehearse(task, **wrong)
    with pytest.raises(InputError, match="no_campaigns"):
        rehearse(replace(task, truths=()), jobs=1)
    assert "{" not in sentence("rehearsal.jobs", {"value": 0})


def test_what_follows_from_other_factors_is_known_of_a_rehearsed_attempt(monkeypatch: pytest.MonkeyPatch) -> None:
    film = Factor("film index", "", 1.0, 500.0, Scale.LOG)
    attempts = tuple(
        replace(each, conditions=each.conditions.with_value("film index", RootOfAge().of(each.conditions)))
        for each in ATTEMPTS
    )
    state = campaign(*attempts, factors=(AGE, TIME, film))
    seen: list[CampaignState] = []

    def watched(rules: Rules, state: CampaignState):
        seen.append(state)
        return quick_fit(rules, state)

    monkeypatch.setattr("stirfall.planning.rehearsal_play.quick_fit", watched)
    task = task_of(state, count=1, target=0.9999, most=2)
    play(replace(task.rules, filler=RootOfAge()), task.truths[0], Order.RELIABLE, 0)
    rehearsed = seen[-1].attempts[len(attempts) :]
    assert len(rehearsed) == 2
    for each in rehearsed:
        assert each.conditions["film index"] == pytest.approx(RootOfAge().of(each.conditions), rel=6e-3)


@dataclass(frozen=True)
class RootOfAge:
    """An index of ten times the root of the age in hours."""

    name: str = "film index"
    factors: tuple[Factor, ...] = (AGE,)

    def __call__(self, columns):
        return 10.0 * np.sqrt(columns["age"])

    def of(self, conditions: Conditions) -> float:
        return float(self({"age": np.array(conditions.number("age"))}))
