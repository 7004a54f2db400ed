"""Make the pictures of the guide from the program itself: ``make_guide_pictures.py [FOLDER] [NAME ...]``.

Each shows the one part of the window that its page is about, with an invented sample at a fixed time. No screen is
needed. With names only those are made.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from make_pictures import NOW, Studio
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QDialog, QWidget

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.desktop.app import application

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
        assert len(found) == 1, found
        return found[0]

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
    studio.press("compare_act")
    return found


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
    ("cautions", menu("Cautions…")),
    ("factors", menu("Factors…")),
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
