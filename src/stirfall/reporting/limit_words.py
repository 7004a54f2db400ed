"""The operating limits in words: what holds for a campaign, and what is said of a situation, with sources."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.planning.findings import Finding
from stirfall.planning.standing import standing_limits
from stirfall.reporting.sentences import sentence
from stirfall.storage.limit_table import limit_table


@dataclass(frozen=True)
class LimitText:
    """One limit that holds: its rule, the levels that it can reach, its sentence, and where it is from."""

    rule: str
    levels: tuple[str, ...]
    text: str
    source: str


@dataclass(frozen=True)
class FindingText:
    """One thing that the limits say: ``block`` (never), ``warn`` (needs a reason) or ``note``, with its source."""

    level: str
    code: str
    factor: str | None
    text: str
    source: str


def limit_texts(state: CampaignState, *, decimal: str = ".") -> tuple[LimitText, ...]:
    """Return every limit that holds for the campaign, in the order of the shipped table."""
    rules = limit_table()
    return tuple(
        LimitText(
            line.rule,
            rules[line.rule].levels,
            sentence(line.code, line.params, decimal=decimal),
            line.source,
        )
        for line in standing_limits(state)
    )


def finding_texts(found: Iterable[Finding], *, decimal: str = ".") -> tuple[FindingText, ...]:
    """Return findings in words, in their order."""
    return tuple(
        FindingText(
            each.level, each.code, each.factor, sentence(each.code, each.params, decimal=decimal), each.source
        )
        for each in found
    )
