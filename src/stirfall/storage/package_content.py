"""What a package holds, and the words that describe it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.storage.bulky import Pair

Photos = Literal["all", "none"] | Collection[str]
"""Which photos go into a package: all, none, or those with these ids."""


@dataclass(frozen=True)
class LeftOut:
    """What the session has and the package has not: photos, originals of photos, undone records, a draft."""

    photos: int = 0
    originals: int = 0
    undone: int = 0
    drafts: int = 0


@dataclass(frozen=True)
class PackageFacts:
    """Where a package comes from: when it was made, of which session, by which program, under which licences."""

    created_at: datetime | None = None
    source: str = ""
    program: str = ""
    licenses: tuple[str, ...] = ()
    left_out: LeftOut = LeftOut()


@dataclass(frozen=True)
class PackageContent:
    """What a package holds: the campaign, its corrections, photos, examples and logs, and words about them.

    ``bulky`` are pairs of id and record; from a package or a session each is loaded when it is asked for, so the
    file must stay where it is until then.
    """

    state: CampaignState
    corrections: tuple[Correction, ...]
    description: str = ""
    bulky: Sequence[Pair] = ()
    facts: PackageFacts = PackageFacts()
