"""``stirfall assay``: arithmetic and uncertainty for assay results that someone already has."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

import click

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.units import Amount, format_number, parse_number
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option
from stirfall.cli.weigh import budget_json, label, measured_json
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.physics.assay import Repeated
    from stirfall.physics.measured import Derived, Measured

SCHEMA = "stirfall.assay/1"
_Verb = TypeVar("_Verb", bound=Callable[..., int])


@dataclass(frozen=True)
class _Answer:
    """What one calculation says: results by name, further fields for JSON only, what to know."""

    kind: str
    results: Mapping[str, Derived]
    notes: list[Reason] = field(default_factory=list)
    extra: Mapping[str, object] = field(default_factory=dict)


@click.group("assay", no_args_is_help=True)
def command() -> None:
    """Work out assay results with their standard uncertainty (k = 1).

    A value is written with its standard uncertainty, "0.3888 ± 0.0001" or "0.3888+-0.0001"; without one, that of
    the result is unknown; "+-0" says exact. Results only: no procedure is given. Such measurements on reactive
    metal are for trained people under local rules.
    """


def _measured(name: str, text: str, *, required: bool = True) -> Callable[[_Verb], _Verb]:
    return click.option(f"--{name}", metavar="VALUE±U", required=required, help=text)


@command.command("titration")
@_measured("mass", "Mass of the weighed standard, g.")
@_measured("purity", "Purity of the standard, a share of 1.")
@_measured("molar-mass", "Molar mass of the standard, g/mol.")
@_measured("volume", "Volume of titrant, mL.")
@click.option("--repeatability", metavar="U", help="Relative standard uncertainty of the whole titration.")
@click.option("--equivalents", type=click.IntRange(min=1), default=1, help="Equivalents per molecule of standard.")
@json_option
def titration(
    *,
    mass: str,
    purity: str,
    molar_mass: str,
    volume: str,
    repeatability: str | None,
    equivalents: int,
    as_json: bool,
) -> int:
    """Give the concentration of a titrant that was set against a weighed standard."""
    from stirfall.physics.assay import titrant_concentration

    found = titrant_concentration(
        mass_g=_read(mass, "g"),
        purity=_read(purity),
        molar_mass=_read(molar_mass, "g/mol"),
        volume_ml=_read(volume, "mL"),
        repeatability_u=_number(repeatability),
        equivalents=equivalents,
    )
    return _tell(_Answer("titration", {"concentration": found}, _scatter_note(repeatability)), as_json=as_json)


@command.command("base")
@_measured("concentration", "Concentration of the titrant, mol/L.")
@_measured("volume", "Volume of titrant, mL.")
@_measured("dilution", "Whole volume over titrated volume; exactly 1 where all was titrated.", required=False)
@click.option("--repeatability", metavar="U", help="Relative standard uncertainty of the whole titration.")
@_measured("sample", "Mass of the sample, g, for the mass share that the base would be as metal.", required=False)
@_measured("molar-mass", "Molar mass of the metal, g/mol.", required=False)
@json_option
def base(
    *,
    concentration: str,
    volume: str,
    dilution: str | None,
    repeatability: str | None,
    sample: str | None,
    molar_mass: str | None,
    as_json: bool,
) -> int:
    """Give the amount of base in a sample from the titrant that it took."""
    from stirfall.physics.assay import titrated_amount

    factor = None if dilution is None else _read(dilution)
    amount = titrated_amount(_read(concentration, "mol/L"), _read(volume, "mL"), factor, _number(repeatability))
    notes = [*_scatter_note(repeatability), Reason("assay.counts_all_base")]
    shares = _share("as_metal", amount.measured, sample, molar_mass, 1)
    return _tell(_Answer("base", {"amount": amount, **shares}, [*notes, *_whole(shares)]), as_json=as_json)


@command.command("gas")
@_measured("volume", "Volume of hydrogen, mL.")
@_measured("temperature", "Temperature of the gas, °C.")
@_measured("pressure", "Pressure of the whole gas, kPa.")
@click.option("--over-water/--dry", default=None, help="Whether the gas stood over water; dry otherwise.")
@_measured("sample", "Mass of the sample, g, for its share of metal.", required=False)
@_measured("molar-mass", "Molar mass of the metal, g/mol.", required=False)
@click.option("--valence", type=click.IntRange(1, 4), default=1, help="Valence of the metal.")
@_measured("base", "Amount of base in the same sample, mmol, for the oxidised share (valence 1).", required=False)
@json_option
def gas(
    *,
    volume: str,
    temperature: str,
    pressure: str,
    over_water: bool | None,
    sample: str | None,
    molar_mass: str | None,
    valence: int,
    base: str | None,
    as_json: bool,
) -> int:
    """Give the amount of hydrogen, the metal that it stands for, and with the base the oxidised share."""
    from stirfall.physics.assay import gas_amount, oxidised_share
    from stirfall.physics.measured import in_unit

    if base is not None and valence != 1:
        raise click.UsageError("--base holds for metals of valence 1 only.")
    readings = _read(volume, "mL"), _read(temperature, "°C"), _read(pressure, "kPa")
    hydrogen = gas_amount(*readings, over_water=bool(over_water))
    shares = _share("metal", in_unit(hydrogen.measured, 2.0, "mmol"), sample, molar_mass, valence)
    notes = [] if over_water is not None else [Reason("assay.dry_taken")]
    notes += _whole(shares)
    results = {"hydrogen": hydrogen, **shares}
    if base is not None:
        oxidised = oxidised_share(hydrogen.measured, _read(base, "mmol"))
        results["oxidised"] = oxidised
        if oxidised.measured.value < -2.0 * (oxidised.measured.u or 0.0):
            notes.append(Reason("assay.oxidised_negative", {"share": oxidised.measured.percent()}))
    return _tell(_Answer("gas", results, notes), as_json=as_json)


@command.command("density")
@_measured("air", "Mass in air, g.")
@_measured("liquid", "Apparent mass in the liquid, g.")
@_measured("liquid-density", "Density of the liquid, kg/m³.")
@_measured("metal-density", "Density of the pure metal at the same temperature, kg/m³.")
@_measured("solid-density", "Density of the solids, kg/m³.")
@json_option
def density(
    *, air: str, liquid: str, liquid_density: str, metal_density: str, solid_density: str, as_json: bool
) -> int:
    """Bound the purity of a piece that was weighed in air and in a liquid."""
    from stirfall.physics.purity import purity_from_density

    densities = (_read(text, "kg/m³") for text in (liquid_density, metal_density, solid_density))
    told = purity_from_density(_read(air, "g"), _read(liquid, "g"), *densities)
    notes = []
    if told.has_voids:
        notes.append(Reason("assay.has_voids"))
    if told.purity_bound is not None and told.detection is not None:
        code = "assay.purity_at_most" if told.bound == "at most" else "assay.purity_at_least"
        shown = {"bound": Amount(100.0 * told.purity_bound, "%"), "hides": round(told.void_hides, 1)}
        notes.append(Reason(code, shown))
        notes.append(Reason("assay.detection", {"detection": Amount(float(f"{100.0 * told.detection:.1g}"), "%")}))
    extra = {
        "bound": told.bound,
        "purity_bound": told.purity_bound,
        "detection": told.detection,
        "void_hides": told.void_hides,
        "has_voids": told.has_voids,
    }
    results = {"density": told.density, "solids": told.solids}
    return _tell(_Answer("density", results, notes, extra), as_json=as_json)


@command.command("mean")
@click.argument("values", nargs=-1, required=True, metavar="VALUE...")
@click.option("--each-u", metavar="U", help="Standard uncertainty of one assay by its own budget.")
@click.option("--common-u", metavar="U", help="Standard uncertainty that all assays share, such as the titrant's.")
@click.option("--unit", default="%", help="Unit of the values, % otherwise.")
@json_option
def mean(values: tuple[str, ...], *, each_u: str | None, common_u: str | None, unit: str, as_json: bool) -> int:
    """Give the mean of several assays, its standard uncertainty and its t interval (95 %)."""
    from stirfall.physics.assay import mean_of_assays

    numbers = [parse_number(value) for value in values]
    told = mean_of_assays(
        numbers,
        each_u=None if each_u is None else parse_number(each_u),
        common_u=None if common_u is None else parse_number(common_u),
        unit=unit,
    )
    notes = []
    if told.n == 1:
        notes.append(Reason("assay.one_only"))
    elif told.u is None:
        notes.append(Reason("assay.no_scatter"))
    if as_json:
        extra = {name: getattr(told, name) for name in ("n", "s", "df", "lower", "upper", "level")}
        say_json(_document("mean", {"mean": measured_json(told.measured)}, notes, extra))
        return 0
    for line in _mean_lines(told):
        say(line)
    _say_notes(notes)
    return 0


def _mean_lines(told: Repeated) -> list[str]:
    from stirfall.physics.measured import Measured

    count = "1 assay" if told.n == 1 else f"{told.n} assays"
    lines = [f"mean: {told.measured.text()}, {count}"]
    if told.s is not None:
        lines.append(f"standard deviation of one: {Measured(told.s, None, told.unit).bare()}")
    if told.lower is not None and told.upper is not None:
        low, high = (format_number(end, digits=4) for end in (told.lower, told.upper))
        lines.append(f"t interval ({100.0 * told.level:.0f} %): {low} to {high} {told.unit}")
    return lines


def _read(text: str, unit: str = "") -> Measured:
    from stirfall.physics.measured import read_measured

    try:
        return read_measured(text, unit)
    except InputError as error:
        raise InputError("assay.number", text=text) from error


def _number(text: str | None) -> float:
    return 0.0 if text is None else parse_number(text)


def _scatter_note(repeatability: str | None) -> list[Reason]:
    return [Reason("assay.repeatability_left_out")] if repeatability is None else []


def _share(
    name: str, amount: Measured, sample: str | None, molar_mass: str | None, valence: int
) -> dict[str, Derived]:
    """Return the mass share of metal under ``name``, nothing unless both sample and molar mass were given."""
    from stirfall.physics.assay import metal_share_of

    if (sample is None) != (molar_mass is None):
        raise click.UsageError("Give --sample and --molar-mass together.")
    if sample is None or molar_mass is None:
        return {}
    return {name: metal_share_of(amount, _read(molar_mass, "g/mol"), _read(sample, "g"), valence)}


def _whole(shares: Mapping[str, Derived]) -> list[Reason]:
    return [
        Reason("assay.over_whole", {"share": each.measured.percent()})
        for each in shares.values()
        if each.measured.value - 2.0 * (each.measured.u or 0.0) > 1.0
    ]


def _tell(answer: _Answer, *, as_json: bool) -> int:
    notes = list(answer.notes)
    if any(result.measured.u is None for result in answer.results.values()):
        notes.insert(0, Reason("assay.u_unknown"))
    if as_json:
        results = {
            name: {**(measured_json(result.measured) or {}), "budget": budget_json(result.budget)}
            for name, result in answer.results.items()
        }
        say_json(_document(answer.kind, results, notes, answer.extra))
        return 0
    for name, result in answer.results.items():
        shown = result.measured if result.measured.unit else result.measured.percent()
        say(f"{name}: {shown.text()}")
        for line in result.budget:
            if line.share is not None:
                say(f"  {100.0 * line.share:.0f} % of the variance: {label(line.name)}")
    _say_notes(notes)
    return 0


def _say_notes(notes: list[Reason]) -> None:
    for reason in [*notes, Reason("assay.trained_only")]:
        say(f"Note: {sentence(reason.code, reason.params)}")


def _document(
    kind: str, results: Mapping[str, object], notes: list[Reason], extra: Mapping[str, object]
) -> dict[str, object]:
    said = [*notes, Reason("assay.trained_only")]
    return {
        "schema": SCHEMA,
        "kind": kind,
        "results": results,
        **extra,
        "notes": [{"code": reason.code, "text": sentence(reason.code, reason.params)} for reason in said],
    }
