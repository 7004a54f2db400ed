"""``stirfall check``: whether a session file is whole, and what it holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import FileTroubleError
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.storage.check import CheckFinding

SCHEMA = "stirfall.check/1"
# What is wrong with the file itself: damage, another kind of file, another version.
_ABOUT_THE_FILE = frozenset({"file.damaged", "file.foreign", "file.newer", "file.no_migration"})


@click.command("check")
@session_argument
@json_option
def command(session: Path, *, as_json: bool) -> int:
    """Check the session FILE and count what it holds; exit code 1 when something is wrong with it."""
    from stirfall.storage.check import check_file

    findings = check_file(session)
    problems = [finding for finding in findings if finding.is_problem]
    for finding in problems:
        # A file that cannot be read was never checked: that says nothing about what is in it.
        if finding.code.startswith("file.") and finding.code not in _ABOUT_THE_FILE:
            raise FileTroubleError(finding.code, **finding.params)
    notes = [finding for finding in findings if not finding.is_problem and finding.code != "check.counts"]
    content = {} if problems else _content(session)
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "session": {"path": str(session)},
                "problems": _as_json(problems),
                "notes": _as_json(notes),
                **content,
            }
        )
        return 1 if problems else 0
    for finding in (*problems, *notes):
        text = sentence(finding.code, finding.params)
        complain(text if finding.code.startswith("file.") else f"{session}: {text}")
    if problems:
        if not all(finding.code.startswith("file.") for finding in problems):
            complain(f"{session}: damaged. Work on a copy, or go back to a backup.")
        return 1
    _say_content(session, content)
    return 0


def _as_json(findings: Sequence[CheckFinding]) -> list[dict[str, object]]:
    return [{"code": finding.code, "text": sentence(finding.code, finding.params)} for finding in findings]


def _content(session: Path) -> dict[str, object]:
    with open_to_read(session) as document:
        state = document.state
        return {
            "title": state.settings.title,
            "fingerprint": document.fingerprint,
            "counts": _counts(state),
        }


def _say_content(session: Path, content: dict[str, object]) -> None:
    say(f"{session}: whole. “{content['title']}”, fingerprint {str(content['fingerprint'])[:12]}")
    counts = content["counts"]
    for name, count in counts.items() if isinstance(counts, dict) else ():
        say(f"  {name}: {count}")


def _counts(state: CampaignState) -> dict[str, int]:
    """Return how many factors, lots, jars, attempts, runs and grades there are, and how the attempts ended."""
    outcomes = Counter(attempt.outcome.value for attempt in state.attempts if not attempt.is_struck)
    return {
        "factors": len(state.factors),
        "lots": len(state.lots),
        "jars": len(state.jars),
        "attempts": len(state.attempts),
        "struck out": sum(attempt.is_struck for attempt in state.attempts),
        "guided runs": len(state.runs),
        "second grades": len(state.regrades),
        "proofs": len(state.proofs),
        "plans of an evening": len(state.evenings),
        "comparisons": len(state.comparisons),
        "issued recipes": len(state.recipes),
        "marks of changes": len(state.marks),
        **{outcome: outcomes[outcome] for outcome in sorted(outcomes)},
    }
