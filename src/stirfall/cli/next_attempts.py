"""``stirfall next``: what to try next, each with its probability and its reason."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.estimates import Reason
from stirfall.bench.units import human_time
from stirfall.cli.conditions import write_conditions
from stirfall.cli.output import estimate_json, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument
from stirfall.reporting.goal_words import figure_json, suggestion_lines
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import in_full

if TYPE_CHECKING:
    from stirfall.planning.next_attempts import Suggestion
    from stirfall.session.analysis import Analysis

SCHEMA = "stirfall.next/1"


@click.command("next")
@session_argument
@click.option("--count", type=click.IntRange(1, 20), default=3, help="How many attempts to suggest.")
@click.option(
    "--goal",
    type=click.Choice(["learn", "reliable", "soonest", "most"]),
    default="reliable",
    help="Learn most; the most reliable recipe; the soonest clean batch; the most clean grams a week.",
)
@click.option("--lot", "lots", metavar="NAME", multiple=True, help="A lot to take attempts from. Repeat for each.")
@json_option
def command(session: Path, *, count: int, goal: str, lots: tuple[str, ...], as_json: bool) -> int:
    """Suggest the next attempts; exit code 1 and the reason when the limits allow none."""
    from stirfall.session.analysis import analyse

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
        now = document.now()
    blocked = analysis.limits.blocked
    suggestions = () if blocked else analysis.suggest(count=count, goal=goal, now=now, lots=lots)
    unknown = None if blocked else analysis.figure_unknown(goal)
    if as_json:
        findings = [Reason(found.code, found.params) for found in analysis.limits.findings]
        levels = [found.level for found in analysis.limits.findings]
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "session": {"path": str(session), "title": analysis.state.settings.title},
                "goal": goal,
                "blocked": blocked,
                "findings": [{"level": level, **_told(each)} for level, each in zip(levels, findings, strict=True)],
                "figure_unknown": None if unknown is None else _told(unknown),
                "suggestions": [suggestion_json(suggestion) for suggestion in suggestions],
            }
        )
    else:
        if unknown is not None:
            say(sentence(unknown.code, unknown.params))
        for line in next_lines(analysis, suggestions):
            say(line)
    return 1 if blocked else 0


def _told(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": sentence(reason.code, reason.params)}


def next_lines(analysis: Analysis, suggestions: Sequence[Suggestion]) -> list[str]:
    """Return the suggestions as text, or why there is none; what the limits say comes last."""
    lines = []
    for number, suggestion in enumerate(suggestions, 1):
        lines.append(f"{number}. {write_conditions(analysis.state, suggestion.conditions)}")
        lines.append(f"   {in_full(suggestion.probability)}. {_why(suggestion)}")
        lines += [f"   {line}" for line in suggestion_lines(suggestion)]
        if suggestion.lot_id is not None:
            lines.append(f"   From lot {suggestion.lot_id}.")
        if suggestion.jar_id is not None:
            wait = f", in {human_time(suggestion.wait_h, 'h')}" if suggestion.wait_h else ""
            lines.append(f"   Jar {suggestion.jar_id}{wait}.")
        if suggestion.outside_tried:
            lines.append(f"   Outside what was tried: {', '.join(suggestion.outside_tried)}.")
    lines += [sentence(found.code, found.params) for found in analysis.limits.findings]
    return lines


def suggestion_json(suggestion: Suggestion) -> dict[str, object]:
    """Return a suggestion as JSON has it; values are in the units of the factors."""
    from stirfall.reporting.explanations import explanation_json

    held, told = suggestion.held, suggestion.explanation
    return {
        "conditions": dict(suggestion.conditions),
        "probability": estimate_json(suggestion.probability),
        "goal": suggestion.goal.value,
        "reason": suggestion.reason.code,
        "why": _why(suggestion),
        "outside_tried": list(suggestion.outside_tried),
        "jar": suggestion.jar_id,
        "wait_h": suggestion.wait_h,
        "lot": suggestion.lot_id,
        "held": None if held is None else estimate_json(held),
        "figure": figure_json(suggestion.figure),
        "explanation": None if told is None else explanation_json(told),
    }


def _why(suggestion: Suggestion) -> str:
    return sentence(suggestion.reason.code, suggestion.reason.params)
