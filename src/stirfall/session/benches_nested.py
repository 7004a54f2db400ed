"""Benches and the lots within them at once: how much each differs, and what a new lot of a new bench may expect."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions
from stirfall.inference.gate_rows import GateName, rows_of_gates
from stirfall.inference.grouped import expit
from stirfall.inference.nested import NestedFit, fit_nested
from stirfall.session.analysis import Analysis

# The normal approximation is good from some hundred rows on; our own choice.
_FEWEST = 100


@dataclass(frozen=True)
class Level:
    """The sd of one level's effects on the log odds of one gate: mean and interval."""

    gate: GateName
    sd: float
    lower: float
    upper: float


@dataclass(frozen=True)
class NestedAnswer:
    """How much benches differ and how much lots within a bench do, per gate, and the chance of a new lot elsewhere.

    ``new_lot`` is the chance at the recipe for a new lot of a bench that was not seen yet, None without a recipe.
    """

    benches: tuple[Level, ...]
    lots: tuple[Level, ...]
    new_lot: Estimate | None


def nested_answer(
    analysis: Analysis, recipe: Conditions | None, token: CancelToken | None = None
) -> NestedAnswer | None:
    """Fit benches and lots at once, in the form of the first answer; ``analysis`` has benches as its groups.

    None where too few attempts, benches or lots tell the two apart: it takes 100 attempts, two benches, and a bench
    with two lots. Raises Cancelled.
    """
    table, design, settings = analysis.table, analysis.base.design, analysis.state.settings
    names, lot = _lots(analysis)
    if (
        table.group is None
        or len(table.group_names) < 2
        or table.rows < _FEWEST
        or not _is_nested(table.group, lot)
    ):
        return None
    by_lot = replace(table, group=lot, group_names=names)
    prior_sd = design.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)
    fits: dict[GateName, NestedFit] = {}
    for place, (name, rows) in enumerate(rows_of_gates(by_lot, design).items()):
        fits[name] = fit_nested(
            rows,
            table.group[rows.rows],
            len(table.group_names),
            prior_sd,
            lot_names=names,
            scale=settings.lot_sd_prior,
            seed=2 * analysis.seed + place,
            token=token,
        )
    benches = tuple(_levels(fits, settings.level, inner=False))
    lots = tuple(_levels(fits, settings.level, inner=True))
    return NestedAnswer(benches, lots, None if recipe is None else _new_lot(analysis, fits, recipe))


def _lots(analysis: Analysis) -> tuple[tuple[str, ...], NDArray[np.intp]]:
    """Return the lots of the rows, and the place of each row's lot among them, -1 where it is unknown."""
    of_attempt = {attempt.id: attempt.lot_id for attempt in analysis.state.attempts}
    labels = [of_attempt[each] for each in analysis.table.ids]
    names = tuple(dict.fromkeys(label for label in labels if label is not None))
    places = {name: place for place, name in enumerate(names)}
    return names, np.array([-1 if label is None else places[label] for label in labels], dtype=np.intp)


def _is_nested(bench: NDArray[np.intp], lot: NDArray[np.intp]) -> bool:
    """Whether some bench has two lots, and lots have more than one attempt."""
    known = lot >= 0
    pairs = np.unique(np.column_stack([bench[known], lot[known]]), axis=0)
    return bool(np.bincount(pairs[:, 0]).max(initial=0) > 1) and int(known.sum()) > len(pairs)


def _levels(fits: dict[GateName, NestedFit], level: float, *, inner: bool) -> Iterator[Level]:
    tail = (1.0 - level) / 2.0
    for gate, fit in fits.items():
        sd = fit.inner_sd if inner else fit.outer_sd
        low, high = np.quantile(sd, [tail, 1.0 - tail])
        yield Level(gate, float(sd.mean()), float(low), float(high))


def _new_lot(analysis: Analysis, fits: dict[GateName, NestedFit], recipe: Conditions) -> Estimate:
    design, level = analysis.base.design, analysis.state.settings.level
    row = design.matrix(design.columns([recipe]), rows=1)[0]
    chance = np.ones(len(next(iter(fits.values())).beta))
    for place, fit in enumerate(fits.values()):
        chance = chance * expit(fit.eta_of_new(row, seed=place))
    tail = (1.0 - level) / 2.0
    mean, (low, high) = float(chance.mean()), np.quantile(chance, [tail, 1.0 - tail])
    return Estimate(mean, min(float(low), mean), max(float(high), mean), level, analysis.base.n)
