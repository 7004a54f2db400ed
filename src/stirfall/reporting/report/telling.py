"""What every part of a report is told with: the session's picture, its analysis, the reader's decimal sign."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt
from stirfall.bench.units import format_number
from stirfall.reporting.report.source import ReportSource
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import Analysis

NOT_KNOWN = ""


@dataclass(frozen=True, eq=False)
class Telling:
    """One report in the making; ``used`` are the ids of the attempts that the model uses."""

    source: ReportSource
    analysis: Analysis
    decimal: str
    used: frozenset[str]
    token: CancelToken | None = None

    @property
    def state(self) -> CampaignState:
        """The campaign as the file has it, with letters for names unless names were asked for."""
        return self.source.state

    @property
    def attempts(self) -> tuple[Attempt, ...]:
        """All attempts in the order of their numbers."""
        return tuple(sorted(self.state.attempts, key=lambda attempt: attempt.number))

    def say(self, code: str, **params: object) -> str:
        """Return the sentence of a code."""
        return sentence(code, params, decimal=self.decimal)

    def reason(self, reason: Reason) -> str:
        """Return the sentence of a reason."""
        return sentence(reason.code, reason.params, decimal=self.decimal)

    def number(self, value: float | None, digits: int = 6) -> str:
        """Write a number of a table; nothing where it is unknown."""
        return NOT_KNOWN if value is None else format_number(value, digits=digits, decimal=self.decimal)

    def poll(self) -> None:
        """Raise Cancelled where the report is no longer wanted."""
        if self.token is not None:
            self.token.raise_if_cancelled()


def moment_words(moment: datetime | None) -> str:
    """Write a moment in UTC to the minute; nothing where it is unknown."""
    return NOT_KNOWN if moment is None else f"{as_utc(moment):%Y-%m-%d %H:%M}"


def listed(words: Iterable[str]) -> str:
    """Write a list as a sentence has it: "a, b and c"."""
    parts = list(words)
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""
