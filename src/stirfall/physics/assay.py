"""Arithmetic for assay results that someone already has: titrations, gas volumes, and several assays together.

Numbers in, numbers out. How such a measurement is made on a reactive metal is not told here and must not be: it is
for trained people, by their own procedure, under local rules.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from stirfall.bench.errors import InputError
from stirfall.physics.constants import GAS_CONSTANT, ZERO_C_K
from stirfall.physics.measured import Derived, Measured, exact, propagate

# Saturation line of water: W. Wagner and A. Pruss 2002, J. Phys. Chem. Ref. Data 31, 387, equation 2.5 (also the
# IAPWS release on the saturation properties of ordinary water, 1992). Critical point 647.096 K, 22.064 MPa.
_WATER = ((-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0), (22.6807411, 3.5), (-15.9618719, 4.0))
_WATER_LAST = (1.80122502, 7.5)
_CRITICAL_K, _CRITICAL_KPA = 647.096, 22_064.0


@dataclass(frozen=True)
class Repeated:
    """Several assays of one thing: mean, standard deviation ``s`` of one assay, standard uncertainty of the mean.

    ``u`` and the t interval are None where nothing tells the uncertainty: one assay without its own, or assays
    that agree to the last digit. ``df`` are the effective degrees of freedom (infinite where ``u`` was given).
    """

    mean: float
    s: float | None
    u: float | None
    n: int
    df: float | None
    lower: float | None
    upper: float | None
    level: float
    unit: str = "%"

    @property
    def measured(self) -> Measured:
        """The mean with its standard uncertainty."""
        return Measured(self.mean, self.u, self.unit)


def titrant_concentration(
    *,
    mass_g: Measured,
    purity: Measured,
    molar_mass: Measured,
    volume_ml: Measured,
    repeatability_u: float = 0.0,
    equivalents: int = 1,
) -> Derived:
    """Return the concentration in mol/L of a titrant set against a weighed standard: 1000 z m P / (M V).

    ``purity`` is a share of 1, ``molar_mass`` in g/mol, ``equivalents`` the z that one molecule of the standard
    takes, ``repeatability_u`` the relative standard uncertainty of the whole titration. Model and symbols of the
    Eurachem/CITAC guide QUAM, example A2. Raises InputError ``assay.not_positive``.
    """
    _check_positive(mass=mass_g, purity=purity, molar_mass=molar_mass, volume=volume_ml)
    inputs = {
        "mass_g": mass_g,
        "purity": purity,
        "molar_mass": molar_mass,
        "volume_ml": volume_ml,
        "repeatability": Measured(1.0, repeatability_u),
        "equivalents": exact(equivalents),
    }
    return propagate(_concentration, inputs, "mol/L")


def titrated_amount(
    concentration: Measured, volume_ml: Measured, dilution: Measured | None = None, repeatability_u: float = 0.0
) -> Derived:
    """Return the amount in mmol that took ``volume_ml`` of a titrant of ``concentration`` mol/L.

    ``dilution`` is whole volume / titrated volume (exactly 1 where all of it was titrated). The amount is one of
    equivalents: of a base it counts metal, oxide and hydroxide together. Raises InputError ``assay.not_positive``.
    """
    factor = exact(1.0) if dilution is None else dilution
    _check_positive(concentration=concentration, volume=volume_ml, dilution=factor)
    inputs = {
        "concentration": concentration,
        "volume_ml": volume_ml,
        "dilution": factor,
        "repeatability": Measured(1.0, repeatability_u),
    }
    return propagate(
        lambda concentration, volume_ml, dilution, repeatability: (
            concentration * volume_ml * dilution * repeatability
        ),
        inputs,
        "mmol",
    )


def metal_share_of(amount_mmol: Measured, molar_mass: Measured, sample_g: Measured, valence: int = 1) -> Derived:
    """Return the mass share of metal in a sample from ``amount_mmol`` of electrons or equivalents that it gave.

    The metal gives ``valence`` of them per atom; ``molar_mass`` in g/mol. Raises InputError ``assay.not_positive``.
    """
    _check_positive(molar_mass=molar_mass, sample=sample_g, valence=exact(valence))
    inputs = {
        "amount_mmol": amount_mmol,
        "molar_mass": molar_mass,
        "sample_g": sample_g,
        "valence": exact(valence),
    }
    return propagate(
        lambda amount_mmol, molar_mass, sample_g, valence: amount_mmol / 1000.0 * molar_mass / (valence * sample_g),
        inputs,
    )


def water_vapour_kpa(temperature_c: float) -> float:
    """Return the pressure in kPa of saturated water vapour at 0 to 100 °C (Wagner & Pruss 2002, equation 2.5)."""
    kelvin = temperature_c + ZERO_C_K
    tau = 1.0 - kelvin / _CRITICAL_K
    # Term by term with **, so that an uncertain temperature goes through it too.
    total = _WATER_LAST[0] * tau ** _WATER_LAST[1]
    for coefficient, power in _WATER:
        total = total + coefficient * tau**power
    return float_power(math.e, _CRITICAL_K / kelvin * total) * _CRITICAL_KPA


def float_power(base: float, power: float) -> float:
    """Return ``base ** power`` (a positive base, so a real number), for plain and for uncertain powers."""
    result: float = base**power
    return result


def gas_amount(
    volume_ml: Measured, temperature_c: Measured, pressure_kpa: Measured, *, over_water: bool
) -> Derived:
    """Return the amount in mmol of an ideal gas: (p - p_water) V / (R T), p_water only where it stood over water.

    Volume in mL, pressure of the whole gas in kPa. Raises InputError ``assay.not_positive``, and
    ``assay.vapour`` unless 0 to 100 °C and a pressure above that of the vapour are given with ``over_water``.
    """
    _check_positive(volume=volume_ml, pressure=pressure_kpa, temperature=exact(temperature_c.value + ZERO_C_K))
    if over_water and not (
        0.0 <= temperature_c.value <= 100.0 and water_vapour_kpa(temperature_c.value) < pressure_kpa.value
    ):
        raise InputError("assay.vapour", temperature=temperature_c.value, pressure=pressure_kpa.value)

    def formula(volume_ml: float, temperature_c: float, pressure_kpa: float) -> float:
        dry = pressure_kpa - water_vapour_kpa(temperature_c) if over_water else pressure_kpa
        return dry * volume_ml / (GAS_CONSTANT * (temperature_c + ZERO_C_K))

    inputs = {"volume_ml": volume_ml, "temperature_c": temperature_c, "pressure_kpa": pressure_kpa}
    return propagate(formula, inputs, "mmol")


def oxidised_share(hydrogen_mmol: Measured, base_mmol: Measured) -> Derived:
    """Return the share of the metal that was oxide or hydroxide: 1 - 2 n(H2) / n(base), for a metal of valence 1.

    Only metal gives hydrogen, all of it counts as base. A result below zero means that one of the two is off.
    Raises InputError ``assay.not_positive``.
    """
    _check_positive(base=base_mmol)
    inputs = {"hydrogen_mmol": hydrogen_mmol, "base_mmol": base_mmol}
    return propagate(lambda hydrogen_mmol, base_mmol: 1.0 - 2.0 * hydrogen_mmol / base_mmol, inputs)


def mean_of_assays(
    values: Sequence[float],
    *,
    each_u: float | None = None,
    common_u: float | None = None,
    level: float = 0.95,
    unit: str = "%",
) -> Repeated:
    """Return the mean of n assays with s, u = sqrt(s²/n + common_u²) and its t interval (GUM 4.2.3, G.3 and G.4).

    ``each_u`` is the standard uncertainty of one assay by its own budget, which stands in for s where n = 1 or
    where all agree to the last digit; ``common_u`` what all share (titrant, balance) and no repetition lessens.
    Degrees of freedom by Welch and Satterthwaite, those of given uncertainties being infinite. Raises InputError
    ``assay.none`` without values, ``measured.impossible`` for what is not finite or a negative uncertainty.
    """
    if not values:
        raise InputError("assay.none")
    for u in (each_u, common_u):
        Measured(fmean(values), u)
    n, mean = len(values), fmean(values)
    s = stdev(values) if n > 1 else None
    scatter, own_df = (s, float(n - 1)) if s else (each_u or None, math.inf)
    if scatter is None:
        # A shared part alone says nothing about the scatter, so it would be too small.
        return Repeated(mean, s, None, n, None, None, None, level, unit)
    of_mean = scatter / math.sqrt(n)
    u = math.hypot(of_mean, common_u or 0.0)
    df = own_df * (u / of_mean) ** 4
    half = _t_quantile(level, df) * u
    return Repeated(mean, s, u, n, df, mean - half, mean + half, level, unit)


def _t_quantile(level: float, df: float) -> float:
    from scipy.special import ndtri, stdtrit

    upper = 0.5 + level / 2.0
    return float(ndtri(upper) if math.isinf(df) else stdtrit(df, upper))


def _concentration(
    *, mass_g: float, purity: float, molar_mass: float, volume_ml: float, repeatability: float, equivalents: float
) -> float:
    return 1000.0 * equivalents * mass_g * purity / (molar_mass * volume_ml) * repeatability


def _check_positive(**inputs: Measured) -> None:
    for name, measured in inputs.items():
        if measured.value <= 0.0:
            raise InputError("assay.not_positive", name=name.replace("_", " "), value=measured.value)
