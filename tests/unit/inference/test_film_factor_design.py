"""A factor that follows from others: filled where its own value is unknown, kept where it is known."""

from __future__ import annotations

import pickle
from dataclasses import dataclass

import numpy as np
import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.design import Design
from stirfall.inference.effects import effects_of
from stirfall.inference.forms import candidate_forms, gate_design, possible_keys, union_design
from stirfall.inference.odds import fit_odds, points_matrix
from stirfall.inference.table import table_of

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
DEPTH = Factor("oil depth", "mm", 5.0, 40.0)
HEAT = Factor("temperature", "C", 120.0, 180.0)
FILM = Factor("film index", "", 0.1, 100.0, Scale.LOG)


@dataclass(frozen=True)
class RootOfAge:
    """An index that grows as the square root of age: exactly known, for tests."""

    name: str = "film index"
    factors: tuple[Factor, ...] = (AGE, DEPTH)
    at_one_hour: float = 2.0

    def __call__(self, columns):
        if "age" not in columns:
            return np.array([np.nan])
        depth = np.asarray(columns.get("oil depth", 10.0))
        depth = np.where(np.isnan(depth), 10.0, depth)
        return self.at_one_hour * np.sqrt(columns["age"] * 10.0 / depth)


DESIGN = Design((AGE, HEAT, FILM), filler=RootOfAge())


def test_an_unknown_value_is_filled_and_a_known_one_stays():
    rows = [Conditions({"age": 4.0, "temperature": 150.0}), Conditions({"age": 4.0, "film index": 9.0})]
    assert DESIGN.columns(rows)["film index"] == pytest.approx([4.0, 9.0])


def test_what_the_filler_reads_may_lie_outside_the_model():
    columns = DESIGN.columns([Conditions({"age": 4.0, "oil depth": 40.0})])
    assert set(columns) == {"age", "temperature", "film index"}
    assert columns["film index"] == pytest.approx([2.0])
    without_age = DESIGN.without(("age",)).columns([Conditions({"age": 4.0})])
    assert without_age["film index"] == pytest.approx([4.0])


def test_nothing_is_made_up_where_the_filler_cannot_tell():
    assert np.isnan(DESIGN.columns([Conditions({"temperature": 150.0})])["film index"]).all()
    with pytest.raises(InputError) as error:
        points_matrix(DESIGN, {"age": np.array([np.nan]), "temperature": np.array([150.0])})
    assert error.value.code == "odds.value_missing"
    assert "film index" in error.value.params["factors"]


def test_a_negative_or_infinite_index_is_unknown_on_a_log_scale():
    design = Design((AGE, FILM), filler=RootOfAge(at_one_hour=-1.0))
    assert np.isnan(design.columns([Conditions({"age": 4.0})])["film index"]).all()
    design = Design((AGE, FILM), filler=RootOfAge(at_one_hour=np.inf))
    assert np.isnan(design.columns([Conditions({"age": 4.0})])["film index"]).all()


def test_the_matrix_fills_a_column_that_is_not_there():
    axis = np.array([1.0, 4.0, 16.0])
    filled = DESIGN.matrix({"age": axis, "temperature": np.array([150.0])})
    told = DESIGN.matrix({"age": axis, "temperature": np.array([150.0]), "film index": 2.0 * np.sqrt(axis)})
    assert filled == pytest.approx(told)
    assert filled.shape == (3, 4)


def test_columns_are_not_changed_by_filling():
    columns = {"age": np.array([4.0]), "temperature": np.array([150.0]), "film index": np.array([np.nan])}
    DESIGN.matrix(columns)
    assert np.isnan(columns["film index"]).all()


def test_a_design_without_the_factor_has_no_filler():
    assert DESIGN.without(("film index",)).filler is None
    assert DESIGN.without(("film index",)).follows is None
    assert DESIGN.without(("age",)).follows == "film index"
    assert Design((AGE,), filler=RootOfAge()) == Design((AGE,))


def test_a_design_with_a_filler_is_hashable_and_picklable():
    assert hash(DESIGN) == hash(Design((AGE, HEAT, FILM), filler=RootOfAge()))
    assert pickle.loads(pickle.dumps(DESIGN)) == DESIGN


