"""What the board says of a jar's forecast, in words, and in which order the jars stand; pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Estimate
from stirfall.bench.units import human_time
from stirfall.desktop.shelf.split_starts import said_apart
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span
from stirfall.session.forecast_evenings import said_moment

if TYPE_CHECKING:
    from stirfall.desktop.shelf.state import JarRow
    from stirfall.session.forecast import JarForecast

NOTHING, NOT_YET = "–", "not known yet"
USE_BY_NEAR = timedelta(hours=48)  # our own choice, no source
_NOW = timedelta(minutes=10)
OPEN_FIRST = ""
_FLAT = "forecast.flat"


def chance_text(estimate: Estimate | None) -> str:
    """Write a chance with its interval, or that there is none yet."""
    if estimate is None:
        return NOT_YET
    return f"{percent(estimate.mean)}, {span(estimate.lower, estimate.upper)}"


def chance_lines(estimate: Estimate | None, row: JarRow) -> tuple[str, ...]:
    """Write a chance above its interval; a dash where the jar must stay closed or none is foretold."""
    if estimate is None:
        return (NOTHING if row.is_blocked or row.forecast is not None else NOT_YET,)
    return (percent(estimate.mean), span(estimate.lower, estimate.upper))


def best_lines(row: JarRow, now: datetime) -> tuple[str, ...]:
    """Write the best time, and below it the chance there with its interval."""
    forecast = row.forecast
    if row.is_blocked:
        return (NOTHING,)
    if forecast is None:
        return (NOT_YET,)
    if forecast.best is None or forecast.best_at is None:
        is_flat = forecast.reason is not None and forecast.reason.code == _FLAT
        return ("no time", "stands out") if is_flat else (NOTHING if forecast.reason is not None else NOT_YET,)
    when = "now" if abs(forecast.best_at - now) <= _NOW else said_moment(forecast.best_at, now)
    return (when, chance_text(forecast.best))


def window_lines(row: JarRow, now: datetime) -> tuple[str, ...]:
    """Write the readiness window: when it opens and when it closes."""
    forecast = row.forecast
    if forecast is None or row.is_blocked or not forecast.has_window:
        return (NOTHING,)
    opens, closes = forecast.opens_at, forecast.closes_at
    if closes is not None and closes <= now:
        return ("✕ closed", f"{said_apart(closes, now, row.decimal)} ago")
    ends = "no end in sight" if closes is None else f"closes {said_moment(closes, now)}"
    if opens is None or opens <= now:
        return ("● open", ends)
    return (f"○ opens in {said_apart(now, opens, row.decimal)}", ends)


def use_by_lines(row: JarRow, now: datetime) -> tuple[str, ...]:
    """Write until when a jar should be used, with a shape when that is near or past."""
    at = row.forecast.use_by if row.forecast is not None else None
    if at is None:
        return (NOTHING,)
    if at <= now:
        return ("■ past", f"since {said_apart(at, now, row.decimal)}")
    left, when = f"in {said_apart(now, at, row.decimal)}", said_moment(at, now)
    return (f"⚠ {left}", when) if at - now <= USE_BY_NEAR else (when, left)


def in_words(row: JarRow, now: datetime) -> str:
    """Return the forecast of a jar as sentences, for the detail below the board and for screen readers."""
    forecast = row.forecast
    if forecast is None or row.is_blocked:
        return ""
    parts = []
    chances = (("Tonight", forecast.tonight), ("tomorrow", forecast.tomorrow))
    told = [f"{when} {chance_text(estimate)}" for when, estimate in chances if estimate is not None]
    if told:
        parts.append(f"{'; '.join(told)}.")
    if forecast.has_window:
        parts.append(f"Readiness window: {', '.join(_bare(line) for line in window_lines(row, now))}.")
    elif forecast.reason is not None:
        parts.append(sentence(forecast.reason.code, forecast.reason.params, decimal=row.decimal))
    if forecast.use_by is not None:
        parts.append(f"Use by: {', '.join(_bare(line) for line in use_by_lines(row, now))}.")
    return " ".join(parts)


def curve_in_words(forecast: JarForecast | None) -> str:
    """Say the course of the small curve."""
    if forecast is None or len(forecast.means) < 2:
        return ""
    means, hours = forecast.means, forecast.times_h
    top = int(means.argmax())
    end = human_time(float(round(hours[-1])), "h")
    return (
        f"curve from {percent(float(means[0]))} now, highest {percent(float(means[top]))}, "
        f"to {percent(float(means[-1]))} in {end}"
    )


def _bare(line: str) -> str:
    return line.lstrip("●○✕⚠■ ")


# --------------------------------------------------------------------------------------------------------- order

Key = Callable[["JarRow"], tuple[object, ...]]


def _moment(at: datetime | None) -> float:
    return float("inf") if at is None else at.timestamp()


def _mean(estimate: Estimate | None) -> float:
    return float("inf") if estimate is None else -estimate.mean


_SEVERITY = {"■": 0, "⚠": 1, "•": 2}
_KEYS: Mapping[str, Key] = {
    "Jar": lambda row: (row.jar.id.casefold(),),
    "Says": lambda row: (_SEVERITY.get(row.mark[:1], 3), row.mark),
    "Age": lambda row: (row.jar.started_at.timestamp(),),
    "Now": lambda row: (_mean(row.estimate),),
    "Best": lambda row: (_moment(row.forecast.best_at if row.forecast else None),),
    "Tonight": lambda row: (_mean(row.forecast.tonight if row.forecast else None),),
    "Tomorrow": lambda row: (_mean(row.forecast.tomorrow if row.forecast else None),),
    "Window": lambda row: (_moment(row.forecast.closes_at if row.forecast and row.forecast.has_window else None),),
    "Use by": lambda row: (_moment(row.forecast.use_by if row.forecast else None),),
    "Look": lambda row: (not row.jar.look, row.jar.look),
    "Film index": lambda row: (-row.film.film.index if row.film and row.film.film else float("inf"),),
    "Kept under": lambda row: (row.kept.casefold(),),
}
SORTABLE = tuple(_KEYS)


def ordered(
    rows: Iterable[JarRow], order: str, forecasts: Mapping[str, JarForecast], *, is_reversed: bool = False
) -> tuple[JarRow, ...]:
    """Return the rows by a column, or by what to open first (``OPEN_FIRST``); what is unknown stands last."""
    rows = tuple(rows)
    if order not in _KEYS:
        from stirfall.session.forecast import open_first

        places = {jar_id: at for at, jar_id in enumerate(open_first(forecasts, rows))}
        return tuple(sorted(rows, key=lambda row: places[row.jar.id]))
    key = _KEYS[order]
    known = [row for row in rows if key(row) != (float("inf"),)]
    unknown = [row for row in rows if key(row) == (float("inf"),)]
    return (*sorted(known, key=key, reverse=is_reversed), *unknown)
