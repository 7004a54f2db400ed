"""Limits of additives: which class may meet which metal, how much of it, and the hydrogen that it can release."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import AdditiveValues
from stirfall.bench.units import convert
from stirfall.planning.findings import CloseAmount, Finding, finding
from stirfall.planning.situation import Situation
from stirfall.storage.limit_table import AdditiveKind, kind_of, limit_table

_NONE_WORDS = frozenset({"none", "no", "no additive", "without"})
# Molar volume of an ideal gas at 20 °C and 101.325 kPa in mL/mol, from R = 8.314462618 J/(mol K) (SI, exact).
MOLAR_VOLUME_ML = 8.314462618 * 293.15 / 101325.0 * 1e6
UNNAMED = "the additive"


@dataclass(frozen=True)
class Used:
    """One additive that is at work: its name, what the campaign knows of it, and its class if that is known."""

    name: str
    values: AdditiveValues | None
    kind: AdditiveKind | None

    @classmethod
    def named(cls, name: str | None, settings: CampaignSettings) -> Used:
        """Return the additive of this name; None: the only one of the campaign, if there is just one."""
        values = settings.substances.additive(name)
        shown = name or (values.name if values else "") or UNNAMED
        return cls(shown, values, kind_of(values.kind if values else "", shown))


def means_none(level: str) -> bool:
    """Whether a level of a choice says that there is no additive."""
    return " ".join(level.split()).casefold() in _NONE_WORDS


def is_additive_choice(factor: Factor) -> bool:
    """Whether a choice names additives by its levels."""
    return factor.is_choice and "additive" in factor.name.casefold()


# ------------------------------------------------------------------------------------------ one additive alone


def class_problem(settings: CampaignSettings, used: Used, factor: Factor | None = None) -> Finding | None:
    """Return the block that forbids an additive for the campaign's class of metal, None where it may be used.

    An unknown class of additive is forbidden with a reactive metal only.
    """
    kind, material = used.kind, settings.material
    if kind is None:
        if material.is_reactive:
            return finding("block", "limits.additive_unknown", factor, rule="additive_class", additive=used.name)
        return None
    if (kind.halogenated or kind.water_based) and material is not MaterialClass.BASE_METAL:
        code = "limits.additive_halogenated" if kind.halogenated else "limits.additive_water"
        return finding("block", code, factor, rule="halogenated_or_water", additive=used.name)
    if material not in kind.allowed:
        return finding(
            "block", "limits.additive_class", factor, rule="additive_class", additive=used.name, kind=kind.title
        )
    return None


def dose_cap_mg_g(used: Used | None) -> float:
    """Return the largest dose in mg/g: the shipped cap, or the additive's own where that is lower."""
    shipped = limit_table()["dose_cap"].number("most")
    own = used.values.dose_cap_mg_g if used is not None and used.values is not None else None
    return shipped if own is None else min(shipped, own)


def hydrogen_cap_ml(settings: CampaignSettings) -> float:
    """Return the largest volume of hydrogen in mL at 20 °C and 101.325 kPa: shipped, or the campaign's own."""
    shipped, own = limit_table()["hydrogen"].number("most"), settings.substances.limits.hydrogen_ml
    return shipped if own is None else min(shipped, own)


def hydrogen_ml(additive_g: float, molar_mass_g_mol: float, hydrogens: float) -> float:
    """Return the hydrogen in mL at 20 °C and 101.325 kPa that an additive can release from a reactive metal.

    One hydrogen molecule per two reactive hydrogen atoms, ideal gas. 0.1 g at 80 g/mol with one hydrogen atom that
    reacts gives 15 mL.
    """
    return additive_g / molar_mass_g_mol * hydrogens / 2.0 * MOLAR_VOLUME_ML


def releases_hydrogen(settings: CampaignSettings, used: Used) -> bool:
    """Whether the additive can release hydrogen from this metal; one of unknown class counts as reactive."""
    if settings.material is MaterialClass.BASE_METAL:
        return False
    hydrogens = used.values.hydrogens if used.values else None
    return hydrogens > 0 if hydrogens is not None else used.kind is not None and used.kind.hydrogen


def per_gram_ml(settings: CampaignSettings, used: Used) -> float | None:
    """Return the hydrogen in mL per gram of additive; 0 where none is released, None where it is not known."""
    if not releases_hydrogen(settings, used):
        return 0.0
    values = used.values
    if values is None or values.molar_mass_g_mol is None or values.hydrogens is None:
        return None
    return hydrogen_ml(1.0, values.molar_mass_g_mol, values.hydrogens)


def most_mg_g(settings: CampaignSettings, used: Used | None, charge_g: float | None) -> float:
    """Return the largest dose in mg/g that neither the cap nor, with a known charge, the hydrogen forbids."""
    cap = dose_cap_mg_g(used)
    per_gram = per_gram_ml(settings, used) if used is not None else None
    if not per_gram or not charge_g:
        return cap
    return min(cap, hydrogen_cap_ml(settings) / per_gram / charge_g * 1000.0)


@cache
def mg_g_per(unit: str) -> float | None:
    """Return what one ``unit`` of dose is in mg/g, None where the unit is no share of mass."""
    if not unit.strip():
        return None
    try:
        return convert(1.0, unit, "mg/g")
    except InputError:
        return None


@cache
def grams_per(unit: str) -> float | None:
    """Return what one ``unit`` of mass is in grams, None where the unit is no mass."""
    if unit.strip() == "g":
        return 1.0
    try:
        return convert(1.0, unit, "g") if unit.strip() else None
    except InputError:
        return None


