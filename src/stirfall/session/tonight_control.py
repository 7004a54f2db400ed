"""The control of an evening: the reference condition once more, with the jar that fits it best."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.units import Amount
from stirfall.planning.box import Columns
from stirfall.planning.candidates import known_columns
from stirfall.planning.evening_control import SAME_SHARE, held_gaps, most_repeated
from stirfall.session.tonight_choice import Chosen, Fixed
from stirfall.session.tonight_parts import CONTROL

if TYPE_CHECKING:
    from stirfall.session.tonight_choice import Choice
    from stirfall.session.tonight_jars import Hands, InHand


@dataclass(frozen=True)
class _Reference:
    conditions: Conditions
    code: str
    lots: tuple[str, ...] = ()
    times: int = 0


def choose_control(hands: Hands, choice: Choice, jars: Sequence[InHand], hurry_h: Sequence[float]) -> Fixed | None:
    """Return the control, None where the limits leave no reference that a jar in hand could repeat.

    The reference is the condition that the campaign repeated most often; without one the recommended recipe; while
    nothing is known the usual values. The jar is the one whose ages, depth and film are nearest to it; among jars
    that are as near as a repeat can be, one of the reference's own lot, then the nearest, then the one that will be
    spoilt soonest.
    """
    for reference in _references(hands):
        fits = _fits(hands, reference, jars)
        order = sorted(range(len(jars)), key=lambda at: (fits[at], hurry_h[at], jars[at].jar.id))
        for place in order:
            columns = with_jar(hands, reference.conditions, jars[place])
            if columns is not None:
                reason = _reason(hands, reference, jars[place])
                return Fixed(Chosen(jars[place], columns, choice.known), CONTROL, reason)
    return None


def _references(hands: Hands) -> list[_Reference]:
    found = []
    repeated = most_repeated(hands.whole, [each for each in hands.analysis.state.attempts if not each.is_struck])
    if repeated is not None:
        found.append(_Reference(repeated.conditions, "tonight.control_repeated", repeated.lots, repeated.times))
    if repeated is None and not hands.knows_nothing:
        with suppress(StirfallError):  # no recipe within the limits: the usual values are then the reference
            found.append(_Reference(hands.analysis.best().conditions, "tonight.control_recipe"))
    usual = hands.whole.conditions(hands.whole.resting_columns(), 0)
    return [*found, _Reference(usual, "tonight.control_usual")]


def _fits(hands: Hands, reference: _Reference, jars: Sequence[InHand]) -> list[tuple[bool, bool, float]]:
    """Return for each jar: too far for a repeat, of another lot, and how far; the smallest fits best."""
    whole = hands.whole
    held = np.full((len(jars), len(whole.varied)), np.nan)
    for row, hand in enumerate(jars):
        columns = {factor.name: np.array([hand.held.get(factor.name, np.nan)]) for factor in whole.varied}
        held[row] = whole.encode(columns)[0]
    gaps = held_gaps(whole, reference.conditions, held)
    other = [bool(reference.lots) and hand.jar.lot_id not in reference.lots for hand in jars]
    return [(bool(gap > SAME_SHARE), lot, round(float(gap), 9)) for gap, lot in zip(gaps, other, strict=True)]


def with_jar(hands: Hands, conditions: Conditions, hand: InHand) -> Columns | None:
    """Return conditions with what a jar fixes in its place as one candidate, None where the limits forbid it."""
    box = hands.box
    usual = box.resting_columns() if box.varied or box.fixed else {}
    known = known_columns(box, [conditions])
    columns = hand.hold({name: np.where(np.isnan(known[name]), usual[name], known[name]) for name in usual})
    return columns if hands.limits.allows(box.conditions(columns, 0)) else None


def _reason(hands: Hands, reference: _Reference, hand: InHand) -> Reason:
    params: dict[str, object] = {"n": f"{reference.times}", "fit": _fit(hands, reference, hand)}
    return Reason(reference.code, params)


def _fit(hands: Hands, reference: _Reference, hand: InHand) -> Reason:
    """Say how the jar differs from the reference in what it fixes."""
    far = [
        (gap, factor)
        for factor in hands.whole.varied
        if not factor.is_choice and (gap := _gap(hands, factor, reference, hand)) > SAME_SHARE
    ]
    if not far:
        return Reason("tonight.control_fits", {"jar": hand.jar.id})
    factor = max(far, key=lambda each: each[0])[1]
    wanted = reference.conditions.number(factor.name)
    assert wanted is not None
    return Reason(
        "tonight.control_near",
        {
            "jar": hand.jar.id,
            "factor": factor.name,
            "value": Amount(hand.held[factor.name], factor.unit),
            "wanted": Amount(wanted, factor.unit),
        },
    )


def _gap(hands: Hands, factor: Factor, reference: _Reference, hand: InHand) -> float:
    wanted, has = reference.conditions.number(factor.name), hand.held.get(factor.name)
    if wanted is None or has is None:
        return 0.0
    axis = hands.whole.varied.index(factor)
    columns = {each.name: np.full(2, np.nan) for each in hands.whole.varied}
    columns[factor.name] = np.array([wanted, has])
    pair = hands.whole.encode(columns)[:, axis]
    return float(abs(pair[0] - pair[1]))
