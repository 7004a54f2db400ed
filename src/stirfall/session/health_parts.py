"""The parts of a health report that look at the fit itself: influence, prior sensitivity, too many effects."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.inference.bayes import posterior_mode
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.grouped import collapse
from stirfall.inference.influence import influence
from stirfall.inference.odds import GateFit
from stirfall.inference.sensitivity import prior_move, refits
from stirfall.session.health_records import AttemptInfluence, GateInfluence, GateLoad, SensitivityPoint

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

MOST_ATTEMPTS = 1000
# "Ten of the rarer outcome per coefficient" is weakly supported (van Smeden et al. 2016, BMC Med. Res. Methodol.
# 16:163, on three simulation studies that disagree); one of them saw severe trouble at two to four. The prior takes
# part of it away, so we warn below two (our proposal).
CUSTOMARY = 10.0
SEVERE = 2.0


def gate_influences(analysis: Analysis) -> tuple[GateInfluence, ...]:
    """Return the influence of each attempt on each gate of the first answer, the strongest pull first."""
    return tuple(_gate_influence(analysis, gate, analysis.rows[gate.name]) for gate in analysis.base.gates)


def gate_loads(analysis: Analysis) -> tuple[GateLoad, ...]:
    """Return per gate how many coefficients are asked of how many of the rarer outcome."""
    return tuple(_load(gate, analysis.rows[gate.name]) for gate in analysis.base.gates)


def sensitivity_points(
    analysis: Analysis, token: CancelToken | None, conditions: Conditions | None
) -> tuple[SensitivityPoint, ...]:
    """Return how far the first answer moves with half and double the prior's breadth, at one or two places.

    At ``conditions`` where they are given, and at the best ones; where the limits allow none, at those of the last
    attempt, and without any attempt at the campaign's defaults.
    """
    settings = analysis.state.settings
    half, double = refits(analysis.base, analysis.table, settings, seed=analysis.seed, token=token)
    places = [] if conditions is None else [("given", conditions)]
    places.append(_other_place(analysis))
    points = []
    for source, place in places:
        complete = analysis.complete(place)
        columns = analysis.base.design.columns([complete])
        points.append(SensitivityPoint(source, complete, prior_move(analysis.base, half, double, columns)))
    return tuple(points)


def _other_place(analysis: Analysis) -> tuple[str, Conditions]:
    try:
        return "best", analysis.best().conditions
    except InputError:
        if not analysis.table.ids:
            return "defaults", Conditions()
        return "last attempt", analysis.state.attempt(analysis.table.ids[-1]).conditions


def _gate_influence(analysis: Analysis, gate: GateFit, rows: GateRows) -> GateInfluence:
    prior_sd = gate.posterior.prior_sd
    mode = gate.posterior.mode
    if rows.grade is not None:  # the ordinal form has another mode; influence is about yes or no
        mode = posterior_mode(collapse(rows.X, rows.k, rows.n), prior_sd)[0]
    found = influence(rows.X, rows.k, rows.n, mode, prior_sd)
    strongest = np.argsort(-np.abs(found.pull), kind="stable")[:MOST_ATTEMPTS]
    numbers = {attempt.id: attempt.number for attempt in analysis.state.attempts}
    ids = [analysis.table.ids[place] for place in rows.rows[strongest]]
    attempts = tuple(
        AttemptInfluence(
            gate=gate.name,
            attempt_id=attempt_id,
            number=numbers[attempt_id],
            successes=round(float(rows.k[at])),
            trials=round(float(rows.n[at])),
            fitted=float(found.fitted[at]),
            without=float(found.without[at]),
            leverage=float(found.leverage[at]),
            pearson=float(found.pearson[at]),
            deviance=float(found.deviance[at]),
            pull=float(found.pull[at]),
            distance=float(found.distance[at]),
            flagged=bool(found.flagged[at]),
        )
        for at, attempt_id in zip(strongest, ids, strict=True)
    )
    return GateInfluence(gate.name, attempts, len(rows.k))


def _load(gate: GateFit, rows: GateRows) -> GateLoad:
    varied = int((np.ptp(rows.X, axis=0) > 0).sum()) if len(rows.X) else 0
    rarer = min(gate.k, gate.n - gate.k)
    per_coefficient = rarer / varied if varied else None
    if not gate.n:
        severity = "nothing"
    elif per_coefficient is None or per_coefficient >= CUSTOMARY:
        severity = "fine"
    else:
        severity = "few" if per_coefficient >= SEVERE else "severe"
    params = {"rarer": rarer, "trials": gate.n, "coefficients": varied, "gate": gate.name}
    return GateLoad(
        gate=gate.name,
        coefficients=varied,
        successes=gate.k,
        trials=gate.n,
        rarer=rarer,
        per_coefficient=per_coefficient,
        severity=severity,
        verdict=Reason(f"too_many.{gate.name}_{severity}", params),
    )
