"""What the weighings of an attempt say: yields and closure with uncertainty, oil on beads, and what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Literal

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.outcomes import Pooled
from stirfall.bench.records import Attempt, Lot, Masses
from stirfall.bench.run_facts import WeighingSheet
from stirfall.bench.units import Amount
from stirfall.physics.assay import Repeated
from stirfall.physics.bead_film import USUAL_OIL_DENSITY, bare_beads, film_mass, film_share
from stirfall.physics.mass_balance import (
    CLOSURE_HIGH,
    CLOSURE_LOW,
    closure,
    corrected_closure,
    gross_yield,
    metal_recovery,
    weighed_masses,
)
from stirfall.physics.measured import Contribution, Measured
from stirfall.session.film_inputs import metal_density_kg_m3

# What leaves no oil worth a correction on the beads.
_WITHOUT_OIL = frozenset({"rinsed and dried", "no oil"})
# How far a bead size by eye and a density may be off, as standard uncertainties; our proposal, no source. The
# factor of 2 of the film outweighs both.
BEAD_U_SHARE = 0.2
DENSITY_U_SHARE = 0.02
# A recovery outside these deserves another weighing; rule of thumb of dross recovery, common practice, no source.
RECOVERY_LOW, RECOVERY_HIGH = 0.30, 0.98


@dataclass(frozen=True)
class Flag:
    """One thing about the weighings to look at: ``note`` informs, ``warn`` says that a figure cannot be trusted."""

    level: Literal["note", "warn"]
    code: str
    params: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Weighing:
    """What one attempt's weighings add up to; None means that something needed is unknown (see ``missing``).

    Shares are of 1 (``Measured.percent()`` gives per cent); each u is a standard uncertainty, k = 1, None: unknown.
    ``masses`` are the weighed masses in grams, by their name in ``Masses``. ``gross_yield`` is product / charge,
    ``recovery`` product x purity / (charge x metal share), ``closure`` (product + beads + residue - additive) /
    charge. ``oil_film_g`` is the oil that a film on the beads would weigh, ``corrected_beads_g`` and
    ``corrected_closure`` are with it taken off: a rough estimate beside the weighed figure, never in its place.
    ``budgets`` has the uncertainty budget of each share by its name. ``missing`` says what to enter to learn more,
    ``flags`` what to look at, warnings first. ``line`` is all of it in one quiet line.
    """

    masses: Mapping[str, Measured]
    gross_yield: Measured | None
    recovery: Measured | None
    closure: Measured | None
    oil_film_g: Measured | None
    corrected_beads_g: Measured | None
    corrected_closure: Measured | None
    budgets: Mapping[str, tuple[Contribution, ...]]
    missing: tuple[Reason, ...]
    flags: tuple[Flag, ...]
    line: Reason

    @property
    def is_doubtful(self) -> bool:
        """Whether something warns; then the list of flags is worth opening."""
        return any(flag.level == "warn" for flag in self.flags)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was weighed."""
        return not self.masses


def weighed(
    state: CampaignState, masses: Masses, sheet: WeighingSheet, lot: Lot | None, *, has_beads: bool = False
) -> Weighing:
    """Return what the weighings add up to; fast enough to call at each key.

    ``lot`` gives the share of metal in the charge. ``has_beads`` says that beads were seen, so that their mass is
    missed where it was not weighed.
    """
    by_difference = frozenset(name for name, tare in sheet.tares if tare > 0.0)
    grams = weighed_masses(masses, sheet.step_g, by_difference)
    film = _film(state, grams, sheet)
    results = {
        "gross_yield": gross_yield(grams),
        "recovery": metal_recovery(grams, _purity(sheet), metal_share(lot)),
        "closure": closure(grams),
        "corrected_closure": corrected_closure(grams, film) if film else None,
    }
    found = {name: result.measured for name, result in results.items() if result}
    oil = film_mass(grams["beads_g"], film).measured if film else None
    flags = _flags(found, grams, sheet, oil)
    return Weighing(
        masses=grams,
        gross_yield=found.get("gross_yield"),
        recovery=found.get("recovery"),
        closure=found.get("closure"),
        oil_film_g=oil,
        corrected_beads_g=bare_beads(grams["beads_g"], film).measured if film else None,
        corrected_closure=found.get("corrected_closure"),
        budgets=MappingProxyType({name: result.budget for name, result in results.items() if result}),
        missing=tuple(_missing(state, grams, sheet, lot, has_beads=has_beads)) if grams else (),
        flags=flags,
        line=_line(found, grams, flags),
    )


