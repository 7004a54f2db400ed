"""What the section "Is it chance?" asks for in the background: what there is to compare, and the comparison."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.comparisons import Comparison
    from stirfall.session.analysis import Analysis
    from stirfall.session.comparing_records import Compared, Subject


def find_subjects(state: CampaignState, _token: CancelToken) -> tuple[Subject, ...]:
    """Return what groups can be about; runs on a worker."""
    from stirfall.session.comparing import subjects

    return subjects(state)


def work_out(
    analysis: Analysis,
    comparison: Comparison,
    matters: float | None,
    asked: tuple[Comparison, ...],
    token: CancelToken,
) -> Compared:
    """Return two groups compared, with the comparisons that were asked for so far; runs on a worker."""
    from stirfall.session.comparing import compare

    return compare(analysis, comparison, token=token, matters=matters, comparisons=asked)
