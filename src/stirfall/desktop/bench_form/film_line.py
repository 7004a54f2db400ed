"""The film index of the metal that the form is about, where its jar says enough; pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions, Role
from stirfall.bench.units import convert, format_number, unit_kind
from stirfall.desktop.bench_form.fields import Place
from stirfall.planning.findings import is_temperature_unit, to_celsius

if TYPE_CHECKING:
    from stirfall.physics.film import Film


@dataclass(frozen=True)
class FilmState:
    """The film index with its band, None where the jar does not say enough; ``text`` is its one small line."""

    film: Film | None = None
    text: str = ""


def read_film(campaign: CampaignState, place: Place, conditions: Conditions, decimal: str) -> FilmState:
    """Return the film index at the start of the attempt, with the hot step as far as the form knows it."""
    jar = place.jar
    if jar is None:
        return FilmState()
    try:
        from stirfall.session.film import film_of_jar
    except ImportError:  # TEMP until it lands
        return FilmState()
    try:
        film = film_of_jar(
            campaign,
            jar,
            place.starts_at,
            hot_min=_hot_min(campaign, conditions),
            temperature_c=_temperature_c(campaign, conditions),
        )
    except StirfallError:
        return FilmState()  # a jar that starts in the future is told beside the jar
    return FilmState(film, film_text(film, decimal)) if film is not None else FilmState()


def film_text(film: Film, decimal: str) -> str:
    """Return the index with its band in a few words."""
    shown = [format_number(value, digits=2, decimal=decimal) for value in (film.index, film.low, film.high)]
    return f"Film index {shown[0]} ({shown[1]} to {shown[2]}), a ranking aid"


def _hot_min(campaign: CampaignState, conditions: Conditions) -> float | None:
    for factor in campaign.factors:
        value = conditions.number(factor.name)
        if factor.role is Role.HOT_TIME and value is not None and unit_kind(factor.unit) == "time":
            return convert(value, factor.unit, "min")
    return None


def _temperature_c(campaign: CampaignState, conditions: Conditions) -> float | None:
    for factor in campaign.factors:
        value = conditions.number(factor.name)
        if factor.role is Role.TEMPERATURE and value is not None and is_temperature_unit(factor.unit):
            return to_celsius(value, factor.unit)
    return None
