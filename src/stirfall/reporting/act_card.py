"""The card of acts: codes to scan during a guided run, for hands in gloves; a pure document."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.scan_codes import ACT_KEYS, act_code
from stirfall.session.run_result import GRADES


@dataclass(frozen=True)
class Act:
    """One act: its key, the text of its code, its words, and the keyboard key that does the same."""

    key: str
    code: str
    words: str
    same_as: str


_WORDS = {
    "NEXT": ("Next step", "Space"),
    "MARK": ("Mark what is seen now", "Enter"),
    "BACK": ("Back one step", "Backspace"),
    "DONE": ("Done: end the weighing or the run", ""),
}


def act_card() -> tuple[Act, ...]:
    """Return the acts in the order of the card: onward first, then the grades, then back and done."""
    grades = {
        f"G{number}": (f"{number} {outcome.value[:1].upper()}{outcome.value[1:]}", str(number))
        for number, outcome in enumerate(GRADES, start=1)
    }
    words = {**_WORDS, **grades}
    return tuple(Act(key, act_code(key), *words[key]) for key in ACT_KEYS)
