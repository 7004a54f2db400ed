"""The refined answer: every candidate form fitted with lots allowed for, scored on unseen attempts, and weighed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.records import CampaignSettings
from stirfall.inference.bayes import Posterior
from stirfall.inference.design import Design
from stirfall.inference.forms import (
    GATE_NAMES,
    Form,
    FormScore,
    candidate_forms,
    gate_design,
    union_design,
)
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateName, GateRows, rows_of_gates
from stirfall.inference.loo import GateLoo, LooTable, leave_one_out, log_score
from stirfall.inference.lot_draws import MOST_LOTS
from stirfall.inference.lot_laplace import LaplaceFit, fit_many, is_many, leave_one_out_of_many, posterior_of
from stirfall.inference.odds import GateFit, Health, OddsModel
from stirfall.inference.particles import FittedGate, Particles, gather
from stirfall.inference.probability import weighted_interval
from stirfall.inference.stack import FittedModel, StackedModel
from stirfall.inference.stacking import stacking_weights
from stirfall.inference.table import AttemptTable

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_DRAWS = 2048
_PARTICLES = 4096
_FULL_DRAWS_ROWS = 150
# A form of less weight gives so few draws that its fit says nothing about the health of the answer.
_COUNTS_FOR_HEALTH = 0.05


@dataclass(frozen=True)
class LotEffect:
    """What one lot does to the log odds of one gate: mean, interval at the campaign's level, its attempts."""

    gate: GateName
    lot: str
    attempts: int
    mean: float
    lower: float
    upper: float


@dataclass(frozen=True)
class LotSpread:
    """Standard deviation of the lots' effects on the log odds: mean and interval."""

    mean: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Refined:
    """The weighed model, the forms best first, and leave-one-out of the weighed answer."""

    model: FittedModel
    forms: tuple[FormScore, ...]
    loo: LooTable
    lots: tuple[LotEffect, ...]
    lot_spread: Mapping[GateName, LotSpread]


@dataclass(frozen=True)
class _GateFit:
    """One gate in one shape: the fit, its places in the union design, and leave-one-out over the scored rows."""

    fit: GateFit
    places: IntArray
    loo: GateLoo


@dataclass(frozen=True)
class _Judged:
    """One form with its gates, and per scored attempt the foretold P(clean), its score, and the worst Pareto k."""

    form: Form
    gates: tuple[_GateFit, ...]
    probability: FloatArray
    score: FloatArray
    pareto_k: FloatArray

    @property
    def log_marginal(self) -> float:
        return sum(gate.fit.posterior.log_marginal for gate in self.gates)


def fit_refined(
    table: AttemptTable,
    design: Design,
    settings: CampaignSettings,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
) -> Refined:
    """Fit, score and weigh all candidate forms, or take the one that the settings pin.

    Scores are for the event "clean" on the attempts that were graded for it. A pinned form that is no candidate
    any more is not pinned. Same arguments, same answer. Raises Cancelled.
    """
    forms = candidate_forms(design, table)
    draws = _DRAWS if len(forms) > 1 else _PARTICLES
    fitter = _Fitter(table, design, union_design(design, forms), settings, seed, draws, token)
    judged = [fitter.judge(form) for form in forms]
    scores = np.column_stack([each.score for each in judged])
    weights = stacking_weights(scores)
    pinned = [form.key == settings.form for form in forms]
    if any(pinned):
        weights = np.array(pinned, dtype=float)
    model = fitter.only_form(judged, weights) or fitter.stack(judged, weights)
    return Refined(
        model,
        _scored(judged, weights, pinned),
        fitter.table_of(judged, weights),
        _lot_effects(model),
        _lot_spread(model),
    )


