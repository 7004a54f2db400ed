"""``stirfall log``: keeps the file of a temperature logger with an attempt."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from pathlib import Path

import click

from stirfall.bench.errors import InputError
from stirfall.cli.output import complain, say
from stirfall.cli.session_arguments import session_argument

_UTC_WORDS = ("utc", "z")


@click.command("log")
@session_argument
@click.argument("log_file", metavar="LOG", type=click.Path(path_type=Path))
@click.option("--attempt", "number", metavar="N", type=int, required=True, help="The number of the attempt.")
@click.option("--time", "times", metavar="KIND", help="What the times are, where the file does not tell.")
@click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first", "year-first"]),
    help="The order of its dates, where the file does not tell.",
)
@click.option("--channel", metavar="N", help="The column with the temperature, counted from 1.")
@click.option("--unit", type=click.Choice(["C", "F", "K"]), help="The unit, where the file does not name it.")
@click.option(
    "--zone",
    metavar="ZONE",
    default="",
    help="The zone of its clock: utc, an offset or a name; here by default.",
)
@click.option("--try", "is_trial", is_flag=True, help="Say what would be kept; change nothing.")
def command(  # noqa: PLR0917 - one per option
    session: Path,
    log_file: Path,
    number: int,
    times: str | None,
    dates: str | None,
    channel: str | None,
    unit: str | None,
    zone: str,
    *,
    is_trial: bool,
) -> int:
    """Keep the temperatures in LOG with an attempt of the session FILE; what LOG leaves open is asked for."""
    from stirfall.reporting.course_words import question_line, reading_lines
    from stirfall.session.commands import AttachLog
    from stirfall.session.document import Document
    from stirfall.storage.temperature_log import read_points, scan_log

    given = {"time": times, "dates": dates, "channel": channel, "unit": unit}
    where = zone_named(zone)
    with Document.open(session, read_only=is_trial) as document:
        if document.read_only_reason is not None and not is_trial:
            raise document.read_only_reason
        attempt = next((each for each in document.state.attempts if each.number == number), None)
        if attempt is None:
            raise InputError("logger.no_attempt", number=number)
        run = document.state.run(attempt.run_id)
        start = run.started_at if run is not None else attempt.started_at
        log = scan_log(log_file)
        answers = {key: value for key, value in given.items() if value is not None}
        reading = read_points(log, zone=where, start=start, answers=answers)
        if reading.questions:
            for question in reading.questions:
                complain(f"--{question.key}: {question_line(question)}")
            return 2
        for line in reading_lines(reading, where):
            say(line)
        if not is_trial:
            document.execute(AttachLog(attempt.id, log.name, reading.points))
            say(f"Kept with attempt {number}.")
    return 0


def zone_named(name: str) -> tzinfo:
    """Return a zone by its name, that of this computer for ""; raises InputError ``logger.zone``."""
    from zoneinfo import ZoneInfo

    from stirfall.storage.log_times import SystemZone

    if not name:
        return SystemZone()
    if name.lower() in _UTC_WORDS:
        return UTC
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        pass
    try:
        offset = datetime.fromisoformat(f"2000-01-01T00:00{name}").tzinfo
    except ValueError:
        offset = None
    if offset is None:
        raise InputError("logger.zone", name=name)
    return offset
