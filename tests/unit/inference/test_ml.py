"""Maximum likelihood: closed forms, invariances, two independent programs, and honesty when it does not exist."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.ml import fit_ml
from stirfall.inference.ml_table import fit_ml_table
from stirfall.inference.table import build_table


@given(st.integers(1, 400), st.integers(1, 400))
def test_an_intercept_alone_is_the_log_odds(k, rest):
    fit = fit_ml(np.ones((1, 1)), [k], [k + rest])
    assert fit.estimate[0] == pytest.approx(math.log(k / rest), abs=1e-8)
    assert fit.se[0] == pytest.approx(math.sqrt(1 / k + 1 / rest), rel=1e-6)
    assert fit.deviance == pytest.approx(0.0, abs=1e-8)
    assert fit.df == 0
    assert fit.log_likelihood == pytest.approx(stats.binom.logpmf(k, k + rest, k / (k + rest)))


@given(*[st.integers(1, 60)] * 4)
def test_a_saturated_two_by_two_table_gives_the_log_odds_ratio(a, b, c, d):
    fit = fit_ml([[1, 0], [1, 1]], [a, c], [a + b, c + d])
    assert fit.estimate == pytest.approx([math.log(a / b), math.log(c * b / (d * a))], abs=1e-7)
    assert fit.se == pytest.approx([math.sqrt(1 / a + 1 / b), math.sqrt(1 / a + 1 / b + 1 / c + 1 / d)], rel=1e-6)
    assert fit.deviance == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("seed", range(4))
def test_agrees_with_the_glm_of_statsmodels(made_up, seed):
    X, _ = made_up(40, 4, seed)
    rng = np.random.default_rng(seed)
    n = rng.integers(1, 9, 40)
    k = rng.binomial(n, 1 / (1 + np.exp(-(X @ [0.3, 1.0, -1.0, 0.5]))))
    fit = fit_ml(X, k, n)
    witness = sm.GLM(np.column_stack([k, n - k]), X, family=sm.families.Binomial()).fit(tol=1e-12)
    assert fit.estimate == pytest.approx(witness.params, abs=1e-7)
    assert fit.se == pytest.approx(witness.bse, rel=1e-6)
    assert fit.covariance == pytest.approx(witness.cov_params(), rel=1e-5, abs=1e-9)
    assert (fit.deviance, fit.null_deviance) == pytest.approx((witness.deviance, witness.null_deviance))
    assert fit.df == witness.df_resid
    assert fit.log_likelihood == pytest.approx(witness.llf)


def test_agrees_with_a_general_optimiser(made_up):
    X, y = made_up(60, 3, 2)

    def minus_log_likelihood(beta):
        return -stats.bernoulli.logpmf(y, 1 / (1 + np.exp(-(X @ beta)))).sum()

    best = optimize.minimize(
        minus_log_likelihood, np.zeros(3), method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-12}
    )
    fit = fit_ml(X, y, 1)
    assert fit.estimate == pytest.approx(best.x, abs=1e-5)
    assert fit.log_likelihood == pytest.approx(-best.fun)


def test_grouping_changes_neither_estimates_nor_errors():
    X, k, n = np.array([[1, 0.0], [1, 1.0], [1, 2.0]]), np.array([1, 2, 4]), np.array([5, 5, 6])
    long_x = np.repeat(X, n, axis=0)
    long_y = np.concatenate([np.r_[np.ones(a), np.zeros(b - a)] for a, b in zip(k, n, strict=True)])
    grouped, single = fit_ml(X, k, n), fit_ml(long_x, long_y, 1)
    assert grouped.estimate == pytest.approx(single.estimate, abs=1e-8)
    assert grouped.se == pytest.approx(single.se, rel=1e-7)
    constant = stats.binom.logpmf(k, n, 0.5).sum() - n.sum() * math.log(0.5)
    assert grouped.log_likelihood - single.log_likelihood == pytest.approx(constant)
    assert (grouped.df, single.df) == (1, 14)


def test_rescaling_a_column_rescales_its_coefficient(made_up):
    X, y = made_up(50, 3, 4)
    plain, scaled = fit_ml(X, y, 1), fit_ml(X * [1, 1e6, 1e-6], y, 1)
    assert scaled.estimate == pytest.approx(plain.estimate / [1, 1e6, 1e-6], rel=1e-6)
    assert scaled.deviance == pytest.approx(plain.deviance)


def test_swapping_the_labels_turns_every_sign(made_up):
    X, y = made_up(50, 3, 4)
    assert fit_ml(X, 1 - y, 1).estimate == pytest.approx(-fit_ml(X, y, 1).estimate, abs=1e-7)


LINE = np.column_stack([np.ones(6), np.arange(6.0)])


@pytest.mark.parametrize(
    ("X", "k", "n", "code"),
    [
        (LINE, [0, 0, 0, 1, 1, 1], 1, "ml.complete_separation"),
        (LINE, [0, 0, 2, 4, 4, 4], 4, "ml.quasi_separation"),
        (LINE, [0, 0, 0, 0, 0, 0], 3, "ml.one_outcome"),
        (LINE, [3, 3, 3, 3, 3, 3], 3, "ml.one_outcome"),
        (LINE[:, [0, 1, 1]], [0, 1, 0, 1, 0, 1], 1, "ml.collinear"),
        (np.column_stack([LINE, np.zeros(6)]), [0, 1, 0, 1, 0, 1], 1, "ml.collinear"),
        (LINE[:1], [1], [2], "ml.collinear"),
        (np.empty((0, 2)), [], [], "ml.no_rows"),
        (LINE, [0] * 6, [0] * 6, "ml.no_rows"),
    ],
)
def test_where_no_fit_exists_it_says_why_and_gives_no_number(X, k, n, code):
    fit = fit_ml(X, k, n)
    assert not fit.exists
    assert fit.reason is not None
    assert fit.reason.code == code
    numbers = [*fit.estimate, *fit.se, *fit.covariance.ravel(), fit.deviance, fit.null_deviance, fit.log_likelihood]
    assert np.isnan(numbers).all()


@given(st.lists(st.tuples(st.integers(-4, 4), st.booleans()), min_size=3, max_size=12))
def test_separation_by_one_number_is_found_exactly(rows):
    """One number parts the outcomes when their ranges do not overlap; touching in one value is quasi-separation."""
    x = np.array([value for value, _ in rows], dtype=float)
    y = np.array([outcome for _, outcome in rows])
    if y.all() or not y.any() or len(set(x)) == 1:
        return
    yes, no = x[y], x[~y]
    gap = max(yes.min() - no.max(), no.min() - yes.max())
    fit = fit_ml(np.column_stack([np.ones(len(x)), x]), y, 1)
    expected = "ml.complete_separation" if gap > 0 else "ml.quasi_separation" if gap == 0 else None
    assert (fit.reason.code if fit.reason else None) == expected
    assert fit.exists == (expected is None)


def test_a_very_steep_fit_that_exists_is_not_called_separated():
    x = np.r_[np.linspace(-100, -1, 50), 0.5, -0.5, np.linspace(1, 100, 50)]
    y = np.r_[np.zeros(50), 0, 1, np.ones(50)]
    fit = fit_ml(np.column_stack([np.ones(102), x]), y, 1)
    assert fit.exists
    assert np.abs(fit.estimate[1] * x).max() > 100


def ml_of(attempts, factors):
    settings = CampaignSettings(gates=1)
    design, table = build_table(CampaignState(settings, factors, attempts=tuple(attempts)))
    return fit_ml_table(table, design)


def test_a_factor_that_never_varied_is_left_out_and_named():
    factors = (
        Factor("age", "h", 1, 100, Scale.LOG),
        Factor("warmth", "C", 100, 200),
        Factor("oil", levels=("a", "b")),
    )
    rows = [(1, 0), (3, 1), (10, 0), (30, 1), (100, 1), (50, 0)]
    attempts = [
        Attempt(str(i), i, Conditions({"age": age, "warmth": 150.0, "oil": "b"}), successes=clean)
        for i, (age, clean) in enumerate(rows)
    ]
    result = ml_of(attempts, factors)
    assert result.constant == ("warmth", "oil")
    assert [term.name for term in result.terms] == ["(intercept)", "age"]
    witness = fit_ml(np.column_stack([np.ones(6), np.log([a for a, _ in rows])]), [c for _, c in rows], 1)
    assert result.estimate == pytest.approx(witness.estimate, rel=1e-6)
    assert result.se == pytest.approx(witness.se, rel=1e-6)
    assert result.fit.deviance == pytest.approx(witness.deviance)


def test_level_effects_sum_to_zero_and_forget_levels_that_never_occurred():
    factor = Factor("stir", levels=("swirl", "press", "fold", "scrape"))
    counts = {"swirl": (2, 8), "fold": (5, 9), "scrape": (6, 7)}
    attempts = [
        Attempt(level, 1, Conditions({"stir": level}), successes=k, trials=n) for level, (k, n) in counts.items()
    ]
    result = ml_of(attempts, (factor,))
    assert [term.name for term in result.terms] == ["(intercept)", "stir: swirl", "stir: fold", "stir: scrape"]
    odds = np.log([k / (n - k) for k, n in counts.values()])
    assert result.estimate == pytest.approx([odds.mean(), *(odds - odds.mean())], abs=1e-7)
    variance = np.array([1 / k + 1 / (n - k) for k, n in counts.values()])
    assert result.se[0] == pytest.approx(math.sqrt(variance.sum()) / 3, rel=1e-6)
    expected = [(4 * variance[i] + variance.sum() - variance[i]) / 9 for i in range(3)]
    assert result.se[1:] == pytest.approx(np.sqrt(expected), rel=1e-6)


def test_renaming_levels_changes_no_fit():
    counts = {"a": (2, 8), "b": (5, 9), "c": (6, 7)}
    results = [
        ml_of(
            [
                Attempt(level, 1, Conditions({"s": level}), successes=k, trials=n)
                for level, (k, n) in counts.items()
            ],
            (Factor("s", levels=order),),
        )
        for order in (("a", "b", "c"), ("c", "a", "b"))
    ]
    effects = [dict(zip([t.name for t in r.terms], r.estimate, strict=True)) for r in results]
    assert effects[0] == pytest.approx(effects[1], abs=1e-7)