@dataclass
class _Fitter:
    table: AttemptTable
    design: Design
    union: Design
    settings: CampaignSettings
    seed: int
    draws: int
    token: CancelToken | None

    def __post_init__(self) -> None:
        self._fits: dict[tuple[GateName, str | None, tuple[str, ...]], _GateFit] = {}
        self._near: dict[GateName, LaplaceFit] = {}
        self._scored = np.flatnonzero(self.table.clean_n > 0)

    def judge(self, form: Form) -> _Judged:
        """Fit the gates of a form, each gate and shape once, and foretell the scored attempts."""
        names = GATE_NAMES[form.gates]
        shapes = zip(names, form.humps, strict=True)
        gates = tuple(self._gate(name, hump, form.without) for name, hump in shapes)
        probability = np.ones(len(self._scored))
        worst = np.zeros(len(self._scored))
        for gate in gates:
            probability = probability * gate.loo.success
            worst = np.maximum(worst, gate.loo.pareto_k)
        if form.gates == 1:
            score = gates[0].loo.log_score
        else:
            score = log_score(self.table.clean_k[self._scored], self.table.clean_n[self._scored], probability)
        return _Judged(form, gates, probability, score, worst)

    def _gate(self, name: GateName, hump: str | None, without: tuple[str, ...]) -> _GateFit:
        if (name, hump, without) not in self._fits:
            if self.token is not None:
                self.token.raise_if_cancelled()
            self._fits[name, hump, without] = self._fit(name, gate_design(self.design, hump, without))
        return self._fits[name, hump, without]

    def _fit(self, name: GateName, design: Design) -> _GateFit:
        rows = rows_of_gates(self.table, design, gates=1 if name == "clean" else 2)[name]
        prior_sd = design.prior_sd(self.settings.intercept_prior_sd, self.settings.effect_prior_sd)
        names, scale = self.table.group_names, self.settings.lot_sd_prior
        seed = 2 * self.seed + (name == "pooled")
        asked = self._asked(rows, design)
        if is_many(rows):
            many = fit_many(
                rows, prior_sd, lot_names=names, lot_sd_prior=scale, near=self._near.get(name), token=self.token
            )
            self._near.setdefault(name, many)
            posterior = posterior_of(many, rows, names, seed=seed)
            loo = leave_one_out_of_many(many, asked)
        else:
            draws = self.draws if len(rows.k) <= _FULL_DRAWS_ROWS else self.draws // 2
            posterior = fit_gate(
                rows, prior_sd, lot_names=names, lot_sd_prior=scale, draws=draws, seed=seed, token=self.token
            )
            loo = leave_one_out(asked, posterior, token=self.token)
        fit = GateFit(name, posterior, round(float(rows.k.sum())), posterior.n_trials)
        terms = list(self.union.terms)
        places = np.array([terms.index(term) for term in design.terms], dtype=np.intp)
        return _GateFit(fit, places, self._of_scored(loo, asked.rows))

    def _asked(self, rows: GateRows, design: Design) -> GateRows:
        """Return the scored attempts and all others that the gate saw; those that it never saw have no trials.

        An attempt of which only the parting is known has no score, but tells of its lot.
        """
        table = self.table
        seen = np.zeros(table.rows, dtype=bool)
        seen[self._scored] = seen[rows.rows] = True
        asked = np.flatnonzero(seen)
        k, n = np.zeros(table.rows), np.zeros(table.rows)
        k[rows.rows], n[rows.rows] = rows.k, rows.n
        columns = {name: column[asked] for name, column in table.columns.items()}
        group = np.full(table.rows, -1, dtype=np.intp) if table.group is None else table.group
        grade = None
        if rows.grade is not None and table.grade is not None:
            grade = table.grade[asked]
        matrix = design.matrix(columns, rows=len(asked))
        return GateRows(matrix, k[asked], n[asked], group[asked], rows.groups, asked, grade)

    def _of_scored(self, loo: GateLoo, asked: IntArray) -> GateLoo:
        """Return what was foretold of the scored attempts alone, of those that were ``asked`` about."""
        places = np.searchsorted(asked, self._scored)
        return replace(
            loo, success=loo.success[places], log_score=loo.log_score[places], pareto_k=loo.pareto_k[places]
        )

    def only_form(self, judged: list[_Judged], weights: FloatArray) -> OddsModel | None:
        """Return the model of the one form with all the weight, where no lots are in it: it needs no resampling."""
        chosen = judged[int(np.argmax(weights))]
        if weights.max() < 1.0 or any(gate.fit.posterior.lots is not None for gate in chosen.gates):
            return None
        gates = tuple(_padded(gate.fit, gate.places, len(self.union.terms)) for gate in chosen.gates)
        return OddsModel(self.union, gates, self.table.counts, self.settings.level, self._trials())

    def stack(self, judged: list[_Judged], weights: FloatArray) -> StackedModel:
        """Return the weighed model; its gates are those of the number of gates that carries more weight."""
        gates = np.array([each.form.gates for each in judged])
        two = float(weights[gates == 2].sum())
        main_gates = 2 if two >= 0.5 else 1
        heaviest = max(
            (place for place in range(len(judged)) if gates[place] == main_gates), key=lambda place: weights[place]
        )
        main = self._particles(judged, weights, gates == main_gates)
        share = float(weights[gates != main_gates].sum())
        other = self._particles(judged, weights, gates != main_gates) if share > 0 else None
        fits = tuple(gate.fit for gate in judged[heaviest].gates)
        has_lots = any(gate.fit.posterior.lots is not None for each in judged for gate in each.gates)
        return StackedModel(
            self.union,
            fits,
            main,
            other,
            share,
            self.table.counts,
            self.settings.level,
            self._trials(),
            _health(judged, weights),
            self.table.group_names if has_lots and self._told_apart else (),
        )

    def _trials(self) -> int:
        first = rows_of_gates(self.table, self.design)[GATE_NAMES[self.table.gates][0]]
        return round(float(first.n.sum()))

    @property
    def _told_apart(self) -> int:
        count = len(self.table.group_names)
        return count if count <= MOST_LOTS else 0

    def _particles(self, judged: list[_Judged], weights: FloatArray, chosen: NDArray[np.bool_]) -> Particles:
        forms = [
            (float(weight), tuple(FittedGate(gate.fit.posterior, gate.places) for gate in each.gates))
            for each, weight, is_chosen in zip(judged, weights, chosen, strict=True)
            if is_chosen
        ]
        return gather(forms, size=_PARTICLES, columns=len(self.union.terms), lots=self._told_apart)

    def table_of(self, judged: list[_Judged], weights: FloatArray) -> LooTable:
        """Return leave-one-out of the weighed answer."""
        scored = self._scored
        k, n = self.table.clean_k[scored], self.table.clean_n[scored]
        probability = np.column_stack([each.probability for each in judged]) @ weights
        # A pinned form may be so far behind another that its probability is no float beside it.
        counts = np.flatnonzero(weights > 0)
        scores = np.column_stack([judged[place].score for place in counts])
        top = scores.max(axis=1, initial=-math.inf)
        mixed = np.log(np.exp(scores - top[:, None]) @ weights[counts]) + top
        shapes = [
            each.pareto_k for each, weight in zip(judged, weights, strict=True) if weight > _COUNTS_FOR_HEALTH
        ]
        worst = np.maximum.reduce(shapes) if shapes else np.zeros(len(scored))
        ids = tuple(self.table.ids[row] for row in scored)
        return LooTable(ids, scored, k, n, probability, mixed, worst)


