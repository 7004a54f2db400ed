"""``stirfall shelf``: the board of ageing jars with their forecasts, and the alarms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.ages import hours_between, stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.records import INVENTED_NOTICE, Jar
from stirfall.bench.units import human_time
from stirfall.cli.output import estimate_json, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, read_moment, session_argument
from stirfall.reporting.alarm_words import SIGNS, alarm_sentence, rank_word, since_text
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span

if TYPE_CHECKING:
    from stirfall.session.alarm import Alarm
    from stirfall.session.forecast import JarForecast

SCHEMA = "stirfall.shelf/1"


@dataclass(frozen=True)
class _Row:
    jar: Jar
    is_blocked: bool


@dataclass(frozen=True)
class _Board:
    """The shelf at one moment, in the order in which to open the jars."""

    state: CampaignState
    rows: tuple[_Row, ...]
    forecasts: Mapping[str, JarForecast]
    alarms: tuple[Alarm, ...]
    at: datetime

    @property
    def planned(self) -> tuple[Jar, ...]:
        return tuple(sorted(self.state.planned_jars, key=lambda jar: (jar.started_at, jar.id)))


@click.command("shelf")
@session_argument
@click.option("--at", "at", metavar="TIME", help="The moment, as 2026-03-02T18:00, in local time or with its zone.")
@json_option
def command(session: Path, *, at: str | None, as_json: bool) -> int:
    """Print the shelf of the session FILE: each jar's chance now and later, its readiness window, and alarms.

    Exit code 1 when something is due or a danger.
    """
    with open_to_read(session) as document:
        moment = document.now() if at is None else read_moment(at)
        board = _board(document.state, moment)
        identity = {
            "path": str(session),
            "title": document.state.settings.title,
            "fingerprint": document.fingerprint,
            "invented": document.state.settings.invented,
        }
    if as_json:
        say_json(_document(board, identity))
    else:
        _say(board)
    return 1 if any(each.rank != "info" for each in board.alarms) else 0


def _board(state: CampaignState, now: datetime) -> _Board:
    from stirfall.planning.limits_exposure import jar_findings
    from stirfall.session.alarm_run import alarms_of_open_run
    from stirfall.session.alarms import alarms
    from stirfall.session.analysis import analyse
    from stirfall.session.forecast import forecast_jars, open_first

    forecasts = forecast_jars(analyse(state, refined=True), state, now) if state.shelf else {}
    rows = {
        jar.id: _Row(jar, any(found.level == "block" for found in jar_findings(state, jar, now)))
        for jar in state.shelf
    }
    ordered = tuple(rows[jar_id] for jar_id in open_first(forecasts, rows.values()))
    found = alarms(state, forecasts, now, alarms_of_open_run(state, now))
    return _Board(state, ordered, forecasts, found, now)


# -- text ------------------------------------------------------------------------------------------


def _say(board: _Board) -> None:
    settings = board.state.settings
    if settings.invented:
        say(f"{settings.title} ({INVENTED_NOTICE})")
    say(f"Shelf at {_local(board.at)}, what to open first above")
    for row in board.rows:
        _say_jar(row, board)
    if not board.rows:
        say("  No jar is on the shelf.")
    for jar in board.planned:
        say(f"  {jar.id}, lot {jar.lot_id}: to be started at {_clock(jar.started_at, board)}")
    if board.alarms:
        say("Alarms")
    for alarm in board.alarms:
        word = f"{SIGNS[alarm.rank]} {rank_word(alarm.rank)}"
        say(f"  {word}: {alarm_sentence(alarm)} ({since_text(alarm, board.at)})")


def _say_jar(row: _Row, board: _Board) -> None:
    jar, forecast = row.jar, board.forecasts[row.jar.id]
    now = "do not open" if row.is_blocked else _chance(forecast.now)
    say(f"  {jar.id}, lot {jar.lot_id}, {_age(jar, board.at)}: {now}")
    later = [
        f"{_clock(at, board)} {_chance(estimate)}"
        for at, estimate in ((forecast.tonight_at, forecast.tonight), (forecast.tomorrow_at, forecast.tomorrow))
        if at is not None and estimate is not None
    ]
    if forecast.best is not None and forecast.best_at is not None:
        when = "now" if forecast.best_at <= board.at else _clock(forecast.best_at, board)
        later.append(f"best {when} {_chance(forecast.best)}")
    if later:
        say(f"    {'; '.join(later)}")
    if forecast.has_window:
        say(f"    window {_window(forecast, board)}")
    if forecast.use_by is not None:
        say(f"    use by {_clock(forecast.use_by, board)}")
    if forecast.reason is not None:
        say(f"    {_said(forecast.reason)}")


def _window(forecast: JarForecast, board: _Board) -> str:
    opens = "" if forecast.opens_at is None else f"from {_clock(forecast.opens_at, board)}"
    closes = "" if forecast.closes_at is None else f"until {_clock(forecast.closes_at, board)}"
    return " ".join(part for part in (opens, closes) if part)


def _chance(estimate: Estimate | None) -> str:
    return "unknown" if estimate is None else f"{percent(estimate.mean)}, {span(estimate.lower, estimate.upper)}"


def _age(jar: Jar, at: datetime) -> str:
    hours = hours_between(jar.started_at, at)
    return "age unknown" if hours < 0 else f"{human_time(hours, 'h')} under oil"


def _clock(moment: datetime, board: _Board) -> str:
    from stirfall.session.forecast_evenings import clock_words

    return clock_words(moment, board.at)


def _local(moment: datetime) -> str:
    return moment.astimezone().strftime("%Y-%m-%d %H:%M")


def _said(reason: Reason) -> str:
    return sentence(reason.code, reason.params)


# -- JSON ------------------------------------------------------------------------------------------


def _document(board: _Board, identity: Mapping[str, object]) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "version": __version__,
        "session": dict(identity),
        "at": stamp(board.at),
        "jars": [_jar_json(row, board.forecasts[row.jar.id]) for row in board.rows],
        "planned": [{"jar": jar.id, "lot": jar.lot_id, "start_at": stamp(jar.started_at)} for jar in board.planned],
        "alarms": [_alarm_json(alarm) for alarm in board.alarms],
    }


def _jar_json(row: _Row, forecast: JarForecast) -> dict[str, object]:
    jar, reason = row.jar, forecast.reason
    window = {"opens_at": _stamp(forecast.opens_at), "closes_at": _stamp(forecast.closes_at)}
    curve = {
        "hours": forecast.times_h.tolist(),
        "mean": forecast.means.tolist(),
        "lower": forecast.lower.tolist(),
        "upper": forecast.upper.tolist(),
    }
    return {
        "jar": jar.id,
        "lot": jar.lot_id,
        "started_at": stamp(jar.started_at),
        "blocked": row.is_blocked,
        "now": _estimate(forecast.now),
        "tonight": _estimate(forecast.tonight),
        "tonight_at": _stamp(forecast.tonight_at),
        "tomorrow": _estimate(forecast.tomorrow),
        "tomorrow_at": _stamp(forecast.tomorrow_at),
        "best": _estimate(forecast.best),
        "best_at": _stamp(forecast.best_at),
        "window": window if forecast.has_window else None,
        "use_by": _stamp(forecast.use_by),
        "reason": None if reason is None else {"code": reason.code, "text": _said(reason)},
        "curve": curve,
    }


def _alarm_json(alarm: Alarm) -> dict[str, object]:
    return {
        "key": alarm.key,
        "rank": alarm.rank,
        "due_at": stamp(alarm.due_at),
        "code": alarm.code,
        "text": alarm_sentence(alarm),
        "page": alarm.page,
        "target": alarm.target,
    }


def _estimate(estimate: Estimate | None) -> dict[str, object] | None:
    return None if estimate is None else estimate_json(estimate)


def _stamp(moment: datetime | None) -> str | None:
    return None if moment is None else stamp(moment)
