"""What the line of limits says: one calm line when all is well, else how many findings of which level; pure."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.factors import Role
from stirfall.desktop.bench_form.state import FormState
from stirfall.planning.findings import Finding
from stirfall.reporting.sentences import sentence

SIGNS = {"fine": "✓", "note": "✓", "warn": "⚠", "block": "⊘"}
WORDS = {"note": "Note", "warn": "Warning", "block": "Do not"}


@dataclass(frozen=True)
class FoundLine:
    """One finding as it is listed: its level as shape and word, the sentence, its source, the reason given."""

    level: str
    head: str
    text: str
    source: str
    reason: str = ""


@dataclass(frozen=True)
class LimitsText:
    """The line of limits: its level, what it says, the small print below it, and the list behind it."""

    level: str
    head: str
    small: str
    lines: tuple[FoundLine, ...]

    @property
    def sign(self) -> str:
        """The shape of the level."""
        return SIGNS[self.level]


def limits_text(state: FormState) -> LimitsText:
    """Return what the limits say about the form, most severe first."""
    counts = {level: sum(found.level == level for found in state.findings) for level in WORDS}
    checked = ", ".join(checked_words(state))
    small = f"checked: {checked}" if checked else "nothing to check yet"
    lines = tuple(_line(found, state) for found in state.findings)
    if counts["block"]:
        return LimitsText("block", "Outside the limits", _counted(counts), lines)
    if counts["warn"]:
        return LimitsText("warn", "At the limits", _counted(counts), lines)
    if not checked:
        return LimitsText("fine", "Limits", small, lines)
    return LimitsText("note" if counts["note"] else "fine", "Within the limits", small, lines)


def checked_words(state: FormState) -> tuple[str, ...]:
    """Return in a few words what was at hand to be held against the limits."""
    known = [item.factor.role for item in state.fields if item.value is not None]
    words = {
        "look": bool(state.look.look),
        "temperature": Role.TEMPERATURE in known,
        "additive": Role.DOSE in known or any("additive" in item.factor.name.casefold() for item in state.fields),
        "jar": state.jar is not None,
        "humidity": state.facts.room_rh_percent is not None,
        "oil volume": state.facts.oil_ml is not None,
        "ranges tried": bool(known),
    }
    return tuple(word for word, was_checked in words.items() if was_checked)


def _counted(counts: dict[str, int]) -> str:
    words = {"block": ("block", "blocks"), "warn": ("warning", "warnings"), "note": ("note", "notes")}
    return ", ".join(
        f"{count} {words[level][count > 1]}" for level, count in reversed(tuple(counts.items())) if count
    )


def _line(found: Finding, state: FormState) -> FoundLine:
    text = sentence(found.code, found.params, decimal=state.decimal)
    reason = next((item.reason for item in state.warned if item.finding is found), "")
    sign = "•" if found.level == "note" else SIGNS[found.level]
    return FoundLine(found.level, f"{sign} {WORDS[found.level]}", text, found.source, reason.strip())
