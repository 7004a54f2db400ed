"""Which way to move: would a longer or a shorter exposure make a clean separation likelier?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.inference.stack import FittedModel

FloatArray = NDArray[np.float64]
DirectionCode = Literal["too_little_film", "too_much_film", "near_best", "unsure"]
Lean = Literal["too_little_film", "too_much_film", "near_best"]
Certainty = Literal["sure", "likely", "leaning", "unsure"]

# The steps of the wording; our own choice.
SURE = 0.95
LIKELY = 0.8
LEANING = 0.6
STEP = 2.0


@dataclass(frozen=True)
class Direction:
    """What doubling and halving the exposure would do.

    ``gains`` are the mean changes of P(clean) for "longer" and "shorter". ``prob`` is the posterior probability of
    what the code says (for "unsure", of the likelier way); ``prob_longer`` and ``prob_shorter`` are those that each
    way raises P(clean), ``prob_neither`` that neither does. ``leans_to`` is the likeliest of the three, and
    ``certainty`` how likely it is: "sure" from 95 %, "likely" from 80 %, "leaning" from 60 %, else "unsure"; the
    code names it where it is likely or sure. ``limiting_gate`` is the gate with the lower mean probability, None
    with a single gate.
    """

    code: DirectionCode
    gains: dict[str, float]
    prob: float
    prob_longer: float
    prob_shorter: float
    factor: str | None = None
    limiting_gate: str | None = None
    prob_neither: float = 0.25

    @property
    def leans_to(self) -> Lean:
        """The likeliest of too little film, too much film and near best."""
        ways: dict[Lean, float] = {
            "too_little_film": self.prob_longer,
            "too_much_film": self.prob_shorter,
            "near_best": self.prob_neither,
        }
        return max(ways, key=lambda way: ways[way])

    @property
    def prob_lean(self) -> float:
        """The posterior probability of what it leans to."""
        return max(self.prob_longer, self.prob_shorter, self.prob_neither)

    @property
    def certainty(self) -> Certainty:
        """How sure that is, in words."""
        if self.prob_lean >= SURE:
            return "sure"
        if self.prob_lean >= LIKELY:
            return "likely"
        return "leaning" if self.prob_lean >= LEANING else "unsure"


_UNKNOWN = Direction("unsure", {"longer": 0.0, "shorter": 0.0}, 0.5, 0.5, 0.5)


def advise_direction(model: FittedModel, conditions: Conditions, exposure_factor: Factor | str | None) -> Direction:
    """Compare P(clean) at the conditions with that at twice and at half the exposure, draw by draw.

    Each draw holds one set of coefficients for all three points, so that a probability is the share of the draws in
    which a way helps. A way, or that neither helps ("near_best"), is named when its posterior probability is at
    least 0.8. It is "unsure" otherwise, and also where there is no exposure factor in the model or a value is
    missing. The step may leave the tried range: this says a direction, not a setting. Not for metals that must not
    wait: the caller asks the operating limits first.
    """
    name = exposure_factor.name if isinstance(exposure_factor, Factor) else exposure_factor
    value = conditions.number(name) if name else None
    if name is None or value is None or value <= 0 or name not in [factor.name for factor in model.design.factors]:
        return _UNKNOWN
    points = [conditions, *(conditions.with_value(name, value * step) for step in (STEP, 1.0 / STEP))]
    columns = model.design.columns(points)
    try:
        draws = model.probability_draws(columns)
    except InputError:
        return _UNKNOWN
    gains = draws[:, 1:] - draws[:, :1]
    helps = _raises(gains)
    longer, shorter = (float(share) for share in model.weights @ helps)
    neither = float(model.weights @ (1.0 - helps).prod(axis=1))
    mean = model.weights @ gains
    code, prob = _judge(longer, shorter, neither)
    return Direction(
        code,
        {"longer": float(mean[0]), "shorter": float(mean[1])},
        prob,
        longer,
        shorter,
        name,
        _limiting_gate(model, columns),
        neither,
    )


def _raises(gains: FloatArray) -> FloatArray:
    """Count a tie as half: it speaks for neither way."""
    return np.where(gains == 0, 0.5, (gains > 0).astype(float))


def _judge(longer: float, shorter: float, neither: float) -> tuple[DirectionCode, float]:
    if max(longer, shorter) >= LIKELY:
        return ("too_little_film", longer) if longer >= shorter else ("too_much_film", shorter)
    if neither >= LIKELY:
        return "near_best", neither
    return "unsure", max(longer, shorter)


def _limiting_gate(model: FittedModel, columns: dict[str, FloatArray]) -> str | None:
    if len(model.gates) < 2:
        return None
    here = {name: column[:1] for name, column in columns.items()}
    means = {name: float(bands.mean[0]) for name, bands in model.gate_estimates(here).items()}
    return min(means, key=lambda gate: means[gate])
