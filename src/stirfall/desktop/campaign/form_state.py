"""What a campaign form holds as typed, and what follows from it; pure, without widgets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from stirfall.bench.errors import InputError
from stirfall.bench.materials import MaterialClass
from stirfall.bench.number_style import without_units
from stirfall.bench.records import CampaignSettings
from stirfall.bench.units import convert, format_number, format_quantity, parse_number, parse_quantity
from stirfall.desktop.campaign.entries import OWN_LIMITS, MaterialsEntries, entries_of
from stirfall.desktop.campaign.known_metals import is_too_mild, metal_meant, metal_row
from stirfall.desktop.campaign.materials_form import Reading, read_materials
from stirfall.desktop.campaign.own_limits import shipped_limits, shipped_notes
from stirfall.desktop.campaign.window_line import has_window, upper_ends, window_line
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.storage.limit_table import kind_of

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
class CampaignForm(MaterialsEntries):
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
    bench_name: str = ""

    def with_field(self, name: str, value: object) -> CampaignForm:
        """Return the form with one field changed."""
        return replace(self, **{name: value})  # type: ignore[arg-type]


@dataclass(frozen=True)
class FormReading:
    """The settings that a form means, or None; one sentence per field with a problem; notes on the others."""

    settings: CampaignSettings | None
    problems: Mapping[str, str]
    notes: Mapping[str, str]
    has_window: bool = False


def form_of(settings: CampaignSettings, *, decimal: str = ".") -> CampaignForm:
    """Return the form that shows existing settings."""

    def temperature(value: float | None) -> str:
        return "" if value is None else f"{format_number(value, digits=4, decimal=decimal)} °C"

    entries = entries_of(settings, decimal)
    return CampaignForm(
        **entries,  # type: ignore[arg-type]  # by name, each of the kind that the form holds
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
        bench_name=settings.bench_name,
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
    if form.asked_anew:
        notes["flash"] = sentence("campaign.flash_anew")
    _judge_metal(form, melting, problems, notes, decimal)
    substances, wrong = read_materials(form, shipped_limits(form.material), decimal)
    problems.update(wrong)
    uppers = _uppers(form, flash, decimal)
    notes["window"] = window_line(melting, uppers, decimal=decimal)
    _judge_limits(form, notes, decimal)
    spreads = _spreads(form, problems, decimal)
    level = _number("level", form.level, problems, decimal)
    if level is not None and not 50.0 <= level < 100.0:
        problems["level"] = sentence("settings.level", {"value": f"{format_number(level, decimal=decimal)} %"})
    settings = None
    if not problems and substances is not None and form.material is not None and level is not None:
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
            substances=substances,
            bench_name=" ".join(form.bench_name.split()),
        )
    return FormReading(settings, MappingProxyType(problems), MappingProxyType(notes), has_window(melting, uppers))


def _uppers(form: CampaignForm, flash: float | None, decimal: str) -> dict[str, float]:
    """Return the upper ends of the window; what cannot be read counts as unknown here and is said at its entry."""
    reading = Reading(decimal)
    stated = reading.number("stated_max", form.stated_max, "°C")
    autoignition = reading.number("autoignition", form.autoignition, "°C")
    return upper_ends(flash, stated, autoignition)


def _judge_limits(form: CampaignForm, notes: dict[str, str], decimal: str) -> None:
    """Say the shipped limit beside each own one, and what an additive may not be used with."""
    for name, text in shipped_notes(form.material, OWN_LIMITS, decimal).items():
        notes[name] = sentence("campaign.limit_shipped", {"shipped": text})
    if "own_age" not in notes:
        notes["own_age"] = sentence("campaign.limit_none")
    for at, entry in enumerate(form.additives):
        kind = kind_of(entry.kind, entry.name)
        if kind is not None and form.material is not None and form.material not in kind.allowed:
            notes[f"additive_{at}"] = sentence(
                "campaign.additive_forbidden", {"kind": kind.title, "material": form.material}
            )
        elif kind is None and entry.name.strip() and form.material is not None and form.material.is_reactive:
            notes[f"additive_{at}"] = sentence("campaign.additive_unknown")


def _judge_metal(
    form: CampaignForm, melting: float | None, problems: dict[str, str], notes: dict[str, str], decimal: str
) -> None:
    """Refuse a class that is too mild for the metal, and say where the entries leave the table."""
    meant = metal_meant(form.metal_key, form.metal)
    if is_too_mild(meant, form.material):
        assert meant is not None
        code = "campaign.class_too_mild" if form.metal_key else "campaign.class_too_mild_by_name"
        params = {"metal": meant.name, "hazard": meant.hazard.value, "chosen": form.material}
        problems["material"] = sentence(code, params)
    elif meant is not None and form.material is MaterialClass.OTHER and meant.hazard.is_reactive:
        notes["material"] = sentence("campaign.class_other", {"metal": meant.name, "hazard": meant.hazard.value})
    row = metal_row(form.metal_key)
    if row is None or row.melting_c is None:
        return
    listed = row.melting_c.value
    if melting is not None and abs(melting - listed) > 1.0:
        notes["melting"] += " " + sentence("campaign.melting_differs", {"listed": listed}, decimal=decimal)


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
        value = parse_quantity(text, "°C", decimal=decimal)
    except InputError as error:
        problems[name] = error_sentence(error, decimal=decimal)
        return None
    if not _ABSOLUTE_ZERO_C < value < _HOTTEST_C:
        problems[name] = sentence("desktop.temperature_impossible", {"value": value}, decimal=decimal)
        return None
    decimal = without_units(decimal)  # both scales are said here, whatever unit is liked
    shown = format_quantity(value, "C", digits=4, decimal=decimal)
    other = format_quantity(round(convert(value, "C", "F"), 1), "F", digits=4, decimal=decimal)
    notes[name] = f"{shown} ({other})"
    return value


def _number(name: str, text: str, problems: dict[str, str], decimal: str) -> float | None:
    try:
        return parse_number(text.replace("%", " ").strip(), decimal=decimal)
    except InputError as error:
        problems[name] = error_sentence(error, decimal=decimal)
        return None
