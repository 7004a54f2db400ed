"""``stirfall next``: what to try next, each with its probability and its reason."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.units import human_time
from stirfall.cli.conditions import write_conditions
from stirfall.cli.output import estimate_json, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument
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
    type=click.Choice(["learn", "reliable"]),
    default="reliable",
    help="Learn most about the outcome, or make the best condition more reliable.",
)
@json_option
def command(session: Path, count: int, goal: str, as_json: bool) -> int:
    """Suggest the next attempts; exit code 1 and the reason when the limits allow none."""
    from stirfall.session.analysis import analyse

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
        now = document.now()
    blocked = analysis.limits.blocked
    suggestions = () if blocked else analysis.suggest(count=count, goal=goal, now=now)
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "session": {"path": str(session), "title": analysis.state.settings.title},
                "goal": goal,
                "blocked": blocked,
                "findings": [
                    {"level": found.level, "code": found.code, "text": sentence(found.code, found.params)}
                    for found in analysis.limits.findings
                ],
                "suggestions": [suggestion_json(suggestion) for suggestion in suggestions],
            }
        )
    else:
        for line in next_lines(analysis, suggestions):
            say(line)
    return 1 if blocked else 0


def next_lines(analysis: Analysis, suggestions: Sequence[Suggestion]) -> list[str]:
    """Return the suggestions as text, or why there is none; what the limits say comes last."""
    lines = []
    for number, suggestion in enumerate(suggestions, 1):
        lines.append(f"{number}. {write_conditions(analysis.state, suggestion.conditions)}")
        lines.append(f"   {in_full(suggestion.probability)}. {_why(suggestion)}")
        if suggestion.jar_id is not None:
            wait = f", in {human_time(suggestion.wait_h, 'h')}" if suggestion.wait_h else ""
            lines.append(f"   Jar {suggestion.jar_id}{wait}.")
        if suggestion.outside_tried:
            lines.append(f"   Outside what was tried: {', '.join(suggestion.outside_tried)}.")
    lines += [sentence(found.code, found.params) for found in analysis.limits.findings]
    return lines


def suggestion_json(suggestion: Suggestion) -> dict[str, object]:
    """Return a suggestion as JSON has it; values are in the units of the factors."""
    return {
        "conditions": dict(suggestion.conditions),
        "probability": estimate_json(suggestion.probability),
        "goal": suggestion.goal.value,
        "reason": suggestion.reason.code,
        "why": _why(suggestion),
        "outside_tried": list(suggestion.outside_tried),
        "jar": suggestion.jar_id,
        "wait_h": suggestion.wait_h,
    }


def _why(suggestion: Suggestion) -> str:
    return sentence(suggestion.reason.code, suggestion.reason.params)
