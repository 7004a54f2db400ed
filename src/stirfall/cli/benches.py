"""``stirfall benches``: does it hold for others? Bench by bench, and for one not seen yet."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall import __version__
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import at_option, conditions_at, json_option, open_to_read, session_argument

SCHEMA = "stirfall.benches/1"


@click.command("benches")
@session_argument
@at_option
@json_option
def command(session: Path, *, at: tuple[str, ...], as_json: bool) -> int:
    """Say whether what a pooled session found holds for each bench and for one not seen yet.

    Per bench: clean attempts with their interval, the chance at the recommended recipe (or at the conditions of
    --at), and what the other benches foretold against what it got.
    """
    from stirfall.reporting.bench_words import bench_lines, benches_json
    from stirfall.session.analysis import analyse
    from stirfall.session.benches import by_bench, holds_elsewhere

    with open_to_read(session) as document:
        state = document.state
        given = conditions_at(state.factors, at)
    whole = by_bench(analyse(state))
    conditions = whole.complete(given) if given else None
    found = holds_elsewhere(whole, conditions=conditions)
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "session": {"path": str(session), "title": state.settings.title},
                **benches_json(found),
            }
        )
        return 0
    for line in bench_lines(found, given=bool(given)):
        say(line)
    return 0
