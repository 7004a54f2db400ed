"""A drift as a table and as a picture of a fixed size on the light theme, and the menu that offers them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QImage

from stirfall.desktop.evidence.drift_picture import DriftPicture
from stirfall.desktop.evidence.drift_plot import DriftPlot
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv
from stirfall.desktop.picture_button import PictureButton
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.drift_words import chart_rows
from stirfall.session.drift_records import Drift
from stirfall.storage.copies import write_atomic

SIZE = QSize(900, 480)
TITLE = "Attempts in time"


def drift_table(found: Drift, chart: str, *, decimal: str = ".") -> PictureTable:
    """Return the points of a chart with their limits, as the command line prints them."""
    header, *rows = chart_rows(found, chart, decimal=decimal)
    exact_header, *exact = chart_rows(found, chart, decimal=".", bare=True)
    return PictureTable(
        title=TITLE, header=header, shown=tuple(rows), exact_header=exact_header, exact=tuple(exact)
    )


class DriftExport(PictureButton):
    """A button with a menu; ``told`` gives the drift, the chart, the picture and its caption."""

    def __init__(
        self, workspace: Workspace, told: Callable[[], tuple[Drift, str, DriftPicture, str] | None]
    ) -> None:
        super().__init__(workspace, "drift", "drift_picture", "The picture as a table, a copy or a file")
        self._told = told

    def _table(self) -> tuple[PictureTable, str] | None:
        if (told := self._told()) is None:
            return None
        found, chart, _picture, caption = told
        return drift_table(found, chart, decimal=self._workspace.decimal), caption

    def _image(self) -> QImage | None:
        told = self._told()
        return None if told is None else _sheet(told[2], told[3]).image()

    def _write(self, path: Path) -> bool:
        if (told := self._told()) is None:
            return False
        found, chart, picture, caption = told
        if path.suffix.lower() == ".csv":
            write_atomic(path, as_csv(drift_table(found, chart)).encode("utf-8"))
        elif path.suffix.lower() == ".svg":
            _sheet(picture, caption).save_svg(path)
        else:
            _sheet(picture, caption).save_png(path)
        return True


def _sheet(picture: DriftPicture, caption: str) -> PictureSheet:
    return PictureSheet(TITLE, caption, SIZE, partial(_plot, picture))


def _plot(picture: DriftPicture, ink: float) -> DriftPlot:
    plot = DriftPlot(LIGHT, ink=ink)
    plot.lay_out(SIZE)
    plot.show_picture(picture, "")
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    return plot
