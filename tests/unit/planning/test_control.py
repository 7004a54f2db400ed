"""The control error: averages held against dense quadrature, and what it does to the recommended conditions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import CampaignSettings
from stirfall.inference.design import Design
from stirfall.planning.box import make_box
from stirfall.planning.candidates import candidate_columns
from stirfall.planning.control import HELD_EXACTLY, Control, control_of, held_estimate
from stirfall.planning.draws import ThinDraws
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits
from stirfall.planning.objectives import objective_for
from stirfall.planning.recommended import best, find_best
from stirfall.planning.suggestions import box_for

EXACT = tuple((name, 0.0) for name in ("age", "temperature", "stirring time", "dose"))
RELIABLE = Goal.RELIABLE
WHERE = {"age": 40.0, "temperature": 150.0, "stirring time": 90.0, "additive": "rosin", "dose": 8.0}


def with_plan(state: CampaignState, **plan) -> CampaignState:
    return replace(state, settings=replace(state.settings, plan=PlanSettings(**plan)))


def test_the_scatter_is_half_of_what_is_stated_and_a_ratio_on_a_log_scale(make_state, fit):
    state = with_plan(make_state(20), control=(("temperature", 4.0), ("age", 20.0), ("dose", 0.0)))
    model = fit(state)
    control = control_of(box_for(model, operating_limits(state), RELIABLE), model.design)
    found = dict(zip((factor.name for factor in control.factors), control.sds, strict=True))
    assert found == {"age": pytest.approx(math.log(1.2) / 2), "temperature": pytest.approx(2.0)}


def test_the_nodes_have_the_moments_of_the_normal_law():
    factors = tuple(Factor(name, "C", 0.0, 500.0) for name in "abc")
    for control in (Control(factors, (1.0, 1.0, 1.0)), Control(factors[:1], (1.0,)), Control(factors, (1.0,) * 3)):
        for nodes, weights in (control.few, control.many):
            assert weights.sum() == pytest.approx(1.0)
            np.testing.assert_allclose(weights @ nodes, 0.0, atol=1e-12)
            np.testing.assert_allclose((nodes * weights[:, None]).T @ nodes, np.eye(nodes.shape[1]), atol=1e-12)
    # Cubic polynomials: every third moment vanishes.
    nodes, weights = Control(factors, (1.0, 1.0, 1.0)).few
    third = np.einsum("k,ki,kj,kl->ijl", weights, nodes, nodes, nodes)
    np.testing.assert_allclose(third, 0.0, atol=1e-12)


def dense(model, conditions: Conditions, scatter: dict[str, tuple[float, bool]], nodes: int = 24) -> np.ndarray:
    """Draws of P(clean) averaged by a tensor Gauss-Hermite rule (numpy) with ``nodes`` points along each factor."""
    at, weight = np.polynomial.hermite_e.hermegauss(nodes)
    weight = weight / weight.sum()
    names = list(scatter)
    grids = np.meshgrid(*[at] * len(names), indexing="ij")
    weights = np.prod(np.meshgrid(*[weight] * len(names), indexing="ij"), axis=0).ravel()
    columns = {
        name: np.full(len(weights), column[0]) for name, column in model.design.columns([conditions]).items()
    }
    for name, grid in zip(names, grids, strict=True):
        sd, is_log = scatter[name]
        columns[name] = columns[name] * np.exp(sd * grid.ravel()) if is_log else columns[name] + sd * grid.ravel()
    return model.probability_draws(columns) @ weights


@pytest.mark.parametrize(("heat", "age", "close"), [(3.0, 10.0, 1e-5), (25.0, 100.0, 6e-3)])
def test_held_agrees_with_dense_quadrature(make_state, fit, heat, age, close):
    state = with_plan(make_state(40), control=(("temperature", heat), ("age", age)))
    model = fit(state)
    box = box_for(model, operating_limits(state), RELIABLE)
    control = control_of(box, model.design)
    conditions = Conditions(WHERE)
    columns = {name: column.astype(float) for name, column in model.design.columns([conditions]).items()}
    found = held_estimate(model, control, columns)
    draws = dense(model, conditions, {"temperature": (heat / 2, False), "age": (math.log1p(age / 100) / 2, True)})
    assert found.mean == pytest.approx(float(model.weights @ draws), abs=close)
    assert found.lower <= found.mean <= found.upper
    searched = control.average(columns, model.probability_draws)
    assert float(model.weights @ searched[:, 0]) == pytest.approx(float(model.weights @ draws), abs=4 * close)


def test_with_nothing_to_hold_it_is_the_plain_estimate_and_the_plain_best(make_state, fit):
    state = with_plan(make_state(40), control=EXACT)
    model, limits = fit(state), operating_limits(state)
    found = best(model, limits, state)
    assert found.held == found.probability
    box = box_for(model, limits, RELIABLE)
    assert control_of(box, model.design).is_exact
    # A dense random search of the plain mean finds nothing better than the tie of half a per cent.
    columns = box.decode(np.random.default_rng(3).random((4000, len(box.varied))))
    assert found.probability.mean >= model.means(columns).max() - 0.01


HEAT = Factor("temperature", "C", 143.0, 167.0, role=Role.TEMPERATURE)


def cliff(half_width: float):
    """A campaign of one factor whose second gate falls off a cliff, with its draws written by hand."""
    plan = PlanSettings(control=(("temperature", half_width),))
    settings = CampaignSettings(melting_point_c=130.0, oil_flash_c=240.0, plan=plan)
    state = CampaignState(settings, (HEAT,))
    design = Design((HEAT,))
    rng = np.random.default_rng(6)
    rising = np.stack([rng.normal(0.8, 0.1, 300), rng.normal(1.2, 0.1, 300)]).astype(np.float32)
    falling = np.stack([rng.normal(9.0, 0.3, 300), rng.normal(-18.0, 0.5, 300)]).astype(np.float32)
    return state, ThinDraws(design, (rising, falling), independent=False)


@pytest.mark.parametrize("half_width", [5.0, 8.0])
def test_the_recommended_condition_keeps_away_from_a_cliff_as_dense_quadrature_says(half_width):
    state, draws = cliff(half_width)
    limits = operating_limits(state)
    box = make_box(limits, ["temperature"])
    columns = candidate_columns(box, [], count=64, seed=0)
    objective = objective_for(RELIABLE, limits)
    control = control_of(box, draws.design)
    held, _ = find_best(box, draws, columns, 0, objective=objective, control=control)
    plain, _ = find_best(box, draws, columns, 0, objective=objective, control=HELD_EXACTLY)
    at, weight = np.polynomial.hermite_e.hermegauss(60)
    low, high = limits.ranges["temperature"]
    grid = np.linspace(low, high, 241)
    spread = (grid[:, None] + half_width / 2 * at).ravel()
    means = draws.means({"temperature": spread}).reshape(len(grid), -1) @ (weight / weight.sum())
    exact = grid[np.argmax(means)]
    reached = np.interp(held["temperature"][0], grid, means)
    assert held["temperature"][0] < plain["temperature"][0] - 0.5
    assert abs(held["temperature"][0] - exact) <= max(1.0, 0.35 * half_width)
    assert reached >= means.max() - 0.01
    assert np.interp(plain["temperature"][0], grid, means) < reached


def test_a_dose_of_nothing_is_held_exactly_and_no_number_turns_negative():
    dose = Factor("dose", "mg/g", 0.0, 20.0, role=Role.DOSE)
    depth = Factor("oil depth", "mm", 0.0, 30.0)
    age = Factor("age", "h", 1.0, 100.0, Scale.LOG)
    control = Control((dose, depth, age), (2.0, 5.0, 0.1))
    columns = {"dose": np.array([0.0, 4.0]), "oil depth": np.array([2.0, 20.0]), "age": np.array([10.0, 50.0])}
    around = control.around(columns, control.many[0])
    assert (around["dose"].reshape(-1, 2)[:, 0] == 0.0).all()
    assert around["oil depth"].min() == 0.0
    assert around["age"].min() > 8.0


def test_what_follows_from_an_age_scatters_with_it():
    age = Factor("age", "h", 1.0, 100.0, Scale.LOG)
    control = Control((age,), (0.2,), lambda columns: {**columns, "film": 2.0 * np.sqrt(columns["age"])})
    around = control.around({"age": np.array([10.0]), "film": np.array([6.3])}, control.few[0])
    np.testing.assert_allclose(around["film"], 2.0 * np.sqrt(around["age"]))
    assert np.ptp(around["film"]) > 0
