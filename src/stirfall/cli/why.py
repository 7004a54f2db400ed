"""``stirfall why``: which attempts surprised, or why one attempt came out as it did."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall import __version__
from stirfall.bench.errors import InputError
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

SCHEMA = "stirfall.why/1"


@click.command("why")
@session_argument
@click.argument("attempt", metavar="[ATTEMPT]", type=int, required=False)
@json_option
def command(session: Path, attempt: int | None, *, as_json: bool) -> int:
    """Say which attempts of the session FILE surprised, or why the one with the number ATTEMPT came out so."""
    from stirfall.reporting.why_json import surprises_json, why_json
    from stirfall.reporting.why_words import surprise_lines, why_lines
    from stirfall.session.analysis import analyse
    from stirfall.session.surprises import surprises, why

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
    state = analysis.state
    head: dict[str, object] = {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title},
    }
    if attempt is None:
        found = surprises(analysis)
        if as_json:
            say_json({**head, **surprises_json(found)})
        for line in () if as_json else surprise_lines(found):
            say(line)
        return 0
    named = next((each.id for each in state.attempts if each.number == attempt), None)
    if named is None:
        raise InputError("why.unknown_number", number=attempt)
    answer = why(analysis, named)
    if as_json:
        say_json({**head, "why": why_json(answer)})
    for line in () if as_json else why_lines(answer, state, may_wait=analysis.limits.may_wait):
        say(line)
    return 0
