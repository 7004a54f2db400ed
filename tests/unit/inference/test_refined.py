"""The refined answer of a table: scores against refits, weights, lots, the model that answers, and manners."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.refined import fit_refined
from stirfall.inference.stack import StackedModel
from stirfall.inference.stacking import stacking_weights
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
NO, PARTLY = {"parted": Parted.NO}, {"parted": Parted.PARTLY}
YES = {"parted": Parted.YES}
BEADS = {"parted": Parted.YES, "pooled": Pooled.BEADS}
CLEAN = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL}


def state_of(rows, **settings):
    """A campaign of (age, grade, lot)."""
    attempts = tuple(
        Attempt(f"a{number}", number + 1, Conditions({"age": age}), lot_id=lot, **grade)
        for number, (age, grade, lot) in enumerate(rows)
    )
    return CampaignState(CampaignSettings(**settings), (AGE,), attempts=attempts)


def refined_of(state, seed=0):
    design, table = build_table(state)
    return fit_refined(table, design, state.settings, seed=seed)


# Two ages only, so that no hump is a candidate and a refit takes no time.
TWELVE = [
    (4.0, CLEAN, "L1"),
    (4.0, NO, "L1"),
    (40.0, CLEAN, "L1"),
    (40.0, CLEAN, "L1"),
    (4.0, NO, "L2"),
    (4.0, NO, "L2"),
    (40.0, BEADS, "L2"),
    (40.0, NO, "L2"),
    (4.0, BEADS, "L3"),
    (4.0, CLEAN, "L3"),
    (40.0, BEADS, "L3"),
    (40.0, CLEAN, "L3"),
]
PARTED_ONLY = [(4.0, YES, "L2"), (40.0, YES, "L2"), (40.0, YES, "L2"), (4.0, YES, "L2"), (4.0, YES, "L1")]


@pytest.mark.parametrize(
    ("rows", "settings"),
    [
        (TWELVE, {"form": "two gates, straight"}),
        (TWELVE, {"form": "one gate, straight"}),
        (TWELVE, {"form": "two gates, straight", "lot_effect": "none"}),
        (TWELVE + PARTED_ONLY, {"form": "two gates, straight"}),
        (
            [
                (age, PARTLY if number % 3 == 1 and grade == NO else grade, lot)
                for number, (age, grade, lot) in enumerate(TWELVE)
            ],
            {"form": "two gates, straight", "partly": "ordinal"},
        ),
    ],
    ids=["two gates", "one gate", "without lots", "parting alone known", "ordinal"],
)
def test_each_attempt_is_foretold_as_by_the_answer_of_a_campaign_without_it(rows, settings):
    found = refined_of(state_of(rows, **settings)).loo
    assert found.ids == tuple(f"a{number}" for number in range(12))
    assert (found.k == [grade == CLEAN for _, grade, _ in rows[:12]]).all()
    for place in range(12):
        without = state_of([row for number, row in enumerate(rows) if number != place], **settings)
        age, _, lot = rows[place]
        model = refined_of(without, seed=5).model.for_lot(lot)
        exact = float(model.means({"age": np.array([age])})[0])
        assert found.probability[place] == pytest.approx(exact, abs=0.035)
    assert found.log_score == pytest.approx(
        np.log(np.where(found.k == 1, found.probability, 1.0 - found.probability)), abs=1e-3
    )


@pytest.fixture(scope="module")
def campaign():
    rng = np.random.default_rng(12)
    rows = []
    for number in range(36):
        age = float(np.exp(rng.uniform(0.5, 4.3)))
        lot = number % 3
        z = math.log(age / 8.0)
        parted = rng.random() < 1 / (1 + math.exp(-0.5 - 1.5 * z - (1.5, -1.5, 0.0)[lot]))
        pooled = rng.random() < 1 / (1 + math.exp(-1.0 + 1.5 * z))
        rows.append((age, (CLEAN if pooled else BEADS) if parted else NO, f"L{lot + 1}"))
    return state_of(rows)


@pytest.fixture(scope="module")
def refined(campaign):
    return refined_of(campaign)


def test_forms_are_sorted_and_weighed(refined):
    scores = [score.log_score for score in refined.forms]
    assert scores == sorted(scores, reverse=True)
    assert sum(score.weight for score in refined.forms) == pytest.approx(1.0)
    assert all(score.weight > 0 for score in refined.forms)
    best = refined.forms[0]
    assert (best.behind, best.behind_se) == (0.0, 0.0)
    for score in refined.forms:
        assert score.behind == pytest.approx(best.log_score - score.log_score)
        assert score.behind_se >= 0
        assert score.log_score_se > 0
        assert score.log_score < 0
        assert not score.is_pinned


@pytest.fixture(scope="module")
def alone(campaign, refined):
    """The answer of each form alone, by its key, in the order of the weighed answer."""
    keys = [score.form.key for score in refined.forms]
    return {key: refined_of(replace(campaign, settings=replace(campaign.settings, form=key))) for key in keys}


def test_pinning_a_form_changes_weights_and_no_score(refined, alone):
    for key, pinned in alone.items():
        assert [score.form for score in pinned.forms] == [score.form for score in refined.forms]
        assert [score.log_score for score in pinned.forms] == [score.log_score for score in refined.forms]
        assert {score.form.key: score.weight for score in pinned.forms} == {
            each: float(each == key) for each in alone
        }


def test_the_weights_are_those_of_stacking_and_the_standard_errors_those_of_pairs(refined, alone):
    each = np.column_stack([pinned.loo.log_score for pinned in alone.values()])
    assert each.sum(axis=0) == pytest.approx([score.log_score for score in refined.forms])
    assert stacking_weights(each) == pytest.approx([score.weight for score in refined.forms], abs=1e-6)
    # The standard error of a sum of n paired differences: sqrt(n) times their standard deviation.
    paired = math.sqrt(36) * (each[:, [0]] - each).std(axis=0, ddof=1)
    assert [score.behind_se for score in refined.forms] == pytest.approx(paired, abs=1e-9)
    assert [score.log_score_se for score in refined.forms] == pytest.approx(
        math.sqrt(36) * each.std(axis=0, ddof=1)
    )


def test_the_weighed_prediction_is_the_mixture_of_those_of_the_forms(refined, alone):
    weights = np.array([score.weight for score in refined.forms])
    probability = np.column_stack([pinned.loo.probability for pinned in alone.values()]) @ weights
    density = np.exp(np.column_stack([pinned.loo.log_score for pinned in alone.values()])) @ weights
    assert refined.loo.probability == pytest.approx(probability)
    assert refined.loo.log_score == pytest.approx(np.log(density))


def test_the_model_answers_like_the_mixture_of_its_forms(refined, alone):
    points = {"age": np.array([2.0, 8.0, 30.0])}
    for lot in (None, "L1", "L2"):
        mixture = np.zeros(3)
        for score in refined.forms:
            mixture += score.weight * alone[score.form.key].model.for_lot(lot).means(points)
        assert refined.model.for_lot(lot).means(points) == pytest.approx(mixture, abs=0.015)


def test_lots_are_told_apart_with_counts_and_intervals(campaign, refined):
    assert refined.model.lot_names == ("L1", "L2", "L3")
    assert [(each.gate, each.lot) for each in refined.lots] == [
        (gate, lot) for gate in ("parted", "pooled") for lot in ("L1", "L2", "L3")
    ]
    for each in refined.lots:
        assert each.lower < each.mean < each.upper
    at_gate = {(each.gate, each.lot): each for each in refined.lots}
    assert [at_gate["parted", lot].attempts for lot in ("L1", "L2", "L3")] == [12, 12, 12]
    parted = sum(row.parted is Parted.YES for row in campaign.attempts)
    assert sum(at_gate["pooled", lot].attempts for lot in ("L1", "L2", "L3")) == parted
    assert at_gate["parted", "L2"].mean < 0 < min(at_gate["parted", lot].mean for lot in ("L1", "L3"))
    for spread in refined.lot_spread.values():
        assert 0 < spread.lower < spread.mean < spread.upper
    assert set(refined.lot_spread) == {"parted", "pooled"}


def test_a_new_lot_is_known_less_well_than_any_known_one(refined):
    points = {"age": np.array([10.0])}

    def width(lot):
        band = refined.model.for_lot(lot).gate_estimates(points)["parted"]
        return math.log(band.upper[0] / (1 - band.upper[0])) - math.log(band.lower[0] / (1 - band.lower[0]))

    assert width(None) > max(width(lot) for lot in ("L1", "L2", "L3"))


def test_same_arguments_same_bits(campaign, refined):
    again = refined_of(campaign)
    assert again.forms == refined.forms
    assert again.lots == refined.lots
    assert np.array_equal(again.loo.probability, refined.loo.probability)
    for a, b in zip(again.model.main.betas, refined.model.main.betas, strict=True):
        assert np.array_equal(a, b)
    assert not np.array_equal(refined_of(campaign, seed=1).model.main.betas[0], refined.model.main.betas[0])


def test_the_order_of_attempts_does_not_matter(campaign, refined):
    turned = refined_of(replace(campaign, attempts=campaign.attempts[::-1]))
    points = {"age": np.array([2.0, 30.0])}
    assert turned.model.means(points) == pytest.approx(refined.model.means(points), abs=0.01)
    assert [score.form.key for score in turned.forms] == [score.form.key for score in refined.forms]
    assert turned.loo.probability[::-1] == pytest.approx(refined.loo.probability, abs=1e-3)


def test_one_form_without_lots_is_a_plain_model(campaign):
    settings = CampaignSettings(gates=1, lot_effect="none")
    state = state_of([(4.0, {"successes": 1}, "L1"), (40.0, {"successes": 0}, "L2")] * 4)
    state = replace(state, settings=settings)
    design, table = build_table(state)
    found = fit_refined(table, design, settings)
    assert isinstance(found.model, OddsModel)
    assert [score.weight for score in found.forms] == [1.0]
    assert (found.lots, dict(found.lot_spread)) == ((), {})
    first = fit_odds(table, design, settings)
    points = {"age": np.array([4.0, 20.0])}
    assert np.array_equal(found.model.means(points), first.means(points))


def test_a_pinned_form_without_lots_answers_like_that_form_alone(campaign):
    settings = replace(campaign.settings, lot_effect="none", form="two gates, hump in age at gate 2")
    found = refined_of(replace(campaign, settings=settings))
    assert isinstance(found.model, OddsModel)
    alone = replace(settings, humps=("age",), form="")
    design, table = build_table(replace(campaign, settings=alone))
    both = fit_odds(table, design, alone)
    points = {"age": np.array([2.0, 8.0, 30.0])}
    assert found.model.gate_estimates(points)["pooled"].mean == pytest.approx(
        both.gate_estimates(points)["pooled"].mean, abs=0.01
    )


@pytest.mark.parametrize("lot_effect", ["none", "lot"])
def test_a_pinned_form_of_one_gate_counts_attempts_as_attempts(lot_effect):
    state = state_of(TWELVE + PARTED_ONLY, form="one gate, straight", lot_effect=lot_effect)
    model = refined_of(state).model
    assert model.counts.used == 17
    assert not model.of_trials


def test_a_gate_in_which_lots_cannot_be_told_apart_has_no_effects_of_lots():
    # Only L1 ever parted, so that gate 2 knows a single lot.
    rows = [(4.0, CLEAN, "L1"), (40.0, BEADS, "L1"), (40.0, CLEAN, "L1"), (4.0, NO, "L2"), (40.0, NO, "L2")]
    found = refined_of(state_of(rows, form="two gates, straight"))
    assert found.model.lot_names == ("L1", "L2")
    assert {each.gate for each in found.lots} == {"parted"}
    assert set(found.lot_spread) == {"parted"}


@pytest.mark.parametrize("rows", [[], TWELVE[:1], TWELVE[:2], [(4.0, CLEAN, None)] * 3])
def test_few_attempts_have_forms_weights_and_no_lots_to_tell_apart(rows):
    found = refined_of(state_of(rows))
    assert sum(score.weight for score in found.forms) == pytest.approx(1.0)
    assert found.lots == ()
    assert found.model.lot_names == ()
    assert len(found.loo.k) == len(rows)
    if not rows:
        assert [score.weight for score in found.forms] == pytest.approx([0.5, 0.5])


def test_attempts_without_a_lot_still_allow_for_one_each():
    rows = [(age, grade, None if number % 4 == 0 else lot) for number, (age, grade, lot) in enumerate(TWELVE)]
    found = refined_of(state_of(rows))
    assert isinstance(found.model, StackedModel)
    assert sum(each.attempts for each in found.lots if each.gate == found.model.gates[0].name) <= 9


@pytest.mark.slow
def test_hundreds_of_attempts_are_weighed_as_well():
    rng = np.random.default_rng(1)
    rows = []
    for number in range(450):
        age = float(np.exp(rng.uniform(0.5, 4.3)))
        z = math.log(age / 8.0)
        clean = rng.random() < 1 / (1 + math.exp(-0.5 + 1.5 * z * z - (1.0, -1.0, 0.0)[number % 3]))
        rows.append((age, {"successes": int(clean)}, f"L{number % 3}"))
    found = refined_of(state_of(rows, gates=1))
    assert found.forms[0].form.key == "one gate, hump in age"
    assert found.forms[0].weight > 0.95
    assert found.forms[1].is_distinguishable
    assert np.isfinite(found.loo.log_score).all()
    at_lot = {each.lot: each for each in found.lots}
    assert at_lot["L0"].mean > at_lot["L2"].mean > at_lot["L1"].mean


def test_it_stops_when_told_to(campaign):
    token = CancelToken()
    token.cancel()
    design, table = build_table(campaign)
    with pytest.raises(Cancelled):
        fit_refined(table, design, campaign.settings, token=token)
