"""``stirfall tonight``: what to open this evening, in which order, open or wait, and which jars to start."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.ages import stamp
from stirfall.bench.estimates import Estimate, Reason
from stirfall.cli.output import estimate_json, say, say_json
from stirfall.cli.session_arguments import json_option, read_moment, session_argument
from stirfall.planning.goals import PICKED_BY_PERSON, Goal
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.tonight import JarToStart, Opening, OpenOrWait, Tonight

SCHEMA = "stirfall.tonight/1"


@click.command("tonight")
@session_argument
@click.option("--hours", type=float, metavar="H", help="The hours free today; the campaign's bench days otherwise.")
@click.option("--begins", metavar="TIME", help="When the work begins, as 2026-03-02T18:00.")
@click.option(
    "--goal",
    type=click.Choice([goal.value for goal in PICKED_BY_PERSON]),
    default=Goal.LEARN.value,
    help="What the attempts are chosen for.",
)
@click.option("--seed", type=int, metavar="N", help="Draw the order with this seed.")
@click.option("--at", metavar="TIME", help="The moment that it is asked at, now by default.")
@click.option("--keep", is_flag=True, help="Keep the plan in the session.")
@json_option
def command(  # noqa: PLR0917 - one per option
    session: Path,
    hours: float | None,
    begins: str | None,
    goal: str,
    seed: int | None,
    at: str | None,
    *,
    keep: bool,
    as_json: bool,
) -> int:
    """Plan this evening with the session FILE; exit code 1 and the reason when the limits allow nothing."""
    from stirfall.session.analysis import analyse
    from stirfall.session.commands import KeepEvening
    from stirfall.session.document import Document
    from stirfall.session.tonight import evening_plan, plan_tonight

    with Document.open(session, read_only=not keep) as document:
        if keep and document.read_only_reason is not None:
            raise document.read_only_reason
        now = document.now() if at is None else read_moment(at)
        start = None if begins is None else read_moment(begins)
        analysis = analyse(document.state, refined=True)
        tonight = plan_tonight(
            analysis, document.state, now, hours_free=hours, goal=goal, seed=seed, begins_at=start
        )
        if keep:
            document.execute(KeepEvening(evening_plan(tonight, _said)))
        if as_json:
            say_json({**_document(analysis, tonight), "session": _identity(session, analysis), "kept": keep})
        else:
            _say(analysis, tonight, kept=keep)
    return 1 if tonight.blocked is not None else 0


def _said(reason: Reason) -> str:
    return sentence(reason.code, reason.params)


def _say(analysis: Analysis, tonight: Tonight, *, kept: bool) -> None:
    from stirfall.reporting.evening_words import evening_lines

    for line in evening_lines(analysis.state, tonight):
        say(line)
    for found in analysis.limits.findings:
        say(sentence(found.code, found.params))
    if kept:
        say("The plan is kept in the session.")


# -- JSON ------------------------------------------------------------------------------------------


def _identity(session: Path, analysis: Analysis) -> dict[str, object]:
    settings = analysis.state.settings
    return {"path": str(session), "title": settings.title, "invented": settings.invented}


def _document(analysis: Analysis, tonight: Tonight) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "at": stamp(tonight.at),
        "begins_at": stamp(tonight.begins_at),
        "hours": tonight.hours,
        "attempt_h": tonight.attempt_h,
        "goal": tonight.goal.value,
        "seed": tonight.seed,
        "blocked": None if tonight.blocked is None else _reason(tonight.blocked),
        "openings": [_opening(each) for each in tonight.openings],
        "breaks": [
            {"starts_h": p.starts_h, "ends_h": p.ends_h, "before": p.before, **_reason(p.reason)}
            for p in tonight.pauses
        ],
        "decisions": [_decision(each) for each in tonight.decisions],
        "starts": [_start(each) for each in tonight.starts],
        "due_at": _stamp(tonight.due_at),
        "notes": [_reason(note) for note in tonight.notes],
        "findings": [
            {"level": found.level, "code": found.code, "text": sentence(found.code, found.params)}
            for found in analysis.limits.findings
        ],
    }


def _opening(each: Opening) -> dict[str, object]:
    return {
        "order": each.order,
        "block": each.block,
        "jar": each.jar_id,
        "lot": each.lot_id,
        "purpose": each.purpose,
        "starts_h": each.starts_h,
        "starts_at": stamp(each.starts_at),
        "conditions": dict(each.conditions),
        "probability": _estimate(each.probability),
        "outside_tried": list(each.outside_tried),
        **_reason(each.reason),
    }


def _decision(each: OpenOrWait) -> dict[str, object]:
    return {
        "jar": each.jar_id,
        "lot": each.lot_id,
        "verdict": each.verdict,
        "now": _estimate(each.now),
        "later": _estimate(each.later),
        "later_at": _stamp(each.later_at),
        "wait_h": each.wait_h,
        "chance_wait_better": each.chance_wait_better,
        "use_by": _stamp(each.use_by),
        **_reason(each.reason),
    }


def _start(each: JarToStart) -> dict[str, object]:
    return {
        "jar": each.jar.id,
        "lot": each.lot_id,
        "start_at": stamp(each.start_at),
        "now": each.is_now,
        "due_at": stamp(each.due_at),
        "age_h": each.age_h,
        "oil_depth_mm": each.oil_depth_mm,
        "lid": each.lid,
        "charge_g": each.charge_g,
        "probability": _estimate(each.probability),
        **_reason(each.reason),
    }


def _reason(reason: Reason) -> dict[str, object]:
    return {"reason": reason.code, "why": _said(reason)}


def _estimate(estimate: Estimate | None) -> dict[str, object] | None:
    return None if estimate is None else estimate_json(estimate)


def _stamp(moment: datetime | None) -> str | None:
    return None if moment is None else stamp(moment)
