"""What the program says about a probability, and the reasons that it gives; numbers and codes, no sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Estimate:
    """A probability with its interval at ``level`` and ``n``, the trials that it rests on.

    ``of_trials`` says that some attempts hold several trials, so that ``n`` is no number of attempts.
    """

    mean: float
    lower: float
    upper: float
    level: float
    n: int
    of_trials: bool = field(default=False, repr=False, compare=False)


def whole_percent(share: float) -> int:
    """Return a probability in whole per cent, at least 1 and at most 99: no count of attempts proves more."""
    return min(max(round(100.0 * share), 1), 99)


@dataclass(frozen=True)
class Reason:
    """Why something is so: a code that names a sentence, and the parameters that fill it."""

    code: str
    params: Mapping[str, object] = field(default_factory=dict)
