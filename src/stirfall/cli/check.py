"""``stirfall check``: whether a session file is whole, and what it holds."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.campaign import CampaignState
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.storage.checkup import Checkup

SCHEMA = "stirfall.check/1"


@click.command("check")
@session_argument
@json_option
def command(session: Path, as_json: bool) -> int:
    """Check the session FILE and count what it holds; exit code 1 when something is wrong with it."""
    from stirfall.storage.checkup import examine

    checkup = examine(session)
    if checkup.problems:
        _report_problems(session, checkup, as_json)
        return 1
    with open_to_read(session) as document:
        counts = _counts(document.state)
        fingerprint = document.fingerprint
        title = document.state.settings.title
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "session": {"path": str(session), "title": title, "fingerprint": fingerprint},
                "schema_version": checkup.schema_version,
                "problems": [],
                "counts": counts,
            }
        )
        return 0
    say(f"{session}: whole, schema {checkup.schema_version}, fingerprint {fingerprint[:12]}")
    say(f"  “{title}”")
    for name, count in counts.items():
        say(f"  {name}: {count}")
    return 0


def _report_problems(session: Path, checkup: Checkup, as_json: bool) -> None:
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "session": {"path": str(session)},
                "schema_version": checkup.schema_version,
                "problems": list(checkup.problems),
            }
        )
        return
    complain(f"{session}: damaged. Work on a copy, or go back to a backup. What was found:")
    for problem in checkup.problems:
        complain(f"  {problem}")


def _counts(state: CampaignState) -> dict[str, int]:
    """Return how many factors, lots, jars and attempts the campaign has, and how the attempts ended."""
    outcomes = Counter(attempt.outcome.value for attempt in state.attempts if not attempt.is_struck)
    return {
        "factors": len(state.factors),
        "lots": len(state.lots),
        "jars": len(state.jars),
        "attempts": len(state.attempts),
        "struck out": sum(attempt.is_struck for attempt in state.attempts),
        **{outcome: outcomes[outcome] for outcome in sorted(outcomes)},
    }
