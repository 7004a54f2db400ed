"""The film index of the metal that the form is about, where its jar says enough; pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import AgeOverride, Attempt
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.units import format_number
from stirfall.desktop.bench_form.fields import FieldState, Place, conditions_of

if TYPE_CHECKING:
    from stirfall.physics.film import Film


@dataclass(frozen=True)
class FilmState:
    """The film index with its band, None where the jar does not say enough; ``text`` is its one small line."""

    film: Film | None = None
    text: str = ""


def read_film(
    campaign: CampaignState, place: Place, fields: tuple[FieldState, ...], facts: RunFacts, decimal: str
) -> FilmState:
    """Return the film index as the attempt in the form will have it."""
    from stirfall.session.film import film_of_attempt

    if place.jar is None:
        return FilmState()
    attempt = Attempt(
        id="",
        number=0,
        conditions=conditions_of(fields),
        started_at=place.starts_at,
        jar_id=place.jar.id,
        overrides=overrides_of(fields),
        facts=facts,
    )
    film = film_of_attempt(campaign, attempt)
    return FilmState(film, film_text(film, campaign, decimal)) if film is not None else FilmState()


def overrides_of(fields: tuple[FieldState, ...]) -> tuple[AgeOverride, ...]:
    """Return the values that were typed over the clock's, each with its reason."""
    return tuple(
        AgeOverride(item.factor.name, item.clock_value, item.entry.reason.strip())
        for item in fields
        if item.is_override
    )


def film_text(film: Film, campaign: CampaignState, decimal: str) -> str:
    """Return the index with its band in a few words, and what it is good for with this class of metal."""
    index, low, high = (
        format_number(value, digits=2, decimal=decimal) for value in (film.index, film.low, film.high)
    )
    use = "a ranking aid" if campaign.settings.material.may_lengthen_age else "a measure of hazard only"
    return f"Film index {index} ({low} to {high}), {use}"
