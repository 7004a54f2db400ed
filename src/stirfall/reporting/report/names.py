"""People's names in what leaves the program: kept, or replaced by letters wherever they are known."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.comparisons import Comparison, Group
from stirfall.bench.records import Attempt
from stirfall.bench.running import Run

_LETTERS = 26


def letters(attempts: Iterable[Attempt]) -> dict[str, str]:
    """Return A, B and so on for each operator, in the order in which they first came."""
    found = dict.fromkeys(name for each in attempts if (name := each.facts.operator.strip()))
    return {name: _letter(place) for place, name in enumerate(found)}


def _letter(place: int) -> str:
    text = ""
    while place >= 0:
        text = chr(ord("A") + place % _LETTERS) + text
        place = place // _LETTERS - 1
    return text


class Nameless:
    """Puts letters where the operators' names stand, also as words within notes and reasons.

    Letter case matters within a text, and a name of one letter is not looked for there: "May" is a name and "may"
    none, and every note holds an "a".
    """

    def __init__(self, attempts: Iterable[Attempt]) -> None:
        self.known = letters(attempts)
        longest_first = sorted((name for name in self.known if len(name) > 1), key=lambda name: (-len(name), name))
        found = "|".join(re.escape(name) for name in longest_first)
        self._pattern = re.compile(rf"(?<!\w)(?:{found})(?!\w)") if found else None

    def text(self, text: str) -> str:
        """Return the text with a letter for each name that stands in it as a word."""
        if self._pattern is None or not text:
            return text
        return self._pattern.sub(lambda match: f"operator {self.known[match[0]]}", text)

    def state(self, state: CampaignState) -> CampaignState:
        """Return the campaign without the names of its operators."""
        if not self.known:
            return state
        return replace(
            state,
            attempts=tuple(self._attempt(each) for each in state.attempts),
            lots=tuple(replace(each, note=self.text(each.note)) for each in state.lots),
            jars=tuple(replace(each, note=self.text(each.note)) for each in state.jars),
            runs=tuple(self._run(each) for each in state.runs),
            proofs=tuple(
                replace(each, title=self.text(each.title), end_reason=self.text(each.end_reason))
                for each in state.proofs
            ),
            comparisons=tuple(self._comparison(each) for each in state.comparisons),
            recipes=tuple(
                replace(
                    each,
                    title=self.text(each.title),
                    note=self.text(each.note),
                    document=self.json(each.document),
                )
                for each in state.recipes
            ),
            marks=tuple(replace(each, text=self.text(each.text)) for each in state.marks),
        )

    def corrections(self, corrections: Iterable[Correction]) -> tuple[Correction, ...]:
        """Return the corrections without the names."""
        return tuple(
            replace(
                each,
                old=self.json(each.old),
                new=self.json(each.new),
                reason=self.text(each.reason),
                command=self.text(each.command),
            )
            for each in corrections
        )

    def json(self, text: str) -> str:
        """Return JSON text with letters in its texts; what holds no name stays as it was, to the byte."""
        if self._pattern is None or self.text(text) == text:
            return text
        try:
            value = json.loads(text)
        except ValueError:
            return self.text(text)
        return json.dumps(_in_texts(value, self.text), ensure_ascii=False, separators=(",", ":"))

    def _attempt(self, attempt: Attempt) -> Attempt:
        facts = attempt.facts
        told = replace(
            facts,
            operator=self.known.get(facts.operator.strip(), ""),
            accepted=tuple(replace(each, reason=self.text(each.reason)) for each in facts.accepted),
        )
        struck = attempt.struck_reason
        return replace(
            attempt,
            facts=told,
            note=self.text(attempt.note),
            abort_reason=self.text(attempt.abort_reason),
            struck_reason=None if struck is None else self.text(struck),
            overrides=tuple(replace(each, reason=self.text(each.reason)) for each in attempt.overrides),
        )

    def _run(self, run: Run) -> Run:
        events = tuple(replace(each, text=self.text(each.text)) for each in run.events)
        return replace(run, end_reason=self.text(run.end_reason), events=events)

    def _comparison(self, comparison: Comparison) -> Comparison:
        change = partial(_group, known=self.known)
        return replace(comparison, first=change(comparison.first), second=change(comparison.second))


def _group(group: Group, *, known: Mapping[str, str]) -> Group:
    return replace(group, level=known.get(group.level.strip(), group.level)) if group.what == "operator" else group


def _in_texts(value: object, change: Callable[[str], str]) -> object:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, Mapping):
        return {key: _in_texts(item, change) for key, item in value.items()}
    if isinstance(value, Sequence):
        return [_in_texts(item, change) for item in value]
    return value
