"""The bench sheet on paper: nothing is dropped, cut or too small, on A4 and Letter."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.desktop.pdf import reader_job
from stirfall.desktop.pdf_bench import LEAST_PT, bench_job, write_bench_pdf
from stirfall.desktop.printing.canvas import Placed
from stirfall.desktop.printing.jobs import pdf_of, picture
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.recipe import Recipe, make_recipe
from stirfall.reporting.recipe_batch import BatchOrder
from stirfall.reporting.recipe_sheet import make_bench_sheet
from stirfall.session.analysis import analyse
from stirfall.storage.package import read_package

ROOT = Path(__file__).parents[2]
CASES = {
    "usual": ("tin-bismuth-dross", None, {}),
    "choice": ("gallium-beads", None, {}),
    "superoxide": ("work-holding-alloy", MaterialClass.SUPEROXIDE_FORMER, {}),
    "large": ("work-holding-alloy", None, {"charge_g": 150.0, "stirrer_mm": 60.0}),
}


def build(key: str, material: MaterialClass | None, order: dict[str, float]) -> Recipe:
    state = read_package(ROOT / "sample_sessions" / key).state
    state = replace(state, settings=replace(state.settings, material=material or state.settings.material))
    analysis = analyse(state)
    at = Conditions({each.name: each.middle for each in state.factors})
    made = make_recipe(
        analysis,
        Conditions({**at, **analysis.limits.ceilings}),
        fingerprint="0123456789abcdef" * 4,
        session_name="a-session.stirfall",
        created_at=datetime(2026, 11, 24, 18, tzinfo=UTC),
        batch=BatchOrder(**order),
    )
    return replace(made, number=7)


@pytest.fixture(scope="module", params=CASES)
def recipe(request: pytest.FixtureRequest) -> Recipe:
    return build(*CASES[request.param])


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_caution_limit_step_and_value_is_on_paper_and_inside_it(
    recipe: Recipe, paper: str, qapp: object
) -> None:
    sheet = make_bench_sheet(recipe)
    _, pages = pdf_of(bench_job(sheet, paper=paper))
    placed = [item for page in pages for item in page]
    texts = "\n".join(item.text for item in placed)
    wanted = [each.text for each in recipe.cautions.items] + list(recipe.limits)
    wanted += [value.value for step in sheet.steps for value in step.values if value.name != step.timed]
    wanted += [step.timer for step in sheet.steps if step.timer] + [
        f"{step.number} {step.heading}" for step in sheet.steps
    ]
    assert [text for text in wanted if text not in texts] == []
    width, height = paper_size(paper)
    for item in placed:
        assert min(item.rect.left(), item.rect.top()) >= 8, item.text
        assert min(width - 8 - item.rect.right(), height - 3 - item.rect.bottom()) >= 0, item.text


def test_steps_stand_on_the_first_page_in_large_type(recipe: Recipe, qapp: object) -> None:
    sheet = make_bench_sheet(recipe)
    _, pages = pdf_of(bench_job(sheet))
    first = {item.text: item.size for item in pages[0]}
    assert sheet.cautions.headline in first
    for step in sheet.steps:
        assert first[f"{step.number} {step.heading}"] > LEAST_PT
        for value in step.values:
            shown = step.timer if value.name == step.timed else value.value
            # Capitals of 12 pt are 3 mm high: 8 minutes of arc at 1.3 m, where 5 are the least that most people
            # can read (definition of visual acuity 1; worked here).
            assert first[shown] >= 12.0


def test_nothing_on_a_page_covers_anything_else(recipe: Recipe, qapp: object) -> None:
    _, pages = pdf_of(bench_job(make_bench_sheet(recipe)))
    for page in pages:
        for place, one in enumerate(page):
            for other in page[place + 1 :]:
                assert not _covers(one, other), (one.text, other.text)


def _covers(one: Placed, other: Placed) -> bool:
    common = one.rect.intersected(other.rect)
    return common.width() > 0.6 and common.height() > 0.45 * min(one.rect.height(), other.rect.height(), 5.0)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_the_text_of_the_pdf_can_be_read_by_others(tmp_path: Path, qapp: object) -> None:
    recipe = build(*CASES["usual"])
    path = tmp_path / "sheet.pdf"
    write_bench_pdf(make_bench_sheet(recipe), path)
    told = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    for words in ("Recipe no. 7", "6 Stir", "2:00", "reached", "Limits", "Cautions", "page 1 of 2"):
        assert words in told


def test_the_sheet_for_readers_prints_on_letter_too(qapp: object) -> None:
    job = reader_job(build(*CASES["usual"]), paper="Letter")
    assert job.page_mm == paper_size("Letter")
    image = picture(job, 0, 1.0)
    inked = sum(image.pixelColor(x, y).lightness() < 200 for x in range(20, 190, 3) for y in range(10, 260, 3))
    assert inked > 100
