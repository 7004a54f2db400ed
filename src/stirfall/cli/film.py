"""``stirfall film``: how much oxygen and water reached the metal of the jars, to rank them by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import INVENTED_NOTICE, Jar
from stirfall.bench.units import format_number, format_quantity, human_time, unit_kind
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, read_moment, session_argument
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.session.film import ComparisonRow, Film, FilmComparison

SCHEMA = "stirfall.film/1"
_PARTS = {
    "oil_oxygen": "oxygen that the oil brought",
    "air_oxygen": "oxygen from above",
    "hot_oxygen": "oxygen while hot",
    "oil_water": "water that the oil brought",
    "air_water": "water from above",
    "hot_water": "water while hot",
}


@dataclass(frozen=True)
class _Answer:
    """The jars asked for with their films, a comparison where two were named, and what to say once."""

    state: CampaignState
    films: Sequence[tuple[Jar, Film | None]]
    comparison: FilmComparison | None
    notes: Sequence[Reason]
    at: datetime


@click.command("film")
@session_argument
@click.option("--jar", "names", metavar="NAME", multiple=True, help="A jar; give two to compare them.")
@click.option("--at", "at", metavar="TIME", help="The moment, as 2026-03-02T18:00, in local time or with its zone.")
@json_option
def command(session: Path, *, names: tuple[str, ...], at: str | None, as_json: bool) -> int:
    """Rank the jars of the session FILE by how much oxygen and water reached their metal; two jars are compared.

    Without --jar, all jars on the shelf. Exit code 1 when no jar, or a jar asked for, says enough.
    """
    from stirfall.session.film import compare, film_notes, film_of_jar

    with open_to_read(session) as document:
        state = document.state
        moment = document.now() if at is None else read_moment(at)
        identity = {"path": str(session), "title": state.settings.title, "fingerprint": document.fingerprint}
    jars = _jars(state, names)
    films = [(jar, film_of_jar(state, jar, moment)) for jar in jars]
    comparison = compare(state, jars[0], jars[1], moment) if len(names) == 2 else None
    notes = [*film_notes(state), *(note for _, film in films if film is not None for note in film.notes)]
    answer = _Answer(state, films, comparison, notes, moment)
    if as_json:
        say_json(_document(answer, {**identity, "invented": state.settings.invented}))
    else:
        _say(answer)
    found = [film for _, film in films if film is not None]
    return 0 if found and (not names or len(found) == len(films)) else 1


def _jars(state: CampaignState, names: Sequence[str]) -> list[Jar]:
    if not names:
        return [jar for jar in state.shelf if not jar.is_residue]
    by_name = {jar.id.casefold(): jar for jar in state.jars}
    for name in names:
        if name.strip().casefold() not in by_name:
            raise InputError("jar.unknown", id=name, known=", ".join(jar.id for jar in state.jars) or "none")
    return [by_name[name.strip().casefold()] for name in names]


def _gaps(state: CampaignState, jar: Jar) -> tuple[Reason, ...]:
    from stirfall.session.film import film_gaps

    return film_gaps(state, jar) or (Reason("film.not_yet", {"jar": jar.id}),)


def _say(answer: _Answer) -> None:
    settings = answer.state.settings
    if settings.invented:
        say(f"{settings.title} ({INVENTED_NOTICE})")
    say(f"Film index in mmol/m² at {answer.at.astimezone().strftime('%Y-%m-%d %H:%M')}, with its band")
    known = [(film.index, jar, film) for jar, film in answer.films if film is not None]
    for _, jar, film in sorted(known, key=lambda each: -each[0]):
        _say_jar(jar, film, detailed=len(answer.films) == 1)
    for jar, found in answer.films:
        for gap in _gaps(answer.state, jar) if found is None else ():
            say(f"  {sentence(gap.code, gap.params)}")
    if not answer.films:
        say("  No jar is on the shelf.")
    if answer.comparison is not None:
        _say_comparison(answer.comparison, answer.films[0][0])
    for note in answer.notes:
        say(sentence(note.code, note.params))


def _say_jar(jar: Jar, film: Film, *, detailed: bool) -> None:
    index, low, high = (format_number(value, digits=2) for value in (film.index, film.low, film.high))
    say(f"  {jar.id}: {index}, {low} to {high}, after {human_time(film.age_h, 'h')} under oil")
    if detailed:
        for part in film.parts:
            say(f"    {_PARTS[part.key]}: {format_number(part.amount, digits=2)}")
    if film.assumed:
        say(f"    taken as usual, because unknown: {_words(film.assumed)}")


def _words(names: Sequence[str]) -> str:
    from stirfall.session.film import input_words

    words = input_words()
    return ", ".join(words.get(name, name) for name in names)


def _say_comparison(comparison: FilmComparison, first: Jar) -> None:
    say(sentence(comparison.code, comparison.params))
    differing = [row for row in comparison.rows if row.differs]
    for row in differing:
        effect = "" if row.effect is None else f": {_effect(row.effect)}"
        say(f"  {row.label}, {_value(row.first, row)} against {_value(row.second, row)}{effect}")
    if differing:
        say(f"  (× and ÷: what each alone makes of the index of {first.id})")


def _effect(effect: float) -> str:
    if 0.995 < effect < 1.005:
        return "no difference"
    sign, size = ("×", effect) if effect > 1 else ("÷", 1.0 / effect)
    return f"{sign} {format_number(size, digits=2 if size >= 1.1 else 3)}"


def _value(value: float | str | None, row: ComparisonRow) -> str:
    if value is None or value == "":
        return "unknown"
    if isinstance(value, str):
        return str(value)
    return human_time(value, row.unit) if unit_kind(row.unit) == "time" else format_quantity(value, row.unit)


def _document(answer: _Answer, identity: dict[str, object]) -> dict[str, object]:
    comparison = answer.comparison
    document: dict[str, object] = {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": identity,
        "at": stamp(answer.at),
        "unit": "mmol/m²",
        "jars": [_jar_json(answer.state, jar, film) for jar, film in answer.films],
        "notes": [_reason_json(note) for note in answer.notes],
    }
    if comparison is not None:
        document["comparison"] = {
            "code": comparison.code,
            "text": sentence(comparison.code, comparison.params),
            "ratio": comparison.ratio,
            "rows": [_row_json(row) for row in comparison.rows],
        }
    return document


def _jar_json(state: CampaignState, jar: Jar, film: Film | None) -> dict[str, object]:
    if film is None:
        return {"jar": jar.id, "film": None, "gaps": [_reason_json(gap) for gap in _gaps(state, jar)]}
    return {
        "jar": jar.id,
        "film": {
            "index": film.index,
            "low": film.low,
            "high": film.high,
            "oxygen": film.oxygen,
            "water": film.water,
            "age_h": film.age_h,
            "parts": {part.key: part.amount for part in film.parts},
            "assumed": list(film.assumed),
        },
        "gaps": [],
    }


def _row_json(row: ComparisonRow) -> dict[str, object]:
    return {
        "key": row.key,
        "label": row.label,
        "first": row.first,
        "second": row.second,
        "unit": row.unit,
        "effect": row.effect,
        "assumed": list(row.assumed),
    }


def _reason_json(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": sentence(reason.code, reason.params)}
