"""What a health report holds: one frozen record per thing that was looked at, numbers and codes, no sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.inference.calibration import Calibration
from stirfall.inference.confounding import Correlation
from stirfall.inference.scores import Auc, Scores
from stirfall.inference.sensitivity import PriorMove

PARTS = ("scores", "auc", "calibration", "influence", "sensitivity", "confounding", "too_many")


@dataclass(frozen=True)
class AttemptInfluence:
    """How one attempt pulls one gate: ``gate`` is "clean", "parted" or "pooled", ``number`` what people call it.

    ``fitted`` is the probability of a yes at its conditions, ``without`` the same if it had not been recorded.
    ``leverage`` 0 to 1 says how alone its conditions are; ``pearson`` and ``deviance`` are residuals; ``pull`` is
    the change of the log odds there in standard deviations; ``distance`` is Cook's, over all coefficients.
    """

    gate: str
    attempt_id: str
    number: int
    successes: int
    trials: int
    fitted: float
    without: float
    leverage: float
    pearson: float
    deviance: float
    pull: float
    distance: float
    flagged: bool


@dataclass(frozen=True)
class GateInfluence:
    """The attempts of one gate, the strongest pull first; the first thousand of ``of`` where there are more."""

    gate: str
    attempts: tuple[AttemptInfluence, ...]
    of: int

    @property
    def flagged(self) -> tuple[AttemptInfluence, ...]:
        """The attempts that deserve a look: three per gate at most."""
        return tuple(attempt for attempt in self.attempts if attempt.flagged)


@dataclass(frozen=True)
class SensitivityPoint:
    """How far the answer at one place moves; ``source`` is "given", "best", "last attempt" or "defaults"."""

    source: str
    conditions: Conditions
    move: PriorMove


@dataclass(frozen=True)
class TimeCorrelation:
    """One exposure factor against ``against``: "date", "run_number" or "place_in_day"; ``warning`` where strong.

    ``scale`` is that of the factor, "log" or "linear", on which Pearson's correlation was taken.
    """

    factor: str
    scale: str
    against: str
    correlation: Correlation
    warning: Reason | None


@dataclass(frozen=True)
class Inseparable:
    """Two conditions (or one and the lot) that always varied together: ``strength`` 0.9 to 1 over ``n`` attempts.

    The correlation of two numbers, the correlation ratio of a number over a choice, or Cramer's V of two choices.
    """

    first: str
    second: str
    strength: float
    n: int
    warning: Reason


@dataclass(frozen=True)
class Confounding:
    """What the attempts cannot tell apart; ``never_varied`` names factors that had one value throughout."""

    with_time: tuple[TimeCorrelation, ...]
    pairs: tuple[Inseparable, ...]
    never_varied: tuple[str, ...]


@dataclass(frozen=True)
class GateLoad:
    """How many coefficients one gate asks of its attempts: those whose column varied, without the intercept.

    ``rarer`` is the count of the rarer outcome, ``per_coefficient`` rarer / coefficients, None without any.
    ``severity`` is "fine" (ten or more per coefficient), "few", "severe" (below two), or "nothing" recorded.
    """

    gate: str
    coefficients: int
    successes: int
    trials: int
    rarer: int
    per_coefficient: float | None
    severity: str
    verdict: Reason


@dataclass(frozen=True)
class HealthReport:
    """Each part, or None where it is unknown; ``statements`` says per part what it shows, or why it is unknown.

    ``statements`` has all of PARTS as keys. ``warnings`` are what a person should act on, the gravest first; where
    one is about an attempt its params have ``attempt_id`` and ``number``, where about a factor ``factor``.
    ``attempts`` of ``trials`` are used by the model.
    """

    attempts: int
    trials: int
    scores: Scores | None
    auc: Auc | None
    calibration: Calibration | None
    calibration_ids: tuple[str, ...]
    influence: tuple[GateInfluence, ...]
    sensitivity: tuple[SensitivityPoint, ...]
    confounding: Confounding
    too_many: tuple[GateLoad, ...]
    statements: Mapping[str, Reason]
    warnings: tuple[Reason, ...]
