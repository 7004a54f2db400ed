"""Make the pictures of README from the program itself: ``make_pictures.py [FOLDER]``.

They show an invented sample at a fixed time. Run it in an environment with the program installed; no screen is
needed. The page of the recipe needs pdftoppm and is left as it is where that is missing.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["TZ"] = "UTC"

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import INVENTED_NOTICE, Attempt, Jar
from stirfall.bench.running import Step
from stirfall.desktop.app import application, make_parts, settle
from stirfall.desktop.pdf import write_recipe_pdf
from stirfall.desktop.pdf_bench import write_bench_pdf
from stirfall.desktop.printing import open_labels_dialog
from stirfall.desktop.run.page import RunPage
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import Theme
from stirfall.reporting.recipe_sheet import make_bench_sheet
from stirfall.session.clock import FixedClock
from stirfall.session.commands import RecordAttempt, SplitLot
from stirfall.session.samples import open_sample
from stirfall.session.settings import Settings

FOLDER = Path(__file__).resolve().parents[2] / "resources" / "pictures"
SAMPLE = "tin-bismuth-dross"
NOW = datetime(2026, 3, 4, 9, 30, tzinfo=UTC)
WIDTH, HEIGHT = 1360, 900
LARGEST = 250_000
REHEARSED = 25
NO_DITHER = Qt.ImageConversionFlag.ThresholdDither | Qt.ImageConversionFlag.AvoidDither


class Studio:
    """One window without a screen, with a sample in it, that is photographed."""

    def __init__(self, app: QApplication, theme: str, place: Path) -> None:
        self.app = app
        place.mkdir()
        settings = Settings(place / "settings.json")
        settings.change(theme=theme, decimal=".")
        self.shell = Shell(app, settings, make_parts)
        self.session = place / "dross.stirfall"
        self.window = self.shell.window
        self.window.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
        self.window.resize(WIDTH, HEIGHT)
        self.window.show()
        self.settle()

    def open(self) -> None:
        """Open the sample, with the start checklist of the day ticked."""
        self.clock = FixedClock(NOW)
        self.shell.workspace.open_document(open_sample(SAMPLE, self.session, clock=self.clock))
        self.settle()
        bench = self.window.parts.pages["bench"].model
        for item in bench.state.checklist.items:
            bench.tick(item.key, True)
        bench.finish_checklist()
        self.settle()

    def settle(self) -> None:
        settle(self.app, self.shell, 60.0)
        for _ in range(30):  # what is told to other views after a moment
            self.app.processEvents()
            self.app.thread().msleep(10)
        settle(self.app, self.shell, 60.0)

    def press(self, name: str) -> None:
        """Press a button by its name."""
        button = self.window.findChild(QAbstractButton, name)
        assert button is not None, name
        button.click()
        self.settle()

    def photograph(self, path: Path, dialog: QWidget | None = None) -> None:
        """Write what the window or a dialog shows; nothing has the keyboard, as its ring would draw the eye."""
        self.settle()
        front = dialog or self.window
        focus = front.focusWidget()
        if focus is not None:
            focus.clearFocus()
        self.app.processEvents()
        assert with_few_colours(front.grab().toImage(), self.shell.workspace.theme).save(str(path), "PNG", 0)
        assert path.stat().st_size <= LARGEST, f"{path.name}: {path.stat().st_size}"
        print(f"{path.name}: {path.stat().st_size // 1000} kB")

    def wait(self, seconds: float) -> None:
        """Let time go by on the clock of the session."""
        self.clock.advance(seconds=seconds)
        self.settle()

    def close(self) -> None:
        self.window.close()
        self.window.deleteLater()
        self.shell.deleteLater()


def with_few_colours(image: QImage, theme: Theme) -> QImage:
    """Return a picture in the colours of the marks and those that it has most of: a third of the size as a file."""
    plain = image.convertToFormat(QImage.Format.Format_RGB32)
    pixels = np.frombuffer(plain.constBits(), dtype=np.uint32)
    colours, counts = np.unique(pixels, return_counts=True)
    marks = [QColor(mark.colour).rgb() for mark in theme.marks.values()]
    table = [*marks, *(int(colour) for colour in colours[np.argsort(-counts)])][:256]
    return plain.convertToFormat(QImage.Format.Format_Indexed8, table, NO_DITHER)


def first_page(studio: Studio, folder: Path) -> None:
    studio.photograph(folder / "first_page.png")


def shelf(studio: Studio, folder: Path) -> None:
    studio.press("step_shelf")
    page = studio.window.parts.pages["shelf"]
    page.table.selectRow(1)
    studio.photograph(folder / "shelf.png")


def plan(studio: Studio, folder: Path) -> None:
    """Show the plan of an evening as it was kept, with the attempt in turn on top."""
    studio.press("step_plan")
    studio.press("plan_keep")
    studio.shell.window.strip.clear()
    studio.photograph(folder / "plan.png")


def bench(studio: Studio, folder: Path) -> None:
    """Show a form as it stands right before recording: a jar, a value in another unit, both questions answered."""
    studio.press("step_bench")
    model = studio.window.parts.pages["bench"].model
    jar = next(jar for jar in model.workspace.document.state.jars if jar.emptied_at is None)
    model.pick_jar(jar.id)
    model.type_value("temperature", "318 F")
    model.finish_typing()
    model.set_parted(Parted.YES)
    model.set_pooled(Pooled.ONE_POOL)
    studio.photograph(folder / "bench.png")
    model.clear()
    studio.shell.window.strip.clear()


def both_gates(studio: Studio, folder: Path) -> None:
    studio.press("step_bench")
    studio.press("odds_next_1_take")
    studio.press("odds_gates_shown")
    studio.photograph(folder / "suggestion.png")
    studio.press("odds_gates_shown")


def attempts(studio: Studio, folder: Path) -> None:
    studio.press("step_attempts")
    studio.window.parts.pages["attempts"].table.selectRow(2)
    studio.photograph(folder / "attempts.png")


def recipe(studio: Studio, folder: Path) -> None:
    """Show the recipe of the best condition, and the first page of its PDF."""
    studio.press("step_recipe")
    studio.press("Recipe from: best condition")
    studio.photograph(folder / "recipe.png")
    made = studio.window.parts.pages["recipe"].model.state.recipe
    with tempfile.TemporaryDirectory() as place:
        pdf = Path(place) / "recipe.pdf"
        write_recipe_pdf(made, pdf)
        page_of(pdf, folder / "recipe_page.png")
        sheet = Path(place) / "sheet.pdf"
        write_bench_pdf(make_bench_sheet(made), sheet)
        page_of(sheet, folder / "bench_sheet.png")


def compare(studio: Studio, folder: Path) -> None:
    """Show two lots compared."""
    studio.press("odds_view_curve")
    studio.press("step_evidence")
    studio.press("evidence_section_compare")
    studio.press("compare_start")
    studio.shell.window.strip.clear()
    studio.photograph(folder / "compare.png")


def drift(studio: Studio, folder: Path) -> None:
    studio.press("evidence_section_drift")
    studio.photograph(folder / "drift.png")


def page_of(pdf: Path, picture: Path) -> None:
    if shutil.which("pdftoppm") is None:
        print(f"{picture.name}: left as it is, pdftoppm is not installed")
        return
    stem = picture.with_suffix("")
    command = ["pdftoppm", "-png", "-r", "80", "-f", "1", "-l", "1", "-singlefile", str(pdf), str(stem)]
    subprocess.run(command, check=True)
    assert picture.stat().st_size <= LARGEST
    print(f"{picture.name}: {picture.stat().st_size // 1000} kB")


def map_view(studio: Studio, folder: Path) -> None:
    studio.press("step_bench")
    studio.press("odds_view_map")
    studio.photograph(folder / "map.png")


def outcomes(studio: Studio, folder: Path) -> None:
    studio.press("step_bench")
    studio.press("odds_view_outcomes")
    studio.photograph(folder / "outcomes.png")


def effects(studio: Studio, folder: Path) -> None:
    studio.press("odds_view_effects")
    studio.photograph(folder / "effects.png")


def trust(studio: Studio, folder: Path) -> None:
    studio.press("odds_view_trust")
    studio.photograph(folder / "trust.png")


def board(studio: Studio, folder: Path) -> None:
    """Show the board with jars of one split: some age, one is due to be started, one is planned for later."""
    studio.press("step_shelf")
    jars = tuple(
        Jar(name, "L5", NOW + timedelta(hours=hours), "white mineral oil", 15.0, "loose", 15.0, planned=hours > 0)
        for name, hours in (("J62", 0.0), ("J63", 2.0), ("J64", 5.0))
    )
    assert studio.shell.workspace.execute(SplitLot("L5", jars)) is not None
    studio.wait(2.1 * 3600.0)
    page = studio.window.parts.pages["shelf"]
    page.table.selectRow(0)
    studio.shell.window.strip.clear()
    studio.photograph(folder / "board.png")


def labels(studio: Studio, folder: Path) -> None:
    """Show the dialog that prints the labels of jars."""
    dialog = open_labels_dialog(studio.shell.workspace, ("J62", "J63", "J64"), studio.window)
    studio.settle()
    studio.photograph(folder / "labels.png", dialog)
    dialog.reject()


def run_step(studio: Studio, folder: Path) -> None:
    """Show a guided run while it is stirred, with one mark set."""
    studio.press("step_bench")
    bench = studio.window.parts.pages["bench"].model
    bench.pick_jar("J58")
    studio.press("begin_run")
    page = studio.window.findChild(RunPage)
    assert page is not None
    for is_next, seconds, reading in ((True, 260.0, "154"), (True, 90.0, "158"), (True, 500.0, "159")):
        if is_next:
            page.model.next()
        studio.wait(seconds)
        page.model.read_temperature(reading)
    while page.view is not None and page.view.step is not Step.STIR:
        page.model.next()
        studio.wait(1.0)
    studio.wait(41.0)
    page.model.mark()
    studio.wait(23.0)
    studio.photograph(folder / "run.png")


def proof(studio: Studio, folder: Path) -> None:
    """Show a proof in sequence after nine attempts, one of which failed."""
    studio.press("step_plan")
    studio.press("plan_section_proof")
    workspace, page = studio.shell.workspace, studio.window.parts.pages["plan"]
    page.proof.model.set_claim(80)
    studio.settle()
    page.proof.model.choose_plan("sequence")
    studio.press("proof_start")
    studio.press("proof_asks_act")
    running = workspace.document.state.open_proof
    for clean in (True, True, False, True, True, True, True, True, True):
        grade = (Parted.YES, Pooled.ONE_POOL if clean else Pooled.BEADS)
        made = Attempt("", 0, running.recipe, parted=grade[0], pooled=grade[1], proof_id=running.id)
        assert workspace.execute(RecordAttempt(made)) is not None
        studio.wait(3600.0)
    studio.shell.window.strip.clear()
    page.proof.area.verticalScrollBar().setValue(0)
    studio.photograph(folder / "proof.png")


def rehearsal(studio: Studio, folder: Path) -> None:
    """Show a rehearsal of a few campaigns under four orders; this one is really played, which takes a while."""
    studio.press("step_plan")
    studio.press("plan_section_rehearsal")
    model = studio.window.parts.pages["plan"].rehearsal.model
    while model.state.campaigns > REHEARSED:
        before = model.state.campaigns
        model.step_campaigns(-1)
        assert model.state.campaigns < before, "fewer campaigns can be chosen"
    model.step_target(1)
    studio.press("rehearsal_start")
    while model.is_running:
        studio.settle()
    studio.shell.window.strip.clear()
    studio.photograph(folder / "rehearsal.png")


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    app = application()
    pictures: tuple[tuple[str, tuple[Callable[[Studio, Path], None], ...]], ...] = (
        ("light", (shelf, bench, both_gates, attempts, recipe, outcomes, effects, trust, compare, drift)),
        ("dark", (map_view,)),
        ("light", (board, labels, plan, run_step)),
        ("light", (rehearsal, proof)),
    )
    with tempfile.TemporaryDirectory() as place:
        for number, (theme, wanted) in enumerate(pictures):
            studio = Studio(app, theme, Path(place) / str(number))
            if number == 0:
                first_page(studio, folder)
            studio.open()
            notice = studio.window.header.invented.findChild(QLabel)
            assert notice.isVisible()
            assert notice.text() == INVENTED_NOTICE
            for picture in wanted:
                picture(studio, folder)
            studio.close()


if __name__ == "__main__":
    main()
