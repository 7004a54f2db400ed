"""Settings of several benches as one: what must agree, and where the stricter limit holds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, replace
from typing import TypeVar

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import LOT_EFFECT_BENCH, CampaignSettings
from stirfall.bench.substances import (
    AdditiveValues,
    MetalValues,
    OilValues,
    OwnLimits,
    SolidsValues,
    Substances,
    VesselValues,
)
from stirfall.bench.units import Amount
from stirfall.inference.table import gates_in_use

Named = Sequence[tuple[str, CampaignState]]
Told = Sequence[tuple[str, CampaignSettings]]
_Record = TypeVar("_Record")

# What must be the same for outcomes to mean the same, with the words for it.
_MUST_AGREE: tuple[tuple[str, str], ...] = (
    ("material", "class of the metal"),
    ("gates", "number of questions that an outcome asks"),
    ("partly", "rule for partly parted attempts"),
)
_OIL_TOPS = ("autoignition_c", "stated_max_c")
_PRIORS = ("intercept_prior_sd", "effect_prior_sd", "lot_sd_prior")


def refusals_of(benches: Named) -> list[Reason]:
    """Return why these benches cannot be one session: definitions that differ, or invented data beside real."""
    found = [*_differing(benches), *_metals(benches), *_additives_refused(benches)]
    kinds = {
        bench: gates_in_use(state.attempts, state.settings) for bench, state in benches if _has_outcomes(state)
    }
    counted = [bench for bench, gates in kinds.items() if gates == 1]
    if counted and len(counted) < len(kinds) and len({state.settings.gates for _, state in benches}) == 1:
        graded = [bench for bench in kinds if bench not in counted]
        found.append(Reason("pool.counted_and_graded", {"counted": _list(counted), "graded": _list(graded)}))
    invented = [bench for bench, state in benches if _is_invented(state)]
    real = [bench for bench, _ in benches if bench not in invented]
    if invented and real:
        found.append(Reason("pool.invented_and_real", {"invented": _list(invented), "real": _list(real)}))
    return found


def _differing(benches: Named) -> Iterable[Reason]:
    first, settings = benches[0][0], benches[0][1].settings
    for name, words in _MUST_AGREE:
        for bench, state in benches[1:]:
            mine, other = getattr(settings, name), getattr(state.settings, name)
            if mine != other:
                about = {"what": words, "first": first, "one": str(mine), "second": bench, "other": str(other)}
                yield Reason("pool.definition_differs", about)


def _metals(benches: Named) -> Iterable[Reason]:
    keys = [(bench, state.settings.substances.metal.key) for bench, state in benches]
    known = [(bench, key) for bench, key in keys if key]
    for bench, key in known[1:]:
        if key != known[0][1]:
            yield Reason(
                "pool.definition_differs",
                {"what": "metal", "first": known[0][0], "one": known[0][1], "second": bench, "other": key},
            )


def _additives_refused(benches: Named) -> Iterable[Reason]:
    kinds: dict[str, tuple[str, str]] = {}
    for bench, state in benches:
        for each in state.settings.substances.additives:
            first, kind = kinds.setdefault(each.name.casefold(), (bench, each.kind))
            if not kind:
                kinds[each.name.casefold()] = (bench, each.kind)
            elif each.kind and each.kind != kind:
                about = {"name": each.name, "first": first, "one": kind, "second": bench, "other": each.kind}
                yield Reason("pool.additive_differs", about)


def _has_outcomes(state: CampaignState) -> bool:
    return any(each.parted is not None or each.successes is not None for each in state.attempts)


def _is_invented(state: CampaignState) -> bool:
    return state.settings.invented or any(each.invented for each in state.attempts)


def pool_settings(benches: Named, title: str) -> tuple[CampaignSettings, list[Reason]]:
    """Return the settings of the pooled session and what is said of them; the definitions agree already.

    Of limits the stricter holds, of priors the wider. What attempts share is their bench. How the person works is
    taken from the first bench.
    """
    notes: list[Reason] = []
    base = benches[0][1].settings
    told = [(bench, state.settings) for bench, state in benches]
    melting = _stricter(
        told, lambda each: each.melting_point_c, ("pool.melting_differs", "pool.melting_unknown"), notes
    )
    flash = _stricter(told, lambda each: each.oil_flash_c, ("pool.flash_differs", "pool.flash_unknown"), notes)
    level = max(settings.level for _, settings in told)
    if len({settings.level for _, settings in told}) > 1:
        notes.append(Reason("pool.level_differs", {"level": round(100 * level, 2)}))
    if any(getattr(settings, name) != getattr(base, name) for _, settings in told for name in _PRIORS):
        notes.append(Reason("pool.priors_differ"))
    humps = tuple(dict.fromkeys(name for _, settings in told for name in settings.humps))
    products = tuple(dict.fromkeys(pair for _, settings in told for pair in settings.products))
    joined = replace(
        base,
        title=title,
        metal=_text(told, lambda each: each.metal, "metal", notes),
        oil=_text(told, lambda each: each.oil, "oil", notes),
        melting_point_c=melting,
        oil_flash_c=flash,
        invented=any(_is_invented(state) for _, state in benches),
        level=level,
        humps=humps,
        products=products,
        lot_effect=LOT_EFFECT_BENCH,
        form="",
        substances=_substances(told, notes),
        bench_name="",
        **{name: max(getattr(settings, name) for _, settings in told) for name in _PRIORS},
    )
    return joined, notes


def _stricter(
    told: Told, value: Callable[[CampaignSettings], float | None], codes: tuple[str, str], notes: list[Reason]
) -> float | None:
    """Return the lowest known temperature, and say so where they differ or where some do not know theirs."""
    known = [(bench, found) for bench, settings in told if (found := value(settings)) is not None]
    if not known:
        return None
    lowest = min(found for _, found in known)
    if len({found for _, found in known}) > 1:
        each = ", ".join(f"{bench} {Amount(found, 'C')}" for bench, found in known)
        notes.append(Reason(codes[0], {"each": each, "held": Amount(lowest, "C")}))
    elif len(known) < len(told):
        without = _list(bench for bench, settings in told if value(settings) is None)
        notes.append(Reason(codes[1], {"benches": without, "held": Amount(lowest, "C")}))
    return lowest


def _text(told: Told, value: Callable[[CampaignSettings], str], what: str, notes: list[Reason]) -> str:
    """Return the text that all agree on, else all texts one after the other, and say so."""
    texts = list(dict.fromkeys(text for _, settings in told if (text := value(settings).strip())))
    if len({text.casefold() for text in texts}) <= 1:
        return texts[0] if texts else ""
    each = "; ".join(f"{bench}: {value(settings).strip() or 'not told'}" for bench, settings in told)
    notes.append(Reason("pool.text_differs", {"what": what, "each": each}))
    return " / ".join(texts)


def _substances(told: Told, notes: list[Reason]) -> Substances:
    parts = [(bench, settings.substances) for bench, settings in told]
    metal = _agreed(MetalValues(), [each.metal for _, each in parts], ())
    solids = _agreed_solids([each.solids for _, each in parts])
    oil = _agreed(OilValues(), [each.oil for _, each in parts], _OIL_TOPS)
    if (
        len({settings.oil.strip().casefold() for _, settings in told}) > 1
    ):  # values of one oil say nothing of another
        oil = OilValues(autoignition_c=oil.autoignition_c, stated_max_c=oil.stated_max_c)
    vessel = _agreed(VesselValues(), [each.vessel for _, each in parts], ())
    limits = _agreed(
        OwnLimits(), [each.limits for _, each in parts], tuple(item.name for item in fields(OwnLimits))
    )
    joined = Substances(metal, solids, oil, _additives([each.additives for _, each in parts]), vessel, limits)
    if any(each != joined for _, each in parts):
        notes.append(Reason("pool.substances_differ"))
    if any(each.limits != limits for _, each in parts):
        notes.append(Reason("pool.limits_differ"))
    return joined


def _agreed_solids(given: Sequence[SolidsValues]) -> SolidsValues:
    try:
        return _agreed(SolidsValues(), given, ())
    except InputError:  # the least size of one bench above the largest of another: then no size is agreed on
        sizeless = [replace(each, size_low_um=None, size_high_um=None) for each in given]
        return _agreed(SolidsValues(), sizeless, ())


def _agreed(empty: _Record, given: Sequence[_Record], lowest: tuple[str, ...]) -> _Record:
    """Return a record with what all agree on: a value that some leave open stands, one that differs is left open.

    Of the fields in ``lowest`` the lowest known value stands.
    """
    held: dict[str, object] = {}
    for item in fields(empty):  # type: ignore[arg-type]  # records only
        blank = getattr(empty, item.name)
        known = list(dict.fromkeys(value for each in given if (value := getattr(each, item.name)) != blank))
        if known and item.name in lowest:
            held[item.name] = min(known)
        elif len(known) == 1:
            held[item.name] = known[0]
    return replace(empty, **held)  # type: ignore[type-var]  # records only


def _additives(given: Sequence[tuple[AdditiveValues, ...]]) -> tuple[AdditiveValues, ...]:
    """Return every additive once; the lower cap, and what would release more hydrogen, holds."""
    joined: dict[str, AdditiveValues] = {}
    for each in (additive for additives in given for additive in additives):
        known = joined.get(each.name.casefold())
        if known is None:
            joined[each.name.casefold()] = each
            continue
        joined[each.name.casefold()] = replace(
            known,
            kind=known.kind or each.kind,
            dose_cap_mg_g=_least(known.dose_cap_mg_g, each.dose_cap_mg_g),
            molar_mass_g_mol=_least(known.molar_mass_g_mol, each.molar_mass_g_mol),
            hydrogens=_most(known.hydrogens, each.hydrogens),
        )
    return tuple(joined.values())


def _least(one: float | None, other: float | None) -> float | None:
    return min((value for value in (one, other) if value is not None), default=None)


def _most(one: float | None, other: float | None) -> float | None:
    return max((value for value in (one, other) if value is not None), default=None)


def _list(names: Iterable[str]) -> str:
    return ", ".join(names)
