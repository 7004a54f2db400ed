"""Which jars to start for a proof that is running: all at the age of its recipe, for the soonest evening."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Jar
from stirfall.bench.units import Amount
from stirfall.planning.evening import Timetable
from stirfall.session.forecast_evenings import clock_words
from stirfall.session.proving import standing
from stirfall.session.tonight_parts import JarToStart
from stirfall.session.tonight_proof import away_from_recipe
from stirfall.session.tonight_template import Make, new_ids, option, start_times

if TYPE_CHECKING:
    from stirfall.session.tonight_jars import Hands, InHand
    from stirfall.session.tonight_openings import Asked, Openings


@dataclass(frozen=True, eq=False)
class ProofNeeds:
    """A proof that is running, and how many attempts it still takes when those of this evening are made."""

    proof: Proof
    attempts: int


def needs_of_proof(asked: Asked, opened: Openings, exposure: Factor) -> ProofNeeds | None:
    """Return what the running proof still needs; None where none runs or its recipe names no time under oil."""
    proof = asked.state.open_proof
    if proof is None or exposure.role is not Role.OIL_EXPOSURE or proof.recipe.number(exposure.name) is None:
        return None
    stands = standing(asked.state, proof)
    made_tonight = sum(each.purpose == "proof" for each in opened.openings)
    left = stands.remaining - made_tonight
    return ProofNeeds(proof, left) if stands.verdict == "open" and left > 0 else None


def proof_starts(
    hands: Hands, asked: Asked, make: Make, needs: ProofNeeds, evenings: Sequence[tuple[datetime, Timetable]]
) -> tuple[tuple[JarToStart, ...], datetime] | None:
    """Return jars that keep to the recipe on one of these evenings (its beginning and timetable), and which it is.

    They are started at one moment: that at which a person can start them, asks least, and whose age is nearest to
    the recipe's in the middle of the evening. As many are started as fit into the evening and the proof still
    takes, less those that stand or are planned already; on the first evening that needs any. None where no start
    keeps to the recipe.
    """
    shelf = [*asked.state.shelf, *asked.state.planned_jars]
    bench = [due for due, _ in evenings]
    for due, times in evenings:
        ends = [due + timedelta(hours=hours) for hours in (times.starts_h[0], times.starts_h[-1])]
        there = sum(_keeps(hands, needs.proof, jar, ends) for jar in shelf)
        count = min(len(times.starts_h), needs.attempts) - there
        start = _best_start(hands, asked, make, needs.proof, (due, ends, bench))
        if count > 0 and start is not None:
            return tuple(_told(asked, make, start, due, name) for name in new_ids(asked.state, count)), due
    return None


def _best_start(
    hands: Hands, asked: Asked, make: Make, proof: Proof, evening: tuple[datetime, list[datetime], list[datetime]]
) -> datetime | None:
    due, ends, bench = evening
    hour = asked.state.settings.plan.evening_hour
    fits = []
    for at in start_times(asked, due, bench, make.lot.made_at or asked.now):
        jar = make.started("", at, make.depths_mm[0], make.lids[0], planned=False)
        if _keeps(hands, proof, jar, ends):
            fits.append((option(asked, at, due, bench, hour).rank, _off_middle(hands, proof, jar, ends), at))
    return min(fits)[2] if fits else None


def _off_middle(hands: Hands, proof: Proof, jar: Jar, ends: list[datetime]) -> float:
    """Return how far the jar's ages lie from the recipe's in mid evening, as a share of what it allows."""
    held = hands.of(jar, ends[0] + (ends[-1] - ends[0]) / 2).held
    away = [0.0]
    for name, value in held.items():
        wanted, allowed = proof.recipe.number(name), proof.tolerances.get(name, 0.0)
        away += [abs(value - wanted) / allowed] if wanted is not None and allowed > 0 else []
    return max(away)


def _keeps(hands: Hands, proof: Proof, jar: Jar, ends: list[datetime]) -> bool:
    """Whether a jar may be opened, and keeps to the recipe, from the first to the last start of an evening."""
    if as_utc(jar.started_at) >= ends[0]:
        return False
    try:
        in_hand = [hands.of(jar, at) for at in ends]
    except InputError:
        return False
    if any(_is_far(proof, hand) or hands.why_not(jar, hand.at, hand) is not None for hand in in_hand):
        return False
    return all(away_from_recipe(hands, proof, hand) is None for hand in in_hand)


def _is_far(proof: Proof, hand: InHand) -> bool:
    """Whether an age or depth lies clearly beyond what the recipe allows, so that nothing else need be asked."""
    for name, value in hand.held.items():
        wanted = proof.recipe.number(name)
        if wanted is not None and abs(value - wanted) > 1.001 * proof.tolerances.get(name, 0.0) + 1e-6 * abs(
            wanted
        ):
            return True
    return False


def _told(asked: Asked, make: Make, start: datetime, due: datetime, name: str) -> JarToStart:
    age_h = hours_between(start, due)
    jar = make.started(name, start, make.depths_mm[0], make.lids[0], planned=start > asked.now)
    params = {"age": Amount(age_h, "h"), "when": clock_words(due, asked.now, asked.tz)}
    return JarToStart(jar, due, age_h, Reason("tonight.start_proof", params))
