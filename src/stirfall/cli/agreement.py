"""``stirfall agreement``: how far the blind second grades agree with the first."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

SCHEMA = "stirfall.agreement/1"


@click.command("agreement")
@session_argument
@json_option
def command(session: Path, *, as_json: bool) -> int:
    """Say how far second grades agree with the first in the session FILE; exit code 1 where too few do."""
    from stirfall.session.regrading import compared, due

    with open_to_read(session) as document:
        state = document.state
        waiting = len(due(state, document.photographed(), document.now()))
    comparison = compared(state)
    if as_json:
        say_json(_document(session, state, waiting))
    else:
        _say(state, waiting)
    return 1 if comparison.is_low else 0


def _say(state: CampaignState, waiting: int) -> None:
    from stirfall.reporting.agreement_words import agreement_lines, differing_lines
    from stirfall.reporting.sentences import sentence
    from stirfall.session.regrading import compared

    comparison = compared(state)
    if state.settings.invented:
        say(f"{state.settings.title} ({INVENTED_NOTICE})")
    for line in (*agreement_lines(comparison), *differing_lines(comparison)):
        say(line)
    say(sentence("regrade.waiting", {"count": waiting}) if waiting else sentence("regrade.none_due"))


def _document(session: Path, state: CampaignState, waiting: int) -> dict[str, object]:
    from stirfall.cli.output import estimate_json
    from stirfall.session.regrading import compared

    comparison = compared(state)
    found = comparison.agreement
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title},
        "invented": state.settings.invented,
        "n": found.n,
        "observed": None if found.observed is None else estimate_json(found.observed),
        "kappa": found.kappa,
        "kappa_lower": found.lower,
        "kappa_upper": found.upper,
        "level": found.level,
        "classes": list(found.classes),
        "table": [list(row) for row in found.table],
        "reason": None if found.reason is None else found.reason.code,
        "is_low": comparison.is_low,
        "differing": [
            {"attempt": each.number, "first": each.first.value, "second": each.second.value}
            for each in comparison.differing
        ],
        "due": waiting,
    }
