"""The course as a table, and as a picture of a fixed size on the light theme with its numbers below."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QImage

from stirfall.desktop.course.plot import CoursePlot
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import LIGHT
from stirfall.reporting.course_words import course_sentences, minutes_text
from stirfall.session.course import Course
from stirfall.storage.copies import write_atomic

SIZE = QSize(900, 520)
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


def course_image(course: Course, *, decimal: str = ".") -> QImage:
    """Return the picture as an image of a fixed size, whatever the screen."""
    return _sheet(course, decimal).image()


def save_course(course: Course, path: Path, *, decimal: str = ".") -> None:
    """Write the course as its suffix says: .png, .svg or .csv (RFC 4180, UTF-8); raises OSError."""
    if path.suffix.lower() == ".csv":
        write_atomic(path, as_csv(course_table(course)).encode("utf-8"))
    elif path.suffix.lower() == ".svg":
        _sheet(course, decimal).save_svg(path)
    else:
        _sheet(course, decimal).save_png(path)


def _sheet(course: Course, decimal: str) -> PictureSheet:
    caption = " ".join(course_sentences(course, decimal=decimal))
    return PictureSheet(title_of(course), caption, SIZE, partial(_plot, course, decimal))


def _plot(course: Course, decimal: str, ink: float) -> CoursePlot:
    plot = CoursePlot(LIGHT, ink=ink)
    plot.lay_out(SIZE)
    plot.show_course(course, "", decimal=decimal)
    plot.draw_as_lines()
    plot.lay_out(SIZE)
    return plot
