"""An invented truth in film index is learned better by the film form than by age alone, where jars differ.

The truth has two gates that go opposite ways with the film; depth of oil and area of metal make the film of two
jars of one age differ several times over. Everything here is invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.session.analysis import Analysis, first_answer, refine
from stirfall.session.film_factor import prepare_with

AGE = Factor("sample age", "h", 1.0, 96.0, Scale.LOG)
HEAT = Factor("temperature", "C", 140.0, 170.0)
FILM = Factor("film index", "", 1.0, 1000.0, Scale.LOG)
BEST_FILM = 35.0


@dataclass(frozen=True)
class UsualJar:
    """The film under 15 mm of oil on 20 cm² of metal, for tests."""

    def index(self, columns):
        return film_of(columns["sample age"], 15.0, 20.0)


def film_of(age, depth, area):
    return 35.0 * np.sqrt(age / 12.0) * np.sqrt(15.0 / depth) * (20.0 / area)


def chance(film, heat):
    """Return the true chances of parting and of pooling."""
    z, t = np.log(np.asarray(film) / BEST_FILM), (np.asarray(heat) - 155.0) / 10.0
    return 1 / (1 + np.exp(-1.6 - 2.4 * z - 0.3 * t)), 1 / (1 + np.exp(-1.9 + 2.6 * z - 0.3 * t))


def jar_of(rng):
    """Return age, depth and area of one invented jar."""
    return math.exp(rng.uniform(0.0, math.log(96.0))), rng.uniform(8.0, 30.0), math.exp(rng.uniform(1.8, 4.2))


def invented(seed: int, count: int = 80) -> tuple[CampaignState, dict[str, float]]:
    """Return a campaign without film values, and the film of each attempt's jar."""
    rng = np.random.default_rng(seed)
    rows, films = [], {}
    for number in range(count):
        age, depth, area = jar_of(rng)
        heat = rng.uniform(140.0, 170.0)
        films[f"a{number}"] = float(film_of(age, depth, area))
        part, pool = chance(films[f"a{number}"], heat)
        parted = rng.random() < part
        pooled = (Pooled.ONE_POOL if rng.random() < pool else Pooled.BEADS) if parted else None
        conditions = Conditions({"sample age": age, "temperature": heat})
        rows.append(
            Attempt(f"a{number}", number + 1, conditions, parted=Parted.YES if parted else Parted.NO, pooled=pooled)
        )
    settings = CampaignSettings(invented=True, lot_effect="none", melting_point_c=120.0, oil_flash_c=230.0)
    return CampaignState(settings, (AGE, HEAT, FILM), attempts=tuple(rows)), films


def answers(seed: int) -> tuple[Analysis, Analysis]:
    """Return the answer with the film index, and the one of the same attempts by age alone."""
    state, films = invented(seed)
    by_both = prepare_with(state, FILM, UsualJar(), lambda attempt: films[attempt.id])
    by_age = prepare_with(state, FILM, None, lambda _attempt: None)
    return refine(first_answer(by_both)), refine(first_answer(by_age))


def log_score(analysis: Analysis, seed: int, *, with_film: bool) -> float:
    """Return the mean log probability that the answer gives to new attempts at jars that it never saw."""
    rng = np.random.default_rng(1000 + seed)
    jars = [jar_of(rng) for _ in range(300)]
    age, film = np.array([jar[0] for jar in jars]), np.array([film_of(*jar) for jar in jars])
    heat = rng.uniform(140.0, 170.0, len(jars))
    part, pool = chance(film, heat)
    columns = {"sample age": age, "temperature": heat} | ({"film index": film} if with_film else {})
    told, truth = analysis.model.means(columns), part * pool
    return float(np.mean(truth * np.log(told) + (1 - truth) * np.log1p(-told)))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_jars_that_differ_let_the_film_form_win(seed):
    both, alone = answers(seed)
    by_film = [score.weight for score in both.forms if "film index in place of age" in score.form.key]
    others = [score.weight for score in both.forms if "film index in place of age" not in score.form.key]
    assert both.forms[0].form.key == "two gates, film index in place of age"
    assert max(by_film) > 3 * max(others)
    assert not any("film" in score.form.key for score in alone.forms)
    assert both.counts.used == alone.counts.used == 80
    assert log_score(both, seed, with_film=True) > log_score(alone, seed, with_film=False) + 0.02


def test_the_best_age_is_that_of_the_usual_jar_at_the_best_film():
    both, _ = answers(1)
    found = both.best().conditions
    assert found.number("film index") == pytest.approx(
        float(film_of(found.number("sample age"), 15.0, 20.0)), rel=6e-3
    )
    assert BEST_FILM / 3 < found.number("film index") < BEST_FILM * 3


def test_jars_that_are_all_alike_leave_age_and_film_index_untold_apart():
    state, _ = invented(1)
    alike = prepare_with(
        state, FILM, UsualJar(), lambda attempt: float(film_of(attempt.conditions.number("sample age"), 15.0, 20.0))
    )
    analysis = refine(first_answer(alike))
    assert not analysis.forms_differ
