"""``stirfall limits``: the limits that hold for a campaign, and what they say about conditions or a jar in hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.records import INVENTED_NOTICE, Jar, computed_ages
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import at_option, conditions_at, json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.planning.findings import Finding
    from stirfall.reporting.limit_words import FindingText, LimitText

SCHEMA = "stirfall.limits/1"
_LEVELS = {"block": "Never", "warn": "Only with a reason", "note": "Note"}


@dataclass(frozen=True)
class _Answer:
    """What holds, what is said of suggestions, and what is said of what is in hand (None: nothing was named)."""

    holds: Sequence[LimitText]
    suggestions: Sequence[FindingText]
    in_hand: Sequence[FindingText] | None

    @property
    def is_blocked(self) -> bool:
        """Whether what was named is forbidden; where nothing was named, whether nothing may be suggested."""
        asked = self.suggestions if self.in_hand is None else self.in_hand
        return any(each.level == "block" for each in asked)


@click.command("limits")
@session_argument
@at_option
@click.option("--jar", "jar", metavar="NAME", help="A jar to judge as it is now: its look and its age.")
@json_option
def command(session: Path, at: tuple[str, ...], *, jar: str | None, as_json: bool) -> int:
    """List the limits that hold for the session FILE, each with its source, and judge conditions or a jar.

    Exit code 1 when a limit forbids what was named; where nothing was named, when nothing may be suggested.
    """
    with open_to_read(session) as document:
        state, now = document.state, document.now()
    answer = _answer(state, conditions_at(state.factors, at), _jar(state, jar), now)
    if as_json:
        say_json(_json(state, answer))
    else:
        for line in _lines(state, answer):
            say(line)
    return 1 if answer.is_blocked else 0


def _jar(state: CampaignState, name: str | None) -> Jar | None:
    if name is None:
        return None
    wanted = name.strip().casefold()
    for jar in state.jars:
        if jar.id.casefold() == wanted:
            if jar.planned:
                raise InputError("jar.not_started", id=jar.id)
            return jar
    known = ", ".join(jar.id for jar in state.jars) or "none"
    raise InputError("jar.unknown", id=name, known=known)


def _answer(state: CampaignState, given: Conditions, jar: Jar | None, now: datetime) -> _Answer:
    from stirfall.planning.limits import operating_limits, residue_findings
    from stirfall.planning.situation import Situation
    from stirfall.reporting.limit_words import finding_texts, limit_texts

    limits = operating_limits(state)
    in_hand: Sequence[FindingText] | None = None
    if given or jar is not None:
        lot = state.lot(jar.lot_id) if jar is not None else None
        aged: Mapping[str, float] = {}
        if jar is not None and not jar.is_residue:
            aged = _ages(state, jar, now)
        in_hand = finding_texts(limits.judge(Situation(Conditions({**aged, **given}), jar, lot, at=now)))
    said: tuple[Finding, ...] = (*limits.findings, *residue_findings(state, now))
    return _Answer(limit_texts(state), finding_texts(said), in_hand)


def _ages(state: CampaignState, jar: Jar, now: datetime) -> Mapping[str, float]:
    try:
        return computed_ages(state.factors, lot=state.lot(jar.lot_id), jar=jar, started_at=now)
    except InputError:
        # A stamp lies in the future: the ages are not known.
        return {}


def _json(state: CampaignState, answer: _Answer) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "title": state.settings.title,
        "invented": state.settings.invented,
        "material": state.settings.material.value,
        "blocked": answer.is_blocked,
        "limits": [asdict(each) for each in answer.holds],
        "findings": [asdict(each) for each in answer.suggestions],
        "in_hand": None if answer.in_hand is None else [asdict(each) for each in answer.in_hand],
    }


def _lines(state: CampaignState, answer: _Answer) -> list[str]:
    lines = [INVENTED_NOTICE] if state.settings.invented else []
    if answer.in_hand is not None:
        lines.append("What is in hand")
        lines += [f"  {_LEVELS[each.level]}: {each.text}" for each in answer.in_hand]
        lines += [] if answer.in_hand else ["  The limits have nothing to say about it."]
    if answer.suggestions:
        lines.append("Suggestions and the shelf")
        lines += [f"  {_LEVELS[each.level]}: {each.text}" for each in answer.suggestions]
    lines.append(f"Limits that hold for {state.settings.material.value}")
    lines += [f"  {each.text} [{each.source}]" for each in answer.holds]
    lines.append(
        "Local rules, the label on your own bottle and trained people come first. No block can be overridden."
    )
    return lines