# ---------------------------------------------------------------------------------------- a situation in hand


def batch_factor(state: CampaignState) -> Factor | None:
    """Return the factor that says how much crude is charged, None where the campaign has none."""
    for factor in state.factors:
        named = any(word in factor.name.casefold() for word in ("charge", "batch"))
        if named and not factor.is_choice and grams_per(factor.unit) is not None:
            return factor
    return None


def charge_of(state: CampaignState, situation: Situation) -> float | None:
    """Return the charge in g: as weighed, else of the conditions, else of the jar; None where it is not known."""
    if situation.masses.charge_g:
        return situation.masses.charge_g
    factor = batch_factor(state)
    value = situation.conditions.number(factor.name) if factor is not None else None
    if factor is not None and value is not None:
        return value * (grams_per(factor.unit) or 0.0)
    return situation.jar.charge_g if situation.jar is not None else None


def additive_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Judge every additive that is at work, and its dose."""
    settings, doses = state.settings, tuple(_doses(state, situation))
    chosen = _chosen(state, situation)
    if not chosen and doses:
        if any(is_additive_choice(factor) and factor.name in situation.conditions for factor in state.factors):
            yield finding("warn", "limits.dose_of_nothing", doses[0].factor, rule="dose_cap")
        else:
            chosen = _not_named(state, doses[0].factor)
    for factor, each in chosen:
        problem = class_problem(settings, each, factor)
        if problem is not None:
            yield problem
    used = [each for _, each in chosen]
    for dose in doses:
        yield from _check_dose(settings, used, dose)


def _chosen(state: CampaignState, situation: Situation) -> list[tuple[Factor | None, Used]]:
    found: list[tuple[Factor | None, Used]] = []
    for factor in state.factors:
        level = situation.conditions.get(factor.name)
        if is_additive_choice(factor) and isinstance(level, str) and not means_none(level):
            found.append((factor, Used.named(level, state.settings)))
    return found


def _not_named(state: CampaignState, factor: Factor | None) -> list[tuple[Factor | None, Used]]:
    """Return what a dose is of where no choice says it: the campaign's only additive, else an unknown one."""
    if any(is_additive_choice(each) for each in state.visible_factors):
        # The choice was left open, so nothing but the shipped cap holds; a reactive metal forbids what is unknown.
        return [(factor, Used(UNNAMED, None, None))]
    return [(factor, Used.named(None, state.settings))]


@dataclass(frozen=True)
class _Dose:
    """One dose that is not zero: its factor (None: as weighed), value, and what it is in mg/g and in g."""

    factor: Factor | None
    value: float
    mg_g: float | None
    grams: float | None


def _doses(state: CampaignState, situation: Situation) -> Iterator[_Dose]:
    charge = charge_of(state, situation)
    for factor in state.factors:
        value = situation.conditions.number(factor.name)
        if factor.role is not Role.DOSE or not value:
            continue
        share, per = mg_g_per(factor.unit), grams_per(factor.unit)
        if share is not None:
            mg_g = value * share
            yield _Dose(factor, value, mg_g, mg_g * charge / 1000.0 if charge else None)
        elif per is not None:
            grams = value * per
            yield _Dose(factor, value, grams / charge * 1000.0 if charge else None, grams)
        else:
            yield _Dose(factor, value, None, None)
    weighed = situation.masses.additive_g
    if weighed:
        yield _Dose(None, weighed, weighed / charge * 1000.0 if charge else None, weighed)


def _check_dose(settings: CampaignSettings, used: list[Used], dose: _Dose) -> Iterator[Finding]:
    factor = dose.factor
    cap = min((dose_cap_mg_g(each) for each in used), default=dose_cap_mg_g(None))
    if dose.mg_g is not None and not _is_within(dose.mg_g, cap):
        yield finding(
            "block",
            "limits.dose_above_cap",
            factor,
            rule="dose_cap",
            what=factor.name if factor else "weighed additive",
            value=CloseAmount(dose.mg_g, "mg/g"),
            cap=CloseAmount(cap, "mg/g"),
        )
    for each in used:
        yield from _check_hydrogen(settings, each, dose)


def _check_hydrogen(settings: CampaignSettings, used: Used, dose: _Dose) -> Iterator[Finding]:
    per_gram, cap = per_gram_ml(settings, used), hydrogen_cap_ml(settings)
    if per_gram == 0.0:
        return
    if per_gram is None or dose.grams is None:
        missing = "molar mass and reactive hydrogen atoms of the additive" if per_gram is None else "charge"
        yield finding(
            "note", "limits.hydrogen_unknown", dose.factor, rule="hydrogen", additive=used.name, missing=missing
        )
        return
    volume = dose.grams * per_gram
    if not _is_within(volume, cap):
        yield finding(
            "block",
            "limits.hydrogen_above_cap",
            dose.factor,
            rule="hydrogen",
            additive=used.name,
            value=CloseAmount(volume, "mL"),
            cap=CloseAmount(cap, "mL"),
        )


def _is_within(value: float, cap: float) -> bool:
    """Whether a value keeps to a cap: a dose worked out from the cap must not break it in its last bits."""
    return value <= cap * (1.0 + 1e-9)


def forbidden_levels(settings: CampaignSettings, factor: Factor) -> Mapping[str, Finding]:
    """Return the levels of an additive choice that may not be used with this metal, each with its block."""
    if not is_additive_choice(factor):
        return {}
    found = {
        level: class_problem(settings, Used.named(level, settings), factor)
        for level in factor.levels
        if not means_none(level)
    }
    return {level: problem for level, problem in found.items() if problem is not None}
