"""Pictures for papers and notebooks: PNG, SVG and CSV at a fixed size, on the light theme, with their caption."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QPainter
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QApplication

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.curve_plot import CurvePlot
from stirfall.desktop.odds.map_plot import MapPlot
from stirfall.desktop.odds.outcome_plot import OutcomePlot
from stirfall.desktop.odds.picture_plot import PicturePlot
from stirfall.desktop.odds.state import MapPicture, OddsState, OutcomePicture
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv, curve_table, map_table, outcome_table
from stirfall.desktop.theme import LIGHT

SIZE = QSize(900, 600)
"""The size of the plot in an exported picture, in points at 96 per inch; the caption comes below it."""
PNG_SCALE = 2
_PAD = 16


def table_of(state: OddsState) -> PictureTable | None:
    """Return the numbers of the picture in view, or None when there is none."""
    picture = state.picture
    if isinstance(picture, MapPicture):
        return map_table(picture, decimal=state.decimal)
    if isinstance(picture, OutcomePicture):
        return outcome_table(picture, decimal=state.decimal)
    return curve_table(picture, decimal=state.decimal) if picture else None


def picture_image(state: OddsState, *, scale: int = PNG_SCALE) -> QImage:
    """Return the picture in view as an image of a fixed size, whatever the screen."""
    whole = _whole_size(state)
    image = QImage(whole * scale, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    painter.scale(scale, scale)
    _paint(state, painter, whole, ink=scale)
    painter.end()
    # Only now: fonts would otherwise grow with the resolution on top of the scale.
    image.setDotsPerMeterX(round(96 * scale / 0.0254))
    image.setDotsPerMeterY(round(96 * scale / 0.0254))
    return image


def save_png(state: OddsState, path: Path) -> None:
    """Write the picture in view as PNG; raises OSError."""
    _replace(path, lambda target: picture_image(state).save(str(target)))


def save_svg(state: OddsState, path: Path) -> None:
    """Write the picture in view as SVG; raises OSError."""

    def write(target: Path) -> bool:
        whole = _whole_size(state)
        generator = QSvgGenerator()
        generator.setFileName(str(target))
        generator.setResolution(96)
        generator.setSize(whole)
        generator.setViewBox(QRect(0, 0, whole.width(), whole.height()))
        generator.setTitle(_title(state))
        generator.setDescription(_caption(state))
        painter = QPainter()
        if not painter.begin(generator):
            return False
        _paint(state, painter, whole)
        return painter.end()

    _replace(path, write)


def save_csv(state: OddsState, path: Path) -> None:
    """Write the numbers of the picture in view as CSV (RFC 4180, UTF-8); raises OSError."""
    table = table_of(state)
    if table is not None:
        _replace(path, lambda target: target.write_bytes(as_csv(table).encode("utf-8")) > 0)


def _replace(path: Path, write: Callable[[Path], bool]) -> None:
    """Write beside the target first, so that a failure leaves an older file as it was."""
    beside = path.with_name(f".{path.name}.part{path.suffix}")
    try:
        if not write(beside):
            raise OSError(f"cannot write {path.name}")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _title(state: OddsState) -> str:
    table = table_of(state)
    return table.title if table else ""


def _caption(state: OddsState) -> str:
    return state.picture.caption if state.picture else ""


def _fonts() -> tuple[QFont, QFont]:
    body = QFont(QApplication.font())
    title = QFont(body)
    title.setBold(True)
    return title, body


def _caption_height(state: OddsState) -> int:
    _, body = _fonts()
    box = QRect(0, 0, SIZE.width() - 2 * _PAD, 10_000)
    return QFontMetrics(body).boundingRect(box, Qt.TextFlag.TextWordWrap, _caption(state)).height() + 2 * _PAD


def _whole_size(state: OddsState) -> QSize:
    title, _ = _fonts()
    extra = QFontMetrics(title).height() + 2 * _PAD + _caption_height(state)
    return QSize(SIZE.width(), SIZE.height() + extra)


def _paint(state: OddsState, painter: QPainter, whole: QSize, *, ink: float = 1.0) -> None:
    title, body = _fonts()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(QRect(0, 0, whole.width(), whole.height()), QColor(LIGHT.raised))
    painter.setPen(QColor(LIGHT.text))
    painter.setFont(title)
    head = QFontMetrics(title).height()
    painter.drawText(QRectF(_PAD, _PAD, SIZE.width() - 2 * _PAD, head), Qt.AlignmentFlag.AlignLeft, _title(state))
    top = head + 2 * _PAD
    plot = _plot(state, ink)
    plot.render(painter, QRectF(0, top, SIZE.width(), SIZE.height()), plot.viewport().rect())
    plot.deleteLater()
    painter.setPen(QColor(LIGHT.text))
    painter.setFont(body)
    below = QRectF(_PAD, top + SIZE.height() + _PAD / 2, SIZE.width() - 2 * _PAD, _caption_height(state))
    painter.drawText(below, int(Qt.TextFlag.TextWordWrap), _caption(state))


def _plot(state: OddsState, ink: float) -> PicturePlot:
    """Make the plot anew for the export, laid out at the export's size without being shown."""
    estimate: Estimate | None = state.headline.estimate
    plot: CurvePlot | OutcomePlot | MapPlot
    if state.view == "outcomes":
        plot = OutcomePlot(LIGHT, ink=ink)
        plot.lay_out(SIZE)
        plot.place(state.at)
        plot.show_picture(state.outcomes, late=False, decimal=state.decimal)
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
