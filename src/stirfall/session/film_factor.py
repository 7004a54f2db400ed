"""The film index as a factor of the model: filled in from the jars, and following the ages in every question.

An attempt without a film index of its own gets that of its jar, for the analysis only; a number that was typed
stays. A question about conditions that name an age is answered at the film index of the campaign's usual jar at
that age: the index follows, nobody moves it by itself. Where no age is a factor the index is free like any number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.records import Attempt, CampaignSettings, Jar
from stirfall.bench.units import convert, unit_kind
from stirfall.inference.design import Columns, Design, Filler
from stirfall.inference.table import AttemptTable, build_table

if TYPE_CHECKING:
    from stirfall.planning.jar_choice import FilmWait

FloatArray = NDArray[np.float64]


class IndexRule(Protocol):
    """The film index of a campaign's usual jar; ``session.film.FilmRule`` is one. Frozen and hashable."""

    def index(self, columns: Mapping[str, FloatArray], /) -> FloatArray:
        """Return the index (n,) for columns (n,) by the names of factors; NaN where no age is known."""
        ...


@dataclass(frozen=True)
class FilmFiller:
    """What fills in the film index called ``name`` from the numbers that ``factors`` are, by a rule."""

    name: str
    factors: tuple[Factor, ...]
    rule: IndexRule

    def __call__(self, columns: Columns, /) -> FloatArray:
        """Return the index (n,); columns that are shorter than the longest are single values and hold for all."""
        known = {f.name: np.atleast_1d(columns[f.name]).astype(float) for f in self.factors if f.name in columns}
        rows = max((len(column) for column in known.values()), default=1)
        if not known:
            return np.full(rows, np.nan)
        whole = {name: np.broadcast_to(column, rows) for name, column in known.items()}
        return np.asarray(self.rule.index(whole), dtype=float)


@dataclass(frozen=True)
class Prepared:
    """A campaign as the analysis takes it: ``state`` with the film index of attempts whose jar tells it.

    ``filler`` is set where the index follows from ages; ``without`` names a film index of which nothing is known.
    """

    state: CampaignState
    filler: Filler | None = None
    without: tuple[str, ...] = ()

    def table(
        self, settings: CampaignSettings | None = None, *, gates: int | None = None
    ) -> tuple[Design, AttemptTable]:
        """Return design and table of the attempts, as ``build_table`` does."""
        return build_table(self.state, settings, gates=gates, filler=self.filler, without=self.without)


def prepare(state: CampaignState) -> Prepared:
    """Return the campaign with the film index in its place; without such a factor it is the state as it came."""
    film = film_factor_of(state)
    if film is None:
        return Prepared(state)
    from stirfall.session.film_rule import unit_scale

    scale = unit_scale(film.unit)
    if scale is None:  # a number of the campaign's own, which nothing here can work out
        return prepare_with(state, film, None, lambda _attempt: None)
    from stirfall.session.film import FilmRule, film_of_attempt

    def index_of(attempt: Attempt) -> float | None:
        found = film_of_attempt(state, attempt)
        return None if found is None else found.index * scale

    return prepare_with(state, film, FilmRule.of(state), index_of)


def prepare_with(
    state: CampaignState, film: Factor, rule: IndexRule | None, index_of: Callable[[Attempt], float | None]
) -> Prepared:
    """Return the campaign with its film index worked out: by ``index_of`` for attempts, by ``rule`` for questions.

    ``rule`` is None where no jar tells enough; both are in the unit of ``film``.
    """
    filled = replace(state, attempts=tuple(_with_film(attempt, film, index_of) for attempt in state.attempts))
    filler = None if rule is None else _following(state, film, rule)
    if filler is not None:
        return Prepared(filled, filler)
    nothing = has_age(state) and all(film.name not in attempt.conditions for attempt in filled.attempts)
    return Prepared(filled, None, (film.name,) if nothing else ())


def film_factor_of(state: CampaignState) -> Factor | None:
    """Return the film index that the campaign shows as a number, None where it has none."""
    return next((f for f in state.visible_factors if f.role is Role.FILM_INDEX and not f.is_choice), None)


def has_age(state: CampaignState) -> bool:
    """Whether the campaign shows a sample age or an oil exposure as a time."""
    return any(
        factor.role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)
        and not factor.is_choice
        and unit_kind(factor.unit) == "time"
        for factor in state.visible_factors
    )


def film_wait_of(state: CampaignState) -> FilmWait | None:
    """Return what tells how long a jar needs to reach a film index; None without such a factor."""
    if film_factor_of(state) is None:
        return None

    def wait(jar: Jar, factor: Factor, index: float, now: datetime) -> float | None:
        from stirfall.session.film import wait_for_index
        from stirfall.session.film_rule import unit_scale

        scale = unit_scale(factor.unit)
        return None if scale is None else wait_for_index(state, jar, index / scale, now)

    return wait


def with_film_of_jar(state: CampaignState, jar_id: str | None, conditions: Conditions) -> Conditions:
    """Return conditions with the film index that a jar has at their age; as they are where it cannot be told.

    The moment follows from the oil exposure, or from the sample age where the lot says when it was made.
    """
    film, jar = film_factor_of(state), state.jar(jar_id)
    if film is None or jar is None or film.name in conditions:
        return conditions
    at = _moment_of(state, jar, conditions)
    if at is None or at < jar.started_at:
        return conditions
    from stirfall.session.film import film_values

    return Conditions({**film_values(state, jar, at, conditions), **conditions})


def _moment_of(state: CampaignState, jar: Jar, conditions: Conditions) -> datetime | None:
    lot = state.lot(jar.lot_id)
    starts = ((Role.OIL_EXPOSURE, jar.started_at), (Role.SAMPLE_AGE, None if lot is None else lot.made_at))
    for role, start in starts:
        for factor in state.visible_factors:
            value = conditions.number(factor.name)
            if start is not None and value is not None and factor.role is role and unit_kind(factor.unit) == "time":
                return start + timedelta(hours=convert(value, factor.unit, "h"))
    return None


def _following(state: CampaignState, film: Factor, rule: IndexRule) -> FilmFiller | None:
    """Return the filler where the rule tells something at the campaign's usual values, so at its ages."""
    numbers = tuple(f for f in state.visible_factors if not f.is_choice and f.role is not Role.FILM_INDEX)
    if not has_age(state):
        return None
    filler = FilmFiller(film.name, numbers, rule)
    usual = filler({factor.name: np.array([float(factor.middle)]) for factor in numbers})
    return filler if np.isfinite(usual).all() else None


def _with_film(attempt: Attempt, film: Factor, index_of: Callable[[Attempt], float | None]) -> Attempt:
    if film.name in attempt.conditions:
        return attempt
    index = index_of(attempt)
    if index is None or not math.isfinite(index) or index < 0 or (index == 0 and film.scale is Scale.LOG):
        return attempt
    return replace(attempt, conditions=attempt.conditions.with_value(film.name, float(index)))