def attempt_weighing(state: CampaignState, attempt: Attempt) -> Weighing:
    """Return the weighing of a recorded attempt, with the lot that it or its jar belongs to."""
    jar = state.jar(attempt.jar_id)
    lot = state.lot(attempt.lot_id or (jar.lot_id if jar else None))
    has_beads = attempt.pooled in (Pooled.BEADS, Pooled.FEW_PIECES)
    return weighed(state, attempt.masses, attempt.sheet, lot, has_beads=has_beads)


def metal_share(lot: Lot | None) -> Measured | None:
    """Return the metal in a lot's crude as a share of 1: by assay, else what the solids leave (u unknown)."""
    if lot is None:
        return None
    if lot.metal_percent is not None:
        return _share_of(lot.metal_percent, lot.metal_u_percent)
    return None if lot.solids_percent is None else _share_of(100.0 - lot.solids_percent, None)


def assayed_lot(lot: Lot, assays: Repeated) -> Lot:
    """Return the lot with its metal as several assays say, for ``ChangeLot``; raises InputError ``assay.no_share``.

    Mean and standard uncertainty in per cent, and their count; a mean outside 0 to 100 % is no share.
    """
    if not 0.0 <= assays.mean <= 100.0:
        raise InputError("assay.no_share", mean=Measured(assays.mean, assays.u, "%"))
    return replace(lot, metal_percent=assays.mean, metal_u_percent=assays.u, assays=assays.n)


def metal_density(state: CampaignState) -> float | None:
    """Return the density of the campaign's metal in kg/m³, its own or that of the table, None where unknown."""
    return metal_density_kg_m3(state.settings)


def _purity(sheet: WeighingSheet) -> Measured | None:
    return None if sheet.purity_percent is None else _share_of(sheet.purity_percent, sheet.purity_u_percent)


def _share_of(percent: float, u_percent: float | None) -> Measured:
    return Measured(percent / 100.0, None if u_percent is None else u_percent / 100.0)


def _may_carry_oil(grams: Mapping[str, Measured], sheet: WeighingSheet) -> bool:
    return "beads_g" in grams and grams["beads_g"].value > 0.0 and sheet.oil_removed not in _WITHOUT_OIL


def _film(state: CampaignState, grams: Mapping[str, Measured], sheet: WeighingSheet) -> Measured | None:
    """Return the share of oil in the weighed beads, None where they carry none or too little is known."""
    density = metal_density(state)
    if not _may_carry_oil(grams, sheet) or sheet.bead_mm is None or density is None:
        return None
    oil = state.settings.substances.oil.density_kg_m3 or USUAL_OIL_DENSITY
    return film_share(
        Measured(sheet.bead_mm, BEAD_U_SHARE * sheet.bead_mm, "mm"),
        Measured(density, DENSITY_U_SHARE * density, "kg/m³"),
        Measured(oil, DENSITY_U_SHARE * oil, "kg/m³"),
    ).measured


def _flags(
    found: Mapping[str, Measured], grams: Mapping[str, Measured], sheet: WeighingSheet, oil: Measured | None
) -> tuple[Flag, ...]:
    """Return what to look at, warnings first."""
    flags = [*_closure_flags(found), *_share_flags(found)]
    if _may_carry_oil(grams, sheet) and not sheet.oil_removed:
        flags.append(Flag("note", "weighing.oil_removed_how"))
    if oil is not None:
        flags.append(Flag("note", "weighing.oil_film", {"oil": oil}))
    if "corrected_closure" in found:
        both = {"closure": found["closure"].percent(), "corrected": found["corrected_closure"].percent()}
        flags.append(Flag("note", "weighing.closure_without_oil", both))
    return tuple(sorted(flags, key=lambda flag: flag.level != "warn"))


