"""A drift as a table and as a picture of a fixed size on the light theme, and the menu that offers them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.evidence.drift_picture import DriftPicture
from stirfall.desktop.evidence.drift_plot import DriftPlot
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.table_dialog import PictureTable, TableDialog, as_csv
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.drift_words import chart_rows
from stirfall.reporting.sentences import sentence
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


class DriftExport(QToolButton):
    """A button with a menu; ``told`` gives the drift, the chart, the picture and its caption."""

    def __init__(
        self, workspace: Workspace, told: Callable[[], tuple[Drift, str, DriftPicture, str] | None]
    ) -> None:
        super().__init__()
        self.setObjectName("drift_picture")
        self.setText("Picture")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumHeight(TARGET)
        name_control(self, "Picture", "The picture as a table, a copy or a file")
        self._workspace, self._told = workspace, told
        self.dialog: QWidget | None = None
        menu = QMenu(self)
        menu.addAction("Show as &table", self.show_table)
        menu.addAction("&Copy picture", self.copy_picture)
        for kind, text in (("png", "Save as &PNG"), ("svg", "Save as &SVG"), ("csv", "Save numbers as CS&V")):
            menu.addAction(text, partial(self._ask_where, kind))
        self.setMenu(menu)

    def show_table(self) -> None:
        """Open the numbers as a table."""
        if (told := self._told()) is not None:
            found, chart, _picture, caption = told
            table = drift_table(found, chart, decimal=self._workspace.decimal)
            dialog = TableDialog(table, caption, self.window())
            dialog.open()
            self.dialog = dialog

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        if (told := self._told()) is not None:
            QGuiApplication.clipboard().setImage(self._image(told[2], told[3]))
            self._workspace.notifier.info(sentence("course.copied"))

    def _image(self, picture: DriftPicture, caption: str) -> QImage:
        return _sheet(picture, caption).image()

    def _ask_where(self, kind: str) -> None:
        ask_where(
            self.window(),
            "Save picture",
            document=self._workspace.document,
            name=f"drift.{kind}",
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save(Path(path)),
        )

    def save(self, path: Path) -> None:
        """Write the picture or its numbers as the suffix says, and tell how it went."""
        if (told := self._told()) is None:
            return
        found, chart, picture, caption = told
        try:
            if path.suffix.lower() == ".csv":
                write_atomic(path, as_csv(drift_table(found, chart)).encode("utf-8"))
            elif path.suffix.lower() == ".svg":
                _sheet(picture, caption).save_svg(path)
            else:
                _sheet(picture, caption).save_png(path)
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        self._workspace.notifier.info(sentence("course.saved", {"name": path.name}))


def _sheet(picture: DriftPicture, caption: str) -> PictureSheet:
    return PictureSheet(TITLE, caption, SIZE, partial(_plot, picture))


def _plot(picture: DriftPicture, ink: float) -> DriftPlot:
    plot = DriftPlot(LIGHT, ink=ink)
    plot.lay_out(SIZE)
    plot.show_picture(picture, "")
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    return plot
