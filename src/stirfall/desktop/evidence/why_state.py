"""What the section "Why" shows, as frozen values: words and numbers, no widgets and no computation."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.desktop.plan.tonight_state import Chance


@dataclass(frozen=True)
class GateLine:
    """One gate: what the others foretold of it, and what was seen, as shape and word."""

    title: str
    glyph: str
    seen: str
    chance: Chance | None

    @property
    def told(self) -> str:
        """The whole line in words."""
        foretold = "" if self.chance is None else f"; foretold {self.chance.in_full}"
        return f"{self.title}: {self.seen}{foretold}"


@dataclass(frozen=True)
class CompareLine:
    """One difference: its name, both values, and what the model thinks of it; ``is_heading`` begins a part."""

    name: str
    here: str = ""
    there: str = ""
    thought: str = ""
    is_heading: bool = False


@dataclass(frozen=True)
class WhyState:
    """The whole section.

    ``message`` stands in its place. ``listed`` are the attempts that surprised, key and text; ``chosen`` is the id
    of the attempt that is answered for, ``number`` what stands in the field, ``problem`` why that is no attempt.
    """

    message: str = ""
    count: str = ""
    listed: tuple[tuple[str, str], ...] = ()
    chosen: str = ""
    number: str = ""
    problem: str = ""
    title: str = ""
    verdict: str = ""
    gates: tuple[GateLine, ...] = ()
    surprise: str = ""
    direction: str = ""
    finding: str = ""
    known_already: str = ""
    here: str = ""
    there: str = ""
    lines: tuple[CompareLine, ...] = ()
    whole: str = ""
    unknown: str = ""
    near: tuple[str, ...] = ()
    waits: str = ""
    is_stale: bool = False

    @property
    def in_words(self) -> str:
        """The answer for people who cannot see it."""
        parts = (self.verdict, *(gate.told for gate in self.gates), self.surprise, self.direction, self.finding)
        return " ".join(part if part.endswith(".") else f"{part}." for part in parts if part)