def _closure_flags(found: Mapping[str, Measured]) -> list[Flag]:
    closed = found.get("closure")
    if closed is None or closed.within(CLOSURE_LOW, CLOSURE_HIGH):
        return []
    code = "weighing.closure_high" if closed.value > CLOSURE_HIGH else "weighing.closure_low"
    return [Flag("warn", code, {"closure": closed.percent()})]


def _share_flags(found: Mapping[str, Measured]) -> list[Flag]:
    """Return what yield and recovery say: more than was there is impossible, the rest worth a second look."""
    flags = []
    gross, recovery = found.get("gross_yield"), found.get("recovery")
    if gross is not None and gross.value > 1.0:
        flags.append(Flag("warn", "weighing.yield_over_charge", {"gross": gross.percent()}))
    if recovery is None:
        return flags
    told = {"recovery": recovery.percent()}
    if recovery.value > 1.0:
        flags.append(Flag("warn", "weighing.recovery_over_metal", told))
    elif recovery.value > RECOVERY_HIGH:
        flags.append(Flag("note", "weighing.recovery_high", told))
    elif recovery.value < RECOVERY_LOW:
        flags.append(Flag("note", "weighing.recovery_low", told))
    return flags


def _missing(
    state: CampaignState, grams: Mapping[str, Measured], sheet: WeighingSheet, lot: Lot | None, *, has_beads: bool
) -> Iterator[Reason]:
    """Yield what to enter to learn more, each with what it is for."""
    if sheet.step_g is None:
        yield Reason("weighing.needs_step")
    if "charge_g" not in grams or grams["charge_g"].value == 0.0:
        yield Reason("weighing.needs_charge")
    if "product_g" not in grams:
        yield Reason("weighing.needs_product")
    if "residue_g" not in grams:
        yield Reason("weighing.needs_residue")
    if has_beads and "beads_g" not in grams:
        yield Reason("weighing.needs_beads")
    yield from _missing_for_recovery(grams, sheet, lot)
    if _may_carry_oil(grams, sheet):
        if sheet.bead_mm is None:
            yield Reason("weighing.needs_bead_size")
        if metal_density(state) is None:
            yield Reason("weighing.needs_metal_density")
        if state.settings.substances.oil.density_kg_m3 is None:
            yield Reason("weighing.oil_density_taken", {"density": Amount(USUAL_OIL_DENSITY, "kg/m³")})


def _missing_for_recovery(grams: Mapping[str, Measured], sheet: WeighingSheet, lot: Lot | None) -> Iterator[Reason]:
    if "product_g" not in grams:
        return
    if sheet.purity_percent is None:
        yield Reason("weighing.needs_purity")
    elif sheet.purity_u_percent is None:
        yield Reason("weighing.needs_purity_u")
    share = metal_share(lot)
    if lot is None:
        yield Reason("weighing.needs_lot")
    elif share is None:
        yield Reason("weighing.needs_metal_share", {"lot": lot.id})
    elif lot.metal_percent is None:
        yield Reason("weighing.share_from_solids", {"lot": lot.id, "share": share.percent()})
    elif lot.metal_u_percent is None:
        yield Reason("weighing.needs_metal_u", {"lot": lot.id})


def _line(found: Mapping[str, Measured], grams: Mapping[str, Measured], flags: tuple[Flag, ...]) -> Reason:
    """Return the one quiet line: the figures, and how many warnings stand behind them."""
    if not grams:
        return Reason("weighing.nothing_weighed")
    if "gross_yield" not in found:
        return Reason("weighing.no_yield_yet")
    parts = [name for name in ("recovery", "closure") if name in found]
    shown: dict[str, object] = {name: found[name].percent() for name in ("gross_yield", *parts)}
    is_known = all(found[name].u is not None for name in ("gross_yield", *parts))
    tail = Reason("weighing.k_is_1") if is_known else Reason("weighing.u_not_known")
    said = f"weighing.line_{'_'.join(('yield', *parts))}"
    line = Reason(said, {**shown, "tail": tail})
    warnings = sum(flag.level == "warn" for flag in flags)
    if not warnings:
        return line
    code = "weighing.one_warning" if warnings == 1 else "weighing.more_warnings"
    return Reason(code, {"line": line, "count": warnings})
