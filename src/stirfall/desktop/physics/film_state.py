"""What the film page shows: two jars side by side, what sets their film indices, and how these grow with time."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.materials import MaterialClass
from stirfall.bench.units import THIN_SPACE, format_number, format_quantity, human_time, unit_kind
from stirfall.desktop.bench_form.look import titled
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.records import Jar
    from stirfall.physics.film import Film
    from stirfall.session.film import ComparisonRow, FilmComparison

UNIT = "mmol/m²"
_POINTS = 49
_FROM_H, _LEAST_TO_H, _FURTHER = 1.0, 168.0, 2.0
_SAME = math.log(1.05)  # below a twentieth an input makes no difference worth a number


@dataclass(frozen=True)
class JarEntry:
    """One jar to choose: its id, and its words in the list."""

    id: str
    text: str


@dataclass(frozen=True)
class FilmRow:
    """One input: its words, its value for both jars, and what it alone makes of the first jar's index.

    ``assumed`` says for which jar the value is only the usual one; ``differs`` whether the jars differ in it.
    """

    key: str
    label: str
    first: str
    second: str
    effect: str = ""
    factor: float | None = None
    assumed: tuple[bool, bool] = (False, False)
    differs: bool = False


@dataclass(frozen=True, eq=False)
class FilmCurve:
    """The film index of one jar over hours under oil, with its band; all arrays (n,), and where it is now."""

    jar: str
    t_h: np.ndarray
    index: np.ndarray
    low: np.ndarray
    high: np.ndarray
    now_h: float
    now_index: float


@dataclass(frozen=True)
class FilmContent:
    """A comparison as words; ``indices`` are the two film indices with their bands, "" where unknown.

    ``rows`` are the inputs in which the jars differ, ``same`` says in one line what they share.
    """

    headline: str = ""
    names: tuple[str, str] = ("", "")
    rows: tuple[FilmRow, ...] = ()
    same: str = ""
    indices: tuple[str, str] = ("", "")
    gaps: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    curves: tuple[FilmCurve, ...] = field(default=(), compare=False)
    no_curve: str = ""


@dataclass(frozen=True)
class FilmState:
    """One film page. ``message`` stands in its place while there is nothing to compare."""

    message: str = ""
    caution: str = ""
    jars: tuple[JarEntry, ...] = ()
    first: str = ""
    second: str = ""
    content: FilmContent = FilmContent()
    is_stale: bool = False
    decimal: str = "."


def jar_entries(state: CampaignState, now: datetime, *, decimal: str = ".") -> tuple[JarEntry, ...]:
    """Return all jars of crude: those on the shelf first, then emptied ones, the latest first."""
    jars = [jar for jar in state.jars if not jar.is_residue]
    ageing = sorted((jar for jar in jars if jar.emptied_at is None), key=lambda jar: jar.started_at, reverse=True)
    gone = sorted((jar for jar in jars if jar.emptied_at is not None), key=_emptied, reverse=True)
    return tuple(JarEntry(jar.id, _jar_words(jar, now, decimal)) for jar in (*ageing, *gone))


def _emptied(jar: Jar) -> datetime:
    assert jar.emptied_at is not None
    return jar.emptied_at


def age_h_of(jar: Jar, now: datetime) -> float:
    """Return the hours that a jar's metal lay under oil, until now or until the jar was emptied."""
    return ((jar.emptied_at or now) - jar.started_at).total_seconds() / 3600.0


def _jar_words(jar: Jar, now: datetime, decimal: str) -> str:
    age = human_time(max(age_h_of(jar, now), 0.0), "h", decimal=decimal)
    word = "film_page.emptied" if jar.emptied_at is not None else "film_page.ageing"
    return sentence(word, {"jar": jar.id, "lot": jar.lot_id, "age": age})


def caution_of(state: CampaignState) -> str:
    """Return what stands above everything for a metal that must not age on purpose, else ""."""
    if state.settings.material is not MaterialClass.SUPEROXIDE_FORMER:
        return ""
    from stirfall.reporting.cautions import load_cautions

    cautions = load_cautions(state.settings.material)
    return f"{cautions.headline} {sentence('film.hazard_only')}"


