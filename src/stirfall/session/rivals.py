"""The rival explanations of why ageing seems to help: what each foretells, and what the attempts say so far.

film      a film on the metal: helps the parting and hurts the merging, so it follows the supply of oxygen and water
water     the solids take up water and become oil-wet: follows the humidity, at the parting alone
oil       the oil ages or gets wet: follows the oil and its history
settling  slow creep or settling without chemistry: follows time alone, at the parting
learning  the operator gets better: follows practice, at both gates
lots      the lots differ: some lots simply do better

The film hypothesis is a hypothesis like the others. They do not exclude each other: each is tested with the terms
of all others in the same fit, so that a number is about what is left when everything else is allowed for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Role
from stirfall.bench.records import LOT_EFFECT_NONE
from stirfall.inference.confounding import correlation
from stirfall.inference.effect_steps import LEVEL_STEP
from stirfall.inference.gate_rows import GateName
from stirfall.inference.probability import weighted_interval
from stirfall.session.analysis import Analysis
from stirfall.session.rivals_fit import GateTest, evidence_of, exposure_evidence, fit_terms, rows_of_table
from stirfall.session.rivals_found import (
    KEYS,
    NEAREST,
    Confounded,
    Evidence,
    Pair,
    PairSide,
    Rival,
    RivalKey,
    Sign,
    factor_of,
    verdict_of,
)
from stirfall.session.rivals_pairs import pair_for
from stirfall.session.rivals_terms import (
    DEPTH_TERM,
    EXPOSURE,
    FILM,
    HISTORY,
    HUMIDITY_TERM,
    OIL,
    OIL_AGE,
    PRACTICE,
    TIME,
    Terms,
    TestedTerm,
    terms_of,
)
from stirfall.session.surprises_facts import DEPTH, HUMIDITY

__all__ = ["KEYS", "NEAREST", "Confounded", "Evidence", "Pair", "PairSide", "Rival", "RivalKey", "rivals"]

# What each explanation foretells: the term, the gate, and the sign of the effect of more of it.
_FORETOLD: Mapping[RivalKey, tuple[tuple[str, GateName, Sign], ...]] = {
    "film": ((FILM, "parted", "up"), (EXPOSURE, "pooled", "down"), (FILM, "clean", "either")),
    "water": ((HUMIDITY_TERM, "parted", "up"), (HUMIDITY_TERM, "pooled", "none"), (HUMIDITY_TERM, "clean", "up")),
    "oil": tuple(
        (term, gate, "either") for term in (HISTORY, OIL_AGE, OIL) for gate in ("parted", "pooled", "clean")
    ),
    "settling": ((TIME, "parted", "up"), (EXPOSURE, "pooled", "none"), (TIME, "clean", "up")),
    "learning": ((PRACTICE, "parted", "up"), (PRACTICE, "pooled", "up"), (PRACTICE, "clean", "up")),
    "lots": (),
}
# Where no film can be worked out, the oil depth stands in for it: more oil, less film.
_BY_DEPTH: tuple[tuple[str, GateName, Sign], ...] = (
    (DEPTH_TERM, "parted", "down"),
    (EXPOSURE, "pooled", "down"),
    (DEPTH_TERM, "clean", "either"),
)
_AGES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.FILM_INDEX)
_FEWEST = 8
_MOST = 2000


def rivals(
    analysis: Analysis, *, now: datetime | None = None, token: CancelToken | None = None
) -> tuple[Rival, ...]:
    """Return the six explanations, the one that the attempts speak for most first.

    ``now`` lets jars on the shelf stand in the pairs. Takes a moment, so not for the window's thread. Raises
    Cancelled.
    """
    analysis = _spread(analysis)
    terms = _terms(analysis)
    used = _used(terms)
    tests = fit_terms(analysis, used, _replaced(analysis), token) if analysis.table.rows >= _FEWEST else {}
    judged = _Tested(terms, tests, _confounded(analysis, terms))
    found = []
    for key in KEYS:
        if token is not None:
            token.raise_if_cancelled()
        found.append(_rival(analysis, key, judged, now))
    return tuple(sorted(found, key=_place))


def _place(rival: Rival) -> tuple[int, float]:
    """Order by what speaks for it, then what cannot be told, what is spoken against, and what nothing tells of."""
    ranks = {"clearly_for": 0, "for": 0, "cannot_tell": 1, "nothing_recorded": 3}
    return ranks.get(rival.verdict, 2), -(rival.factor or 0.0)


def _spread(analysis: Analysis) -> Analysis:
    """Return the analysis with ``_MOST`` of very many attempts, spread evenly over all of them."""
    table = analysis.table
    if table.rows <= _MOST:
        return analysis
    rows = np.unique(np.linspace(0, table.rows - 1, _MOST).astype(np.intp))
    return replace(analysis, table=rows_of_table(table, table.columns, rows))


def _terms(analysis: Analysis) -> Terms:
    state = analysis.state
    attempts = {attempt.id: attempt for attempt in state.attempts}
    judged = [attempts[name] for name in analysis.table.ids]
    named = {attempt.jar_id for attempt in judged}
    few = replace(state, jars=tuple(jar for jar in state.jars if jar.id in named))  # each is looked up by its name
    return terms_of(few, judged)


def _used(terms: Terms) -> tuple[TestedTerm, ...]:
    """Return the terms of the fit: depth only where there is no film, the oil's name only without its history."""
    left_out = [DEPTH_TERM] if FILM in terms.tested else []
    if HISTORY in terms.tested:
        left_out.append(OIL)
    return tuple(term for name, term in terms.tested.items() if name not in left_out)


