"""``stirfall weigh``: what the weighings of the attempts add up to, with their standard uncertainties."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.errors import InputError
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.records import Attempt
    from stirfall.physics.measured import Contribution, Measured
    from stirfall.session.weighing import Weighing

SCHEMA = "stirfall.weigh/1"
_SHARES = ("gross_yield", "recovery", "closure", "corrected_closure")
_UNITS = ("_g", "_ml", "_c", "_kpa", "_mmol")
_GRAMS = ("oil_film_g", "corrected_beads_g")


@click.command("weigh")
@session_argument
@click.option("--attempt", "number", type=click.IntRange(min=1), metavar="N", help="Only this attempt, in full.")
@json_option
def command(session: Path, *, number: int | None, as_json: bool) -> int:
    """Say what the weighings add up to: one line per attempt, or one attempt with all that is behind it.

    Exit code 1 when the weighings of some attempt told about do not add up.
    """
    from stirfall.session.weighing import attempt_weighing

    with open_to_read(session) as document:
        state = document.state
        head = {"path": str(session), "title": state.settings.title, "invented": state.settings.invented}
        head["fingerprint"] = document.fingerprint
    told = [(attempt, attempt_weighing(state, attempt)) for attempt in _chosen(state, number)]
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "session": head,
                "attempts": [_weighing_json(attempt, weighing) for attempt, weighing in told],
            }
        )
    elif number is not None:
        for line in _in_full(*told[0]):
            say(line)
    else:
        for line in _one_line_each(told):
            say(line)
    return int(any(weighing.is_doubtful for _, weighing in told))


def _chosen(state: CampaignState, number: int | None) -> list[Attempt]:
    if number is None:
        return [attempt for attempt in state.attempts if not attempt.is_struck and _is_weighed(attempt)]
    found = [attempt for attempt in state.attempts if attempt.number == number]
    if not found:
        raise InputError("weigh.attempt_unknown", number=number)
    return found


def _is_weighed(attempt: Attempt) -> bool:
    return any(value is not None for value in vars(attempt.masses).values())


def _one_line_each(told: Iterable[tuple[Attempt, Weighing]]) -> Iterable[str]:
    count = 0
    for attempt, weighing in told:
        count += 1
        yield f"Attempt {attempt.number}: {sentence(weighing.line.code, weighing.line.params)}"
        for flag in weighing.flags:
            if flag.level == "warn":
                yield f"  Warning: {sentence(flag.code, flag.params)}"
    if not count:
        yield sentence("weigh.none")


def _in_full(attempt: Attempt, weighing: Weighing) -> Iterable[str]:
    yield f"Attempt {attempt.number}: {sentence(weighing.line.code, weighing.line.params)}"
    for name, mass in weighing.masses.items():
        yield f"  {label(name)}: {mass.text()}"
    for name in _SHARES:
        share: Measured | None = getattr(weighing, name)
        if share is not None:
            yield f"  {label(name)}: {share.percent().text()}"
            yield from _budget_lines(weighing.budgets[name])
    for flag in weighing.flags:
        yield f"  {'Warning' if flag.level == 'warn' else 'Note'}: {sentence(flag.code, flag.params)}"
    for reason in weighing.missing:
        yield f"  To know more: {sentence(reason.code, reason.params)}"


def _budget_lines(budget: Iterable[Contribution]) -> Iterable[str]:
    known = [line for line in budget if line.share is not None]
    if known:
        told = ", ".join(f"{label(line.name)} {100.0 * (line.share or 0.0):.0f} %" for line in known)
        yield f"    its variance: {told}"


def label(name: str) -> str:
    """Return the name of a mass or an input as it is told to people, without its unit."""
    for unit in _UNITS:
        name = name.removesuffix(unit)
    return name.replace("_", " ")


def measured_json(measured: Measured | None) -> dict[str, object] | None:
    """Return a measured value as JSON has it; ``u`` is null where the uncertainty is unknown."""
    if measured is None:
        return None
    return {"value": measured.value, "u": measured.u, "k": 1, "unit": measured.unit, "text": measured.text()}


def budget_json(budget: Iterable[Contribution]) -> list[dict[str, object]]:
    """Return an uncertainty budget as JSON has it: each input, its effect on u and its share of the variance."""
    return [
        {
            "input": line.name,
            "value": line.measured.value,
            "u": line.measured.u,
            "effect": line.effect,
            "share": line.share,
        }
        for line in budget
    ]


def _coded(code: str, params: Mapping[str, object]) -> dict[str, object]:
    return {"code": code, "text": sentence(code, params)}


def _weighing_json(attempt: Attempt, weighing: Weighing) -> dict[str, object]:
    return {
        "number": attempt.number,
        "attempt_id": attempt.id,
        "line": sentence(weighing.line.code, weighing.line.params),
        "masses": {name: measured_json(mass) for name, mass in weighing.masses.items()},
        **{name: measured_json(getattr(weighing, name)) for name in (*_SHARES, *_GRAMS)},
        "budgets": {name: budget_json(budget) for name, budget in weighing.budgets.items()},
        "flags": [{"level": flag.level, **_coded(flag.code, flag.params)} for flag in weighing.flags],
        "missing": [_coded(reason.code, reason.params) for reason in weighing.missing],
    }
