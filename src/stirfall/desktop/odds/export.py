"""Pictures for papers and notebooks: PNG, SVG and CSV at a fixed size, on the light theme, with their caption."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QImage

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.curve_plot import CurvePlot
from stirfall.desktop.odds.map_plot import MapPlot
from stirfall.desktop.odds.outcome_plot import OutcomePlot
from stirfall.desktop.odds.picture_plot import PicturePlot
from stirfall.desktop.odds.state import MapPicture, OddsState, OutcomePicture, TimePicture
from stirfall.desktop.odds.table_dialog import (
    PictureTable,
    as_csv,
    curve_table,
    map_table,
    outcome_table,
    time_table,
)
from stirfall.desktop.odds.time_plot import TimePlot
from stirfall.desktop.picture_sheet import PNG_SCALE, PictureSheet, replace_file
from stirfall.desktop.theme import LIGHT

SIZE = QSize(900, 600)
"""The size of the plot in an exported picture, in points at 96 per inch; the caption comes below it."""


def table_of(state: OddsState) -> PictureTable | None:
    """Return the numbers of the picture in view, or None when there is none."""
    picture = state.picture
    if isinstance(picture, MapPicture):
        return map_table(picture, decimal=state.decimal)
    if isinstance(picture, TimePicture):
        return time_table(picture, decimal=state.decimal)
    if isinstance(picture, OutcomePicture):
        return outcome_table(picture, decimal=state.decimal)
    return curve_table(picture, decimal=state.decimal) if picture else None


def picture_image(state: OddsState, *, scale: int = PNG_SCALE) -> QImage:
    """Return the picture in view as an image of a fixed size, whatever the screen."""
    return _sheet(state).image(scale=scale)


def save_png(state: OddsState, path: Path) -> None:
    """Write the picture in view as PNG; raises OSError."""
    _sheet(state).save_png(path)


def save_svg(state: OddsState, path: Path) -> None:
    """Write the picture in view as SVG; raises OSError."""
    _sheet(state).save_svg(path)


def save_csv(state: OddsState, path: Path) -> None:
    """Write the numbers of the picture in view as CSV (RFC 4180, UTF-8); raises OSError."""
    table = table_of(state)
    if table is not None:
        replace_file(path, lambda target: target.write_bytes(as_csv(table).encode("utf-8")) > 0)


def _sheet(state: OddsState) -> PictureSheet:
    table = table_of(state)
    caption = state.picture.caption if state.picture else ""
    return PictureSheet(table.title if table else "", caption, SIZE, partial(_plot, state))


def _plot(state: OddsState, ink: float) -> PicturePlot:
    """Make the plot anew for the export, laid out at the export's size without being shown."""
    estimate: Estimate | None = state.headline.estimate
    plot: CurvePlot | OutcomePlot | MapPlot | TimePlot
    if state.view == "outcomes":
        plot = OutcomePlot(LIGHT, ink=ink)
        plot.lay_out(SIZE)
        plot.place(state.at)
        plot.show_picture(state.outcomes, late=False, decimal=state.decimal)
        plot.show_mark(state.at, estimate)
    elif state.view == "time":
        plot = TimePlot(LIGHT, ink=ink)
        plot.lay_out(SIZE)
        plot.place(state.at)
        plot.show_picture(state.time, late=False, decimal=state.decimal)
        plot.show_mark(state.at, estimate)
    elif state.view == "map":
        plot = MapPlot(LIGHT, ink=ink)
        plot.lay_out(SIZE)
        plot.show_picture(state.surface, late=False, decimal=state.decimal)
        plot.show_mark(state.map_at, estimate)
    else:
        plot = CurvePlot(LIGHT, ink=ink)
        plot.lay_out(SIZE)
        plot.show_picture(state.curve, show_gates=state.show_gates, late=False, decimal=state.decimal)
        plot.show_mark(state.at, estimate)
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    return plot
