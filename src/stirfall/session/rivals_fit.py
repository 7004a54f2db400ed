"""One fit per gate with the terms of all rival explanations at once, and what it says of each term.

The model is a Bayesian logistic regression with the campaign's own priors: its factors, but for ages, film index,
oil depth and humidity, whose place the tested terms take, and the lots. The Bayes factor for a term is the ratio of
prior and posterior density at "no effect" (Savage-Dickey: Dickey 1971, Ann. Math. Stat. 42:204), the posterior
taken as normal there; for an effect of one sign it is that times twice the probability of the sign (Klugkist, Laudy
& Hoijtink 2005, Psychol. Methods 10:477). For lots it is the ratio of the marginal likelihoods with and without.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.bayes import Posterior
from stirfall.inference.design import Design
from stirfall.inference.effect_steps import LEVEL_STEP, Step, natural_step, step_length
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateName, GateRows, rows_of_gates
from stirfall.inference.lot_laplace import fit_many, is_many, posterior_of
from stirfall.inference.probability import weighted_interval
from stirfall.inference.table import AttemptTable
from stirfall.session.analysis import Analysis
from stirfall.session.rivals_found import MOST, Evidence, Sign
from stirfall.session.rivals_terms import TestedTerm

FloatArray = NDArray[np.float64]

_DRAWS = 2048


@dataclass(frozen=True)
class GateTest:
    """The fit of one gate: its rows over ``design``, the posterior, and what the lots bring (a Bayes factor)."""

    name: GateName
    design: Design
    rows: GateRows
    posterior: Posterior
    level: float
    lots: float | None

    @property
    def n(self) -> int:
        """The trials behind it."""
        return self.posterior.n_trials


def fit_terms(
    analysis: Analysis, terms: Sequence[TestedTerm], without: Sequence[str], token: CancelToken | None = None
) -> dict[GateName, GateTest]:
    """Fit each gate with these terms in place of the factors ``without``; rows that lack a term are left out."""
    table, design = _with_terms(analysis, terms, without)
    settings = analysis.state.settings
    prior_sd = design.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)
    tests: dict[GateName, GateTest] = {}
    for place, (name, rows) in enumerate(rows_of_gates(table, design).items()):
        if token is not None:
            token.raise_if_cancelled()
        names = table.group_names if rows.has_lots else ()
        fits = [
            _fit(rows, prior_sd, each, analysis, seed=2 * analysis.seed + place, token=token)
            for each in ((names, ()) if names else ((),))
        ]
        lots = math.exp(_clip(fits[0].log_marginal - fits[-1].log_marginal)) if names else None
        tests[name] = GateTest(name, design, rows, fits[0], settings.level, lots)
    return tests


def _fit(
    rows: GateRows,
    prior_sd: FloatArray,
    names: tuple[str, ...],
    analysis: Analysis,
    *,
    seed: int,
    token: CancelToken | None,
) -> Posterior:
    scale = analysis.state.settings.lot_sd_prior
    used = rows if names else rows.without_lots()
    if is_many(used):
        many = fit_many(used, prior_sd, lot_names=names, lot_sd_prior=scale, token=token)
        return posterior_of(many, used, names, seed=seed)
    return fit_gate(used, prior_sd, lot_names=names, lot_sd_prior=scale, draws=_DRAWS, seed=seed, token=token)


def _with_terms(
    analysis: Analysis, terms: Sequence[TestedTerm], without: Sequence[str]
) -> tuple[AttemptTable, Design]:
    table, base = analysis.table, analysis.base.design
    kept = [factor for factor in base.factors if factor.name not in without]
    taken = {factor.name for factor in kept}
    added = [replace(term.factor, name=_free(term.name, taken)) for term in terms]
    design = Design((*kept, *added))
    columns = {factor.name: table.columns[factor.name] for factor in kept}
    columns |= {factor.name: term.values for factor, term in zip(added, terms, strict=True)}
    known = np.ones(table.rows, dtype=bool)
    for factor in design.factors:
        known &= np.isfinite(columns[factor.name])
    rows = np.flatnonzero(known)
    return rows_of_table(table, columns, rows), design


def _free(name: str, taken: set[str]) -> str:
    return f"{name} (tested)" if name in taken else name


def rows_of_table(table: AttemptTable, columns: Mapping[str, FloatArray], rows: NDArray[np.intp]) -> AttemptTable:
    """Return some rows of an attempt table, with these columns in the place of its own."""
    return replace(
        table,
        columns={name: column[rows] for name, column in columns.items()},
        clean_k=table.clean_k[rows],
        clean_n=table.clean_n[rows],
        parted=table.parted[rows],
        pooled=table.pooled[rows],
        ids=tuple(table.ids[row] for row in rows),
        grade=None,
        group=None if table.group is None else table.group[rows],
    )


@dataclass(frozen=True)
class _Place:
    """One term in one fit: how much of its scatter the other conditions explain, and which it follows most."""

    test: GateTest
    term: TestedTerm
    shared: float
    followed: str

    def told(self, step: Step, level: str, draws: FloatArray, foretold: Sign, bayes: float) -> Evidence:
        """Return the evidence of draws (m,) of an effect."""
        test, weights = self.test, self.test.posterior.weights
        mean = float(weights @ draws)
        lower, upper = weighted_interval(draws[:, None], weights, test.level)
        up = float(weights @ np.where(draws == 0, 0.5, (draws > 0).astype(float)))
        up = min(max(up, 1.0 / len(draws)), 1.0 - 1.0 / len(draws))
        prob = {"up": up, "down": 1.0 - up}.get(foretold, max(up, 1.0 - up))
        factor = {"either": bayes, "none": 1.0 / bayes}.get(foretold, 2.0 * prob * bayes)
        return Evidence(
            test.name,
            self.term.name,
            self.term.factor.unit,
            step,
            level,
            mean,
            min(float(lower[0]), mean),
            max(float(upper[0]), mean),
            test.level,
            foretold,
            prob,
            min(max(factor, 1.0 / MOST), MOST),
            test.n,
            self.shared,
            self.followed,
        )


def evidence_of(test: GateTest, term: TestedTerm, foretold: Sign) -> tuple[Evidence, ...]:
    """Return what one fit says of one term: one number, or of a choice each later level against the first.

    The Bayes factor of a choice is that of the whole choice; it stands with the first of its numbers.
    """
    places = _places(test.design, term)
    draws = test.posterior.draws[:, places]
    bayes = _savage_dickey(draws, test.posterior.weights, test.posterior.prior_sd[places])
    place = _Place(test, term, *_shared(test, places))
    if not term.factor.is_choice:
        step = natural_step(term.factor)
        return (place.told(step, "", draws[:, 0] * step_length(term.factor, step), foretold, bayes),)
    levels = term.factor.levels
    matrix = Design((term.factor,)).matrix({term.factor.name: np.arange(len(levels), dtype=float)})
    of_levels = draws @ matrix[:, 1:].T
    return tuple(
        place.told(
            LEVEL_STEP,
            f"{level} against {levels[0]}",
            of_levels[:, at] - of_levels[:, 0],
            "either",
            bayes if at == 1 else 1.0,
        )
        for at, level in enumerate(levels)
        if at
    )


def exposure_evidence(
    test: GateTest, name: str, time: TestedTerm, film: TestedTerm | None, foretold: Sign
) -> Evidence:
    """Return what a longer time does with the film that came with it, under the ``name`` of the two together.

    The film moves as it did in the attempts, by the slope of its column on that of time. This number hardly depends
    on how well the two can be told apart.
    """
    place = _places(test.design, time)[0]
    draws, prior = test.posterior.draws[:, place], test.posterior.prior_sd[place]
    if film is not None:
        other = _places(test.design, film)[0]
        slope = _slope(test.rows.X[:, place], test.rows.X[:, other])
        draws = draws + slope * test.posterior.draws[:, other]
        prior = math.hypot(prior, slope * test.posterior.prior_sd[other])
    bayes = _savage_dickey(draws[:, None], test.posterior.weights, np.array([prior]))
    step = natural_step(time.factor)
    named = TestedTerm(name, time.factor, time.values)
    return _Place(test, named, 0.0, "").told(step, "", draws * step_length(time.factor, step), foretold, bayes)


def _slope(column: FloatArray, other: FloatArray) -> float:
    centred = column - column.mean()
    size = float(centred @ centred)
    return float(centred @ other) / size if size > 0 else 0.0


def _places(design: Design, term: TestedTerm) -> list[int]:
    names = {term.name, f"{term.name} (tested)"}
    last = [factor.name for factor in design.factors if factor.name in names][-1]
    return [place for place, each in enumerate(design.terms) if last in each.factors]


def _savage_dickey(draws: FloatArray, weights: FloatArray, prior_sd: FloatArray) -> float:
    """Return the Bayes factor for an effect against none, for draws (m, k) and independent normal priors (k,)."""
    mean = weights @ draws
    centred = draws - mean
    covariance = (centred * weights[:, None]).T @ centred + 1e-12 * np.eye(len(mean))
    log_posterior = -0.5 * (mean @ np.linalg.solve(covariance, mean) + np.linalg.slogdet(covariance)[1])
    log_prior = -float(np.log(prior_sd).sum())
    return math.exp(_clip(log_prior - float(log_posterior)))


def _clip(log_ratio: float) -> float:
    return min(max(log_ratio, -math.log(MOST)), math.log(MOST))


def _shared(test: GateTest, places: Sequence[int]) -> tuple[float, str]:
    """Return the share of a term's scatter that the other columns explain, and the factor that it follows most."""
    matrix = test.rows.X
    if len(matrix) <= matrix.shape[1]:
        return 0.0, ""
    column = matrix[:, places[0]] - matrix[:, places[0]].mean()
    total = float(column @ column)
    if not total > 0:
        return 0.0, ""
    others = np.delete(matrix, list(places), axis=1)
    rest = column - others @ np.linalg.lstsq(others, column, rcond=None)[0]
    # Adjusted for the number of columns, so that few attempts do not look confounded by themselves.
    loss = (len(column) - 1) / max(len(column) - others.shape[1], 1)
    share = max(0.0, 1.0 - loss * float(rest @ rest) / total)
    return share, _followed(test.design, matrix, places, column)


def _followed(design: Design, matrix: FloatArray, places: Sequence[int], column: FloatArray) -> str:
    best, name = 0.0, ""
    for place, term in enumerate(design.terms):
        other = matrix[:, place] - matrix[:, place].mean()
        size = math.sqrt(float(other @ other) * float(column @ column))
        if place in places or not size > 0:
            continue
        strength = abs(float(other @ column)) / size
        if strength > best:
            best, name = strength, term.factors[0] if term.factors else ""
    return name
