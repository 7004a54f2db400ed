"""What a run that was taken up again must ask before it goes on, and what the answers mean; pure.

Most slips happen at the first step after a break: something is done twice, or not at all.
"""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.running import EventKind, Run, RunEvent, Step
from stirfall.bench.units import parse_quantity
from stirfall.session.run_shown import Question
from stirfall.session.run_timing import BACK, NO, NOT_KNOWN, STIRRED, YES, path_of

COVER, HEAT, ADDITIVE = "cover", "heat", "additive"
SAFETY = (COVER, HEAT)
_HOT = (Step.HEAT, Step.HOLD, Step.ADDITIVE, Step.STIR, Step.SETTLE)
_COOLING = (Step.COOL, Step.LIFT)
_AROUND_ADDITIVE = (Step.HOLD, Step.ADDITIVE, Step.STIR)


@dataclass(frozen=True)
class Break:
    """The last time that a run was taken up again: the event, the step it was at, and the answers since."""

    resumed: RunEvent
    step: Step
    answers: dict[str, RunEvent]


def last_break(run: Run) -> Break | None:
    """Return the last break of a run with what was answered since, None where there was none."""
    for place in range(len(run.events) - 1, -1, -1):
        if run.events[place].kind is EventKind.RESUMED:
            before = Run(run.id, run.started_at, steps=run.steps, events=run.events[:place])
            since = run.events[place + 1 :]
            answers = {event.word: event for event in since if event.kind is EventKind.ANSWER}
            return Break(run.events[place], path_of(before)[-1].step, answers)
    return None


def due_questions(run: Run) -> tuple[Question, ...]:
    """Return the questions that must be answered before the step may be left, in the order of their weight."""
    last = last_break(run)
    if last is None:
        return ()
    asked = []
    for key in _asked(run, last.step):
        answer = last.answers.get(key)
        problem = None if answer is None else _problem(key, answer.text, last.step)
        if answer is None or problem is not None:
            asked.append(_question(key, problem))
    return tuple(asked)


def _asked(run: Run, step: Step) -> tuple[str, ...]:
    keys = [COVER, HEAT] if step in (*_HOT, *_COOLING) else []
    if step in _AROUND_ADDITIVE and run.planned(Step.ADDITIVE) is not None:
        keys.append(ADDITIVE)
    if step is Step.STIR:
        keys.append(STIRRED)
    return tuple(keys)


def _question(key: str, problem: Reason | None) -> Question:
    answers = (YES, NO) if key in SAFETY else (YES, NO, NOT_KNOWN)
    return Question(key, Reason(f"run.ask.{key}"), answers, takes_time=key == STIRRED, problem=problem)


def _problem(key: str, answer: str, step: Step) -> Reason | None:
    """Return why an answer cannot stand: the step is not left with bare metal or with a heat that should be off."""
    if key == COVER and answer != YES:
        return Reason("run.ask.cover_first")
    if key == HEAT and answer == NOT_KNOWN:
        return Reason("run.ask.heat_first")
    if key == HEAT and answer == YES and step in _COOLING:
        return Reason("run.ask.heat_off_first")
    return None


def read_answer(run: Run, key: str, text: str) -> tuple[str, float | None]:
    """Return an answer as an event keeps it: its word, and for a time its seconds (a bare number is in minutes).

    Raises InputError ``run.no_question``, ``run.answer_unknown``, and those of reading a time.
    """
    question = next((each for each in due_questions(run) if each.key == key), None)
    if question is None:
        raise InputError("run.no_question")
    word = " ".join(text.split()).casefold()
    if word in question.answers:
        return word, None
    if not question.takes_time or not any(letter.isdigit() for letter in word):
        raise InputError("run.answer_unknown", answer=text.strip(), known=", ".join(question.answers))
    seconds = parse_quantity(word, "s", bare="min")
    last = last_break(run)
    away = last.resumed.value if last is not None else None
    if seconds < 0 or (away is not None and seconds > away + 1.0):
        raise InputError("run.answer_too_long", answer=text.strip())
    return text.strip(), seconds


def answer_notes(run: Run) -> tuple[Reason, ...]:
    """Return what follows from the answers since the last break, while the step of that break goes on."""
    last = last_break(run)
    if last is None or path_of(run)[-1].step is not last.step:
        return ()
    notes = []
    heat, additive = last.answers.get(HEAT), last.answers.get(ADDITIVE)
    if heat is not None and heat.text == NO and last.step in _HOT:
        notes.append(Reason("run.note.heat_was_off"))
    if additive is not None:
        told = {YES: "run.note.additive_in", NO: "run.note.additive_out", NOT_KNOWN: "run.note.additive_not_known"}
        if additive.text != NO or last.step is Step.STIR:
            notes.append(Reason(told[additive.text]))
    return tuple(notes)


def additive_word(run: Run) -> str:
    """Return whether the additive is in: yes, no, or not known, by the steps walked and by what was answered."""
    word, step = NO, Step.CHECKS
    for event in run.events:
        if event.kind is EventKind.ANSWER and event.word == ADDITIVE:
            word = event.text
        elif event.kind is EventKind.STEP:
            if step is Step.ADDITIVE and event.word != BACK and word == NO:
                word = YES if event.step == Step.STIR else NOT_KNOWN
            step = Step(event.step)
    return word
