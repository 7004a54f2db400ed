"""What the section "Rival explanations" shows, as frozen values: words and numbers, no widgets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

VERDICTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "clearly_for": ("▲▲", "clearly for it"),
        "for": ("▲", "for it"),
        "cannot_tell": ("≈", "cannot be told yet"),
        "against": ("▼", "against it"),
        "clearly_against": ("▼▼", "clearly against it"),
        "nothing_recorded": ("—", "nothing recorded"),
    }
)
"""Shape and word of what the attempts say of an explanation."""


@dataclass(frozen=True)
class RivalLine:
    """One explanation in short: its key, its name, what the attempts say of it as shape and word, and a number."""

    key: str
    title: str
    glyph: str
    word: str
    number: str

    @property
    def told(self) -> str:
        """What the attempts say, in words."""
        return ". ".join(part for part in (self.word, self.number) if part)


@dataclass(frozen=True)
class SideLines:
    """One attempt of the pair: where it stands, its conditions, and its jar."""

    place: str
    values: tuple[tuple[str, str], ...]
    jar: str


@dataclass(frozen=True)
class RivalDetail:
    """One explanation in full; ``pair_title`` is "" where there is no pair, and ``no_pair`` then says why."""

    title: str = ""
    foretells: str = ""
    verdict: str = ""
    evidence: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    pair_title: str = ""
    sides: tuple[SideLines, ...] = ()
    rules: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    no_pair: str = ""


@dataclass(frozen=True)
class RivalsState:
    """The whole section; ``message`` stands in its place."""

    message: str = ""
    hypothesis: str = ""
    lines: tuple[RivalLine, ...] = ()
    chosen: str = ""
    detail: RivalDetail = RivalDetail()
    can_fill: bool = False
    is_stale: bool = False
