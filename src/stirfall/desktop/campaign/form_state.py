"""What a campaign form holds as typed, and what follows from it; pure, without widgets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from stirfall.bench.errors import InputError
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.units import convert, format_number, format_quantity, parse_number, parse_quantity
from stirfall.reporting.sentences import error_sentence, sentence

CONSEQUENCES: Mapping[MaterialClass, str] = MappingProxyType(
    {
        MaterialClass.BASE_METAL: "Tin, bismuth, gallium and the like. Hot oil is the main danger.",
        MaterialClass.ALKALI_METAL: "Burns with water. Cautions and the start checklist change to reactive metal.",
        MaterialClass.SUPEROXIDE_FORMER: ("Its crust can explode. A longer age or exposure is never suggested."),
        MaterialClass.OTHER: "Class not known: the strictest cautions are shown until you choose another.",
    }
)

_ABSOLUTE_ZERO_C = -273.15
_HOTTEST_C = 2000.0


@dataclass(frozen=True)
class CampaignForm:
    """The fields as typed; an empty melting point or flash point means unknown."""

    title: str = ""
    material: MaterialClass | None = None
    metal: str = ""
    melting: str = ""
    oil: str = ""
    flash: str = ""
    gates: int = 2
    level: str = "95"
    intercept_sd: str = "2.5"
    effect_sd: str = "2"
    lot_sd: str = "1"
    partly: str = "failed"
    lot_effect: str = "lot"
    form: str = ""
    humps: tuple[str, ...] = ()
    products: tuple[tuple[str, str], ...] = ()

    def with_field(self, name: str, value: object) -> CampaignForm:
        """Return the form with one field changed."""
        return replace(self, **{name: value})  # type: ignore[arg-type]


@dataclass(frozen=True)
class FormReading:
    """The settings that a form means, or None; one sentence per field with a problem; notes on the others."""

    settings: CampaignSettings | None
    problems: Mapping[str, str]
    notes: Mapping[str, str]


def form_of(settings: CampaignSettings, *, decimal: str = ".") -> CampaignForm:
    """Return the form that shows existing settings."""

    def temperature(value: float | None) -> str:
        return "" if value is None else f"{format_number(value, digits=4, decimal=decimal)} °C"

    return CampaignForm(
        title=settings.title,
        material=settings.material,
        metal=settings.metal,
        melting=temperature(settings.melting_point_c),
        oil=settings.oil,
        flash=temperature(settings.oil_flash_c),
        gates=settings.gates,
        level=format_number(settings.level * 100.0, decimal=decimal),
        intercept_sd=format_number(settings.intercept_prior_sd, decimal=decimal),
        effect_sd=format_number(settings.effect_prior_sd, decimal=decimal),
        lot_sd=format_number(settings.lot_sd_prior, decimal=decimal),
        partly=settings.partly,
        lot_effect=settings.lot_effect,
        form=settings.form,
        humps=settings.humps,
        products=settings.products,
    )


def read_form(form: CampaignForm, base: CampaignSettings, *, decimal: str = ".") -> FormReading:
    """Read a form against the settings it changes; fields that it does not show are kept from ``base``."""
    problems: dict[str, str] = {}
    notes: dict[str, str] = {}
    title = " ".join(form.title.split())
    if not title:
        problems["title"] = sentence("desktop.title_missing")
    if form.material is None:
        problems["material"] = sentence("desktop.material_missing")
    melting = _temperature("melting", form.melting, problems, notes, decimal)
    flash = _temperature("flash", form.flash, problems, notes, decimal)
    spreads = _spreads(form, problems, decimal)
    level = _number("level", form.level, problems, decimal)
    if level is not None and not 50.0 <= level < 100.0:
        problems["level"] = sentence("settings.level", {"value": f"{format_number(level, decimal=decimal)} %"})
    settings = None
    if not problems and form.material is not None and level is not None:
        settings = replace(
            base,
            title=title,
            material=form.material,
            metal=form.metal.strip(),
            melting_point_c=melting,
            oil=form.oil.strip(),
            oil_flash_c=flash,
            gates=form.gates,
            level=level / 100.0,
            partly=form.partly,
            lot_effect=form.lot_effect,
            form=form.form,
            humps=form.humps,
            products=form.products,
            intercept_prior_sd=spreads["intercept_sd"],
            effect_prior_sd=spreads["effect_sd"],
            lot_sd_prior=spreads["lot_sd"],
        )
    return FormReading(settings, MappingProxyType(problems), MappingProxyType(notes))


def _spreads(form: CampaignForm, problems: dict[str, str], decimal: str) -> dict[str, float]:
    """Read the scales of the priors, by their field."""
    read: dict[str, float] = {}
    for name, text in (
        ("intercept_sd", form.intercept_sd),
        ("effect_sd", form.effect_sd),
        ("lot_sd", form.lot_sd),
    ):
        value = _number(name, text, problems, decimal)
        if value is not None and not value > 0:
            problems[name] = sentence("settings.prior_not_positive")
        elif value is not None and not math.isfinite(value):
            problems[name] = sentence("settings.prior_not_finite")
        elif value is not None:
            read[name] = value
    return read


def _temperature(
    name: str, text: str, problems: dict[str, str], notes: dict[str, str], decimal: str
) -> float | None:
    if not text.strip():
        notes[name] = sentence(f"desktop.{name}_unknown")
        return None
    try:
        value = parse_quantity(text, "°C")
    except InputError as error:
        problems[name] = error_sentence(error, decimal=decimal)
        return None
    if not _ABSOLUTE_ZERO_C < value < _HOTTEST_C:
        problems[name] = sentence("desktop.temperature_impossible", {"value": value}, decimal=decimal)
        return None
    shown = format_quantity(value, "C", digits=4, decimal=decimal)
    other = format_quantity(round(convert(value, "C", "F"), 1), "F", digits=4, decimal=decimal)
    notes[name] = f"{shown} ({other})"
    return value


def _number(name: str, text: str, problems: dict[str, str], decimal: str) -> float | None:
    try:
        return parse_number(text.replace("%", " ").strip())
    except InputError as error:
        problems[name] = error_sentence(error, decimal=decimal)
        return None
