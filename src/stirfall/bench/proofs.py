"""The words of a proof: one fixed recipe, and a rule that is settled before its first attempt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions

MOST_ATTEMPTS = 10_000


class ProofRule(StrEnum):
    """When a proof ends: after a count that is fixed, or by lines that each attempt is held against."""

    COUNT = "count"
    SEQUENTIAL = "sequential"


@dataclass(frozen=True)
class Proof:
    """A set of attempts at one recipe whose rule is settled beforehand and never changes.

    ``claim`` is the reliability to be shown, with ``confidence``. By count: ``attempts`` are made and at most
    ``failures_allowed`` may fail. In sequence: at most ``attempts`` are made; at the reliability ``good`` the proof
    is missed with a probability of ``risk_of_missing`` at most. ``tolerances`` say how far what is reached may lie
    from the recipe, in the unit of each factor. A proof that is given up keeps its reason.
    """

    id: str
    started_at: datetime
    recipe: Conditions
    rule: ProofRule
    claim: float
    confidence: float
    attempts: int
    failures_allowed: int = 0
    good: float | None = None
    risk_of_missing: float | None = None
    tolerances: Mapping[str, float] = field(default_factory=dict)
    title: str = ""
    ended_at: datetime | None = None
    end_reason: str = ""

    def __post_init__(self) -> None:
        """Check that the rule makes sense; raises InputError ``proof.*``."""
        if not 0 < self.claim < 1:
            raise InputError("proof.claim", value=self.claim)
        if not 0.5 <= self.confidence < 1:
            raise InputError("proof.confidence", value=self.confidence)
        if not 1 <= self.attempts <= MOST_ATTEMPTS:
            raise InputError("proof.attempts", value=self.attempts, most=MOST_ATTEMPTS)
        if not 0 <= self.failures_allowed < self.attempts:
            raise InputError("proof.failures", value=self.failures_allowed, attempts=self.attempts)
        for name, width in self.tolerances.items():
            if not 0 <= width < float("inf"):
                raise InputError("proof.tolerance", name=name, value=width)
        if self.rule is ProofRule.SEQUENTIAL:
            if self.good is None or not self.claim < self.good < 1:
                raise InputError("proof.good", value=self.good, claim=self.claim)
            if self.risk_of_missing is None or not 0 < self.risk_of_missing < 0.5:
                raise InputError("proof.risk", value=self.risk_of_missing)

    @property
    def is_open(self) -> bool:
        """Whether it was not given up; whether its rule has decided follows from its attempts."""
        return self.ended_at is None
