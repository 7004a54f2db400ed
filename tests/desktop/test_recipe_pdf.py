from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from itertools import combinations
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.pdf import write_recipe_pdf
from stirfall.desktop.pdf_sheet import FOOT, LEFT, MM, RIGHT, TOP, Placed
from stirfall.reporting.recipe import Recipe, make_recipe
from stirfall.session.analysis import analyse
from stirfall.storage.package import read_package

ROOT = Path(__file__).parents[2]
LONG = "A campaign with a title that is rather longer than most people would ever type into such a field"


def build(
    key: str, *, material: MaterialClass | None = None, title: str | None = None, best: bool = False
) -> Recipe:
    state = read_package(ROOT / "sample_sessions" / key).state
    settings = replace(
        state.settings, material=material or state.settings.material, title=title or state.settings.title
    )
    analysis = analyse(replace(state, settings=settings))
    conditions = analysis.best().conditions if best else Conditions({f.name: f.middle for f in state.factors})
    if material is MaterialClass.SUPEROXIDE_FORMER and not best:
        conditions = Conditions({**conditions, **analysis.limits.ceilings})
    return make_recipe(
        analysis,
        conditions,
        fingerprint="0123456789abcdef" * 4,
        session_name="a-session-with-a-long-name.stirfall",
        created_at=datetime(2026, 11, 24, 18, tzinfo=UTC),
    )


CASES = {
    "usual": ("tin-bismuth-dross", {}),
    "long": ("tin-bismuth-dross", {"title": LONG}),
    "best": ("work-holding-alloy", {"best": True}),
    "choice": ("gallium-beads", {"best": True}),
    "alkali": ("tin-bismuth-dross", {"material": MaterialClass.ALKALI_METAL}),
    "superoxide": ("tin-bismuth-dross", {"material": MaterialClass.SUPEROXIDE_FORMER, "title": LONG}),
    "other": ("gallium-beads", {"material": MaterialClass.OTHER}),
}


@pytest.fixture(params=CASES)
def drawn(request: pytest.FixtureRequest, qapp: object, tmp_path: Path) -> tuple[Recipe, bytes, tuple[Placed, ...]]:
    key, options = CASES[request.param]
    recipe = build(key, **options)
    path = tmp_path / "recipe.pdf"
    placed = write_recipe_pdf(recipe, path)
    return recipe, path.read_bytes(), placed


def test_it_is_a_pdf_of_at_most_five_sheets_with_vectors_only(
    drawn: tuple[Recipe, bytes, tuple[Placed, ...]],
) -> None:
    _, data, placed = drawn
    assert data.startswith(b"%PDF-1.")
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", data))
    assert pages == max(item.page for item in placed)
    assert 1 <= pages <= 5
    assert b"/Image" not in re.sub(rb"/Image[BCI]\b", b"", data)  # the standard list of procedure sets names them
    assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+59[45](\.\d+)?\s+84[12](\.\d+)?", data)  # ISO 216 A4 in points


def test_nothing_is_cut_and_nothing_overlaps(drawn: tuple[Recipe, bytes, tuple[Placed, ...]]) -> None:
    _, _, placed = drawn
    slack = 0.6 * MM
    for item in placed:
        assert LEFT - slack <= item.rect.left(), item
        assert item.rect.right() <= RIGHT + 8 * MM, item
        assert TOP - slack <= item.rect.top() <= item.rect.bottom() <= FOOT + 6 * MM, item
    for first, second in combinations(placed, 2):
        if first.page == second.page:
            common = first.rect.intersected(second.rect)
            assert common.width() < 1 or common.height() < slack, (first, second)


