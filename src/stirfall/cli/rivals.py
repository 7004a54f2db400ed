"""``stirfall rivals``: what the attempts say of each rival explanation, and the pair that would tell it apart."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall import __version__
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

SCHEMA = "stirfall.rivals/1"


@click.command("rivals")
@session_argument
@json_option
def command(session: Path, *, as_json: bool) -> int:
    """Say what the attempts of the session FILE say of each explanation, and which two attempts would tell."""
    from stirfall.reporting.rivals_json import rival_json
    from stirfall.reporting.rivals_words import rivals_lines
    from stirfall.session.analysis import analyse
    from stirfall.session.rivals import rivals

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
        now = document.now()
    found = rivals(analysis, now=now)
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "session": {"path": str(session), "title": analysis.state.settings.title},
                "rivals": [rival_json(each, analysis.state) for each in found],
            }
        )
    else:
        for line in rivals_lines(found, analysis.state):
            say(line)
    return 0
