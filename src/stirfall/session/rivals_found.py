"""What is said of the rival explanations: frozen values, codes and numbers, no sentences."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.inference.confounding import Correlation
from stirfall.inference.effect_steps import Step
from stirfall.inference.gate_rows import GateName

RivalKey = Literal["film", "water", "oil", "settling", "learning", "lots"]
Verdict = Literal["clearly_for", "for", "cannot_tell", "against", "clearly_against", "nothing_recorded"]
Sign = Literal["up", "down", "either", "none"]

KEYS: tuple[RivalKey, ...] = ("film", "water", "oil", "settling", "learning", "lots")
NEAREST: Mapping[RivalKey, RivalKey] = {
    "film": "settling",
    "water": "film",
    "oil": "film",
    "settling": "film",
    "learning": "film",
    "lots": "oil",
}
"""The rival that foretells most of the same: the one that a pair of attempts should tell it from."""

# A Bayes factor from 3 on is positive, from 20 on strong evidence (Kass & Raftery 1995, J. Am. Stat. Ass. 90:773).
SOME, STRONG = 3.0, 20.0
# No density in a far tail is to be trusted further than this.
MOST = 1000.0
# So much of a term's scatter shared with the other conditions, and it cannot be told apart from them (our proposal:
# nine tenths, a variance inflation of ten).
INSEPARABLE = 0.9


@dataclass(frozen=True)
class Evidence:
    """One number that speaks for or against an explanation, from ``n`` attempts at one gate.

    ``term`` names what was tested, with its ``unit`` and the ``step`` that the effect is told for; ``level`` is
    that of a choice. ``mean`` with ``lower`` to ``upper`` at ``interval`` is the effect of the step on the log odds
    of the gate with everything else equal; of lots it is the standard deviation of their effects. ``foretold`` is
    the sign that the explanation foretells, ``prob_foretold`` its posterior probability (of the likelier sign where
    either would do, or none is foretold). ``factor`` is the Bayes factor for such an effect against none, or for
    none against one where none is foretold. ``shared`` is the share of the term's scatter that the other conditions
    explain, and ``followed`` the condition that it followed most.
    """

    gate: GateName
    term: str
    unit: str
    step: Step
    level: str
    mean: float
    lower: float
    upper: float
    interval: float
    foretold: Sign
    prob_foretold: float
    factor: float
    n: int
    shared: float = 0.0
    followed: str = ""

    @property
    def is_inseparable(self) -> bool:
        """Whether the term moved so much with the other conditions that the attempts cannot tell it apart."""
        return self.shared >= INSEPARABLE


@dataclass(frozen=True)
class Confounded:
    """How far an exposure moved with the calendar or with practice: ``against`` is "date" or "practice"."""

    term: str
    against: str
    correlation: Correlation


@dataclass(frozen=True)
class PairSide:
    """One of two attempts that would tell: conditions in full, its jar where one on the shelf fits, and the odds.

    ``jar_words`` say how the jar is in the one thing that differs, or how it has to be where none on the shelf is.
    ``lot_id`` is the lot that it is from.
    """

    conditions: Conditions
    jar_id: str | None
    lot_id: str | None
    jar_words: tuple[Reason, ...]
    estimate: Estimate | None


@dataclass(frozen=True)
class Pair:
    """Two attempts that two explanations foretell differently, ``told`` says what each does.

    ``kind`` is "depth", "lid", "humidity", "oil", "weeks" or "lots"; ``rules`` say how it has to be done.
    ``film_ratio`` is by how much the film index of the first is above that of the second, where it can be computed.
    """

    kind: str
    against: RivalKey
    first: PairSide
    second: PairSide
    rules: tuple[Reason, ...]
    told: tuple[Reason, ...]
    film_ratio: float | None = None
    may_wait: bool = True


@dataclass(frozen=True)
class Rival:
    """One explanation: what it foretells, what the attempts say of it so far, and the pair that would tell.

    ``factor`` is the Bayes factor over all its evidence, None where nothing recorded can tell; ``unknown`` says
    what is missing. ``entangled`` says why its evidence is just as much that of another explanation; it can then
    not be told. ``cautions`` say what its numbers lean on, ``no_pair`` why there is no pair.
    """

    key: RivalKey
    verdict: Verdict
    factor: float | None
    evidence: tuple[Evidence, ...]
    confounded: tuple[Confounded, ...]
    unknown: tuple[Reason, ...]
    entangled: Reason | None
    cautions: tuple[Reason, ...]
    nearest: RivalKey
    pair: Pair | None
    no_pair: Reason | None
    n: int

    @property
    def foretells(self) -> Reason:
        """What the explanation says will be seen."""
        code = f"rivals.foretells_{self.key}"
        return Reason(code)


def factor_of(evidence: tuple[Evidence, ...]) -> float:
    """Return the Bayes factor of an explanation against none, from the evidence that can be told apart.

    What is foretold with its sign has to be there wherever it is foretold, so those factors are multiplied. What
    may be there "either" way needs to be there in one term at one gate only: the factor is then that of "at least
    one of them", each as likely in as out beforehand, for an oil that counts at gate 1 alone is no less the oil.
    That nothing was seen where nothing is foretold speaks against it only where something was seen: without the
    explanation nothing is foretold there either.
    """
    apart = [each for each in evidence if not each.is_inseparable]
    told = math.prod(each.factor for each in apart if each.foretold in ("up", "down"))
    silent = math.prod(each.factor for each in apart if each.foretold == "none")
    either: dict[tuple[str, str], float] = {}
    for each in apart:
        if each.foretold == "either":
            key = each.gate, each.term  # the levels of a choice are one
            either[key] = either.get(key, 1.0) * each.factor
    return min(max(told * _any_of(tuple(either.values())) * min(silent, 1.0), 1.0 / MOST), MOST)


def _any_of(factors: tuple[float, ...]) -> float:
    """Return the Bayes factor of "at least one of these effects" against none, all subsets as likely."""
    if not factors:
        return 1.0
    none = 0.5 ** len(factors)
    return (math.prod(0.5 * (1.0 + factor) for factor in factors) - none) / (1.0 - none)


def verdict_of(
    factor: float | None, evidence: tuple[Evidence, ...], *, entangled: bool = False, leans: bool = False
) -> Verdict:
    """Return what a Bayes factor comes to in words.

    It cannot be told where all terms are inseparable, or where what speaks for it is ``entangled`` with another
    explanation; nothing speaks clearly for one that ``leans`` on the film index being right.
    """
    if factor is None:
        return "nothing_recorded"
    if (entangled and factor >= SOME) or all(each.is_inseparable for each in evidence):
        return "cannot_tell"
    if factor >= STRONG and not leans:
        return "clearly_for"
    if factor >= SOME:
        return "for"
    if factor <= 1.0 / STRONG:
        return "clearly_against"
    return "against" if factor <= 1.0 / SOME else "cannot_tell"
