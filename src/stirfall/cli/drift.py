"""``stirfall drift``: whether something has changed over the attempts, and marks of what was changed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.errors import InputError
from stirfall.bench.issued import ChangeMark, MarkKind
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, read_moment, session_argument

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.drift_records import Drift

SCHEMA = "stirfall.drift/1"
_MEASURES = ("clean", "parted", "pooled", "recovery", "parting time", "run time", "residual")
_CHARTS = ("values", "cusum", "ewma")


@click.command("drift")
@session_argument
@click.option("--measure", type=click.Choice(_MEASURES), default="clean", help="What is followed; usually clean.")
@click.option("--chart", type=click.Choice(_CHARTS), help="Print the points of this chart with their limits.")
@click.option("--mark", "words", metavar="WORDS", help="Mark a change at the bench in these words.")
@click.option("--kind", type=click.Choice([kind.value for kind in MarkKind]), help="What was changed; else other.")
@click.option("--at", "when", metavar="TIME", help="Since when, such as 2026-05-12T18:30; now otherwise.")
@click.option("--unmark", metavar="WORDS", help="Take away the mark with these words.")
@json_option
def command(  # noqa: PLR0917 - one per option
    session: Path,
    measure: str,
    chart: str | None,
    words: str | None,
    kind: str | None,
    when: str | None,
    unmark: str | None,
    *,
    as_json: bool,
) -> int:
    """Say whether something has changed over the attempts in the session FILE, and when.

    The attempts in the order of time, with limits, run rules, cumulative sum, moving average, and the probability
    of one change, held against what the conditions foretold. With --mark or --unmark it notes what was changed and
    says nothing else. Exit code 1 where a change is likely (80 % or more).
    """
    if words is None and (kind is not None or when is not None):
        raise InputError("drift.mark_needs_words")
    if words is not None and unmark is not None:
        raise InputError("drift.one_act")
    if words is not None or unmark is not None:
        return _write(session, words, kind, when, unmark)
    with open_to_read(session) as document:
        state = document.state
    found = _drift(state, measure)
    if as_json:
        from stirfall.reporting.drift_json import drift_json

        say_json({**_head(session, state), **drift_json(found)})
    else:
        _say(state, found, chart)
    from stirfall.session.drift_told import SURE

    return int(found.change is not None and found.change.probability >= SURE)


def _drift(state: CampaignState, measure: str) -> Drift:
    from stirfall.session.analysis import analyse
    from stirfall.session.drift import drift

    # What was foretold is needed for these two alone.
    return drift(analyse(state, refined=True) if measure in ("clean", "residual") else state, measure)


def _say(state: CampaignState, found: Drift, chart: str | None) -> None:
    from stirfall.reporting.drift_words import chart_lines, day_of, drift_lines, mark_line, signal_line

    if state.settings.invented:
        say(f"{INVENTED_NOTICE}.")
    for line in drift_lines(found):
        say(line)
    for signal in found.signals:
        say(f"  Attempt {signal.number}, {day_of(found, signal.place) or 'time not known'}: {signal_line(signal)}")
    if found.marks:
        say("Changes at the bench:")
    for mark in found.marks:
        before = (
            "after all attempts" if mark.place >= found.n else f"before attempt {found.points[mark.place].number}"
        )
        say(f"  {before}: {mark_line(mark)}")
    for line in () if chart is None else chart_lines(found, chart):
        say(line)


def _write(session: Path, words: str | None, kind: str | None, when: str | None, unmark: str | None) -> int:
    from stirfall.session.commands import DropMark, MarkChange
    from stirfall.session.document import Document

    with Document.open(session) as document:
        if document.read_only_reason is not None:
            raise document.read_only_reason
        if words is not None:
            at = document.now() if when is None else read_moment(when)
            document.execute(MarkChange(ChangeMark("", at, MarkKind(kind or "other"), words)))
            say(f"Marked since {at.astimezone():%Y-%m-%d %H:%M}: {words.strip()}")
            return 0
        wanted = " ".join((unmark or "").split()).casefold()
        found = [each for each in document.state.marks if " ".join(each.text.split()).casefold() == wanted]
        if not found:
            known = ", ".join(each.text for each in document.state.marks) or "none"
            raise InputError("drift.mark_unknown", words=unmark, known=known)
        document.execute(DropMark(found[-1].id))
        say(f"Taken away: {found[-1].text}")
    return 0


def _head(session: Path, state: CampaignState) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title, "invented": state.settings.invented},
    }