def film_content(
    state: CampaignState,
    pair: tuple[str, str],
    now: datetime,
    *,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> FilmContent:
    """Compare two jars, by their ids, and follow their film indices over time; runs on a worker."""
    from stirfall.session.film import compare, film_gaps

    jars = [jar for jar in map(state.jar, pair) if jar is not None]
    if len(jars) < 2:
        return FilmContent()
    comparison = compare(state, jars[0], jars[1], now)
    gaps = [
        sentence(gap.code, gap.params, decimal=decimal)
        for jar in dict.fromkeys(jars)
        for gap in film_gaps(state, jar)
    ]
    rows = [_row(row, decimal) for row in comparison.rows]
    grows = state.settings.material is not MaterialClass.SUPEROXIDE_FORMER
    curves = _curves(state, jars, now, token) if grows else ()
    return FilmContent(
        headline=sentence(comparison.code, comparison.params, decimal=decimal),
        names=(jars[0].id, jars[1].id),
        rows=tuple(sorted((row for row in rows if row.differs), key=_weight)),
        same=_shared([row for row in rows if not row.differs], (jars[0].id, jars[1].id)),
        indices=(index_text(comparison.first, decimal), index_text(comparison.second, decimal)),
        gaps=tuple(dict.fromkeys(gaps)),
        notes=_notes(comparison, decimal),
        curves=curves,
        no_curve="" if grows else sentence("film_page.no_curve"),
    )


def index_text(film: Film | None, decimal: str) -> str:
    """Write a film index with its band: "12 (4 to 36)", in mmol/m²; "" where it is not known."""
    if film is None:
        return ""
    shown = [format_number(value, digits=2, decimal=decimal) for value in (film.index, film.low, film.high)]
    return f"{shown[0]} ({shown[1]} to {shown[2]})"


def _row(row: ComparisonRow, decimal: str) -> FilmRow:
    return FilmRow(
        row.key,
        titled(row.label),
        _value(row.first, row.unit, decimal),
        _value(row.second, row.unit, decimal),
        effect_text(row.effect, decimal),
        row.effect,
        row.assumed,
        row.differs,
    )


def _weight(row: FilmRow) -> tuple[int, float]:
    """Order rows: what makes most of the difference first, what is not counted last."""
    if row.factor is None or row.factor <= 0:
        return 1, 0.0
    return 0, -abs(math.log(row.factor))


def _with_usual(row: FilmRow, names: tuple[str, str]) -> str:
    """Write a value that both jars share, and for which of them it is only the usual one."""
    if all(row.assumed):
        return sentence("film_page.usual", {"value": row.first})
    for name, usual in zip(names, row.assumed, strict=True):
        if usual:
            return sentence("film_page.usual_for", {"value": row.first, "jar": name})
    return row.first


def _shared(rows: list[FilmRow], names: tuple[str, str]) -> str:
    """Say in one line what both jars have in common."""
    if not rows:
        return ""
    parts = [f"{row.label.lower()} {_with_usual(row, names)}" for row in rows]
    return sentence("film_page.shared", {"parts": ", ".join(parts)})


def _value(value: object, unit: str, decimal: str) -> str:
    if value is None or value == "":
        return sentence("film_page.unknown")
    if not isinstance(value, (int, float)):
        return str(value)
    if unit_kind(unit) == "time":
        return human_time(float(value), unit, decimal=decimal)
    return format_quantity(float(value), unit, decimal=decimal)


def effect_text(factor: float | None, decimal: str) -> str:
    """Say what an input makes of the second jar's index against the first's: "× 1.8", "÷ 2.5", "hardly any"."""
    if factor is None or factor <= 0:
        return ""
    if abs(math.log(factor)) < _SAME:
        return sentence("film_page.little")
    sign, size = ("×", factor) if factor > 1 else ("÷", 1.0 / factor)
    return f"{sign}{THIN_SPACE}{format_number(size, digits=2, decimal=decimal)}"


def _notes(comparison: FilmComparison, decimal: str) -> tuple[str, ...]:
    """Return what else to know of the two jars, each thing once, and what was taken as usual without a row."""
    from stirfall.session.film import input_words

    rows, words = {row.key for row in comparison.rows}, input_words()
    films = [film for film in (comparison.first, comparison.second) if film is not None]
    unseen = dict.fromkeys(words.get(name, name) for film in films for name in film.assumed if name not in rows)
    said = [sentence("film_page.taken", {"inputs": ", ".join(unseen)})] if unseen else []
    said += [sentence(note.code, note.params, decimal=decimal) for film in films for note in film.notes]
    return tuple(dict.fromkeys([*said, sentence("film.ranking_aid")]))


def _curves(
    state: CampaignState, jars: Sequence[Jar], now: datetime, token: CancelToken | None
) -> tuple[FilmCurve, ...]:
    ages = [age_h_of(jar, now) for jar in jars]
    until = max(_LEAST_TO_H, _FURTHER * max(ages))
    hours = np.geomspace(_FROM_H, until, _POINTS)
    made: list[FilmCurve] = []
    for jar, age in zip(jars, ages, strict=True):
        if token is not None:
            token.raise_if_cancelled()
        curve = _curve(state, jar, hours, age)
        if curve is not None and all(curve.jar != other.jar for other in made):
            made.append(curve)
    return tuple(made)


def _curve(state: CampaignState, jar: Jar, hours: np.ndarray, age_h: float) -> FilmCurve | None:
    from dataclasses import replace

    from stirfall.session.film import film_of_jar

    still = replace(jar, emptied_at=None)  # how it would have gone on
    films = [film_of_jar(state, still, jar.started_at + timedelta(hours=float(hour))) for hour in hours]
    here = film_of_jar(state, still, jar.started_at + timedelta(hours=age_h))
    known = [film for film in films if film is not None]
    if here is None or len(known) < len(films):
        return None
    index, low, high = (np.array([getattr(film, name) for film in known]) for name in ("index", "low", "high"))
    return FilmCurve(jar.id, hours, index, low, high, age_h, float(here.index))