def _replaced(analysis: Analysis) -> tuple[str, ...]:
    """Return the factors whose place the tested terms take: ages, film index, oil depth, humidity."""
    return tuple(
        factor.name
        for factor in analysis.base.design.factors
        if factor.role in _AGES or DEPTH.search(factor.name) or HUMIDITY.search(factor.name)
    )


@dataclass(frozen=True)
class _Tested:
    """What all explanations are judged from."""

    terms: Terms
    tests: Mapping[GateName, GateTest]
    confounded: tuple[Confounded, ...]


def _rival(analysis: Analysis, key: RivalKey, judged: _Tested, now: datetime | None) -> Rival:
    terms, tests, confounded = judged.terms, judged.tests, judged.confounded
    evidence, unknown = _lots(analysis, tests) if key == "lots" else _evidence(key, terms, tests)
    factor = factor_of(evidence) if evidence else None
    entangled = _entangled(key, terms) if evidence else None
    pair, no_pair = pair_for(analysis, key, now)
    concerned = {"film", "water", "settling", "learning"}
    leans = key in ("settling", "water") and FILM in terms.tested and bool(evidence)
    return Rival(
        key,
        verdict_of(factor, evidence, entangled=entangled is not None, leans=leans),
        factor,
        evidence,
        confounded if key in concerned else (),
        unknown,
        entangled,
        (Reason("rivals.leans_on_film_index"),) if leans else (),
        NEAREST[key],
        pair,
        no_pair,
        max((each.n for each in evidence), default=0),
    )


def _evidence(
    key: RivalKey, terms: Terms, tests: Mapping[GateName, GateTest]
) -> tuple[tuple[Evidence, ...], tuple[Reason, ...]]:
    wanted = _FORETOLD[key]
    if key == "film" and FILM not in terms.tested:
        wanted = _BY_DEPTH
    if not tests:
        return (), (Reason("rivals.too_few", {"least": _FEWEST}),)
    used = {term.name: term for term in _used(terms)}
    found: list[Evidence] = []
    for name, gate, sign in wanted:
        if name == EXPOSURE:
            if TIME in used and gate in tests and tests[gate].n:
                found.append(exposure_evidence(tests[gate], EXPOSURE, used[TIME], used.get(FILM), sign))
        elif name in used and gate in tests and tests[gate].n:
            found += evidence_of(tests[gate], used[name], sign)
    names = dict.fromkeys(name for name, _, _ in wanted)
    if key == "film":
        names = dict.fromkeys([FILM, *names])
    return tuple(found), tuple(terms.untested[name] for name in names if name in terms.untested)


def _entangled(key: RivalKey, terms: Terms) -> Reason | None:
    """Return why evidence is just as much that of another explanation: the term of that one is not in the fit."""
    has_film, has_depth = FILM in terms.tested, DEPTH_TERM in terms.tested
    if key == "settling" and not (has_film or has_depth):
        return Reason("rivals.time_stands_for_film")
    if key == "water" and not has_film:
        return Reason("rivals.humidity_stands_for_film")
    if key == "film" and TIME not in terms.tested:
        return Reason("rivals.film_stands_for_time")
    return None


def _lots(
    analysis: Analysis, tests: Mapping[GateName, GateTest]
) -> tuple[tuple[Evidence, ...], tuple[Reason, ...]]:
    """Return how far lots differ at each gate, with everything else allowed for."""
    if not tests:
        return (), (Reason("rivals.too_few", {"least": _FEWEST}),)
    if analysis.table.grouping == LOT_EFFECT_NONE:
        return (), (Reason("rivals.lots_not_in_model"),)
    found = []
    for test in tests.values():
        lots = test.posterior.lots
        if lots is None or test.lots is None:
            continue
        spread = np.asarray(lots.sd, dtype=float)
        mean = float(test.posterior.weights @ spread)
        low, high = weighted_interval(spread[:, None], test.posterior.weights, test.level)
        found.append(
            Evidence(
                test.name,
                analysis.table.grouping,
                "",
                LEVEL_STEP,
                "",
                mean,
                min(float(low[0]), mean),
                max(float(high[0]), mean),
                test.level,
                "either",
                0.5,
                test.lots,
                test.n,
            )
        )
    unknown = () if found else (Reason("rivals.one_lot", {"what": analysis.table.grouping}),)
    return tuple(found), unknown


def _confounded(analysis: Analysis, terms: Terms) -> tuple[Confounded, ...]:
    """Return how far time under oil moved with the calendar and with practice."""
    time = terms.tested.get(TIME)
    if time is None:
        return ()
    attempts = {attempt.id: attempt for attempt in analysis.state.attempts}
    started = [attempts[name].started_at for name in analysis.table.ids]
    dates = np.array([np.nan if at is None else at.timestamp() / 86400.0 for at in started])
    level = analysis.state.settings.level
    ages = np.log(time.values)
    found = [Confounded(TIME, "date", correlation(ages, dates, level=level))]
    practice = terms.tested.get(PRACTICE)
    if practice is not None:
        found.append(Confounded(TIME, "practice", correlation(ages, np.log(practice.values), level=level)))
    return tuple(each for each in found if each.correlation.strongest is not None)
