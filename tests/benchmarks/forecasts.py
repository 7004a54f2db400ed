"""The forecast of a full shelf against a plain loop that asks for each chance by itself; for run.py.

Both tell the same chances: the curve and the evenings of every jar. The forecast finds the best times and the
readiness windows as well.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import standard_factors
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.forecast import JarForecast, forecast_jars
from stirfall.session.forecast_course import shelf_conditions

NOW = datetime(2026, 11, 24, 18, tzinfo=UTC)
JARS = 200


def forecast_ratio(settings: CampaignSettings, attempts: list[Attempt], repeats: int) -> tuple[float, str]:
    """Return how many times as long the plain loop takes, and both times in words."""
    state = shelf(settings, attempts)
    analysis = analyse(state, refined=True)
    forecast_jars(analysis, state, NOW)
    ours = []
    for _ in range(repeats):
        started = time.perf_counter()
        found = forecast_jars(analysis, state, NOW)
        ours.append(time.perf_counter() - started)
    started = time.perf_counter()
    worst = max(plain(analysis, state, found[jar.id]) for jar in state.jars[:: JARS // 20])
    loop = (time.perf_counter() - started) * JARS / len(state.jars[:: JARS // 20])
    if worst > 1e-6:
        raise RuntimeError(f"the forecast differs from its estimates by {worst}")
    whole = statistics.median(ours)
    return loop / whole, f"{loop:.2f} s against {whole:.3f} s for {JARS} jars"


def shelf(settings: CampaignSettings, attempts: list[Attempt]) -> CampaignState:
    """Return a campaign with many jars of different ages on the shelf."""
    names = sorted({str(attempt.lot_id) for attempt in attempts})
    lots = tuple(Lot(name, NOW - timedelta(hours=100 + 5 * place)) for place, name in enumerate(names))
    jars = tuple(
        Jar(f"J{number}", names[number % len(names)], NOW - timedelta(hours=1.0 + 0.4 * number))
        for number in range(JARS)
    )
    return replace(CampaignState(settings, standard_factors()), lots=lots, jars=jars, attempts=tuple(attempts))


def plain(analysis: Analysis, state: CampaignState, forecast: JarForecast) -> float:
    """Ask for every chance of one jar by itself; returns the largest difference to its forecast."""
    jar = next(each for each in state.jars if each.id == forecast.jar_id)
    answer = analysis.for_lot(jar.lot_id)
    moments = [NOW + timedelta(hours=float(hours)) for hours in forecast.times_h]
    asked = [*moments, forecast.tonight_at, forecast.tomorrow_at]
    means = [
        answer.estimate(answer.complete(shelf_conditions(state, jar, at))).mean for at in asked if at is not None
    ]
    return float(np.abs(np.array(means[: len(moments)]) - forecast.means).max())
