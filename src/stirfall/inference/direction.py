"""Which way to move: would a longer or a shorter exposure make a clean separation likelier?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.inference.odds import OddsModel

FloatArray = NDArray[np.float64]
DirectionCode = Literal["too_little_film", "too_much_film", "near_best", "unsure"]

SURE = 0.8
STEP = 2.0


@dataclass(frozen=True)
class Direction:
    """What doubling and halving the exposure would do.

    ``gains`` are the mean changes of P(clean) for "longer" and "shorter". ``prob`` is the posterior probability of
    what the code says (for "unsure", of the likelier way); ``prob_longer`` and ``prob_shorter`` are those that each
    way raises P(clean). ``limiting_gate`` is the gate with the lower mean probability, None with a single gate.
    """

    code: DirectionCode
    gains: dict[str, float]
    prob: float
    prob_longer: float
    prob_shorter: float
    factor: str | None = None
    limiting_gate: str | None = None


_UNKNOWN = Direction("unsure", {"longer": 0.0, "shorter": 0.0}, 0.5, 0.5, 0.5)


def advise_direction(model: OddsModel, conditions: Conditions, exposure_factor: Factor | str | None) -> Direction:
    """Compare P(clean) at the conditions with that at twice and at half the exposure, draw by draw.

    A way is named when its posterior probability is at least 0.8; "near_best" needs both ways to be at most 0.2
    likely to help. It is "unsure" otherwise, and also where there is no exposure factor in the model or a value is
    missing. The step may leave the tried range: this says a direction, not a setting.
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
    longer, shorter = (float(value) for value in model.weights @ _raises(gains))
    mean = model.weights @ gains
    code, prob = _judge(longer, shorter)
    return Direction(
        code,
        {"longer": float(mean[0]), "shorter": float(mean[1])},
        prob,
        longer,
        shorter,
        name,
        _limiting_gate(model, columns),
    )


def _raises(gains: FloatArray) -> FloatArray:
    """Count a tie as half: it speaks for neither way."""
    return np.where(gains == 0, 0.5, (gains > 0).astype(float))


def _judge(longer: float, shorter: float) -> tuple[DirectionCode, float]:
    if max(longer, shorter) >= SURE:
        return ("too_little_film", longer) if longer >= shorter else ("too_much_film", shorter)
    if max(longer, shorter) <= 1.0 - SURE:
        return "near_best", 1.0 - max(longer, shorter)
    return "unsure", max(longer, shorter)


def _limiting_gate(model: OddsModel, columns: dict[str, FloatArray]) -> str | None:
    if len(model.gates) < 2:
        return None
    here = {name: column[:1] for name, column in columns.items()}
    means = {name: float(bands.mean[0]) for name, bands in model.gate_estimates(here).items()}
    return min(means, key=lambda gate: means[gate])
