"""Filters as the ledger shows and reads them: chips with their words, and what was entered; pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.shown import Shown
from stirfall.reporting.sentences import sentence
from stirfall.session.ledger_filter import (
    FACTOR,
    FLAGS,
    WITHOUT_VALUE,
    Condition,
    How,
    Kind,
    Subject,
    checked,
    in_words,
    subjects,
)

_HOW_WORDS = {
    How.IS: "is",
    How.IS_NOT: "is not",
    How.OVER: "is over",
    How.UNDER: "is under",
    How.CONTAINS: "contains",
    How.LACKS: "does not contain",
    How.WITHIN: "within",
    How.SINCE: "on this day or later",
    How.BEFORE: "before this day",
    How.KNOWN: "is known",
    How.UNKNOWN: "is unknown",
}
_FLAG_NAMES = {
    "struck": "Struck out",
    "aborted": "Aborted",
    "photos": "Photos",
    "run": "Guided run",
    "proof": "Proof",
    "regraded": "Second grade",
    "warned": "Limits",
    "corrected_age": "Age by hand",
}


@dataclass(frozen=True)
class Chip:
    """One filter as a word-chip."""

    condition: Condition
    text: str


@dataclass(frozen=True)
class FilterEntry:
    """A filter as entered, raw."""

    what: str = ""
    how: How = How.IS
    text: str = ""


@dataclass(frozen=True)
class ReadFilter:
    """What an entry means: the condition with its words, or why there is none yet."""

    condition: Condition | None
    words: str = ""
    problem: Reason | None = None


def subject_of(what: str, state: CampaignState) -> Subject | None:
    """Return what a filter is about, None where this campaign has no such thing."""
    return next((each for each in subjects(state) if each.key == what), None)


def subject_words(subject: Subject) -> str:
    """Return how a subject stands in the list."""
    return _FLAG_NAMES.get(subject.key, titled(subject.name))


def how_words(subject: Subject, how: How) -> str:
    """Return how a comparison stands in the list."""
    if subject.key in FLAGS:
        return titled(sentence(f"ledger_filter.{subject.key}_{how.value}"))
    return _HOW_WORDS[how]


def read_filter(entry: FilterEntry, state: CampaignState, decimal: str) -> ReadFilter:
    """Return what an entry means; a bare number counts in the unit that is shown."""
    subject = subject_of(entry.what, state)
    if subject is None:
        return ReadFilter(None, problem=Reason("ledger_filter.unknown_subject", {"what": entry.what}))
    try:
        condition = checked(Condition(subject.key, entry.how, _value(entry, subject, decimal)), subject)
    except InputError as error:
        return ReadFilter(None, problem=Reason(error.code, error.params))
    return ReadFilter(condition, words_of(condition, subject, decimal))


def _value(entry: FilterEntry, subject: Subject, decimal: str) -> float | str:
    text = entry.text.strip()
    if subject.kind is not Kind.NUMBER or entry.how in WITHOUT_VALUE or not text:
        return text
    return Shown.of(decimal).read(text, subject.unit)


def words_of(condition: Condition, subject: Subject, decimal: str, *, is_other: bool = False) -> str:
    """Return a filter in words."""
    said = in_words(condition, subject, is_other=is_other)
    return sentence(said.code, said.params, decimal=decimal)


def chips_of(conditions: Sequence[Condition], state: CampaignState, decimal: str) -> tuple[Chip, ...]:
    """Return the chips of the filters; one that allows for something else than the one before begins with or."""
    chips: list[Chip] = []
    said: set[str] = set()
    for condition in conditions:
        subject = subject_of(condition.what, state) or Subject(condition.what, condition.what, Kind.TEXT)
        is_other = condition.what in said and condition.how in (How.IS, How.WITHIN)
        if condition.how in (How.IS, How.WITHIN):
            said.add(condition.what)
        chips.append(Chip(condition, words_of(condition, subject, decimal, is_other=is_other)))
    return tuple(chips)


def quick_filters(key: str, attempt: Attempt) -> tuple[Condition, ...]:
    """Return the filters that a cell offers: the column by its key, and the attempt of the row."""
    if key == "outcome":
        return (Condition("outcome", How.IS, attempt.outcome.value), Condition("struck", How.NO))
    if key == "place":
        named = (("lot", attempt.lot_id), ("jar", attempt.jar_id))
        return tuple(Condition(what, How.IS, value) for what, value in named if value)
    if key in ("operator", "tool"):
        word = getattr(attempt.facts, key)
        return (
            (Condition(key, How.IS, word), Condition(key, How.IS_NOT, word))
            if word
            else (Condition(key, How.KNOWN),)
        )
    if key == "bench":
        bench = None if attempt.origin is None else attempt.origin.bench
        return (Condition(key, How.KNOWN),) if bench is None else (Condition(key, How.IS, bench),)
    if key == "proof":
        return (Condition("proof", How.YES if attempt.proof_id is not None else How.NO),)
    if key.startswith(FACTOR):
        value = attempt.conditions.get(key.removeprefix(FACTOR))
        if value is None:
            return (Condition(key, How.KNOWN),)
        if isinstance(value, str):
            return (Condition(key, How.IS, value), Condition(key, How.IS_NOT, value))
        return tuple(Condition(key, how, value) for how in (How.OVER, How.UNDER, How.IS))
    return ()
