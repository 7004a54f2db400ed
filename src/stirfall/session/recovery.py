"""How much metal a clean attempt brings back, and how many clean grams an attempt may be expected to give."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome, Pooled
from stirfall.bench.records import Attempt
from stirfall.inference.design import Design
from stirfall.inference.probability import weighted_interval
from stirfall.inference.recovery import (
    HIGHEST,
    LOWEST,
    RecoveryFit,
    fit_recovery,
    mean_draws,
    mean_recovery,
    new_attempt,
)
from stirfall.physics.mass_balance import balance

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
Basis = Literal["metal", "charge"]

# Fewer attempts than this carry a mean and a scatter, and no effect.
FEWEST_FOR_EFFECTS = 8
_SHUFFLE_SEED = 20_017


@dataclass(frozen=True)
class RecoveryAt:
    """Recovery at some conditions, shares of 1: ``new_attempt`` for one new clean attempt, ``mean`` over many."""

    new_attempt: Estimate
    mean: Estimate


@dataclass(frozen=True)
class ExpectedGrams:
    """Clean grams to be expected per attempt: P(clean) x E[recovery | clean] x what was charged.

    ``mean`` with its interval at ``level``: that of the expectation, where P(clean) and the mean recovery are both
    uncertain. A single attempt gives either about ``if_clean`` grams or no clean metal. ``charge_g`` is the charge
    meant; ``metal_share`` what of it counts as metal (1 where recovery is told per charge).
    """

    mean: float
    lower: float
    upper: float
    level: float
    if_clean: float
    charge_g: float
    metal_share: float
    probability: Estimate
    recovery: Estimate


@dataclass(frozen=True)
class Recovery:
    """The recovery of the ``n`` clean attempts whose charge and product were weighed.

    ``basis`` is "metal" where the solids of every lot behind it are known: product / (charge x (1 - solids)), the
    product counted as pure metal; else "charge": product / charge. ``average`` is the recovery at the mean of
    those attempts. ``effects`` names the exposures in the regression; none with fewer than eight attempts.
    ``over_one`` are the ids of attempts with a recovery of 1 or more, which is oil or solids weighed as product;
    ``held`` counts those that were set to 0.995 (or 0.005) before the logit. ``unweighed`` counts clean attempts
    without both masses, ``without_solids`` weighed ones whose lot has no solids content. ``median_charge_g`` is
    that of all attempts with a charge; ``metal_share`` the median of 1 - solids over the rows (1 for "charge").
    """

    analysis: Analysis = field(repr=False, compare=False)
    fit: RecoveryFit = field(repr=False, compare=False)
    n: int
    basis: Basis
    effects: tuple[str, ...]
    average: RecoveryAt
    over_one: tuple[str, ...]
    held: int
    unweighed: int
    without_solids: int
    median_charge_g: float | None
    metal_share: float
    observed: tuple[float, ...]

    @property
    def is_doubtful(self) -> bool:
        """Whether some recovery cannot be true: weigh again, or get the oil off the metal first."""
        return bool(self.over_one)

    def at(self, conditions: Conditions) -> RecoveryAt:
        """Return the recovery at conditions; raises InputError ``conditions.missing`` for an exposure it needs."""
        return _at(self.fit, self._row(conditions), self.analysis.model.level)

    def expected_grams(
        self, conditions: Conditions, charge_g: float | None = None, lot_id: str | None = None
    ) -> ExpectedGrams | None:
        """Return the clean grams to be expected per attempt, for ``charge_g`` or the median charge so far.

        ``lot_id`` names the lot whose solids count, otherwise the lot that the analysis answers for; where neither
        is known, the median share of metal so far. P(clean) and the
        recovery are independent in the posterior: their draws are paired at random, the same way every time.
        Returns None without any charge. Raises InputError ``charge.not_positive`` and ``conditions.missing``.
        """
        charge = self.median_charge_g if charge_g is None else charge_g
        if charge is None:
            return None
        if not (math.isfinite(charge) and charge > 0):
            raise InputError("charge.not_positive", charge=charge)
        probability = self.analysis.estimate(conditions)
        recovery = self.at(conditions).mean
        share = self._metal_share(lot_id)
        product = self._clean_recovery(conditions)
        weights = self.analysis.model.weights
        low, high = (float(bound[0]) for bound in weighted_interval(product[:, None], weights, probability.level))
        mean = probability.mean * recovery.mean
        grams = charge * share
        return ExpectedGrams(
            mean * grams,
            min(low, mean) * grams,
            max(high, mean) * grams,
            probability.level,
            recovery.mean * grams,
            charge,
            share,
            probability,
            recovery,
        )

    def _clean_recovery(self, conditions: Conditions) -> FloatArray:
        """Return (m,) draws of P(clean) times the mean recovery, to be used with the model's weights."""
        model = self.analysis.model
        chance = model.probability_draws(model.design.columns([conditions]))[:, 0]
        recovered = mean_draws(self.fit, self._row(conditions), draws=len(chance))[:, 0]
        paired = np.random.default_rng(_SHUFFLE_SEED).permutation(recovered)
        return np.asarray(chance * paired, dtype=float)

    def _metal_share(self, lot_id: str | None) -> float:
        if self.basis == "charge":
            return 1.0
        lot = self.analysis.state.lot(lot_id or self.analysis.lot)
        return _metal_of(lot.solids_percent if lot else None) or self.metal_share

    def _row(self, conditions: Conditions) -> FloatArray:
        design = _design(self.analysis.state.factors, self.effects)
        matrix = design.matrix(design.columns([conditions]), rows=1)
        if np.isnan(matrix).any():
            missing = [name for name in self.effects if conditions.number(name) is None]
            raise InputError("conditions.missing", names=", ".join(missing or self.effects))
        return matrix


