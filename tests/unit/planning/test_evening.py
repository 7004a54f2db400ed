"""The choices of an evening: timetable with breaks, which jars, the reference, and the order by lot."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta
from itertools import permutations

import numpy as np
import pytest
from scipy.stats import chi2

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.planning.box import make_box
from stirfall.planning.evening import (
    choose_jars,
    default_seed,
    draw_order,
    openings_in,
    timetable,
)
from stirfall.planning.evening_control import held_gaps, most_repeated
from stirfall.planning.evening_worth import LookAheadWorth, apart_from, spread_worth
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits

BEGINS = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
AGE = Factor("sample age", "h", 1.0, 100.0, Scale.LOG)
HEAT = Factor("temperature", "C", 100.0, 200.0)
LID = Factor("lid", levels=("open", "closed"))


def campaign(*attempts: Attempt) -> CampaignState:
    return CampaignState(CampaignSettings(), (AGE, HEAT, LID), attempts=attempts)


def made(
    number: int, *, started: datetime | None = None, ended: datetime | None = None, lot=None, **values
) -> Attempt:
    return Attempt(
        f"a{number}",
        number,
        Conditions({name.replace("_", " "): value for name, value in values.items()}),
        started_at=started,
        recorded_at=ended,
        lot_id=lot,
        successes=number % 2,
    )


# -- the timetable: 3 runs, 2 h without a break of 30 min, as resources/limits.toml has them (no source)


@pytest.mark.parametrize(
    ("hours", "attempt_h", "count"), [(3.0, 1.5, 2), (2.9, 1.5, 1), (0.0, 1.5, 0), (0.3, 0.1, 3), (24.0, 1.0, 24)]
)
def test_as_many_attempts_fit_as_whole_times_into_the_hours(hours, attempt_h, count):
    assert openings_in(hours, attempt_h) == count


@pytest.mark.parametrize(
    ("hours", "attempt_h", "starts", "breaks"),
    [
        (3.0, 1.5, (0.0, 1.5), ()),
        (4.5, 1.5, (0.0, 1.5), ()),  # the third would begin after 3 h at work: its break no longer fits
        (5.0, 1.5, (0.0, 1.5, 3.5), ((3.0, 3.5, 3),)),
        (2.0, 0.5, (0.0, 0.5, 1.0), ()),  # the fourth hot run of a day asks for a break, which no longer fits
        (3.5, 0.5, (0.0, 0.5, 1.0, 2.0, 3.0), ((1.5, 2.0, 4), (2.5, 3.0, 5))),
        (5.5, 2.5, (0.0, 3.0), ((2.5, 3.0, 2),)),  # one attempt alone is longer than the time without a break
        (1.0, 1.5, (), ()),
    ],
)
def test_breaks_stand_in_the_timetable_where_the_limits_ask_for_them(hours, attempt_h, starts, breaks):
    found = timetable(campaign(), BEGINS, hours, attempt_h)
    assert found.starts_h == pytest.approx(starts)
    told = [each for pause in found.pauses for each in (pause.starts_h, pause.ends_h, pause.before)]
    assert told == pytest.approx([each for pause in breaks for each in pause])


def test_what_was_done_earlier_that_day_counts():
    until = BEGINS - timedelta(minutes=5)
    worked = campaign(
        made(1, started=until - timedelta(hours=3), ended=until - timedelta(hours=1.5)),
        made(2, started=until - timedelta(hours=1.5), ended=until),
    )
    tired = timetable(worked, BEGINS, 2.0, 1.5)
    assert tired.starts_h == (0.5,)
    assert [pause.reason.code for pause in tired.pauses] == ["limits.no_break"]
    rested = timetable(worked, BEGINS + timedelta(hours=1), 2.0, 1.5)
    assert rested.starts_h == (0.0,)
    assert rested.pauses == ()


def test_the_first_attempts_keep_their_breaks_and_no_later_ones():
    found = timetable(campaign(), BEGINS, 5.0, 1.5)
    assert found.first(2).starts_h == (0.0, 1.5)
    assert found.first(2).pauses == ()
    assert found.first(3) == found


# -- which jars


def test_each_pick_is_of_another_jar_and_sees_those_before_it():
    owner = np.array([0, 0, 1, 2])
    asked = []

    def score(chosen):
        asked.append(list(chosen))
        return np.array([5.0, 9.0, 4.0, 1.0]) if not chosen else np.array([8.0, 8.0, 1.0, 2.0])

    assert choose_jars(3, owner, score, [np.inf] * 3) == [1, 3, 2]
    assert asked == [[], [1], [1, 3]]


def test_among_equals_the_jar_that_is_spoilt_soonest_goes_first():
    owner, worth = np.array([0, 1, 2]), np.array([10.0, 9.6, 9.4])
    # 9.6 is worth as much as 10 to one part in twenty, 9.4 is not.
    assert choose_jars(1, owner, lambda _: worth, [50.0, 20.0, 1.0]) == [1]
    assert choose_jars(1, owner, lambda _: worth, [np.inf, np.inf, 1.0]) == [0]
    assert choose_jars(1, owner, lambda _: -worth, [1.0, 2.0, 3.0]) == [2]


def test_what_is_forbidden_is_never_picked():
    owner, worth = np.array([0, 1, 1]), np.array([-np.inf, 1.0, -np.inf])
    assert choose_jars(5, owner, lambda _: worth, [0.0, 1.0]) == [1]
    assert choose_jars(5, owner, lambda _: np.full(3, -np.inf), [0.0, 1.0]) == []


# -- the order


def test_the_drawn_order_is_that_of_hashes_which_another_program_agrees_on():
    # printf '7\x1fattempt\x1fJ1' | b2sum -l 128 (GNU coreutils 9.1) sorts J1 (8bd8), J3 (cefc), J2 (d289), and the
    # blocks L2 (87c6), L1 (d0ad).
    drawn = draw_order(["L1", "L2", "L1"], ["J1", "J2", "J3"], 7)
    assert [(each.place, each.block) for each in drawn] == [(1, 1), (0, 2), (2, 2)]


def test_the_same_seed_draws_the_same_order_whatever_order_it_is_given():
    lots = {"J1": "A", "J2": "B", "J3": "A", "J4": "C", "J5": "B"}
    orders = set()
    for names in permutations(lots):
        drawn = draw_order([lots[name] for name in names], names, 3)
        orders.add(tuple((names[each.place], each.block) for each in drawn))
    (order,) = orders
    blocks = [block for _, block in order]
    assert blocks == sorted(blocks)
    assert [lots[name] for name, _ in order] == sorted(
        (lots[name] for name in lots), key=[lots[name] for name, _ in order].index
    )


def test_over_many_seeds_every_order_comes_up_as_often():
    count = 600
    seen = Counter(
        tuple(each.place for each in draw_order(["L"] * 3, ["J1", "J2", "J3"], seed)) for seed in range(count)
    )
    assert len(seen) == 6
    # Pearson's test of equal frequencies, with the quantile of scipy.
    assert sum((times - count / 6) ** 2 / (count / 6) for times in seen.values()) < chi2.ppf(0.999, 5)


def test_the_seed_of_an_evening_follows_from_its_day_and_the_attempts_alone():
    assert default_seed(date(2026, 3, 3), 47) == 20260303047
    assert default_seed(date(2026, 3, 3), 1047) == 20260303047


# -- the reference condition


def box(*attempts: Attempt):
    return make_box(operating_limits(campaign(*attempts)), ["sample age", "temperature", "lid"])


def test_the_condition_that_was_repeated_most_often_is_the_reference():
    rows = [
        made(1, lot="A", sample_age=10.0, temperature=150.0, lid="open"),
        made(
            2, lot="B", sample_age=10.5, temperature=151.0, lid="open"
        ),  # the same, within a fiftieth of the range
        made(3, lot="B", sample_age=10.2, temperature=150.0, lid="open"),
        made(4, lot="A", sample_age=10.0, temperature=150.0, lid="closed"),  # another lid is another condition
        made(5, lot="A", sample_age=40.0, temperature=150.0, lid="open"),
        made(6, lot="A", sample_age=41.0, temperature=150.0, lid="open"),
    ]
    found = most_repeated(box(*rows), rows)
    assert found is not None
    assert (found.times, found.lots, found.conditions["sample age"]) == (3, ("B", "A"), 10.2)
    assert most_repeated(box(*rows), rows[3:5]) is None
    assert most_repeated(box(*rows), []) is None


def test_an_unknown_value_is_like_nothing_but_an_unknown_one():
    rows = [made(1, temperature=150.0, lid="open"), made(2, sample_age=10.0, temperature=150.0, lid="open")]
    assert most_repeated(box(*rows), rows) is None
    again = [*rows, made(3, temperature=150.0, lid="open")]
    found = most_repeated(box(*again), again)
    assert found is not None
    assert found.times == 2


def test_how_far_a_jar_lies_from_the_reference_is_the_largest_share_of_a_range():
    whole = box()
    names = [factor.name for factor in whole.varied]
    held = np.full((2, len(names)), np.nan)
    held[:, names.index("sample age")] = [0.5, 0.75]  # 10 h and 31.6 h on 1 to 100 h
    assert held_gaps(whole, Conditions({"sample age": 10.0}), held) == pytest.approx([0.0, 0.25])
    assert held_gaps(whole, Conditions({"temperature": 150.0}), held) == pytest.approx([0.0, 0.0])


# -- the worth of attempts


def test_the_worth_of_learning_is_the_information_in_the_outcome():
    # Two draws that are sure of opposite outcomes: one bit. Two that agree: nothing. Chances of 1/4 and 3/4: the
    # entropy of a fair coin less that of a loaded one, worked out by hand (Shannon 1948).
    clean = np.array([[1.0, 0.5, 0.25], [0.0, 0.5, 0.75]], dtype=np.float32)
    worth = LookAheadWorth(Goal.LEARN, np.zeros((2, 1), dtype=np.float32))
    loaded = -(0.25 * np.log(0.25) + 0.75 * np.log(0.75))
    expected = [np.log(2), 0.0, np.log(2) - loaded]
    assert worth.of((clean, 1 - clean), worth.start) == pytest.approx(expected, abs=1e-4)


def test_an_attempt_that_was_chosen_before_counts_as_if_it_had_come_out_like_its_mean():
    clean = np.array([[0.9, 0.9], [0.5, 0.1]], dtype=np.float32)
    classes = (clean, 1 - clean)
    worth = LookAheadWorth(Goal.LEARN, np.zeros((2, 1), dtype=np.float32))
    after = worth.after(classes, 0, worth.start)
    # 0.7 clean outcomes and 0.3 others: 0.9^0.7 x 0.1^0.3 against 0.5^0.7 x 0.5^0.3, by hand.
    first, second = 0.9**0.7 * 0.1**0.3, 0.5
    assert after == pytest.approx([first / (first + second), second / (first + second)], rel=1e-4)
    assert worth.best() == 0.0


def test_worth_for_a_plan_keeps_its_scale_from_question_to_question():
    rng = np.random.default_rng(1)
    clean = rng.uniform(0.05, 0.95, (64, 5)).astype(np.float32)
    worth = LookAheadWorth(Goal.RELIABLE, clean)
    whole = worth.of((clean, 1 - clean), worth.start)
    part = worth.of((clean[:, 1:3], 1 - clean[:, 1:3]), worth.start)
    assert part == pytest.approx(whole[1:3], rel=1e-4)
    alone = LookAheadWorth(Goal.RELIABLE, clean).of((clean[:, 1:3], 1 - clean[:, 1:3]), worth.start)
    assert alone.max() >= part.max()
    assert worth.best(clean[:, 0]) >= clean[:, 0] @ clean[:, 0] / clean[:, 0].sum() - 1e-6


def test_candidates_of_one_evening_lie_apart():
    whole = box()
    columns = whole.decode(np.array([[0.5, 0.5, 0.2], [0.5, 0.6, 0.2], [0.5, 0.7, 0.2], [0.5, 0.5, 0.8]]))
    others = {name: column[:1] for name, column in columns.items()}
    assert apart_from(whole, columns, others).tolist() == [False, False, True, True]
    none = {name: column[:0] for name, column in columns.items()}
    assert apart_from(whole, columns, none).all()


def test_while_nothing_is_known_attempts_are_spread_from_the_usual_values_on():
    whole = box()
    columns = whole.decode(np.array([[0.0, 0.0, 0.2], [0.5, 0.5, 0.2], [1.0, 1.0, 0.2]]))
    none = {name: column[:0] for name, column in columns.items()}
    assert int(np.argmax(spread_worth(whole, columns, none, []))) == 1
    known = {name: column[:1] for name, column in columns.items()}
    assert int(np.argmax(spread_worth(whole, columns, known, []))) == 2
    assert int(np.argmax(spread_worth(whole, columns, known, [2]))) == 1
