"""``stirfall open``: the window."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall.bench.errors import InputError
from stirfall.cli.display import has_display


@click.command("open")
@click.argument("session", metavar="[FILE]", required=False, type=click.Path(path_type=Path))
def command(session: Path | None) -> int:
    """Open the window, with the session FILE if one is named."""
    if not has_display():
        raise InputError("display.missing")
    from stirfall.desktop.app import run

    return run([] if session is None else [str(session)])