def test_a_film_index_is_known_by_its_role_whatever_it_is_called():
    crust = Factor("crust", "", 0.1, 10.0, Scale.LOG, role=Role.FILM_INDEX)
    design, table = table_of((AGE, crust), attempts(6, crust=True), CampaignSettings(gates=1))
    forms = candidate_forms(design, table)
    assert forms[-1].key == "one gate, crust in place of age"
    assert forms[-1].without == ("age",)
    assert {form.key for form in forms} <= possible_keys(design.factors)


def test_the_film_form_keeps_the_filler_and_the_forms_by_age_lose_it():
    design, table = table_of((AGE, FILM), attempts(6), CampaignSettings(gates=1), filler=RootOfAge())
    forms = candidate_forms(design, table)
    by_age, by_film = forms[0], forms[-1]
    assert gate_design(design, None, by_age.without).filler is None
    assert gate_design(design, None, by_film.without).filler == RootOfAge()
    assert union_design(design, forms).filler == RootOfAge()


def test_a_film_index_that_is_alone_can_be_too_small_and_too_large():
    design, table = table_of((FILM, HEAT), attempts(6), CampaignSettings(gates=1))
    assert "one gate, hump in film index" in [form.key for form in candidate_forms(design, table)]


def attempts(count, *, films=True, crust=False):
    """Attempts at different ages, each with a film index of its own."""
    made = []
    for number in range(count):
        values = {"age": 1.0 + 7.0 * number, "temperature": 140.0 + number}
        if films:
            values["crust" if crust else "film index"] = 1.0 + ((number * 3) % 7)
        clean = Pooled.ONE_POOL if number % 3 else Pooled.BEADS
        made.append(Attempt(f"a{number}", number, Conditions(values), parted=Parted.YES, pooled=clean))
    return tuple(made)


def test_attempts_are_never_filled_by_the_rule_of_the_usual_jar():
    rows = (*attempts(6), *attempts(2, films=False))
    rows = tuple(Attempt(f"b{n}", n, row.conditions, successes=1) for n, row in enumerate(rows))
    design, table = table_of((AGE, FILM), rows, CampaignSettings(gates=1), filler=RootOfAge())
    assert table.counts.used == 6
    assert table.counts.missing == 2
    assert design.follows == "film index"


def test_a_film_index_without_values_is_dropped_in_the_usual_way_and_takes_the_filler_along():
    rows = attempts(6, films=False)
    design, table = table_of((AGE, FILM), rows, CampaignSettings(gates=1), filler=RootOfAge())
    assert table.counts.dropped_factors == ("film index",)
    assert table.counts.used == 6
    assert design == Design((AGE,))


def test_a_factor_is_dropped_by_decree_even_before_the_first_attempt():
    design, table = table_of((AGE, FILM), (), CampaignSettings(gates=1), without=("film index",))
    assert table.counts.dropped_factors == ("film index",)
    assert [factor.name for factor in design.factors] == ["age"]


def test_the_effect_of_an_age_holds_what_it_does_through_the_film_index():
    # At a square root, a doubling of the age is a rise of the index by the root of two: the two straight lines on
    # log scales add up exactly, which the odds themselves show.
    design, table = table_of((AGE, FILM), attempts(12), CampaignSettings(gates=1), filler=RootOfAge())
    model = fit_odds(table, design, CampaignSettings(gates=1))
    effects = {effect.factor.name: effect for effect in effects_of(model, table)}
    assert effects["age"].step.size == 2.0
    ages = np.array([10.0, 20.0])
    eta = model.gates[0].posterior.draws @ design.matrix({"age": ages}).T
    logs = model.gates[0].posterior.weights @ (eta[:, 1] - eta[:, 0])
    assert np.log(effects["age"].multiplier.mean) == pytest.approx(logs, rel=1e-6)
    plain = {e.factor.name: e for e in effects_of(fit_odds(table, Design((AGE, FILM)), CampaignSettings()), table)}
    assert plain["film index"].multiplier.mean == pytest.approx(effects["film index"].multiplier.mean)
    assert plain["age"].multiplier.mean != pytest.approx(effects["age"].multiplier.mean, rel=1e-3)
