"""A proof in sequence as a table, and as a picture of a fixed size on the light theme with its words below."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QImage

from stirfall.desktop.odds.table_dialog import PictureTable, as_csv
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.plan.proof_plot import ProofPlot
from stirfall.desktop.plan.proof_state import Steps
from stirfall.desktop.theme import LIGHT
from stirfall.storage.copies import write_atomic

SIZE = QSize(900, 480)
TITLE = "A proof in sequence"
_HEADER = ("attempts", "failures", "shown at or below", "not shown at or above")
_EXACT = ("attempts", "failures", "line_shown", "line_not_shown")


def proof_table(steps: Steps) -> PictureTable:
    """Return the run and both lines after each attempt up to the cut; failures only as far as the run goes."""
    made = dict(steps.path)
    rows = []
    for n in range(steps.most + 1):
        failures = "" if n not in made else str(made[n])
        rows.append(
            (str(n), failures, f"{steps.slope * n + steps.shown:.2f}", f"{steps.slope * n + steps.refused:.2f}")
        )
    shown = tuple((n, failures, *(line.replace("-", "−") for line in lines)) for n, failures, *lines in rows)
    return PictureTable(title=TITLE, header=_HEADER, shown=shown, exact_header=_EXACT, exact=tuple(rows))


def proof_image(steps: Steps, caption: str) -> QImage:
    """Return the picture as an image of a fixed size, whatever the screen."""
    return _sheet(steps, caption).image()


def save_proof(steps: Steps, caption: str, path: Path) -> None:
    """Write the proof as its suffix says: .png, .svg or .csv (RFC 4180, UTF-8); raises OSError."""
    if path.suffix.lower() == ".csv":
        write_atomic(path, as_csv(proof_table(steps)).encode("utf-8"))
    elif path.suffix.lower() == ".svg":
        _sheet(steps, caption).save_svg(path)
    else:
        _sheet(steps, caption).save_png(path)


def _sheet(steps: Steps, caption: str) -> PictureSheet:
    return PictureSheet(TITLE, caption, SIZE, partial(_plot, steps))


def _plot(steps: Steps, ink: float) -> ProofPlot:
    plot = ProofPlot(LIGHT, ink=ink)
    plot.lay_out(SIZE)
    plot.show_steps(steps, "")
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    return plot
