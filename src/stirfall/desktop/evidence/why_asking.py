"""The job of the section "Why": the surprises, and the answer for one attempt; runs on a worker."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis
    from stirfall.session.surprises_found import Surprises, Why


@dataclass(frozen=True, eq=False)
class Answer:
    """The surprises of one analysis, and why one of its attempts came out as it did (None: none was asked for)."""

    analysis: Analysis
    surprises: Surprises
    why: Why | None


def work_out_why(analysis: Analysis, attempt_id: str, known: Surprises | None, token: CancelToken) -> Answer:
    """Return the answer for an attempt, or for the most surprising one where ``attempt_id`` is "".

    ``known`` are the surprises of this analysis where they were worked out before.
    """
    from stirfall.session.surprises import surprises, why

    found = known if known is not None else surprises(analysis, token=token)
    asked = attempt_id or (found.ranked[0].attempt_id if found.ranked else "")
    token.raise_if_cancelled()
    return Answer(analysis, found, why(analysis, asked) if asked else None)
