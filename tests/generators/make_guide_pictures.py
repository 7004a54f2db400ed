"""Make the pictures of the guide from the program itself: ``make_guide_pictures.py [FOLDER] [NAME ...]``.

Each shows the one part of the window that its page is about, with an invented sample at a fixed time. No screen is
needed. With names only those are made.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from make_pictures import NOW, SAMPLE, Studio
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.desktop.app import application
from stirfall.script_pool import pool
from stirfall.session.document import Document
from stirfall.session.samples import samples
from stirfall.storage.package import read_package

FOLDER = Path(__file__).resolve().parents[2] / "resources" / "guide" / "pictures"
Taker = Callable[[Studio], QWidget]


def page(name: str, *buttons: str) -> Taker:
    """Return what shows a page after some buttons were pressed."""

    def take(studio: Studio) -> QWidget:
        for each in (f"step_{name}", *buttons):
            studio.press(each)
        return studio.window.parts.pages[name]

    return take


def side(name: str, *buttons: str) -> Taker:
    """Return what shows a side of the window after some buttons were pressed."""

    def take(studio: Studio) -> QWidget:
        studio.press("step_bench")
        studio.shell.workspace.show_side(name)
        studio.settle()
        for each in buttons:
            studio.press(each)
        return studio.window.side

    return take


def bench(studio: Studio) -> QWidget:
    studio.press("step_bench")
    model = studio.window.parts.pages["bench"].model
    model.pick_jar(next(jar.id for jar in model.workspace.document.state.jars if jar.is_ageing))
    model.set_parted(Parted.YES)
    model.set_pooled(Pooled.ONE_POOL)
    return studio.window.parts.pages["bench"]


def shelf(studio: Studio) -> QWidget:
    studio.press("step_shelf")
    found = studio.window.parts.pages["shelf"]
    found.table.selectRow(1)
    return found


def attempts(studio: Studio) -> QWidget:
    studio.press("step_attempts")
    found = studio.window.parts.pages["attempts"]
    found.table.selectRow(2)
    return found


def dialog(open_it: Callable[[Studio], object]) -> Taker:
    """Return what shows the dialog that ``open_it`` opens."""

    def take(studio: Studio) -> QWidget:
        open_it(studio)
        studio.settle()
        found = [each for each in studio.app.topLevelWidgets() if isinstance(each, QDialog) and each.isVisible()]
        for files in (each for each in found if isinstance(each, QFileDialog)):
            files.reject()
        (one,) = (each for each in found if not isinstance(each, QFileDialog))
        return one

    return take


def menu(text: str) -> Taker:
    """Return what shows the dialog that an entry of the menus opens."""

    def act(studio: Studio) -> None:
        for entry in studio.window.menuBar().actions():
            for action in entry.menu().actions():
                if action.text().replace("&", "") == text:
                    action.trigger()
                    return
        raise LookupError(text)

    return dialog(act)


def compare(studio: Studio) -> QWidget:
    """Show a comparison of two lots."""
    found = page("evidence", "evidence_section_compare")(studio)
    studio.press("compare_start")
    return found


TABLE = """Notebook, spring 2026;;;;;
Day;Lot;Age;T;Stirring;Result
;;h;°C;1/min;
03.03.2026;L7;12,5;158;90;clean
03.03.2026;L7;24;160;120;beads
04.03.2026;L7;1,5;155;60;none
04.03.2026;L8;36;158;90;partial
05.03.2026;L8;48;161;95;good
"""


def import_table(studio: Studio) -> QWidget:
    """Show a table from a notebook with its columns guessed."""
    found = menu("Import a table…")(studio)
    path = studio.session.with_name("notebook.csv")
    path.write_text(TABLE, encoding="utf-8")
    found.model.start(str(path))
    studio.settle()
    return found


def two_benches(folder: Path) -> tuple[Path, Path]:
    """Make sessions of two invented benches from the attempts of the sample."""
    sample = next(each for each in samples() if each.key == SAMPLE)
    state = read_package(sample.folder).state
    made = []
    for name, attempts in (("North", state.attempts[::2]), ("South", state.attempts[1::2])):
        path = folder / f"{name.lower()}.stirfall"
        settings = replace(state.settings, bench_name=name, title=f"Invented dross, {name}")
        own = tuple(replace(each, run_id=None, id=f"{name}-{each.id}") for each in attempts)
        Document.create(path, settings, state.factors, lots=state.lots, jars=state.jars, attempts=own).close()
        made.append(path)
    return made[0], made[1]


def pool_dialog(studio: Studio) -> QWidget:
    """Show the dialog with two benches in it."""
    found = menu("Pool sessions…")(studio)
    found.model.remove(str(studio.session))
    found.model.add([str(path) for path in two_benches(studio.session.parent)])
    found.model.set_out("/home/bench/pooled.stirfall")
    studio.settle()
    return found


def benches(studio: Studio) -> QWidget:
    """Show what two benches say; the pooled session takes the place of the sample, so this one is the last."""
    place = studio.session.with_name("both")
    place.mkdir()
    north, south = two_benches(place)
    pool(place / "pooled.stirfall", {"North": north, "South": south})
    studio.shell.files.open_path(place / "pooled.stirfall")
    return page("evidence", "evidence_section_benches")(studio)


PICTURES: tuple[tuple[str, Taker], ...] = (
    ("shelf", shelf),
    ("bench", bench),
    ("attempts", attempts),
    ("odds", side("odds", "odds_view_curve")),
    ("outcomes", side("odds", "odds_view_outcomes")),
    ("next", side("odds", "odds_view_curve", "odds_next_1_why")),
    ("tonight", page("plan", "plan_section_tonight")),
    ("proof", page("plan", "plan_section_proof")),
    ("compare", compare),
    ("drift", page("evidence", "evidence_section_drift")),
    ("why", page("evidence", "evidence_section_why")),
    ("rivals", page("evidence", "evidence_section_rivals")),
    ("recipe", page("recipe")),
    ("melt", side("melt")),
    ("film", side("film")),
    ("effects", side("odds", "odds_view_effects")),
    ("trust", side("odds", "odds_view_trust")),
    ("cautions", menu("Cautions…")),
    ("factors", menu("Factors…")),
    ("settings", menu("Settings…")),
    ("report", menu("Report and bundle…")),
    ("import", import_table),
    ("pool", pool_dialog),
    ("grades", menu("What the classes look like…")),
    ("paper", menu("Paper sheet…")),
    ("assay", menu("Assay calculator…")),
    ("benches", benches),
)


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    wanted = set(sys.argv[2:])
    app = application()
    with tempfile.TemporaryDirectory() as place:
        studio = Studio(app, "light", Path(place) / "studio")
        studio.open()
        studio.shell.window.strip.clear()
        assert studio.clock.now() == NOW
        for name, take in PICTURES:
            if wanted and name not in wanted:
                continue
            widget = take(studio)
            assert widget.mapTo(widget.window(), QPoint(0, 0)).x() >= 0
            studio.photograph(folder / f"{name}.png", widget)
            if isinstance(widget, QDialog):
                widget.reject()
                studio.settle()
        studio.close()


if __name__ == "__main__":
    main()
