"""The course as a table, and as a picture of a fixed size on the light theme with its numbers below."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QPainter
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QApplication

from stirfall.desktop.course.plot import CoursePlot
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import LIGHT
from stirfall.reporting.course_words import course_sentences, minutes_text
from stirfall.session.course import Course
from stirfall.storage.copies import write_atomic

SIZE = QSize(900, 520)
PNG_SCALE = 2
_PAD = 16
_MOST_ROWS = 500
_HEADER = ("minutes", "what", "temperature")


def title_of(course: Course) -> str:
    """Return the title of the picture."""
    return f"Course of attempt {course.number}"


def course_table(course: Course, *, decimal: str = ".") -> PictureTable:
    """Return the course as rows in the order of time: steps, marks and readings; the file has every reading."""
    shown = Shown.of(decimal)
    rows: list[tuple[float, str, float | None]] = []
    rows += [(band.start_min, f"begin to {band.word}", band.target_c) for band in course.bands]
    rows += [(mark.at_min, mark.word, mark.temperature_c) for mark in course.marks]
    rows += [(at, "read", value) for at, value in course.readings]
    log = [(float(at), "log", float(value)) for at, value in zip(course.minutes, course.celsius, strict=True)]
    every = max(1, -(-len(log) // _MOST_ROWS))
    in_order = sorted([*rows, *log], key=lambda row: row[0])
    few = sorted([*rows, *log[::every]], key=lambda row: row[0])
    return PictureTable(
        title=title_of(course),
        header=(*_HEADER[:2], f"temperature, {shown.label('C')}"),
        shown=tuple(
            (minutes_text(at, decimal=decimal), what, "" if value is None else shown.number(value, "C", digits=4))
            for at, what, value in few
        ),
        exact_header=("minutes", "what", "temperature_c"),
        exact=tuple((f"{at:.4f}", what, "" if value is None else f"{value:.6g}") for at, what, value in in_order),
    )


def course_image(course: Course, *, decimal: str = ".", scale: int = PNG_SCALE) -> QImage:
    """Return the picture as an image of a fixed size, whatever the screen."""
    whole = _whole_size(course, decimal)
    image = QImage(whole * scale, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    painter.scale(scale, scale)
    _paint(course, painter, whole, decimal, ink=scale)
    painter.end()
    # Only now: fonts would otherwise grow with the resolution on top of the scale.
    image.setDotsPerMeterX(round(96 * scale / 0.0254))
    image.setDotsPerMeterY(round(96 * scale / 0.0254))
    return image


def save_course(course: Course, path: Path, *, decimal: str = ".") -> None:
    """Write the course as its suffix says: .png, .svg or .csv (RFC 4180, UTF-8); raises OSError."""
    if path.suffix.lower() == ".csv":
        write_atomic(path, as_csv(course_table(course)).encode("utf-8"))
        return
    beside = path.with_name(f".{path.name}.part{path.suffix}")
    try:
        is_svg = path.suffix.lower() == ".svg"
        written = (
            _save_svg(course, beside, decimal)
            if is_svg
            else course_image(course, decimal=decimal).save(str(beside))
        )
        if not written:
            raise OSError(f"cannot write {path.name}")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _save_svg(course: Course, target: Path, decimal: str) -> bool:
    whole = _whole_size(course, decimal)
    generator = QSvgGenerator()
    generator.setFileName(str(target))
    generator.setResolution(96)
    generator.setSize(whole)
    generator.setViewBox(QRect(0, 0, whole.width(), whole.height()))
    generator.setTitle(title_of(course))
    generator.setDescription(_caption(course, decimal))
    painter = QPainter()
    if not painter.begin(generator):
        return False
    _paint(course, painter, whole, decimal, ink=1)
    return painter.end()


def _caption(course: Course, decimal: str) -> str:
    return " ".join(course_sentences(course, decimal=decimal))


def _fonts() -> tuple[QFont, QFont]:
    body = QFont(QApplication.font())
    title = QFont(body)
    title.setBold(True)
    return title, body


def _whole_size(course: Course, decimal: str) -> QSize:
    title, body = _fonts()
    box = QRect(0, 0, SIZE.width() - 2 * _PAD, 10_000)
    wrapped = QFontMetrics(body).boundingRect(box, Qt.TextFlag.TextWordWrap, _caption(course, decimal))
    return QSize(SIZE.width(), SIZE.height() + QFontMetrics(title).height() + wrapped.height() + 4 * _PAD)


def _paint(course: Course, painter: QPainter, whole: QSize, decimal: str, *, ink: float) -> None:
    title, body = _fonts()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(QRect(0, 0, whole.width(), whole.height()), QColor(LIGHT.raised))
    painter.setPen(QColor(LIGHT.text))
    painter.setFont(title)
    head, wide = QFontMetrics(title).height(), SIZE.width() - 2 * _PAD
    painter.drawText(QRectF(_PAD, _PAD, wide, head), Qt.AlignmentFlag.AlignLeft, title_of(course))
    top = head + 2 * _PAD
    plot = CoursePlot(LIGHT, ink=ink)
    plot.lay_out(SIZE)
    plot.show_course(course, "", decimal=decimal)
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    plot.render(painter, QRectF(0, top, SIZE.width(), SIZE.height()), plot.viewport().rect())
    plot.deleteLater()
    painter.setPen(QColor(LIGHT.text))
    painter.setFont(body)
    below = QRectF(_PAD, top + SIZE.height() + _PAD / 2, wide, whole.height() - top - SIZE.height() - _PAD)
    painter.drawText(below, int(Qt.TextFlag.TextWordWrap), _caption(course, decimal))
