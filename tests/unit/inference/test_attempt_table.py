"""Which attempts the model uses, and how those left out are counted."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.gate_rows import rows_of_gates
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
STIR = Factor("stir", levels=("swirl", "fold"))
NOTE = Factor("humidity", "%", 0.0, 100.0)


def attempt(number, age=10.0, stir="fold", **fields):
    values = {"age": age, "stir": stir, "humidity": fields.pop("humidity", None)}
    conditions = Conditions({name: value for name, value in values.items() if value is not None})
    return Attempt(f"a{number}", number, conditions, **fields)


def state(attempts, factors=(AGE, STIR), **settings):
    return CampaignState(CampaignSettings(**settings), tuple(factors), attempts=tuple(attempts))


GRADED = (
    attempt(1, parted=Parted.YES, pooled=Pooled.ONE_POOL),
    attempt(2, parted=Parted.YES, pooled=Pooled.FEW_PIECES),
    attempt(3, parted=Parted.YES, pooled=Pooled.BEADS),
    attempt(4, parted=Parted.YES, pooled=Pooled.NOT_OBSERVED),
    attempt(5, parted=Parted.YES),
    attempt(6, parted=Parted.PARTLY, pooled=Pooled.ONE_POOL),
    attempt(7, parted=Parted.NO),
)
LEFT_OUT = (
    attempt(8, aborted=True),
    attempt(9, parted=Parted.YES, pooled=Pooled.ONE_POOL, struck_reason="wrong jar"),
    attempt(10),
    attempt(11, successes=1),
    attempt(12, age=None, parted=Parted.NO),
)


def test_two_gates_use_graded_attempts_and_count_the_rest():
    design, table = build_table(state(GRADED + LEFT_OUT))
    assert table.gates == 2
    assert table.ids == tuple(a.id for a in GRADED)
    assert table.parted.tolist() == [1, 1, 1, 1, 1, 0, 0]
    assert table.pooled == pytest.approx([1, 0, 0, np.nan, np.nan, 1, np.nan], nan_ok=True)
    counts = table.counts
    assert (counts.used, counts.aborted, counts.struck, counts.not_graded) == (7, 1, 1, 1)
    assert (counts.only_counted, counts.missing, counts.gate_1_only) == (1, 1, 2)
    assert counts.left_out + counts.used == len(GRADED + LEFT_OUT)
    assert [factor.name for factor in design.factors] == ["age", "stir"]


def test_one_gate_uses_every_attempt_that_is_known_clean_or_not():
    _, table = build_table(state(GRADED + LEFT_OUT, gates=1))
    assert table.gates == 1
    assert table.ids == ("a1", "a2", "a3", "a6", "a7", "a11")
    assert table.clean_k.tolist() == [1, 0, 0, 0, 0, 1]
    assert table.clean_n.tolist() == [1] * 6
    counts = table.counts
    assert (counts.used, counts.not_graded, counts.only_counted, counts.gate_1_only) == (6, 3, 0, 0)
    assert counts.left_out + counts.used == len(GRADED + LEFT_OUT)


def test_other_settings_may_stand_in_for_those_of_the_campaign():
    _, table = build_table(state(GRADED), CampaignSettings(gates=1))
    assert table.gates == 1


def test_counts_alone_need_only_one_gate():
    _, table = build_table(state([attempt(1, successes=3, trials=10), attempt(2, successes=0, trials=5)]))
    assert table.gates == 1
    assert table.clean_k.tolist() == [3, 0]
    assert table.clean_n.tolist() == [10, 5]


def test_a_first_graded_attempt_does_not_throw_away_the_counts_of_an_imported_table():
    # Twenty counted attempts, then the two questions begin to be asked: the model keeps the larger side.
    counted = [attempt(n, successes=n % 2, trials=1) for n in range(1, 21)]
    graded = [attempt(n, parted=Parted.YES, pooled=Pooled.ONE_POOL) for n in range(21, 51)]
    _, table = build_table(state(counted + graded[:1]))
    assert (table.gates, table.counts.used, table.counts.left_out) == (1, 21, 0)
    _, table = build_table(state(counted + graded[:20]))
    assert (table.gates, table.counts.used, table.counts.only_counted) == (2, 20, 20)
    _, table = build_table(state(counted + graded[:1]), gates=2)
    assert (table.gates, table.counts.used, table.counts.only_counted) == (2, 1, 20)
    _, table = build_table(state(graded), gates=1)
    assert (table.gates, table.counts.used) == (1, 30)


def test_a_new_campaign_keeps_its_two_gates_and_all_factors():
    design, table = build_table(state([]))
    assert (table.gates, table.rows, table.counts.used) == (2, 0, 0)
    assert len(design.factors) == 2


def test_a_factor_known_in_less_than_half_of_the_graded_attempts_is_dropped_and_named():
    attempts = [attempt(n, parted=Parted.NO, humidity=40.0 if n <= 2 else None) for n in range(1, 6)]
    design, table = build_table(
        state(attempts, (AGE, NOTE), humps=("humidity", "age"), products=(("age", "humidity"),))
    )
    assert table.counts.dropped_factors == ("humidity",)
    assert [term.name for term in design.terms] == ["(intercept)", "age", "age squared"]
    assert table.rows == 5


def test_a_factor_known_in_half_of_them_stays_and_the_others_are_counted_missing():
    attempts = [attempt(n, parted=Parted.NO, humidity=40.0 if n <= 2 else None) for n in range(1, 5)]
    _, table = build_table(state(attempts, (AGE, NOTE)))
    assert table.counts.dropped_factors == ()
    assert (table.rows, table.counts.missing) == (2, 2)
    assert set(table.columns) == {"age", "humidity"}


def test_ungraded_attempts_do_not_vote_on_dropping():
    attempts = [attempt(1, parted=Parted.NO, humidity=40.0), *(attempt(n) for n in range(2, 9))]
    _, table = build_table(state(attempts, (AGE, NOTE)))
    assert table.counts.dropped_factors == ()


def test_values_that_the_factor_cannot_hold_are_missing():
    attempts = [
        *GRADED,
        attempt(20, age=0.0, parted=Parted.NO),
        attempt(21, stir="shake", parted=Parted.NO),
    ]
    _, table = build_table(state(attempts))
    assert table.counts.missing == 2


def test_hidden_factors_are_no_part_of_the_model():
    hidden = Factor("stir", levels=("swirl", "fold"), hidden=True)
    design, _ = build_table(state(GRADED, (AGE, hidden), products=(("age", "stir"),)))
    assert [factor.name for factor in design.factors] == ["age"]
    assert design.products == ()


def test_without_any_factor_there_are_still_rows():
    design, table = build_table(state(GRADED, ()))
    assert design.matrix(table.columns, rows=table.rows).shape == (7, 1)


def grades(partly, **settings):
    attempts = (*GRADED, attempt(8, parted=Parted.PARTLY, pooled=Pooled.BEADS), attempt(9, parted=Parted.PARTLY))
    return build_table(state(attempts, partly=partly, **settings))[1]


def test_partly_counts_as_failed_where_nothing_is_said():
    table = grades("failed")
    assert table.parted.tolist() == [1, 1, 1, 1, 1, 0, 0, 0, 0]
    assert table.clean_k.tolist() == [1, 0, 0, 0, 0, 0, 0, 0, 0]
    assert table.grade is None
    (same, other) = grades("failed"), build_table(state((*GRADED,)))[1]
    assert same.parted[:7].tolist() == other.parted.tolist()


def test_partly_as_success_is_a_yes_and_then_the_pool_decides():
    table = grades("success")
    # Attempts 6, 8 and 9 are partly parted: one pool, beads, and a pool that nobody graded.
    assert table.parted.tolist() == [1, 1, 1, 1, 1, 1, 0, 1, 1]
    assert table.clean_k.tolist() == [1, 0, 0, 0, 0, 1, 0, 0, 0]
    assert table.clean_n.tolist() == [1, 1, 1, 0, 0, 1, 1, 1, 0]
    rows = rows_of_gates(table, build_table(state(GRADED))[0])
    assert rows["parted"].k.sum() == 8
    assert rows["pooled"].rows.tolist() == [0, 1, 2, 5, 7]
    assert rows["pooled"].k.tolist() == [1, 0, 0, 1, 0]


def test_the_ordinal_form_keeps_three_grades_and_partly_never_joins_gate_2():
    table = grades("ordinal")
    assert table.grade is not None
    assert table.grade.tolist() == [2, 2, 2, 2, 2, 1, 0, 1, 1]
    assert table.parted.tolist() == [1, 1, 1, 1, 1, 0, 0, 0, 0]
    rows = rows_of_gates(table, build_table(state(GRADED))[0])
    assert rows["parted"].grade.tolist() == table.grade.tolist()
    assert rows["pooled"].rows.tolist() == [0, 1, 2]
    assert rows["pooled"].grade is None


@pytest.mark.parametrize(("partly", "clean"), [("failed", 1), ("success", 2), ("ordinal", 1)])
def test_with_one_question_partly_is_clean_only_where_it_counts_as_success(partly, clean):
    table = grades(partly, gates=1)
    assert table.gates == 1
    assert int(table.clean_k.sum()) == clean


def test_with_one_question_partly_as_success_says_nothing_while_the_pool_is_unknown():
    # Attempt 9 parted partly and nobody graded its pool: neither clean nor not, so it is left out and counted.
    failed, success = grades("failed", gates=1), grades("success", gates=1)
    assert "a9" in failed.ids
    assert "a9" not in success.ids
    assert success.counts.not_graded == failed.counts.not_graded + 1
    assert (success.clean_n == 1).all()


def test_an_attempt_that_is_only_counted_has_no_grade():
    attempts = (*GRADED, attempt(8, successes=1))
    _, table = build_table(state(attempts, partly="ordinal", gates=1))
    assert table.grade is not None
    assert table.grade.tolist()[-1] == -1


LOTS = (
    attempt(1, lot_id="L2", jar_id="J9", parted=Parted.YES, pooled=Pooled.ONE_POOL),
    attempt(2, lot_id="L1", jar_id="J3", stir="swirl", parted=Parted.NO),
    attempt(3, parted=Parted.NO),
    attempt(4, lot_id="L2", jar_id="J9", parted=Parted.YES, pooled=Pooled.BEADS),
    attempt(5, lot_id="L2", stir=None, parted=Parted.NO),
)


@pytest.mark.parametrize(
    ("wanted", "names", "group"),
    [
        ("lot", ("L2", "L1"), [0, 1, -1, 0]),
        ("jar", ("J9", "J3"), [0, 1, -1, 0]),
        ("none", (), None),
        ("stir", ("fold", "swirl"), [0, 1, 0, 0, -1]),
    ],
)
def test_rows_know_what_they_share(wanted, names, group):
    design, table = build_table(state(LOTS, lot_effect=wanted))
    assert table.group_names == names
    assert (None if table.group is None else table.group.tolist()) == group
    assert table.grouping == wanted
    # A choice that attempts share has no effect of its own, and an attempt without it is not left out.
    assert ("stir" in [factor.name for factor in design.factors]) == (wanted != "stir")
    assert table.counts.missing == (0 if wanted == "stir" else 1)


def test_products_with_what_attempts_share_are_no_part_of_the_model():
    design, _ = build_table(state(LOTS, lot_effect="stir", products=(("age", "stir"),)))
    assert design.products == ()


def test_a_gate_keeps_the_lots_of_its_own_rows():
    design, table = build_table(state(LOTS))
    rows = rows_of_gates(table, design)
    assert rows["parted"].group.tolist() == [0, 1, -1, 0]
    assert rows["pooled"].group.tolist() == [0, 0]
    assert (rows["parted"].has_lots, rows["pooled"].has_lots) == (True, False)
    assert rows["parted"].without_lots().group.tolist() == [-1] * 4


@pytest.mark.parametrize("name", ["lot", "none"])
def test_a_factor_with_the_name_of_a_word_stays_a_factor(name):
    # "lot" means the record's own lot, also where a table brought a column of that name as a factor.
    factor = Factor(name, levels=("a", "b"))
    attempts = [
        Attempt(f"a{n}", n, Conditions({name: "ab"[n % 2]}), lot_id=f"L{n}", parted=Parted.NO) for n in (1, 2, 3)
    ]
    design, table = build_table(state(attempts, (factor,), lot_effect=name))
    assert [each.name for each in design.factors] == [name]
    assert table.group_names == (("L1", "L2", "L3") if name == "lot" else ())
