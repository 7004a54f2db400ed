"""Assay arithmetic against printed figures from outside the project.

- Eurachem/CITAC Guide CG 4, Quantifying Uncertainty in Analytical Measurement, examples A2 and A3: values and
  uncertainties as printed in tables A2.1 and A3.1 of the guide's web edition.
- Vapour pressure of water: defining points of the IAPWS saturation release of 1992 (273.16 K, 0.611657 kPa;
  373.1243 K, 101.325 kPa) and the usual three digits of steam tables (20 C 2.34 kPa, 25 C 3.17 kPa).
"""

from __future__ import annotations

import json
import math

import pytest

from stirfall.physics.assay import titrant_concentration, titrated_amount, water_vapour_kpa
from stirfall.physics.measured import Measured, propagate

MASS, PURITY = Measured(0.3888, 0.00013), Measured(1.0, 0.00029)
MOLAR, VOLUME = Measured(204.2212, 0.0038), Measured(18.64, 0.013)
A2 = {"mass_g": MASS, "purity": PURITY, "molar_mass": MOLAR, "volume_ml": VOLUME}


def a2():
    return titrant_concentration(**A2, repeatability_u=0.0005)


def test_standardising_a_base_gives_the_printed_concentration_and_uncertainty():
    told = a2().measured
    assert f"{told.value:.5f}" == "0.10214"
    assert f"{told.u:.5f}" == "0.00010"
    assert told.text().replace("\u2009", " ") == "0.10214 ± 0.00010 mol/L (u, k = 1)"
    assert told.relative_u == pytest.approx(0.00097, abs=5e-6)


def test_the_budget_has_the_printed_relative_uncertainties_and_adds_up():
    """Table A2.1, column u(x)/x; the volume's is printed as 0.0007."""
    told = a2()
    printed = {
        "repeatability": (0.0005, 5e-6),
        "mass_g": (0.00033, 5e-6),
        "purity": (0.00029, 5e-6),
        "molar_mass": (0.000019, 5e-7),
        "volume_ml": (0.0007, 5e-5),
    }
    effects = {line.name: line.effect / told.measured.value for line in told.budget}
    assert effects.keys() == printed.keys()
    for name, (value, digit) in printed.items():
        assert effects[name] == pytest.approx(value, abs=digit)
    assert math.fsum(line.effect**2 for line in told.budget) == pytest.approx(told.measured.u**2, rel=1e-12)
    assert math.fsum(line.share for line in told.budget) == pytest.approx(1.0, rel=1e-12)
    assert [line.name for line in told.budget] == ["volume_ml", "repeatability", "mass_g", "purity", "molar_mass"]


def test_kragtens_spreadsheet_gives_the_same():
    """The guide checks itself by this method too: one column per input, moved by its u (appendix E.2)."""
    values = {name: each.value for name, each in A2.items()} | {"rep": 1.0}
    us = {name: each.u for name, each in A2.items()} | {"rep": 0.0005}

    def concentration(mass_g, purity, molar_mass, volume_ml, rep):
        return rep * 1000.0 * mass_g * purity / (molar_mass * volume_ml)

    middle = concentration(**values)
    moved = [concentration(**{**values, name: values[name] + us[name]}) - middle for name in values]
    assert a2().measured.u == pytest.approx(math.hypot(*moved), rel=5e-4)
    assert a2().measured.value == pytest.approx(middle)


def test_the_command_line_prints_the_published_result(stirfall_command):
    arguments = (
        "assay",
        "titration",
        "--mass=0.3888±0.00013",
        "--purity=1±0.00029",
        "--molar-mass=204.2212±0.0038",
        "--volume=18.64±0.013",
        "--repeatability=0.0005",
    )
    text = stirfall_command(*arguments)
    assert text.code == 0
    assert "concentration: 0.10214 ± 0.00010 mol/L (u, k = 1)" in text.out.replace("\u2009", " ")
    document = json.loads(stirfall_command(*arguments, "--json").out)
    result = document["results"]["concentration"]
    assert (f"{result['value']:.5f}", f"{result['u']:.5f}") == ("0.10214", "0.00010")
    assert math.fsum(line["share"] for line in result["budget"]) == pytest.approx(1.0)


def test_an_acid_against_that_base_gives_the_printed_concentration():
    """Example A3: 0.10139 mol/L. The printed u, 0.00016, is no check: the table's own inputs give 0.00019."""
    base = titrant_concentration(mass_g=MASS, purity=PURITY, molar_mass=MOLAR, volume_ml=Measured(18.64, 0.016))
    amount = titrated_amount(base.measured, Measured(14.89, 0.015), repeatability_u=0.001).measured
    acid = propagate(lambda amount, volume: amount / volume, {"amount": amount, "volume": Measured(15.0, 0.011)})
    assert f"{acid.measured.value:.5f}" == "0.10139"
    relative = [0.001, 0.00013 / 0.3888, 0.00029, 0.0038 / 204.2212, 0.016 / 18.64, 0.015 / 14.89, 0.011 / 15.0]
    assert acid.measured.relative_u == pytest.approx(math.hypot(*relative), rel=1e-6)


@pytest.mark.parametrize(
    ("temperature", "kpa", "digit"),
    [(0.01, 0.611657, 1e-6), (99.9743, 101.325, 1e-3), (20.0, 2.34, 0.005), (25.0, 3.17, 0.005)],
)
def test_water_vapour_has_the_printed_pressures(temperature, kpa, digit):
    assert water_vapour_kpa(temperature) == pytest.approx(kpa, abs=digit)
