"""Short words of the run page: clock times, names of steps and marks."""

from __future__ import annotations

from datetime import datetime

from stirfall.bench.estimates import Reason
from stirfall.bench.running import Step
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.run.timer_part import clock_face
from stirfall.reporting.sentences import sentence
from stirfall.session.run_shown import Mark


def clock_time(moment: datetime) -> str:
    """Return a moment as the clock on the wall shows it, with seconds."""
    return moment.astimezone().strftime("%H:%M:%S")


def step_name(step: Step) -> str:
    """Return a step as a name."""
    return titled(step.value)


def mark_words(mark: Mark) -> str:
    """Return a mark with its clock time and its place in its step."""
    return f"{clock_time(mark.at)}  {mark.word}, {clock_face(mark.into_step_s)} into {mark.step.value}"


def said(reason: Reason | None, decimal: str) -> str:
    """Return the sentence of a reason, "" for none."""
    return sentence(reason.code, reason.params, decimal=decimal) if reason is not None else ""