def _padded(fit: GateFit, places: IntArray, columns: int) -> GateFit:
    """Return a fit whose draws stand over the terms of all forms, zero where its own form has no such term."""
    draws = np.zeros((len(fit.posterior.draws), columns))
    draws[:, places] = fit.posterior.draws
    return replace(fit, posterior=replace(fit.posterior, draws=draws))


def _health(judged: list[_Judged], weights: FloatArray) -> Health:
    posteriors = [
        gate.fit.posterior
        for each, weight in zip(judged, weights, strict=True)
        if weight > _COUNTS_FOR_HEALTH
        for gate in each.gates
    ]
    return Health(
        min(posterior.effective_sample_size for posterior in posteriors),
        _worst(posterior.pareto_k for posterior in posteriors),
        min(len(posterior.weights) for posterior in posteriors),
    )


def _worst(shapes: Iterable[float]) -> float:
    """Return the largest shape; NaN where none was measured."""
    return max((shape for shape in shapes if not math.isnan(shape)), default=math.nan)


def _scored(judged: list[_Judged], weights: FloatArray, pinned: list[bool]) -> tuple[FormScore, ...]:
    totals = [float(each.score.sum()) for each in judged]
    best = judged[int(np.argmax(totals))].score
    found = [
        FormScore(
            each.form,
            float(weight),
            total,
            _spread_of_sum(each.score),
            max(0.0, float((best - each.score).sum())),
            _spread_of_sum(best - each.score),
            float(each.pareto_k.max(initial=0.0)),
            each.log_marginal,
            is_pinned,
        )
        for each, weight, total, is_pinned in zip(judged, weights, totals, pinned, strict=True)
    ]
    return tuple(sorted(found, key=lambda score: -score.log_score))


def _spread_of_sum(values: FloatArray) -> float:
    """Return the standard error of a sum of n independent scores: sqrt(n) times their standard deviation."""
    return float(math.sqrt(len(values)) * values.std(ddof=1)) if len(values) > 1 else math.nan


def _lot_effects(model: FittedModel) -> tuple[LotEffect, ...]:
    if not isinstance(model, StackedModel) or not model.lot_names:
        return ()
    found = []
    for gate in model.gates:
        lots = gate.posterior.lots
        if lots is None:  # too few lots got as far as this gate
            continue
        draws = model.lot_effects(gate.name)
        lower, upper = weighted_interval(draws, model.weights, model.level)
        mean = draws.mean(axis=0)
        lower, upper = np.minimum(lower, mean), np.maximum(upper, mean)
        found += [
            LotEffect(gate.name, name, lots.attempts[place], float(mean[place]), float(low), float(high))
            for place, (name, low, high) in enumerate(zip(model.lot_names, lower, upper, strict=True))
        ]
    return tuple(found)


def _lot_spread(model: FittedModel) -> dict[GateName, LotSpread]:
    """Return the spread of lots per gate, from the heaviest form, whose fits the model names."""
    found: dict[GateName, LotSpread] = {}
    for gate in model.gates:
        posterior: Posterior = gate.posterior
        if posterior.lots is None:
            continue
        sd = posterior.lots.sd[:, None]
        lower, upper = weighted_interval(sd, posterior.weights, model.level)
        mean = float(posterior.weights @ sd[:, 0])
        found[gate.name] = LotSpread(mean, min(float(lower[0]), mean), max(float(upper[0]), mean))
    return found
