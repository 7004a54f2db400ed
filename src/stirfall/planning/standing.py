"""The limits that hold for one campaign, each as a line with its values and its source: for recipes and screens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import AdditiveValues
from stirfall.bench.units import Amount
from stirfall.planning.findings import CloseAmount
from stirfall.planning.limits_additive import Used, class_problem, dose_cap_mg_g, hydrogen_cap_ml, per_gram_ml
from stirfall.planning.limits_exposure import age_limit, residue_days
from stirfall.planning.limits_temperature import lift_top_c, oil_ceilings
from stirfall.planning.limits_work import humidity_limit
from stirfall.storage.limit_table import limit_table


@dataclass(frozen=True)
class LimitLine:
    """One limit that holds: its rule in the shipped table, its sentence as code and parameters, and its source."""

    rule: str
    code: str
    params: Mapping[str, object]
    source: str


def standing_limits(state: CampaignState) -> tuple[LimitLine, ...]:
    """Return every limit that holds for this campaign, in the order of the shipped table; never empty.

    What is not known is said as well: an unknown flash point is a limit of its own.
    """
    lines = (*_heat(state.settings), *_metal(state.settings), *_additives(state.settings), *_work(state.settings))
    order = {rule: place for place, rule in enumerate(limit_table())}
    return tuple(sorted(lines, key=lambda line: order[line.rule]))


def _line(rule: str, code: str, **params: object) -> LimitLine:
    return LimitLine(rule, code, MappingProxyType(params), limit_table()[rule].source)


def _heat(settings: CampaignSettings) -> Iterator[LimitLine]:
    flash, melting = settings.oil_flash_c, settings.melting_point_c
    if flash is None:
        yield _line("flash_unknown", "limits.holds_flash_unknown")
    else:
        margin = limit_table()["oil_margin"]
        warn, block = (CloseAmount(flash - margin.number(name), "C") for name in ("warn", "block"))
        yield _line("oil_margin", "limits.holds_flash", flash=CloseAmount(flash, "C"), warn=warn, block=block)
    for each in oil_ceilings(settings):
        top, basis = CloseAmount(each.top_c, "C"), CloseAmount(each.basis_c, "C")
        if each.rule == "stated_maximum":
            yield _line(each.rule, "limits.holds_stated", top=top)
        elif each.rule == "autoignition_margin":
            yield _line(each.rule, "limits.holds_autoignition", top=top, autoignition=basis)
    if settings.substances.oil.autoignition_c is None:
        yield _line("autoignition_margin", "limits.holds_autoignition_unknown")
    if melting is None:
        yield _line("melting_margin", "limits.holds_melting_unknown")
    else:
        rule = limit_table()["melting_margin"]
        low, high = (CloseAmount(melting + rule.number(name), "C") for name in ("least", "most"))
        yield _line("melting_margin", "limits.holds_melting", low=low, high=high)
    rule = limit_table()["over_temperature"]
    yield _line("over_temperature", "limits.holds_live", over=rule.number("over"), rate=rule.number("rate"))
    lift = lift_top_c(settings)
    if lift is None:
        yield _line("lift_out", "limits.holds_lift_unknown")
    else:
        yield _line("lift_out", "limits.holds_lift", top=CloseAmount(lift, "C"))


def _metal(settings: CampaignSettings) -> Iterator[LimitLine]:
    limit = age_limit(settings)
    if limit is not None:
        superoxide = settings.material is MaterialClass.SUPEROXIDE_FORMER
        code = "limits.holds_superoxide" if superoxide else "limits.holds_age"
        yield _line(limit.rule, code, most=Amount(limit.most_h, "h"))
    if settings.material is not MaterialClass.BASE_METAL:
        yield _line("alarming_look", "limits.holds_look")
        yield _line("halogenated_or_water", "limits.holds_no_halogen")
    yield _line("residue_jar", "limits.holds_residue_jar")
    humid = humidity_limit(settings)
    if humid is not None:
        yield _line("humidity", "limits.holds_humidity", most=humid)


def _additives(settings: CampaignSettings) -> Iterator[LimitLine]:
    yield _line("dose_cap", "limits.holds_dose", cap=CloseAmount(dose_cap_mg_g(None), "mg/g"))
    if settings.material.is_reactive:
        yield _line("additive_class", "limits.holds_class")
    for additive in settings.substances.additives:
        yield from _one_additive(additive, settings)
    if settings.material is not MaterialClass.BASE_METAL:
        yield _line("hydrogen", "limits.holds_hydrogen", cap=CloseAmount(hydrogen_cap_ml(settings), "mL"))


def _one_additive(additive: AdditiveValues, settings: CampaignSettings) -> Iterator[LimitLine]:
    used = Used.named(additive.name, settings)
    problem = class_problem(settings, used)
    if problem is not None:
        why = Reason(problem.code, problem.params)
        yield _line(problem.rule, "limits.holds_not", additive=used.name, why=why)
        return
    if additive.dose_cap_mg_g is not None:
        cap = CloseAmount(dose_cap_mg_g(used), "mg/g")
        yield _line("dose_cap", "limits.holds_own_dose", additive=used.name, cap=cap)
    per_gram = per_gram_ml(settings, used)
    if per_gram is None:
        yield _line("hydrogen", "limits.holds_hydrogen_unknown", additive=used.name)
    elif per_gram > 0:
        most = Amount(hydrogen_cap_ml(settings) / per_gram, "g")
        yield _line("hydrogen", "limits.holds_hydrogen_of", additive=used.name, most=most)


def _work(settings: CampaignSettings) -> Iterator[LimitLine]:
    table = limit_table()
    volume, share = settings.substances.vessel.volume_ml, table["freeboard"].number("most")
    if volume is None:
        yield _line("freeboard", "limits.holds_freeboard", share=share)
    else:
        top = Amount(volume * share / 100.0, "mL")
        yield _line("freeboard", "limits.holds_freeboard_of", share=share, top=top)
    yield _line("batch", "limits.holds_batch", times=table["batch"].number("most"))
    yield _line("extrapolation", "limits.holds_untried", count=f"{table['extrapolation'].number('from'):.0f}")
    yield _line("checklist", "limits.holds_checklist")
    length = table["session_length"]
    yield _line(
        "session_length",
        "limits.holds_breaks",
        runs=f"{length.number('runs'):.0f}",
        without=Amount(length.number("without"), "h"),
        gap=Amount(length.number("gap"), "min"),
    )
    yield _line("residue", "limits.holds_residue", most=residue_days(settings))
