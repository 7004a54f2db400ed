"""The plan of an evening on paper: all attempts that are left, nothing cut, nothing overlapping, all cautions."""

from __future__ import annotations

from itertools import combinations

import pytest
from printed import placed_on

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.desktop.plan.evening_paper import evening_sheet
from stirfall.desktop.plan.tonight_state import DONE, TO_DO, Chance, TimetableLine, TonightState
from stirfall.desktop.printing.evening_drawing import evening_job
from stirfall.reporting.cautions import load_cautions

CHANCE = Chance("62\u2009%", "38 to 81\u2009%", "47 attempts", (0.38, 0.62, 0.81))
VALUES = tuple((factor.name, "24\u2009h or so") for factor in standard_factors())


def line(place: int, status: str = TO_DO, why: str = "Because.") -> TimetableLine:
    clock, pause = f"{17 + place}:00", "Break of 15\u2009min." if place > 1 else ""
    return TimetableLine(
        place, clock, f"J{place}", "L1", VALUES, CHANCE, "control", why, Conditions(), status, pause=pause
    )


def state(*lines: TimetableLine) -> TonightState:
    return TonightState("Tonight", "Tue 1 Dec 2026", lines=lines, total="All of it.", seed=7)


def campaign(material: MaterialClass = MaterialClass.ALKALI_METAL) -> CampaignState:
    settings = CampaignSettings(title="Invented dross", material=material, metal="invented alloy", invented=True)
    return CampaignState(settings, standard_factors())


@pytest.mark.parametrize("paper", ["A4", "US Letter"])
@pytest.mark.parametrize("count", [1, 3, 12])
def test_nothing_is_cut_and_nothing_overlaps(qapp: object, paper: str, count: int) -> None:
    del qapp
    lines = tuple(line(place, why="A long reason, said again. " * 6) for place in range(1, count + 1))
    job = evening_job(evening_sheet(state(*lines), campaign(), decimal="."), paper=paper)
    pages = placed_on(job)
    width, height = job.page_mm
    for page in pages:
        for each in page:
            assert each.rect.left() >= 5
            assert each.rect.top() >= 5
            assert each.rect.right() <= width - 5
            assert each.rect.bottom() <= height - 1
        for one, other in combinations(page, 2):
            shared = one.rect.intersected(other.rect)
            assert min(shared.width(), shared.height()) < 0.4, (one.text, other.text)
    text = "\n".join(each.text for page in pages for each in page)
    assert [text.count(f"\nJ{place}\n") for place in range(1, count + 1)] == [1] * count
    assert all(item.text in text for item in load_cautions(MaterialClass.ALKALI_METAL).items)


def test_it_says_for_which_day_which_order_and_what_is_left(qapp: object) -> None:
    del qapp
    job = evening_job(evening_sheet(state(line(1, DONE), line(2)), campaign(), decimal="."))
    text = "\n".join(each.text for each in placed_on(job)[0])
    for part in ("Tue 1 Dec 2026", "seed 7", "62\u2009%, 38 to 81\u2009%, 47 attempts", "Invented data", "J2"):
        assert part in text, part
    assert "J1" not in text
