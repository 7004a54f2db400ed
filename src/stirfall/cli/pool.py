"""``stirfall pool``: join the sessions of several benches into one new session."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall import __version__
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import json_option

SCHEMA = "stirfall.pool/1"
_TAKES = ("runs", "grades", "photos")


@click.command("pool")
@click.argument("out", metavar="OUT", type=click.Path(path_type=Path))
@click.argument("sources", metavar="SOURCE[=BENCH]...", nargs=-1, required=True)
@click.option("--title", default="", metavar="TEXT", help="Title of the pooled session.")
@click.option(
    "--with",
    "takes",
    type=click.Choice(_TAKES),
    multiple=True,
    help="Take along guided runs, second grades, or photos with temperature logs. Repeat for more.",
)
@click.option("--dry-run", is_flag=True, help="Check and tell, and write nothing.")
@json_option
def command(
    out: Path, sources: tuple[str, ...], *, title: str, takes: tuple[str, ...], dry_run: bool, as_json: bool
) -> int:
    """Join the sessions of several benches into the new session OUT.

    Each SOURCE is a session file, a package folder or a package zip, with the name of its bench after an equals
    sign; without one the session's own name for its bench is taken, else the name of the file. Each attempt counts
    once and keeps where it was made. Sources are only read. Exit code 1: they cannot be pooled, and why is said.
    """
    from stirfall.reporting.bench_words import pool_json, pool_lines
    from stirfall.reporting.sentences import sentence
    from stirfall.session.pooling import pool
    from stirfall.session.pooling_sources import read_source, split_source

    read = [read_source(*split_source(text)) for text in sources]
    pooled = pool(read, title=title, takes=takes)
    writes = pooled.state is not None and not dry_run
    if writes:
        pooled.write(out).close()
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "path": str(out) if writes else None,
                **pool_json(pooled),
            }
        )
        return 0 if pooled.state is not None else 1
    for line in pool_lines(pooled):
        (say if pooled.state is not None else complain)(line)
    if pooled.state is None:
        return 1
    say(sentence("pool.written", {"path": out}) if writes else sentence("pool.dry"))
    return 0
