"""Published maximum-likelihood fits, reproduced by the library to the printed digits.

The printed figures are quoted from memory of the sources named beside each; they were recomputed independently and
agree. ``data/SOURCES.md`` says where each table comes from.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from stirfall.inference.ml import fit_ml

DATA = Path(__file__).parent / "data"


def table(name: str) -> dict[str, np.ndarray]:
    with (DATA / f"{name}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


def with_intercept(*columns):
    return np.column_stack([np.ones(len(columns[0])), *columns])


def check(fit, estimates, errors, *, deviance=None, null=None, df=None):
    assert fit.exists
    for value, printed in zip(fit.estimate, estimates, strict=True):
        assert value == pytest.approx(printed, abs=0.51e-4)
    for value, printed in zip(fit.se, errors, strict=True):
        assert value == pytest.approx(printed, abs=0.51e-4)
    assert fit.deviance == pytest.approx(deviance, abs=0.51e-4)
    assert fit.df == df
    if null is not None:
        assert fit.null_deviance == pytest.approx(null, abs=0.51e-4)


def test_vasoconstriction():
    # Finney 1947, Biometrika 34:320 (data); Pregibon 1981, Ann. Stat. 9:705 (fit); row 32 has Rate 0.03
    data = table("vasoconstriction")
    fit = fit_ml(with_intercept(np.log(data["Volume"]), np.log(data["Rate"])), data["Y"], 1)
    check(fit, (-2.8754, 5.1793, 4.5617), (1.3208, 1.8649, 1.8380), deviance=29.2274, null=54.0398, df=36)


def test_o_rings_any_incident():
    # Dalal, Fowlkes & Hoadley 1989, JASA 84:945; success = any incident (Total > 0) on the flight
    data = table("orings_incidents")
    fit = fit_ml(with_intercept(data["Temperature"]), data["Total"] > 0, 1)
    assert fit.estimate == pytest.approx([15.0429, -0.23216], abs=0.51e-4)
    assert fit.estimate[1] == pytest.approx(-0.23216, abs=0.51e-5)
    assert fit.se[1] == pytest.approx(0.10824, abs=0.51e-5)
    assert (fit.se[0], fit.deviance, fit.null_deviance) == pytest.approx((7.3786, 20.3152, 28.2672), abs=0.51e-4)
    assert fit.df == 21


def test_o_rings_distressed_of_six():
    # Dalal, Fowlkes & Hoadley 1989, JASA 84:945; success = one of the six field-joint rings distressed
    data = table("orings_field_joints")
    fit = fit_ml(with_intercept(data["temp_F"]), data["n_distressed"], data["n_rings"])
    assert (fit.estimate[0], fit.se[0]) == pytest.approx((5.0850, 3.0525), abs=0.51e-4)
    assert (fit.estimate[1], fit.se[1]) == pytest.approx((-0.11560, 0.04702), abs=0.51e-5)
    assert (fit.deviance, fit.null_deviance) == pytest.approx((18.0863, 24.2304), abs=0.51e-4)
    assert fit.df == 21
    at_31 = 1 / (1 + np.exp(-(fit.estimate @ [1.0, 31.0])))
    assert at_31 == pytest.approx(0.8178, abs=0.51e-4)


def test_spector_and_mazzeo():
    # Greene, Econometric Analysis; data from statsmodels.datasets.spector
    from statsmodels.datasets import spector

    frame = spector.load_pandas().data
    fit = fit_ml(with_intercept(frame["GPA"], frame["TUCE"], frame["PSI"]), frame["GRADE"], 1)
    assert fit.estimate[[0, 1, 3]] == pytest.approx([-13.0213, 2.8261, 2.3787], abs=0.51e-4)
    assert fit.se[[0, 1, 3]] == pytest.approx([4.9313, 1.2629, 1.0646], abs=0.51e-4)
    assert (fit.estimate[2], fit.se[2]) == pytest.approx((0.09516, 0.14155), abs=0.51e-5)
    assert fit.deviance == pytest.approx(25.7793, abs=0.51e-4)
    assert fit.df == 28


def test_beetles():
    # Bliss 1935, Ann. Appl. Biol. 22:134 (data); Dobson, An Introduction to Generalized Linear Models (fit)
    data = table("beetles")
    fit = fit_ml(with_intercept(data["log10_dose"]), data["killed"], data["n"])
    check(fit, (-60.7175, 34.2703), (5.1807, 2.9121), deviance=11.2322, null=284.2025, df=6)


def test_bioassay():
    # Racine et al. 1986, Appl. Stat. 35:93; Gelman et al., Bayesian Data Analysis
    data = table("bioassay")
    fit = fit_ml(with_intercept(data["log_dose"]), data["deaths"], data["n"])
    assert fit.estimate == pytest.approx([0.84658, 7.74882], abs=0.51e-5)
    # Printed 1.01908 and 4.87269: weights one step before the end, as iteratively reweighted least squares leaves
    # them. At the maximum they are 1.019085 and 4.872768, which the information itself confirms below.
    assert fit.se == pytest.approx([1.01908, 4.87269], rel=2e-5)
    X = with_intercept(data["log_dose"])
    p = 1 / (1 + np.exp(-(X @ fit.estimate)))
    information = X.T @ np.diag(data["n"] * p * (1 - p)) @ X
    assert fit.se == pytest.approx(np.sqrt(np.diag(np.linalg.inv(information))), rel=1e-7)
    assert fit.deviance == pytest.approx(0.054742, abs=0.51e-6)
    assert fit.df == 2


def test_endometrial_cancer_has_no_maximum_likelihood_estimate():
    # Heinze & Schemper 2002, Stat. Med. 21:2409: NV is quasi-completely separated, its estimate is infinite
    data = table("endometrial")
    fit = fit_ml(with_intercept(data["NV"], data["PI"], data["EH"]), data["HG"], 1)
    assert not fit.exists
    assert fit.reason is not None
    assert fit.reason.code == "ml.quasi_separation"
    assert fit_ml(with_intercept(data["PI"], data["EH"]), data["HG"], 1).exists
