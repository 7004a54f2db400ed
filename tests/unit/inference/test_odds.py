"""The odds of one gate and of two: exact products, intervals against quadrature, and manners."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import expit

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.pairing import pair_draws, resample
from stirfall.inference.probability import probability_draws, weighted_interval, weighted_means
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
STIR = Factor("stir", levels=("swirl", "fold", "press"))
POINT = Conditions({"age": 20.0, "stir": "fold"})


def model_of(attempts, factors=(AGE, STIR), **changes) -> OddsModel:
    state = CampaignState(CampaignSettings(**changes), tuple(factors), attempts=tuple(attempts))
    design, table = build_table(state)
    return fit_odds(table, design, state.settings)


def graded(number, parted, pooled=None, age=20.0, stir="fold"):
    return Attempt(str(number), number, Conditions({"age": age, "stir": stir}), parted=parted, pooled=pooled)


def mixed_attempts(count, seed=0):
    rng = np.random.default_rng(seed)
    attempts = []
    for number in range(count):
        parted = [Parted.NO, Parted.PARTLY, Parted.YES, Parted.YES][rng.integers(4)]
        pooled = [Pooled.ONE_POOL, Pooled.BEADS, Pooled.FEW_PIECES, None][rng.integers(4)]
        pooled = pooled if parted is Parted.YES else None
        age, stir = float(np.exp(rng.uniform(0, np.log(100)))), STIR.levels[rng.integers(3)]
        attempts.append(graded(number, parted, pooled, age, stir))
    return attempts


def law_of_probability(k, n, prior_sd=2.5):
    """Return values and weights of p under its exact posterior, intercept only, on a fine grid."""
    eta = np.linspace(-14, 14, 1401)
    p = expit(eta)
    weight = np.exp(k * np.log(p) + (n - k) * np.log1p(-p) - 0.5 * (eta / prior_sd) ** 2)
    return p, weight / weight.sum()


def test_gate_2_sees_only_attempts_that_parted_and_were_observed():
    attempts = [
        graded(1, Parted.YES, Pooled.ONE_POOL),
        graded(2, Parted.YES, Pooled.BEADS),
        graded(3, Parted.YES, Pooled.NOT_OBSERVED),
        graded(4, Parted.YES),
        graded(5, Parted.PARTLY, Pooled.ONE_POOL),
        graded(6, Parted.NO),
    ]
    model = model_of(attempts)
    assert [(gate.name, gate.k, gate.n) for gate in model.gates] == [("parted", 4, 6), ("pooled", 1, 2)]
    assert model.n == 6


def test_one_gate_counts_clean_trials():
    attempts = [
        graded(1, Parted.YES, Pooled.ONE_POOL),
        graded(2, Parted.PARTLY),
        Attempt("3", 3, POINT, successes=3, trials=8),
    ]
    model = model_of(attempts, gates=1)
    assert [(gate.name, gate.k, gate.n) for gate in model.gates] == [("clean", 4, 10)]
    assert model.n == 10


def test_counted_attempts_alone_are_fitted_by_one_gate_even_when_two_are_wanted():
    model = model_of([Attempt("1", 1, POINT, successes=3, trials=8)])
    assert [gate.name for gate in model.gates] == ["clean"]


def test_each_gate_is_the_posterior_of_its_own_rows():
    attempts = mixed_attempts(40)
    model = model_of(attempts)
    design, table = build_table(CampaignState(CampaignSettings(), (AGE, STIR), attempts=tuple(attempts)))
    X = design.matrix(table.columns)
    seen = (table.parted == 1) & np.isfinite(table.pooled)
    sd = np.r_[2.5, np.full(X.shape[1] - 1, 2.0)]
    assert model.gates[0].posterior.mode == pytest.approx(fit_posterior(X, table.parted, 1, sd).mode)
    assert model.gates[1].posterior.mode == pytest.approx(fit_posterior(X[seen], table.pooled[seen], 1, sd).mode)


def test_the_mean_is_exactly_the_product_of_the_weighted_means():
    model = model_of(mixed_attempts(30))
    columns = model.design.columns([POINT, POINT.with_value("age", 3.0)])
    matrix = model.design.matrix(columns)
    gates = [gate.posterior for gate in model.gates]
    product = np.prod([post.weights @ expit(post.draws @ matrix.T) for post in gates], axis=0)
    assert model.estimates(columns).mean == pytest.approx(product, rel=1e-9)
    assert model.means(columns) == pytest.approx(product, rel=1e-9)
    by_gate = model.gate_estimates(columns)
    assert by_gate["parted"].mean * by_gate["pooled"].mean == pytest.approx(product, rel=1e-9)


def test_paired_draws_agree_with_the_product_and_do_not_correlate():
    model = model_of(mixed_attempts(30))
    columns = model.design.columns([POINT])
    draws = model.probability_draws(columns)
    assert model.weights @ draws == pytest.approx(model.means(columns), abs=0.005)
    parted, pooled = (values[:, 0] for values in model.gate_draws(columns).values())
    assert parted * pooled == pytest.approx(draws[:, 0])
    assert abs(np.corrcoef(parted, pooled)[0, 1]) < 4 / np.sqrt(len(parted))


@pytest.mark.parametrize(
    ("parted", "pooled", "neither"), [(1, 0, 0), (6, 2, 4), (12, 12, 0), (0, 0, 5), (30, 20, 15)]
)
@pytest.mark.parametrize("level", [0.8, 0.95])
def test_the_law_of_the_product_agrees_with_quadrature(parted, pooled, neither, level):
    attempts = [graded(i, Parted.YES, Pooled.ONE_POOL if i < pooled else Pooled.BEADS) for i in range(parted)]
    attempts += [graded(100 + i, Parted.NO) for i in range(neither)]
    bands = model_of(attempts, (), level=level).estimates({})
    p1, w1 = law_of_probability(parted, parted + neither)
    p2, w2 = law_of_probability(pooled, parted)
    assert bands.mean[0] == pytest.approx((w1 @ p1) * (w2 @ p2), abs=0.006)
    product, weight = np.outer(p1, p2).ravel(), np.outer(w1, w2).ravel()
    order = np.argsort(product)
    shares = np.cumsum(weight[order])
    # The bounds are quantiles: they are judged by the probability below them, four standard errors wide.
    tail = (1 - level) / 2
    tolerance = 4 * np.sqrt(tail * (1 - tail) / 3000)
    for bound, share in ((bands.lower[0], tail), (bands.upper[0], 1 - tail)):
        assert shares[np.searchsorted(product[order], bound) - 1] == pytest.approx(share, abs=tolerance)


def test_one_gate_intervals_agree_with_quadrature():
    bands = model_of([Attempt("1", 1, POINT, successes=3, trials=9)], (), gates=1).estimates({})
    p, w = law_of_probability(3, 9)
    shares = np.cumsum(w)
    assert bands.mean[0] == pytest.approx(w @ p, abs=0.006)
    assert shares[np.searchsorted(p, bands.lower[0])] == pytest.approx(0.025, abs=0.01)
    assert shares[np.searchsorted(p, bands.upper[0])] == pytest.approx(0.975, abs=0.01)


def test_without_attempts_the_answer_is_broad():
    for gates, mean in ((1, 0.5), (2, 0.25)):
        bands = model_of([], gates=gates).estimates(model_of([]).design.columns([POINT]))
        assert bands.mean[0] == pytest.approx(mean, abs=0.02)
        assert bands.upper[0] - bands.lower[0] > 0.8


def test_more_attempts_narrow_the_interval():
    widths = []
    for count in (4, 16, 64):
        attempts = [graded(i, Parted.YES, Pooled.ONE_POOL if i % 2 else Pooled.BEADS) for i in range(count)]
        model = model_of(attempts)
        bands = model.estimates(model.design.columns([POINT]))
        widths.append(bands.upper[0] - bands.lower[0])
    assert widths == sorted(widths, reverse=True)


def test_many_points_agree_with_one_at_a_time():
    model = model_of(mixed_attempts(30))
    points = [POINT.with_value("age", age) for age in np.geomspace(1, 100, 150)]
    together = model.estimates(model.design.columns(points))
    alone = model.estimates(model.design.columns(points[77:78]))
    assert [band[77] for band in together] == pytest.approx([band[0] for band in alone], rel=1e-9)


def test_same_seed_same_answer():
    first, second = (model_of(mixed_attempts(25)) for _ in range(2))
    columns = first.design.columns([POINT])
    assert np.array_equal(first.estimates(columns), second.estimates(columns))


def test_a_missing_value_is_asked_for_by_name():
    model = model_of(mixed_attempts(20))
    with pytest.raises(InputError) as error:
        model.estimates(model.design.columns([Conditions({"stir": "fold"})]))
    assert error.value.code == "odds.value_missing"
    assert error.value.params["factors"] == "age"


def test_health_is_that_of_the_weaker_gate():
    model = model_of(mixed_attempts(60))
    sizes = [gate.posterior.effective_sample_size for gate in model.gates]
    assert model.health.effective_sample_size == min(sizes)
    assert model.health.pareto_k == max(gate.posterior.pareto_k for gate in model.gates)
    assert model.health.is_sound


def test_reordering_levels_changes_no_odds():
    attempts = mixed_attempts(40)
    turned = Factor("stir", levels=("press", "swirl", "fold"))
    plain, other = model_of(attempts), model_of(attempts, (AGE, turned))
    for stir in STIR.levels:
        point = [POINT.with_value("stir", stir)]
        first = plain.estimates(plain.design.columns(point))
        second = other.estimates(other.design.columns(point))
        assert np.ravel(first) == pytest.approx(np.ravel(second), abs=0.02)


def test_resampling_keeps_equal_weights_and_means():
    posterior = fit_posterior(np.ones((1, 1)), [2], [5], 2.5)
    draws = resample(posterior)
    assert draws.shape == posterior.draws.shape
    assert draws.mean() == pytest.approx(posterior.mean[0], abs=0.01)
    few = fit_posterior(np.ones((1, 1)), [2], [5], 2.5, draws=512)
    assert [len(rows) for rows in pair_draws([posterior, few])] == [512, 512]


def test_weighted_quantiles_are_those_of_the_stepped_law():
    values = np.array([[0.4], [0.1], [0.3], [0.2]])
    assert weighted_interval(values, np.array([0.1, 0.2, 0.3, 0.4]), 0.5) == (
        pytest.approx([0.2]),
        pytest.approx([0.3]),
    )
    lower, upper = weighted_interval(np.linspace(0, 1, 1000)[:, None], np.full(1000, 1e-3), 0.9)
    assert (lower[0], upper[0]) == pytest.approx((0.05, 0.95), abs=0.002)


def test_equal_and_weighted_quantiles_agree():
    rng = np.random.default_rng(0)
    values, equal = rng.random((4096, 5)), np.full(4096, 1 / 4096)
    nearly = equal * (1 + 1e-9 * rng.random(4096))
    exact, weighted = weighted_interval(values, equal, 0.9), weighted_interval(values, nearly / nearly.sum(), 0.9)
    assert np.ravel(exact) == pytest.approx(np.ravel(weighted), abs=1e-3)


def test_blockwise_probabilities_are_the_plain_ones():
    rng = np.random.default_rng(1)
    beta, matrix, weights = rng.normal(size=(1000, 4)), rng.normal(size=(150, 4)), rng.random(1000)
    plain = expit(beta @ matrix.T)
    assert probability_draws(beta, matrix) == pytest.approx(plain)
    assert weighted_means(beta, weights, matrix) == pytest.approx(weights @ plain)


OUTCOMES = st.one_of(
    st.tuples(st.sampled_from([Parted.NO, Parted.PARTLY]), st.none()),
    st.tuples(st.just(Parted.YES), st.sampled_from([*Pooled, None])),
)
VALUES = st.floats(1e-6, 1e9)


@settings(max_examples=40)
@given(
    st.lists(st.tuples(VALUES, st.sampled_from(STIR.levels), OUTCOMES), max_size=8),
    VALUES,
    st.sampled_from([0.5, 0.8, 0.95, 0.999]),
    st.integers(1, 2),
)
def test_an_estimate_is_always_a_probability_inside_its_interval(rows, age, level, gates):
    attempts = [graded(i, outcome[0], outcome[1], a, stir) for i, (a, stir, outcome) in enumerate(rows)]
    model = model_of(attempts, level=level, gates=gates, humps=("age",), products=(("age", "stir"),))
    columns = model.design.columns([Conditions({"age": age, "stir": "fold"})])
    for bands in (model.estimates(columns), *model.gate_estimates(columns).values()):
        mean, lower, upper = (float(values[0]) for values in bands)
        assert 0.0 < lower <= mean <= upper < 1.0


@settings(max_examples=25)
@given(st.integers(0, 12), st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.booleans())
def test_constant_and_separated_columns_give_probabilities_too(count, middle, width, constant):
    factor = Factor("x", "", middle - width, middle + width)
    attempts = [
        Attempt(
            str(i),
            i,
            Conditions({"x": middle if constant else middle + width * (i - count / 2)}),
            successes=int(i > count / 2),
        )
        for i in range(count)
    ]
    model = model_of(attempts, (factor,), gates=1)
    bands = model.estimates({"x": np.array([middle - 5 * width, middle, middle + 5 * width])})
    assert (bands.lower > 0).all()
    assert (bands.upper < 1).all()
    assert (bands.lower <= bands.mean).all()
    assert (bands.mean <= bands.upper).all()


def test_the_first_answer_of_very_many_attempts_is_that_of_the_sampler():
    # Independent algorithm: importance sampling of the same rows, which the first answer uses for fewer attempts.
    attempts = mixed_attempts(5200, seed=3)
    model = model_of(attempts)
    design, table = build_table(CampaignState(CampaignSettings(), (AGE, STIR), attempts=tuple(attempts)))
    known = np.isfinite(table.parted)
    matrix = design.matrix(table.columns, rows=table.rows)[known]
    sampled = fit_posterior(matrix, table.parted[known], np.ones(known.sum()), design.prior_sd(2.5, 2.0))
    found = model.gates[0].posterior
    assert np.isnan(found.pareto_k)
    np.testing.assert_allclose(found.mean, sampled.mean, atol=0.05 * sampled.sd.max())
    np.testing.assert_allclose(found.sd, sampled.sd, rtol=0.03)
    assert found.log_marginal == pytest.approx(sampled.log_marginal, abs=0.05)
    assert model.health.is_sound
