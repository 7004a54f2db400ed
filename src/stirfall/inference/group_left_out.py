"""What all other groups foretell of one group of attempts: the model fitted without it, held against outcomes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.records import CampaignSettings
from stirfall.inference.bayes import Posterior
from stirfall.inference.blocks import slices
from stirfall.inference.design import Design
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows, rows_of_gates
from stirfall.inference.grouped import expit
from stirfall.inference.lot_draws import half_normal, standard_normals
from stirfall.inference.lot_laplace import fit_many, is_many, posterior_of
from stirfall.inference.pairing import systematic_picks
from stirfall.inference.table import AttemptTable

FloatArray = NDArray[np.float64]

_DRAWS = 2048
_FEWEST_DRAWS = 256
_MOST_CELLS = 2**22  # rows times draws that are held at once: 32 MiB
_ORDINAL_ROWS = 1500  # with more rows partly parted counts as not parted here; the cuts would cost minutes
_SAFE = 1e-9
_WIDE = 2.0 / 3.0  # our own choice


@dataclass(frozen=True)
class GroupForetold:
    """What the others foretold of one group, and what it got: ``clean`` of ``trials``.

    ``probability`` (r,) is the mean foretold for each row. ``expected`` clean trials with the predictive interval
    ``lower`` to ``upper`` at the campaign's level, in which the group's own effect is unknown. ``score`` is the log
    score of the group's rows, sum of k log p + (n - k) log(1 - p), ``score_expected`` with its interval what it
    would be if the foretold probabilities were right, ``score_plain`` that of the others' overall share alone.
    ``tail`` is the foretold chance of as few clean ones or fewer, ties counted half. ``others`` groups were used;
    with a single one nothing is learnt of how groups differ, and the prior of the sd stands.
    """

    probability: FloatArray
    clean: float
    trials: float
    expected: float
    lower: float
    upper: float
    score: float
    score_expected: float
    score_lower: float
    score_upper: float
    score_plain: float
    tail: float
    others: int

    @property
    def is_inside(self) -> bool:
        """Whether the group got a number of clean trials within the predictive interval."""
        return self.lower <= self.clean <= self.upper

    @property
    def is_wide(self) -> bool:
        """Whether the interval spans more than two thirds of all trials, so that nearly any result lies inside."""
        return self.upper - self.lower > _WIDE * self.trials


def foretell_group(
    table: AttemptTable,
    design: Design,
    settings: CampaignSettings,
    group: int,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
) -> GroupForetold | None:
    """Fit the rows of all other groups and foretell those of ``group``, a place in ``table.group_names``.

    One form, that of the settings, is used: no form is chosen with a look at the group. Nothing of the group's
    outcomes goes into what is foretold. None where the group, or the others together, have no row that tells.
    Raises Cancelled.
    """
    if table.group is None:
        return None
    asked = np.flatnonzero((table.group == group) & (table.clean_n > 0))
    rest = table.group != group
    others = len(np.unique(table.group[rest & (table.group >= 0) & (table.clean_n > 0)]))
    if not len(asked) or not (rest & (table.clean_n > 0)).any():
        return None
    size = int(np.clip(_MOST_CELLS // len(asked), _FEWEST_DRAWS, _DRAWS))
    matrix = design.matrix({name: column[asked] for name, column in table.columns.items()}, rows=len(asked))
    chances = np.ones((size, len(asked)))
    prior_sd = design.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)
    for place, rows in enumerate(rows_of_gates(table, design).values()):
        kept = _of_rest(rows, rest)
        posterior = _fit(
            kept, prior_sd, table.group_names, settings.lot_sd_prior, seed=2 * seed + place, token=token
        )
        chances *= _drawn(posterior, matrix, settings.lot_sd_prior, size, 11 + 2 * seed + place)
    k, n = table.clean_k[asked], table.clean_n[asked]
    known = rest & (table.clean_n > 0)
    plain = float(table.clean_k[known].sum() / table.clean_n[known].sum())
    return _held_against(chances, k, n, plain=plain, level=settings.level, others=others, seed=seed)


def _of_rest(rows: GateRows, rest: NDArray[np.bool_]) -> GateRows:
    """Return the rows of a gate that belong to other groups."""
    kept = rest[rows.rows]
    grade = None if rows.grade is None or len(rows.k) > _ORDINAL_ROWS else rows.grade[kept]
    return GateRows(rows.X[kept], rows.k[kept], rows.n[kept], rows.group[kept], rows.groups, rows.rows[kept], grade)


def _fit(
    rows: GateRows,
    prior_sd: FloatArray,
    names: tuple[str, ...],
    scale: float,
    *,
    seed: int,
    token: CancelToken | None,
) -> Posterior:
    if is_many(rows):
        fit = fit_many(rows, prior_sd, lot_names=names, lot_sd_prior=scale, token=token)
        return posterior_of(fit, rows, names, seed=seed)
    return fit_gate(rows, prior_sd, lot_names=names, lot_sd_prior=scale, draws=_DRAWS, seed=seed, token=token)


def _drawn(posterior: Posterior, matrix: FloatArray, scale: float, size: int, seed: int) -> FloatArray:
    """Return (size, r) equally likely draws of the probabilities of rows that share one group not seen yet."""
    picks = systematic_picks(posterior.weights, size)
    picks = picks[np.random.default_rng(seed).permutation(size)]  # gates are independent: any pairing is right
    normals = standard_normals(size, 2, seed)
    sd = half_normal(normals[:, 1], scale) if posterior.lots is None else posterior.lots.sd[picks]
    beta, effect = posterior.draws[picks], sd * normals[:, 0]
    out = np.empty((size, len(matrix)))
    for rows in slices(len(matrix), 512):
        out[:, rows] = expit(beta @ matrix[rows].T + effect[:, None])
    return out


def _held_against(
    chances: FloatArray, k: FloatArray, n: FloatArray, *, plain: float, level: float, others: int, seed: int
) -> GroupForetold:
    """Hold draws of the probabilities (m, r) against ``k`` of ``n`` (r,), by simulated outcomes of every draw."""
    mean = np.clip(chances.mean(axis=0), _SAFE, 1.0 - _SAFE)
    seen = np.random.default_rng(91_000 + seed).binomial(n.astype(np.int64), chances)
    counts = seen.sum(axis=1).astype(float)
    won, lost = np.log(mean), np.log1p(-mean)
    scores = seen @ (won - lost) + float(n @ lost)
    tail = (1.0 - level) / 2.0
    clean = float(k.sum())
    lower, upper = _bounds(counts, tail)
    score_lower, score_upper = _bounds(scores, tail)
    share = min(max(plain, _SAFE), 1.0 - _SAFE)
    return GroupForetold(
        probability=mean,
        clean=clean,
        trials=float(n.sum()),
        expected=float(n @ mean),
        lower=lower,
        upper=upper,
        score=float(k @ won + (n - k) @ lost),
        score_expected=float(scores.mean()),
        score_lower=score_lower,
        score_upper=score_upper,
        score_plain=clean * float(np.log(share)) + (float(n.sum()) - clean) * float(np.log1p(-share)),
        tail=float((counts < clean).mean() + 0.5 * (counts == clean).mean()),
        others=others,
    )


def _bounds(values: FloatArray, tail: float) -> tuple[float, float]:
    """Return the equal-tailed bounds of equally likely values."""
    low, high = np.quantile(values, [tail, 1.0 - tail], method="inverted_cdf")
    return float(low), float(high)