@dataclass(frozen=True)
class _Weighed:
    """One clean attempt with charge and product: recovery per charge, and the share of metal where it is known."""

    attempt: Attempt
    per_charge: float
    metal_share: float | None


def recovery_of(state: CampaignState, analysis: Analysis) -> Recovery | None:
    """Return the recovery of the clean attempts, None where none has both charge and product weighed.

    An attempt counts as clean as it does for the model. Solids are taken from the lot; recovery is told per metal
    only where all of them are known.
    """
    clean = [attempt for attempt in state.attempts if _is_clean(attempt, state.settings.partly)]
    weighed = [found for attempt in clean if (found := _weigh(state, attempt)) is not None]
    if not weighed:
        return None
    without = sum(each.metal_share is None for each in weighed)
    shares = [each.metal_share or 1.0 for each in weighed] if not without else [1.0] * len(weighed)
    recovered = np.array([each.per_charge / share for each, share in zip(weighed, shares, strict=True)])
    model = analysis.model.design
    # What follows from the ages tells nothing beside them.
    told = [factor for factor in model.factors if factor.name != model.follows]
    effects = _effects(told, [each.attempt for each in weighed])
    design = _design(state.factors, effects)
    matrix = design.matrix(design.columns([each.attempt.conditions for each in weighed]), rows=len(weighed))
    fit = fit_recovery(matrix, recovered)
    return Recovery(
        analysis,
        fit,
        len(weighed),
        "charge" if without else "metal",
        effects,
        _at(fit, matrix.mean(axis=0, keepdims=True), analysis.model.level),
        tuple(each.attempt.id for each, share in zip(weighed, recovered, strict=True) if share >= 1.0),
        int(((recovered > HIGHEST) | (recovered < LOWEST)).sum()),
        len(clean) - len(weighed),
        without,
        _median_charge(state.attempts),
        float(np.median(shares)),
        tuple(float(share) for share in recovered),
    )


def _is_clean(attempt: Attempt, partly: str) -> bool:
    if attempt.is_struck or attempt.aborted:
        return False
    if attempt.outcome is Outcome.CLEAN:
        return True
    return partly == "success" and attempt.outcome is Outcome.PARTLY_PARTED and attempt.pooled is Pooled.ONE_POOL


def _weigh(state: CampaignState, attempt: Attempt) -> _Weighed | None:
    per_charge = balance(attempt.masses).gross_yield
    if per_charge is None:
        return None
    jar = state.jar(attempt.jar_id)
    lot = state.lot(attempt.lot_id or (jar.lot_id if jar else None))
    return _Weighed(attempt, per_charge, _metal_of(lot.solids_percent if lot else None))


def _metal_of(solids_percent: float | None) -> float | None:
    """Return the share of metal in a charge, None where it is unknown or cannot be."""
    if solids_percent is None or not 0.0 <= solids_percent < 100.0:
        return None
    return 1.0 - solids_percent / 100.0


def _effects(factors: Sequence[Factor], attempts: Sequence[Attempt]) -> tuple[str, ...]:
    """Return the exposures that all of the attempts know and that varied among them."""
    if len(attempts) < FEWEST_FOR_EFFECTS:
        return ()
    names = []
    for factor in factors:
        if factor.is_choice or factor.role is None or not factor.role.is_exposure:
            continue
        design = Design((factor,))
        column = design.columns([attempt.conditions for attempt in attempts])[factor.name]
        if np.isfinite(column).all() and len(np.unique(column)) > 1:
            names.append(factor.name)
    return tuple(names)


def _design(factors: Sequence[Factor], names: Sequence[str]) -> Design:
    return Design(tuple(factor for factor in factors if factor.name in names))


def _at(fit: RecoveryFit, row: FloatArray, level: float) -> RecoveryAt:
    new, mean = new_attempt(fit, row, level), mean_recovery(fit, row, level)
    one, many = (
        Estimate(float(bands.mean[0]), float(bands.lower[0]), float(bands.upper[0]), level, fit.n)
        for bands in (new, mean)
    )
    return RecoveryAt(one, many)


def _median_charge(attempts: Sequence[Attempt]) -> float | None:
    charges = [attempt.masses.charge_g for attempt in attempts if not attempt.is_struck and attempt.masses.charge_g]
    return float(np.median(charges)) if charges else None
