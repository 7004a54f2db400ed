"""Which rows are selected, in words; pure."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import Attempt
from stirfall.desktop.odds.phrases import counted

MOST_COUNTED = 2000
"""More rows than these are not looked at one by one while the keyboard waits."""


def picked_words(attempts: Sequence[Attempt], count: int) -> str:
    """Say how many rows are selected and how many of them are clean: "3 selected: 1 clean of 3"."""
    if count < 2:
        return ""
    if count > len(attempts):
        return f"{count} selected"
    pairs = [attempt.clean_count for attempt in attempts]
    known = [pair for pair in pairs if pair is not None]
    clean, trials = sum(pair[0] for pair in known), sum(pair[1] for pair in known)
    left_out = len(pairs) - len(known)
    said = f"{count} selected: {clean} clean of {trials}"
    return f"{said}, {left_out} not counted" if left_out else said


def count_words(campaign: CampaignState, shown: int, *, is_filtered: bool) -> str:
    """Say how many attempts there are, or how many of them are shown."""
    total = len(campaign.attempts)
    if is_filtered:
        return f"{shown} of {counted(total)}"
    struck = aborted = 0
    for attempt in campaign.attempts:  # once over a hundred thousand of them, as a person waits
        if attempt.struck_reason is not None:
            struck += 1
        if attempt.aborted:
            aborted += 1
    parts = [counted(total)]
    parts += [f"{aborted} aborted"] if aborted else []
    parts += [f"{struck} struck out"] if struck else []
    return ", ".join(parts)
