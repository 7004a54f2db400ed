"""Planned campaigns against campaigns in a space-filling order, on invented truths, judged by the same model."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from statistics import mean
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[1] / "benchmarks" / "closed_loop.py"


@pytest.fixture(scope="module")
def closed_loop() -> ModuleType:
    spec = importlib.util.spec_from_file_location("closed_loop_benchmark", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_planned_attempts_save_attempts_against_a_space_filling_order(closed_loop, capsys):
    # No source: measured with these 8 campaigns of 14 attempts, on average over grit and beads. The shortfall from
    # the sixth attempt on falls by 0.110 (standard error 0.05), 1.9 attempts (0.9) are saved until settled. Planned
    # by information alone the same campaigns save 0.076, which the first bar refuses, and 1.6: so few campaigns do
    # not tell the two apart by settling, the second bar only keeps planning ahead of space filling. The same seeds
    # give the same figures; planned_orders.py has the comparison with errors small enough to judge by.
    found = closed_loop.run(truths=("grit", "beads"), orders=("reliable",), campaigns=8, most=14, effort="quick")
    with capsys.disabled():
        for label, figures in found.items():
            print(f"\n{label:24s} {figures}", end="")
        print()
    planned = [found["grit: reliable"], found["beads: reliable"]]
    assert sum(each["shortfall_saved"] for each in planned) / 2 > 0.09
    assert sum(each["settled_saved"] for each in planned) / 2 > 1.0


@pytest.mark.slow
def test_the_interval_at_best_keeps_its_promise_in_campaigns_that_chose_their_attempts(closed_loop):
    # Exactly known: where truths are drawn from the prior, a posterior interval at 95 % holds the truth in 95 % of
    # campaigns, whatever rule chose the attempts and however the conditions were picked afterwards. With 24
    # campaigns fewer than 19 would happen with a probability of 0.1 % (binomial).
    held = 0
    for seed in range(24):
        truth = closed_loop.drawn_from_the_prior(seed)
        said = closed_loop.campaign(truth, "reliable", seed, most=8, judge_from=8, effort="quick")[-1][1]
        held += said.probability.lower <= truth.clean(said.conditions) <= said.probability.upper
    assert held >= 19


@pytest.mark.slow
def test_the_refined_answer_finds_a_best_age_that_was_recorded_as_clean_or_not_only(closed_loop):
    # The best possible is 0.62. Measured with these 12 campaigns of 24 attempts: 0.45 (standard error 0.07) planned
    # and judged by the refined answer, 0.02 (0.003) by the first one, which has no hump with a single gate.
    truth, recorded = closed_loop.TRUTHS["beads"], closed_loop.Recorded(counted=True)
    reached = {}
    for answer in ("first", "refined"):
        ends = [
            closed_loop.campaign(
                truth,
                "reliable",
                seed,
                most=24,
                judge_from=24,
                answer=answer,
                recorded=recorded,
                at_once=3,
                effort="quick",
            )[-1][1]
            for seed in range(12)
        ]
        reached[answer] = mean(truth.clean(end.conditions) for end in ends)
    assert reached["refined"] > 0.30
    assert reached["refined"] > reached["first"] + 0.20


@pytest.mark.slow
def test_the_refined_intervals_hold_new_lots_and_known_ones(closed_loop):
    # Four lots of six attempts, standard deviation of a lot's effect 1 on both gates, intervals at 95 %. Measured
    # with 20 campaigns (standard errors over campaigns): the refined answer holds 0.92 (0.03) of new lots and 0.94
    # (0.03) of known ones; the first answer, which knows no lots, 0.66 (0.04) and 0.80 (0.05).
    truth, recorded = closed_loop.TRUTHS["grit"], closed_loop.Recorded(lots=4)
    held = [closed_loop.lots_held(truth, seed, most=24, recorded=recorded, effort="quick") for seed in range(12)]
    new = {answer: mean(each[answer][0] for each in held) for answer in ("first", "refined")}
    known = {answer: mean(each[answer][1] for each in held) for answer in ("first", "refined")}
    assert new["refined"] > 0.88
    assert known["refined"] > 0.85
    assert new["refined"] > new["first"] + 0.10
