"""What the shelf shows: the jars that are ageing now, each with its chance at this moment, and residue; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar, Lot, computed_ages
from stirfall.bench.units import format_number, format_quantity, human_time
from stirfall.desktop.bench_form.form import age_text, is_oil_depth
from stirfall.desktop.shelf.jar_form import known_lid
from stirfall.planning.findings import Finding
from stirfall.planning.limits_exposure import jar_findings
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.shelf.planned import PlannedRow
    from stirfall.physics.film import Film
    from stirfall.session.forecast import JarForecast

_JUST_NOW_H = 2.0 / 60.0
ALARMING_LOOK = "limits.alarming_look"
FINDING_SIGNS = {"block": "■", "warn": "⚠", "note": "•"}
FINDING_MARKS = {"block": "■ Do not use", "warn": "⚠ Inspect first", "note": "• See below"}


@dataclass(frozen=True)
class JarFilm:
    """The film index of a jar as it was worked out, or what to enter before it can be."""

    film: Film | None = None
    gaps: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class JarRow:
    """One jar on the shelf as shown. ``findings`` is what the limits say.

    ``trouble`` says why its age is unknown, ``caution`` what holds for every jar of this metal.
    """

    jar: Jar
    age: str
    kept: str
    conditions: Conditions
    findings: tuple[Finding, ...] = ()
    trouble: Reason | None = None
    caution: Reason | None = None
    estimate: Estimate | None = None
    film: JarFilm | None = None
    forecast: JarForecast | None = None
    film_code: str = "shelf.film_is"
    decimal: str = "."

    @property
    def is_blocked(self) -> bool:
        """Whether this jar cannot be taken in hand for an attempt."""
        return any(found.level == "block" for found in self.findings)

    @property
    def mark(self) -> str:
        """What must be seen at once, as shape and word; "" when there is nothing to say."""
        if any(found.code == ALARMING_LOOK for found in self.findings):
            return f"■ {sentence('look.alarm')}"
        if self.trouble is not None:
            return "⚠ Check its start"
        if self.findings:
            return FINDING_MARKS[self.findings[0].level]
        return "⚠ Look before you touch" if self.caution is not None else ""

    @property
    def film_text(self) -> str:
        """The film index with its band, a dash where it is unknown."""
        return film_band(self.film.film if self.film else None, self.decimal)

    @property
    def film_why(self) -> str:
        """Why there is no film index, or what it is."""
        if self.film is None:
            return sentence("shelf.film_waits")
        if self.film.film is None:
            gaps = [sentence(gap.code, gap.params, decimal=self.decimal) for gap in self.film.gaps[:1]]
            return " ".join((sentence("shelf.film_unknown"), *gaps))
        return sentence(self.film_code, {"index": self.film_text})

    @property
    def said(self) -> tuple[str, ...]:
        """What the limits say about the jar, each with its shape, most severe first."""
        reasons = [each for each in (self.trouble, self.caution) if each is not None]
        said = [("⚠", each.code, each.params) for each in reasons]
        said += [(FINDING_SIGNS[each.level], each.code, each.params) for each in self.findings]
        said.sort(key=lambda each: list(FINDING_SIGNS.values()).index(each[0]))
        return tuple(f"{sign} {sentence(code, params, decimal=self.decimal)}" for sign, code, params in said)

    @property
    def urgent(self) -> tuple[str, ...]:
        """What must be heeded first: beside "do not" nothing else is said."""
        stops = tuple(text for text in self.said if text.startswith(FINDING_SIGNS["block"]))
        return stops or self.said


@dataclass(frozen=True)
class ShelfState:
    """The whole shelf. ``chances_rest_on`` is one of the chances, None while there are none.

    ``rows`` are the jars of the chosen lot (``lot``, "" for all) that are ageing, in their order: by a column
    (``order``, turned round where ``is_reversed``), or by what to open first (""). ``ageing`` counts all of them,
    ``lots_ageing`` are their lots.
    ``planned`` are the jars that shall be started later.

    ``pair`` are two jars that were chosen together, ``first`` the jar that waits for a second one to compare with.
    ``residues`` are the jars that wait for disposal, ``reminder`` what is to be said about them once a day.
    """

    rows: tuple[JarRow, ...]
    lots: tuple[Lot, ...]
    selected: str | None
    warning: Reason | None
    is_stale: bool
    chances_rest_on: Estimate | None
    can_change: bool
    now: datetime
    decimal: str
    residues: tuple[JarRow, ...] = ()
    reminder: tuple[Finding, ...] = ()
    pair: tuple[str, str] | None = None
    first: str | None = None
    planned: tuple[PlannedRow, ...] = ()
    ageing: int = 0
    lots_ageing: frozenset[str] = frozenset()
    lot: str = ""
    order: str = ""
    is_reversed: bool = False

    @property
    def selected_row(self) -> JarRow | None:
        """The jar that is in hand, of crude or residue."""
        return next((row for row in (*self.rows, *self.residues) if row.jar.id == self.selected), None)

    @property
    def selected_plan(self) -> PlannedRow | None:
        """The planned jar that is chosen."""
        return next((row for row in self.planned if row.jar.id == self.selected), None)

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all stands on the shelf or is planned for it."""
        return not (self.ageing or self.planned or self.residues)