def test_every_part_of_the_recipe_is_on_paper(drawn: tuple[Recipe, bytes, tuple[Placed, ...]]) -> None:
    recipe, _, placed = drawn
    texts = [item.text for item in placed]
    everything = "\n".join(texts)
    for caution in recipe.cautions.items:
        assert caution.text in everything
        assert caution.source in everything
    for line in (*recipe.limits, *(step.text for step in recipe.steps), *(r.text for r in recipe.remarks)):
        assert line in texts or line in everything
    for value in recipe.values:
        assert value.shown() in texts
    assert recipe.handbook is not None
    book = recipe.handbook
    for line in (*book.apparatus, *book.tested, *book.failures, *book.unknown, *book.references):
        assert line in texts
    assert " ".join(book.purpose) in texts
    for step in recipe.steps:
        assert f"Should be seen: {step.see}" in texts
        assert f"If not: {step.otherwise}" in texts
    first = "\n".join(item.text for item in placed if item.page == 1)
    assert recipe.cautions.headline in first
    assert INVENTED_NOTICE in first
    assert f"page 1 of {max(item.page for item in placed)}" in first


def test_a_blocked_recipe_shows_no_curve_no_steps_and_no_large_number(qapp: object, tmp_path: Path) -> None:
    state = read_package(ROOT / "sample_sessions" / "tin-bismuth-dross").state
    analysis = analyse(replace(state, settings=replace(state.settings, oil_flash_c=None)))
    recipe = make_recipe(
        analysis,
        Conditions({f.name: f.middle for f in state.factors}),
        fingerprint="f" * 64,
        session_name="x",
        created_at=datetime(2026, 11, 24, tzinfo=UTC),
    )
    texts = [item.text for item in write_recipe_pdf(recipe, tmp_path / "blocked.pdf")]
    assert any(text.startswith("Stop") for text in texts)
    assert "Steps" not in texts
    assert "chance of a clean separation" not in texts
    assert any("This is no recommendation" in text for text in texts)


def test_a_place_that_cannot_be_written_is_reported(qapp: object, tmp_path: Path) -> None:
    with pytest.raises(FileTroubleError) as caught:
        write_recipe_pdf(build("gallium-beads"), tmp_path / "no-folder" / "recipe.pdf")
    assert caught.value.code == "recipe.not_written"


SCRIPT = """
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from stirfall.desktop.pdf import write_recipe_pdf
from stirfall.reporting.recipe import make_recipe
from stirfall.session.analysis import analyse
from stirfall.storage.package import read_package
analysis = analyse(read_package(Path(sys.argv[1])).state)
recipe = make_recipe(analysis, analysis.best().conditions, fingerprint="f" * 64, session_name="x",
                     created_at=datetime(2026, 11, 24, tzinfo=UTC))
write_recipe_pdf(recipe, Path(sys.argv[2]))
write_recipe_pdf(recipe, Path(sys.argv[3]))
"""


def test_it_works_in_a_process_without_screen_and_without_application(tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "QT_QPA_PLATFORM": "offscreen"}
    environment.pop("DISPLAY", None)
    first, second = tmp_path / "first.pdf", tmp_path / "second.pdf"
    sample = ROOT / "sample_sessions" / "gallium-beads"
    command = [sys.executable, "-W", "error", "-c", SCRIPT, str(sample), str(first), str(second)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    assert first.read_bytes().startswith(b"%PDF")
    assert second.stat().st_size > 10_000


def test_a_window_may_open_after_a_pdf_was_written() -> None:
    # Qt has one application per process: a smaller one, made for the PDF alone, would never let a window open.
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from stirfall.cli.main import run\n"
        "folder = Path(sys.argv[1])\n"
        "assert run(['new', str(folder / 'a.stirfall'), '--oil-flash', '225']) == 0\n"
        "assert run(['recipe', str(folder / 'a.stirfall'), '--out', str(folder / 'a.pdf')]) == 0\n"
        "from stirfall.desktop.app import grab_window\n"
        "grab_window(folder / 'a.png', folder / 'a.stirfall')\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        ran = subprocess.run(
            [sys.executable, "-c", script, folder],
            env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "QT_QPA_PLATFORM": "offscreen"},
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
        assert ran.returncode == 0, ran.stderr
        assert (Path(folder) / "a.png").stat().st_size > 10_000
