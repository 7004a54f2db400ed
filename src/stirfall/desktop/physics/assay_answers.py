"""The answers of the assay calculator: results with u, what each input contributes, and what to know about them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Reason
from stirfall.bench.units import Amount
from stirfall.desktop.physics.assay_inputs import MethodKey
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.physics.measured import Contribution, Derived, Measured

Inputs = Mapping[str, "Measured"]


@dataclass(frozen=True)
class AssayAnswer:
    """What one calculation says: results as label and text, the share of each input, and sentences to know.

    ``shares`` are shares of the variance of the last result, by the name of the input, None where one is unknown.
    ``percent`` is a metal content that may be kept; ``concentration`` one that a titration may use.
    """

    results: tuple[tuple[str, str], ...] = ()
    shares: Mapping[str, float | None] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    percent: Measured | None = None
    concentration: Measured | None = None


def answer(method: MethodKey, inputs: Inputs, *, over_water: bool | None, decimal: str = ".") -> AssayAnswer:
    """Work out one calculation from all inputs that were given.

    Raises InputError ``assay.*`` and ``measured.impossible``.
    """
    results, notes, metal = _METHODS[method](inputs, over_water)
    last = results[-1][1]
    if any(each.measured.u is None for _label, each in results):
        notes.insert(0, Reason("assay.u_unknown"))
    shown = tuple((label, _shown(each.measured).text(decimal=decimal)) for label, each in results)
    return AssayAnswer(
        results=shown,
        shares={line.name: line.share for line in last.budget},
        notes=tuple(sentence(note.code, note.params, decimal=decimal) for note in notes),
        percent=metal,
        concentration=last.measured if method == "titrant" else None,
    )


_Results = list[tuple[str, "Derived"]]
_Found = tuple[_Results, list[Reason], "Measured | None"]


def _titrant(inputs: Inputs, _over_water: bool | None) -> _Found:
    from stirfall.physics.assay import titrant_concentration

    found = titrant_concentration(
        mass_g=inputs["mass_g"],
        purity=inputs["purity"],
        molar_mass=inputs["molar_mass"],
        volume_ml=inputs["volume_ml"],
        repeatability_u=_relative_u(inputs),
        equivalents=round(inputs["equivalents"].value),
    )
    return [(sentence("assay_dialog.concentration"), found)], _scatter(inputs), None


def _titration(inputs: Inputs, _over_water: bool | None) -> _Found:
    from stirfall.physics.assay import titrated_amount

    amount = titrated_amount(
        inputs["concentration"], inputs["volume_ml"], inputs.get("dilution"), _relative_u(inputs)
    )
    results = [(sentence("assay_dialog.amount"), amount)]
    notes = [*_scatter(inputs), Reason("assay.counts_all_base")]
    metal = _metal(results, amount, 1.0, inputs, "assay_dialog.as_metal")
    return results, [*notes, *_whole(metal)], None if metal is None else metal.measured.percent()


def _gas(inputs: Inputs, over_water: bool | None) -> _Found:
    from stirfall.physics.assay import gas_amount, oxidised_share

    hydrogen = gas_amount(
        inputs["volume_ml"], inputs["temperature_c"], inputs["pressure_kpa"], over_water=bool(over_water)
    )
    results = [(sentence("assay_dialog.hydrogen"), hydrogen)]
    notes = [] if over_water is not None else [Reason("assay.dry_taken")]
    if (base := inputs.get("base_mmol")) is not None:
        if inputs["valence"].value == 1.0:
            oxidised = oxidised_share(hydrogen.measured, base)
            results.append((sentence("assay_dialog.oxidised"), oxidised))
            if oxidised.measured.value < -2.0 * (oxidised.measured.u or 0.0):
                notes.append(Reason("assay.oxidised_negative", {"share": oxidised.measured.percent()}))
        else:
            notes.append(Reason("assay_dialog.valence_one"))
    metal = _metal(results, hydrogen, 2.0, inputs, "assay_dialog.metal")
    return results, [*notes, *_whole(metal)], None if metal is None else metal.measured.percent()


def _density(inputs: Inputs, _over_water: bool | None) -> _Found:
    from stirfall.physics.purity import purity_from_density

    told = purity_from_density(
        inputs["in_air_g"],
        inputs["in_liquid_g"],
        inputs["liquid_density"],
        inputs["metal_density"],
        inputs["solid_density"],
    )
    notes = [Reason("assay.has_voids")] if told.has_voids else []
    if told.purity_bound is not None and told.detection is not None:
        code = "assay.purity_at_most" if told.bound == "at most" else "assay.purity_at_least"
        shown = {"bound": Amount(100.0 * told.purity_bound, "%"), "hides": round(told.void_hides, 1)}
        notes.append(Reason(code, shown))
        notes.append(Reason("assay.detection", {"detection": Amount(float(f"{100.0 * told.detection:.1g}"), "%")}))
    notes.append(Reason("assay_dialog.only_a_bound"))
    results = [(sentence("assay_dialog.density"), told.density), (sentence("assay_dialog.solids"), told.solids)]
    return results, notes, None


_METHODS: Mapping[MethodKey, Callable[[Inputs, bool | None], _Found]] = {
    "titrant": _titrant,
    "titration": _titration,
    "gas": _gas,
    "density": _density,
}


def _metal(results: _Results, amount: Derived, times: float, inputs: Inputs, code: str) -> Derived | None:
    """Add the metal that ``times`` an amount stands for, where mass and molar mass are known."""
    from dataclasses import replace

    from stirfall.physics.assay import metal_share_of
    from stirfall.physics.measured import in_unit

    sample, molar_mass = inputs.get("sample_g"), inputs.get("molar_mass")
    if sample is None or molar_mass is None:
        return None
    of_atoms = in_unit(amount.measured, times, "mmol")
    share = metal_share_of(of_atoms, molar_mass, sample, round(inputs["valence"].value))
    share = replace(share, budget=tuple(_opened(share, amount)))
    results.append((sentence(code), share))
    return share


def _opened(share: Derived, amount: Derived) -> list[Contribution]:
    """Return the budget with the amount's own budget in place of its line: the chain rule, inputs independent."""
    from dataclasses import replace

    lines: list[Contribution] = []
    for line in share.budget:
        if line.name != "amount_mmol":
            lines.append(line)
            continue
        for inner in amount.budget:
            known = line.share is not None and inner.share is not None
            lines.append(replace(inner, share=line.share * inner.share if known else None))  # type: ignore[operator]
    return lines


def _relative_u(inputs: Inputs) -> float:
    given = inputs.get("repeatability")
    return 0.0 if given is None else given.value


def _scatter(inputs: Inputs) -> list[Reason]:
    return [] if "repeatability" in inputs else [Reason("assay.repeatability_left_out")]


def _whole(metal: Derived | None) -> list[Reason]:
    if metal is None or metal.measured.value - 2.0 * (metal.measured.u or 0.0) <= 1.0:
        return []
    return [Reason("assay.over_whole", {"share": metal.measured.percent()})]


def _shown(measured: Measured) -> Measured:
    return measured if measured.unit else measured.percent()
