"""Whether something has drifted: the attempts in time, limits, sums and averages, the moment of a change; pure.

Made off the window's thread; it changes nothing and reads no clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import tzinfo
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.inference.charts import Chart, chart_around, individuals, moving_ranges, proportions
from stirfall.inference.charts_change import ChangePoint, change_beyond, change_of_mean, change_of_share
from stirfall.inference.charts_false import (
    false_share_of_counts,
    false_share_of_numbers,
    false_share_of_odds_sums,
    false_share_of_sums,
)
from stirfall.inference.charts_runs import odds_limit
from stirfall.inference.charts_sums import Cusum, Ewma, ewma, odds_cusum, tabular_cusum
from stirfall.session.drift_controls import controls_of
from stirfall.session.drift_groups import grouped
from stirfall.session.drift_marks import marks_of
from stirfall.session.drift_records import (
    SHARE_WEIGHT,
    ControlLine,
    Drift,
    DriftGroup,
    DriftMark,
    DriftMeasure,
    DriftPoint,
    DriftSignal,
    LeftOut,
)
from stirfall.session.drift_signals import LEAST_SPREAD, signals_of
from stirfall.session.drift_told import control_line, sentences_of
from stirfall.session.drift_values import UNITS, points_of

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

__all__ = [
    "FEWEST",
    "ControlLine",
    "Drift",
    "DriftGroup",
    "DriftMark",
    "DriftMeasure",
    "DriftPoint",
    "DriftSignal",
    "LeftOut",
    "drift",
]

FloatArray = NDArray[np.float64]

FEWEST = 8
"""Fewer attempts than this show nothing: the longest run rule takes eight."""
ODDS_RATIO, RUN_LENGTH = 3.0, 200.0
"""What the sums of shares are tuned to: odds three times or a third, a false alarm in about 200 attempts."""
_BASE = (8, 50)
_LEAST, _MOST = 0.02, 0.98


def drift(
    of: Analysis | CampaignState,
    measure: DriftMeasure | str = DriftMeasure.CLEAN,
    *,
    now: CampaignState | None = None,
    tz: tzinfo | None = None,
    seed: int = 0,
    token: CancelToken | None = None,
) -> Drift:
    """Return how one measure went over the attempts, in the order in which they were made.

    With a refined analysis what the model foretold of each attempt from the others is held against what was seen,
    so that other conditions are not taken for drift; the residual needs it. ``now`` is the campaign as it is now,
    where marks or attempts are newer than the analysis. ``tz`` is the zone whose days group the attempts and stand
    in the sentences. Raises Cancelled.
    """
    chosen = DriftMeasure(measure)
    state = now or (of if isinstance(of, CampaignState) else of.state)
    points, left_out = points_of(state, chosen, _foretold(of))
    marks = marks_of(state, points)
    found = Drift(chosen, UNITS.get(chosen, ""), points, marks=marks, left_out=left_out)
    if len(points) >= FEWEST:
        if token is not None:
            token.raise_if_cancelled()
        found = _charted(found, tz, seed)
        controls = controls_of(state, points)
        if controls is not None:
            found = _with_controls(found, controls.places, planned=controls.planned)
    is_refined = not isinstance(of, CampaignState) and of.loo is not None
    return replace(found, sentences=sentences_of(found, fewest=FEWEST, is_refined=is_refined, tz=tz))


def _foretold(of: Analysis | CampaignState) -> Mapping[str, tuple[float, float, float]]:
    loo = None if isinstance(of, CampaignState) else of.loo
    if loo is None:
        return {}
    rows = zip(loo.ids, loo.k.tolist(), loo.n.tolist(), loo.probability.tolist(), strict=True)
    return {attempt_id: (k, n, p) for attempt_id, k, n, p in rows if n > 0}


def _charted(found: Drift, tz: tzinfo | None, seed: int) -> Drift:
    """Return the drift with chart, sums, change point and signals."""
    base = base_of(len(found.points))
    made = _of_counts(found, base, tz, seed) if found.measure.is_share else _of_numbers(found, base, seed)
    return replace(made, signals=signals_of(made))


def base_of(count: int) -> int:
    """Return how many of the first attempts the sums take as the state before any change: half, 8 to 50."""
    return min(max(count // 2, _BASE[0]), _BASE[1], count)


def _of_counts(found: Drift, base: int, tz: tzinfo | None, seed: int) -> Drift:
    k, n = _column(found, "k"), _column(found, "n")
    residual = found.measure is DriftMeasure.RESIDUAL
    told = np.array([np.nan if each.foretold is None else each.foretold for each in found.points])
    groups, grouping = grouped(found.points, tz)
    starts = [group.first for group in groups]
    p: FloatArray | float = told
    if not residual:
        # One pass and one failure more keep the share inside 0 and 1, whatever the first attempts were.
        p = float((k[:base].sum() + 1.0) / (n[:base].sum() + 2.0))
    everything = told if residual else float((k.sum() + 1.0) / (n.sum() + 2.0))
    known = np.isfinite(told)
    cusum = _odds_sums(k, n, p)
    return replace(
        found,
        groups=groups,
        grouping=grouping,
        chart=_residual_chart(k, n, told, starts) if residual else _share_chart(k, n, starts),
        cusum=cusum,
        ewma=_share_average(k, n, p, residual=residual),
        base=0 if residual else base,
        change=change_beyond(k, n, told) if residual else change_of_share(k, n),
        beyond=_beyond(k, n, told) if found.measure is DriftMeasure.CLEAN and known.all() else None,
        false_share=false_share_of_counts(n, everything, starts, seed=seed),
        false_sums=_false_sums(n, everything, base, cusum, seed),
    )


def _false_sums(n: FloatArray, p: FloatArray | float, base: int, made: Cusum, seed: int) -> float | None:
    least = LEAST_SPREAD * SHARE_WEIGHT
    return false_share_of_odds_sums(
        n, p, base, odds_ratio=ODDS_RATIO, limit=made.limit, weight=SHARE_WEIGHT, least=least, seed=seed
    )


def _beyond(k: FloatArray, n: FloatArray, told: FloatArray) -> ChangePoint | None:
    return change_beyond(k, n, told)


def _share_chart(k: FloatArray, n: FloatArray, starts: list[int]) -> Chart:
    return proportions(np.add.reduceat(k, starts), np.add.reduceat(n, starts))


def _residual_chart(k: FloatArray, n: FloatArray, told: FloatArray, starts: list[int]) -> Chart:
    """Return observed minus foretold passes per trial of each group, around zero."""
    trials = np.add.reduceat(n, starts)
    apart = np.add.reduceat(k - n * told, starts) / trials
    sd = np.sqrt(np.add.reduceat(n * told * (1.0 - told), starts)) / trials
    return chart_around(apart, np.zeros(len(trials)), sd, lowest=-1.0, highest=1.0)


def _odds_sums(k: FloatArray, n: FloatArray, p: FloatArray | float) -> Cusum:
    # The limit is known for single attempts with one probability: their mean stands for many.
    usual = round(min(max(float(np.mean(p)), _LEAST), _MOST), 2)
    return odds_cusum(k, n, p, odds_ratio=ODDS_RATIO, limit=odds_limit(usual, ODDS_RATIO, RUN_LENGTH))


def _share_average(k: FloatArray, n: FloatArray, p: FloatArray | float, *, residual: bool) -> Ewma:
    told = np.broadcast_to(np.asarray(p, dtype=float), k.shape)
    sd = np.sqrt(told * (1.0 - told) / n)
    if residual:
        return ewma(k / n - told, centre=0.0, sd=sd, weight=SHARE_WEIGHT, lowest=-1.0, highest=1.0)
    return ewma(k / n, centre=told, sd=sd, weight=SHARE_WEIGHT, lowest=0.0, highest=1.0)


def _of_numbers(found: Drift, base: int, seed: int) -> Drift:
    values = _column(found, "value")
    first = individuals(values, base=base)
    target, sd = float(first.centre[0]), float(first.sd[0])
    return replace(
        found,
        groups=tuple(DriftGroup(each.place, each.place, each.k, each.n) for each in found.points),
        chart=individuals(values),
        ranges=moving_ranges(values),
        cusum=tabular_cusum(values, target=target, sd=sd),
        ewma=ewma(values, centre=target, sd=sd),
        base=base,
        change=change_of_mean(values),
        false_share=false_share_of_numbers(len(values), seed=seed),
        false_sums=false_share_of_sums(len(values), base, seed=seed),
    )


def _column(found: Drift, name: str) -> FloatArray:
    return np.array([getattr(each, name) for each in found.points], dtype=float)


def _with_controls(found: Drift, places: tuple[int, ...], *, planned: bool) -> Drift:
    wanted = set(places)
    points = tuple(replace(each, is_control=True) if each.place in wanted else each for each in found.points)
    marked = replace(found, points=points)
    return replace(marked, controls=control_line(marked, places, planned=planned))