def film_band(film: Film | None, decimal: str) -> str:
    """Write a film index with its band, a dash where it is unknown."""
    if film is None:
        return "–"
    index, low, high = (
        format_number(value, digits=2, decimal=decimal) for value in (film.index, film.low, film.high)
    )
    return f"{index} ({low} to {high})"


def jar_rows(
    campaign: CampaignState,
    now: datetime,
    decimal: str,
    films: Mapping[str, JarFilm] | None = None,
    *,
    forecasts: Mapping[str, JarForecast] | None = None,
) -> tuple[JarRow, ...]:
    """Return the jars that are ageing now, the oldest first."""
    jars = sorted(campaign.shelf, key=lambda jar: jar.started_at)
    known, foretold = films or {}, forecasts or {}
    return tuple(
        _row(
            jar,
            campaign,
            now,
            decimal,
            film=known.get(jar.id),
            forecast=foretold.get(jar.id),
        )
        for jar in jars
    )


def residue_rows(campaign: CampaignState, now: datetime, decimal: str) -> tuple[JarRow, ...]:
    """Return the jars of residue that wait for disposal, the longest first."""
    jars = sorted(campaign.residues, key=lambda jar: jar.started_at)
    return tuple(_row(jar, campaign, now, decimal) for jar in jars)


def _row(
    jar: Jar,
    campaign: CampaignState,
    now: datetime,
    decimal: str,
    *,
    film: JarFilm | None = None,
    forecast: JarForecast | None = None,
) -> JarRow:
    row = JarRow(
        jar,
        "unknown",
        kept_under(jar, decimal),
        Conditions(),
        findings=jar_findings(campaign, jar, now),
        film=film,
        forecast=forecast,
        film_code="shelf.film_is" if campaign.settings.material.may_lengthen_age else "shelf.film_warns",
        decimal=decimal,
    )
    try:
        hours = age_h(jar.started_at, now)
        ages = computed_ages(campaign.visible_factors, lot=campaign.lot(jar.lot_id), jar=jar, started_at=now)
    except InputError as error:
        return replace(row, trouble=Reason(error.code, error.params))
    age = age_text(hours, decimal)
    return replace(
        row,
        age=age,
        conditions=Conditions({**ages, **depth_of(jar, campaign)}),
        caution=jar_caution(jar, age, campaign.settings.material),
        estimate=None if row.is_blocked or forecast is None else forecast.now,
    )


def jar_caution(jar: Jar, age: str, material: MaterialClass) -> Reason | None:
    """Return what must be said about every jar of a superoxide former, whatever its age."""
    if material is not MaterialClass.SUPEROXIDE_FORMER:
        return None
    return Reason("shelf.superoxide_jar", {"jar": jar.id, "age": age})


def depth_of(jar: Jar, campaign: CampaignState) -> dict[str, float]:
    """Return the oil depth of a jar under the name of the factor that means it, where there is one."""
    if jar.oil_depth_mm is None:
        return {}
    return {factor.name: jar.oil_depth_mm for factor in campaign.visible_factors if is_oil_depth(factor)}


def kept_under(jar: Jar, decimal: str) -> str:
    """Return what the metal of a jar lies under, in a few words."""
    depth = format_quantity(jar.oil_depth_mm, "mm", decimal=decimal) if jar.oil_depth_mm is not None else ""
    oil = jar.oil.split(",")[0] or "an unknown oil"
    lid = known_lid(jar.lid)
    parts = (f"{depth} of {oil}" if depth else oil, f"lid {lid}" if lid else "")
    return ", ".join(part for part in parts if part)


def look_text(row: JarRow, now: datetime) -> str:
    """Return how the surface looked and how long ago, a dash where nobody looked."""
    jar = row.jar
    if not jar.look:
        return "–"
    if jar.looked_at is None or jar.looked_at > now:
        return jar.look
    hours = age_h(jar.looked_at, now)
    if hours < _JUST_NOW_H:
        return f"{jar.look}, just now"
    return f"{jar.look}, {human_time(hours, 'h', decimal=row.decimal)} ago"


def class_warning(material: MaterialClass) -> Reason | None:
    """Return what the shelf always says for a class of metal."""
    return Reason("shelf.superoxide") if material is MaterialClass.SUPEROXIDE_FORMER else None
